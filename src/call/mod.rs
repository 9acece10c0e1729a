//! A call: events → state → next step.
//!
//! The journal is the record. State is a fold over its events, so back, retract, resume, report and replay are one

mod answerer;
mod case;
mod event;
mod journal;
mod reading;
mod state;
mod step;

pub use answerer::{Answerer, Outcome, Reply, WalkError, walk};
pub use case::{CaseAnswerer, CaseResult, minutes, play, reading_problem};
pub use event::{Entry, Event, Rank, Seen, Target};
pub use journal::{Journal, JournalError, Stored};
pub use reading::{Evaluated, ReadingProblem, evaluate};
pub use state::{Call, Counted, RepairDone, Stop};
pub use step::{Purpose, Step};

use crate::knowledge::Knowledge;
use crate::model::Model;
use crate::plan::Planner;

/// Knowledge and its tables, together for as long as calls last.
#[derive(Debug)]
pub struct Engine {
    /// The knowledge.
    pub knowledge: Knowledge,
    /// Its tables.
    pub model: Model,
}

impl Engine {
    /// Compiles knowledge.
    #[must_use]
    pub fn new(knowledge: Knowledge) -> Self {
        let model = Model::compile(&knowledge);
        Self { knowledge, model }
    }

    /// A planner over it.
    #[must_use]
    pub fn planner(&self) -> Planner<'_> {
        Planner::new(&self.knowledge, &self.model)
    }
}
