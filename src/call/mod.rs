//! A call: events → state → next step.
//!
//! The journal is the record. State is a fold over its events, so back, retract, resume, report and replay are one

mod answerer;
mod callback;
mod case;
mod check_cases;
mod event;
mod journal;
mod opening;
mod plain;
mod private;
mod reading;
mod state;
mod step;
mod suite;
mod terms;

pub use answerer::{Answerer, Outcome, Reply, WalkError, walk};
pub use callback::{CALLBACK_DAYS, Earlier, called_back, days_between};
pub(crate) use case::answer_event;
pub use case::{CaseAnswerer, CaseResult, minutes, play};
pub use check_cases::{check_case, check_cases};
pub use event::{Entry, Event, Rank, Retested, Seen, Target};
pub use journal::{Journal, JournalError, Stored};
pub use opening::{Danger, First, Opening, opening, openings};
pub(crate) use plain::plain_answer;
pub use private::{create_private, create_private_folder, tighten};
pub use reading::{BASELINE, Evaluated, ReadingProblem, asked, evaluate, evaluate_with, judging};
pub use state::{Before, Call, Counted, DANGER, RepairDone, Stop};
pub(crate) use step::{ALSO_CHECK, LINKED_CHECK};
pub use step::{Purpose, Step};
pub use suite::{MOST_UNLISTED, Suite, named_cases};
pub use terms::{Terms, carried, not_carried, tools_asked_for};

use std::borrow::Cow;

use crate::knowledge::Knowledge;
use crate::knowledge::schema::{At, Who};
use crate::model::Model;
use crate::plan::{Costs, Planner};

/// Knowledge and its tables, together for as long as calls last.
#[derive(Debug)]
pub struct Engine {
    /// The knowledge.
    pub knowledge: Knowledge,
    /// Its tables.
    pub model: Model,
    costs: Costs,
}

impl Engine {
    /// Compiles knowledge.
    #[must_use]
    pub fn new(knowledge: Knowledge) -> Self {
        let model = Model::compile(&knowledge);
        let costs = Costs::new(&knowledge);
        Self {
            knowledge,
            model,
            costs,
        }
    }

    /// The event that opens a call.
    #[must_use]
    pub fn opened(&self, at: At, who: Who, site: Option<String>) -> Event {
        Event::Opened {
            knowledge: self.knowledge.fingerprint.clone(),
            packs: self.knowledge.titles.clone(),
            at,
            who,
            site,
        }
    }

    /// A planner over it.
    #[must_use]
    pub fn planner(&self) -> Planner<'_> {
        Planner::with_costs(&self.knowledge, &self.model, Cow::Borrowed(&self.costs))
    }
}
