//! Many closed calls together: what they teach, and whether the percentages were honest.
//!
//! A call counts for a cause only if it ended *fixed* or *explained* and every reported symptom was proven gone after the last repair (`outcome`); one that
//! was called back counts for nothing, one that could not be called back yet counts half (`confirmation`).
//! Everything that is added up is a whole number ([`Units`]), so that neither the order of the calls nor the threads that read them change a digit.

pub mod beta;
mod calibration;
mod confirmation;
mod export;
pub mod learn;
mod listing;
mod outcome;
mod pack;
mod reliability;
pub mod scores;
mod simulated;
mod sites;
mod stream;

pub use calibration::{Asides, Calibration, Predictions};
pub use confirmation::{Halves, Window};
pub use export::{CallRow, CauseShare, cell, csv_table, json_lines};
pub use learn::{Change, Learned, LearnedOutcomes, LearnedRate, Tally, Weights};
pub use listing::{Listed, Listing, Wanted, call_files, list_folder};
pub use outcome::{Closed, Confirmed, Kinds, Reader, Strange, Told, Unconfirmed};
pub use pack::pack_files;
pub use reliability::picture;
pub use scores::Scores;
pub use simulated::{Simulated, Simulator};
pub use sites::Sites;
pub use stream::{Skips, count_files, each_call};

/// Shares of calls in whole 2⁻³²: adding them up is exact in any order.
pub type Units = u64;

/// A share from 0 to 1 as [`Units`].
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to 2^32")]
pub(crate) fn units(share: f64) -> Units {
    (share.clamp(0.0, 1.0) * 4_294_967_296.0).round() as Units
}

/// [`Units`] as a number of calls.
pub(crate) fn calls(units: Units) -> f64 {
    units as f64 / 4_294_967_296.0
}
