//! A visit: who goes, how many, for how long, and what is loaded.
//!
//! Problem: from what is known on the phone, plan the visit that puts the gate right the first time in as many cases as was asked for, with as
//! little as possible on the truck. The kit of the knowledge is always on it and outside the sum.
//!
//! A gate counts as put right when every cause that is there is cured with what is on the truck by whoever goes, and when nothing is wrong with it.
//! A fault that nobody wrote down never does. The promise is a chance under the model, not a warranty; it errs downwards by at most a thousandth.

pub mod load;
mod simulated;
mod things;

pub use simulated::{Visits, simulate};

use std::collections::BTreeSet;

use serde::{Deserialize, Serialize};

use crate::call::{Call, Engine};
use crate::knowledge::schema::{Kit, Severity, Who};
use crate::model::CauseId;
use load::{Fault, Things};
use things::{Problem, Thing, Truck};

/// Chance of a first-visit fix that is aimed at where nobody asks for another.
pub const USUAL_RATE: f64 = 0.9;
/// From this chance on that only an electrician can put it right, one is sent; common practice.
const SEND_ELECTRICIAN: f64 = 0.5;
/// From this chance on one is told to be ready.
const ELECTRICIAN_READY: f64 = 0.1;
/// From this chance on of work that one person should not do, two go.
const TWO_GO: f64 = 0.05;
/// Four of five visits are over in the time that is booked.
const BOOKED: f64 = 0.8;
/// So many further things are shown with what they would buy.
const FURTHER: usize = 3;
/// A load of so many lines is long, and what its last lines buy is said if it is less than [`TAIL`].
const LONG: usize = 6;
/// Part of the chance that a tail buys.
const TAIL: f64 = 0.05;
/// So many causes are named beside a thing.
const NAMED: usize = 2;

/// What a visit is planned with.
#[derive(Debug, Clone, PartialEq)]
pub struct Wishes {
    /// Chance of a first-visit fix to aim at, 0 to 1.
    pub rate: f64,
    /// Names of parts and tools that are on this truck beside the kit.
    pub carried: BTreeSet<String>,
}

impl Default for Wishes {
    fn default() -> Self {
        Self {
            rate: USUAL_RATE,
            carried: BTreeSet::new(),
        }
    }
}

/// A visit as it was planned.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct VisitPlan {
    /// Who goes.
    pub who: Who,
    /// How many.
    pub people: u8,
    /// What there is to know of who goes: why two, why an electrician.
    pub remarks: Vec<String>,
    /// Minutes at the gate to book, travel not counted; quarters of an hour.
    pub minutes: u32,
    /// Chance that was asked for.
    pub asked: f64,
    /// Chance with the load.
    pub promised: f64,
    /// Chance with the kit alone.
    pub bare: f64,
    /// Chance with everything that the knowledge could ask for.
    pub most: f64,
    /// No smaller load does it.
    pub smallest: bool,
    /// The load, what buys most first.
    pub load: Vec<LoadLine>,
    /// What further things would buy.
    pub further: Vec<LoadLine>,
    /// What is on the truck anyway.
    pub kit: Vec<String>,
}

/// Something to load; things of one repair that are of no use without each other stand together.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct LoadLine {
    /// What.
    pub things: Vec<LoadThing>,
    /// Titles of the likeliest causes it is for.
    pub causes: Vec<String>,
    /// Chance with it and everything above it.
    pub rate: f64,
}

/// One thing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct LoadThing {
    /// Its name.
    pub name: String,
    /// A tool, not a part.
    pub tool: bool,
    /// What must be read off the old one for it to fit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub read: Option<String>,
}

impl VisitPlan {
    /// Who goes, in words.
    #[must_use]
    pub fn who_goes(&self) -> String {
        let who = match self.who {
            Who::Electrician => "a licensed electrician",
            Who::Technician | Who::Anyone => "a gate technician",
        };
        match self.people {
            1 => format!("{who}, alone"),
            n => format!("{n} people, {who} among them"),
        }
    }

    /// Time to book at the gate, as hours and minutes.
    #[must_use]
    pub fn hours(&self) -> String {
        match (self.minutes / 60, self.minutes % 60) {
            (0, m) => format!("{m} min"),
            (h, 0) => format!("{h} h"),
            (h, m) => format!("{h} h {m} min"),
        }
    }

