//! Known sites: what a company knows of a gate before it goes there, one YAML file a site.
//!
//! ```yaml
//! name: Hill farm                       # what `--site` and the record call it; the file is hill-farm.yaml
//! updated: 2026-03-02                   # day on which the facts were last written
//! facts: {gate-type: swing, leaves: pair, power: battery-mains, keypad: wired}   # facts of the knowledge by id
//! operator: 24 V swing operator, arm type, label half gone
//! board: revision C
//! limits:                               # of the manual: number, unit, page
//!   - {what: leaf weight, value: 250 kg, page: 14}
//! batteries:                            # one entry a supply, volts of the whole set
//!   - {volts: 24 V, ah: 7, chemistry: lead-acid, date: 2024-05}
//! loops:
//!   - {name: exit, purpose: free exit on the drive}
//! eyes: ["through-beam at the posts, 18 in"]
//! edges: ["wired, on the leading edge of both leaves"]
//! protection:                           # what protects each place at which a body can be caught
//!   - {travel: closing, place: between the leading edges, by: edge}
//! emergency-access: key switch in a box by the right post, held by the fire service     # the way, never the code
//! remarks: ["dog"]
//! baselines:                            # what was read when the gate was well
//!   - {test: motor-amps, reading: running, of: opening, value: 3.1 A, date: 2026-03-02, meter: clamp 2}
//!   - {test: motor-amps, reading: running, of: closing, value: 3.4 A, date: 2026-03-02}
//!   - {test: loop-inductance, reading: measured, of: exit, value: 98 µH, date: 2026-03-02}
//!   - {what: stop mark open, value: 41 in, date: 2026-03-02}
//! ```
//!
//! Unknown fields are errors. Names, addresses and ways in are the customer's: the file is the owner's alone, and no code is ever written into it.
//!
//! **At a call** ([`opening`]) the facts that stay are recorded as known, with where they come from; those that may have changed (`may-change` of the fact) are asked again with
//! the old value shown; a battery's age goes by its date. Baselines are recorded too, so the journal is whole by itself. A test that has a `baseline:` formula is judged by it
//! (see [`crate::call::BASELINE`]); with `of`, the person says which of them was read. Baselines of other tests are shown beside the reading and change nothing. A baseline that is older than
//! the battery it was read on is not used.
//!
//! **At its end** the readings that were normal are offered back ([`keep()`]).
//!
//! **A callback** ([`crate::call::called_back`]) is the same symptom at the same site within 60 days of a call that had ended as fixed or explained.

pub mod ask;
pub mod check;
pub mod file;
pub mod keep;
pub mod opening;
pub mod set;
pub mod store;
pub mod visits;

pub use check::{SiteFinding, check, gives_away, value_of};
pub use file::{Battery, Kept, Limit, Loop, Protection, SiteFile, Travel, Typed, day};
pub use keep::{Offer, ended_well, keep, offers};
pub use opening::{battery_value, events, facts};
pub use store::{Read, SiteError, Store, file_name};
pub use visits::{Visit, earlier, visits};

use crate::quantity::Unit;

/// A reading as it was typed, with the unit it was asked in where it was a bare number.
#[must_use]
pub(crate) fn with_unit(text: &str, unit: Unit) -> String {
    if text.chars().any(|c| c.is_alphabetic() || "°%'\"".contains(c)) {
        text.to_owned()
    } else {
        format!("{text}{}", unit.suffix())
    }
}