    /// How many lines of a long load make most of its chance, and what they make it; `None` where there is no long tail.
    #[must_use]
    pub fn most_of_it(&self) -> Option<(usize, f64)> {
        let enough = self.load.iter().position(|line| line.rate >= self.promised - TAIL)?;
        let short = 2 * (enough + 1) <= self.load.len();
        (self.load.len() >= LONG && short).then(|| (enough + 1, self.load[enough].rate))
    }

    /// The chance asked for can't be had, whatever is loaded.
    #[must_use]
    pub fn falls_short(&self) -> bool {
        self.most + 1e-12 < self.asked
    }

    /// Chance that these causes are put right at the visit, as far as the site is known.
    #[must_use]
    pub fn settles(&self, engine: &Engine, call: &Call<'_>, causes: &[CauseId]) -> f64 {
        let things = self.load.iter().flat_map(|line| &line.things);
        let loaded = things.map(|t| t.name.clone()).collect();
        let nothing = BTreeSet::new();
        Truck::new(engine, &call.situation().site, self.who, &nothing).settles(causes, &loaded)
    }
}

/// Plans the visit of a call.
#[must_use]
pub fn plan(call: &Call<'_>, wishes: &Wishes) -> VisitPlan {
    let engine = call.engine;
    let situation = call.situation();
    let (who, electrician) = who_goes(call, wishes);
    let signs = call.stop().map_or(&[][..], |s| &s.signs);
    let of_sign = |id: &String| engine.knowledge.signs.get(id);
    let truck = Truck::new(engine, &situation.site, who, &wishes.carried);
    let two_signs = signs.iter().filter_map(of_sign).any(|s| s.two);
    let heavy = chance_of(call, |c| truck.takes_two(c));
    let problem = truck.problem(situation, call.belief());
    let loaded = problem.load(wishes.rate);
    let planner = engine.planner();
    VisitPlan {
        who,
        people: if two_signs || heavy >= TWO_GO { 2 } else { 1 },
        remarks: remarks(call, who, electrician, two_signs, heavy),
        minutes: quarters(planner.booking(situation, call.belief(), BOOKED)),
        asked: wishes.rate,
        promised: loaded.rate,
        bare: load::rate(&problem.faults, 0),
        most: load::rate(&problem.faults, Things::MAX),
        smallest: loaded.smallest,
        load: problem.lines(engine, 0, loaded.things),
        further: problem.further(engine, loaded.things),
        kit: kit(engine, call),
    }
}

/// Who goes, and the chance that only an electrician can put it right.
fn who_goes(call: &Call<'_>, wishes: &Wishes) -> (Who, f64) {
    let for_technician = Truck::new(call.engine, &call.situation().site, Who::Technician, &wishes.carried);
    let electrician = chance_of(call, |c| for_technician.only_for_others(c));
    if electrician >= SEND_ELECTRICIAN {
        return (Who::Electrician, electrician);
    }
    let signs = call.stop().map_or(&[][..], |s| &s.signs);
    let of_sign = |id: &String| call.engine.knowledge.signs.get(id);
    let by_sign = signs.iter().filter_map(of_sign).map(|s| s.who).max();
    (by_sign.unwrap_or(Who::Technician).max(Who::Technician), electrician)
}

/// Chance that some cause of a kind is there; the kind is asked once a cause, not once a branch.
fn chance_of(call: &Call<'_>, kind: impl Fn(CauseId) -> bool) -> f64 {
    let by_cause: Vec<bool> = (0..call.engine.model.causes()).map(|c| kind(CauseId::at(c))).collect();
    call.belief().chance_of(|c| by_cause[c.index()])
}

fn kit(engine: &Engine, call: &Call<'_>) -> Vec<String> {
    let taken = |k: &&Kit| call.situation().site.holds(&k.when) != Some(false);
    engine
        .knowledge
        .kit
        .values()
        .filter(taken)
        .map(|k| k.title.clone())
        .collect()
}

fn remarks(call: &Call<'_>, who: Who, electrician: f64, two_signs: bool, heavy: f64) -> Vec<String> {
    let mut remarks = Vec::new();
    let percent = |p: f64| format!("{:.0} %", 100.0 * p);
    if two_signs {
        remarks.push("Nobody is sent alone to a leaf that may fall: two people, and the gear to hold it.".to_owned());
    } else if heavy >= TWO_GO {
        let text = format!(
            "Two people: in {} it is work on a leaf that one person should not hold.",
            percent(heavy)
        );
        remarks.push(text);
    }
    match who {
        Who::Electrician if electrician >= SEND_ELECTRICIAN => remarks.push(format!(
            "In {} only a licensed electrician may put it right; the gate's own devices and the retest are a gate technician's.",
            percent(electrician)
        )),
        Who::Electrician => remarks.push("The hazard sign is a licensed electrician's: one goes first.".to_owned()),
        _ if electrician >= ELECTRICIAN_READY => remarks.push(format!(
            "In {} a licensed electrician has to finish it: ask now when one could come.",
            percent(electrician)
        )),
        _ => {}
    }
    if let Some(danger) = call.stop().and_then(|s| s.danger).filter(|d| *d > Severity::None) {
        let worst = match danger {
            Severity::Kill => "kill",
            Severity::Maim => "maim",
            _ => "hurt",
        };
        remarks.push(format!(
            "The gate is out of use: what may be wrong with it can {worst}. Make safe first."
        ));
    }
    remarks
}

fn quarters(minutes: f64) -> u32 {
    // A visit is hours, not weeks.
    let quarters = (minutes / 15.0).ceil().clamp(1.0, 96.0);
    15 * (1..=96).find(|n| f64::from(*n) >= quarters).unwrap_or(96)
}

impl Problem<'_> {
    /// The smallest load for a chance; where nothing reaches it, for the same share of what can be had.
    fn load(&self, rate: f64) -> load::Load {
        let most = load::rate(&self.faults, Things::MAX);
        let aim = if most < rate { rate * most } else { rate };
        load::smallest(&self.faults, self.things.len(), aim)
    }

    /// Names of things.
    fn names(&self, of: Things) -> BTreeSet<String> {
        let loaded = self.things.iter().enumerate().filter(|(i, _)| of & (1 << i) != 0);
        loaded.map(|(_, thing)| thing.name().to_owned()).collect()
    }

    /// What buys most first, each with the chance up to there.
    fn lines(&self, engine: &Engine, from: Things, of: Things) -> Vec<LoadLine> {
        let mut loaded = from;
        load::in_order(&self.faults, from, of)
            .into_iter()
            .map(|(bundle, rate)| {
                let line = LoadLine {
                    things: self.named(engine, bundle),
                    causes: self.causes_of(engine, loaded, bundle),
                    rate,
                };
                loaded |= bundle;
                line
            })
            .collect()
    }

    fn further(&self, engine: &Engine, loaded: Things) -> Vec<LoadLine> {
        let (mut with, mut lines) = (loaded, Vec::new());
        while lines.len() < FURTHER
            && let Some(bundle) = load::best_bundle(&self.faults, with, Things::MAX)
        {
            lines.push(LoadLine {
                things: self.named(engine, bundle),
                causes: self.causes_of(engine, with, bundle),
                rate: load::rate(&self.faults, with | bundle),
            });
            with |= bundle;
        }
        lines
    }

    fn named(&self, engine: &Engine, bundle: Things) -> Vec<LoadThing> {
        let of = self.things.iter().enumerate().filter(|(i, _)| bundle & (1 << i) != 0);
        of.map(|(_, thing)| LoadThing {
            name: thing.name().to_owned(),
            tool: matches!(thing, Thing::Tool(_)),
            read: match thing {
                Thing::Part(name) => engine
                    .knowledge
                    .parts()
                    .find(|p| p.name == *name)
                    .and_then(|p| p.read.clone()),
                Thing::Tool(_) => None,
            },
        })
        .collect()
    }

    /// Titles of the causes that gain most from a bundle.
    fn causes_of(&self, engine: &Engine, loaded: Things, bundle: Things) -> Vec<String> {
        let gain = |fault: &Fault| {
            let fault = std::slice::from_ref(fault);
            load::rate(fault, loaded | bundle) - load::rate(fault, loaded)
        };
        let causes = self.causes.iter().map(|(cause, fault)| (gain(fault), *cause));
        let mut gains: Vec<(f64, CauseId)> = causes.filter(|(gain, _)| *gain > 1e-6).collect();
        gains.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        let title = |c: CauseId| engine.knowledge.causes[c.index()].title.clone();
        gains.into_iter().take(NAMED).map(|(_, c)| title(c)).collect()
    }
}
