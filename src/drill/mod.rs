//! Drills: hidden faults, a site that answers like a real one, an honest debrief.
//!
//! A drill is a call: the same events, the same fold. [`Session`] puts a [`SimulatedSite`] behind it instead of a gate, and [`Debrief`] goes through
//! its journal afterwards, event by event, with what the trainee knew at each.

mod act;
mod answers;
mod conduct;
mod debrief;
mod numbers;
mod pages;
mod regret;
mod results;
mod scenario;
mod score;
mod session;
mod set;
mod site;

pub use act::{Act, Refusal};
pub use conduct::{Skipped, UnsafeAct};
pub use debrief::{Debrief, Decision, Guess};
pub use pages::{hardness, progress_picture, sheet};
pub use regret::{Worth, worth};
pub use results::{ClassFile, Done, Progress};
pub use scenario::{Difficulty, Hardness, PlanPlayed, Scenario, ScenarioError};
pub use score::{Score, Taken};
pub use session::{Doable, Level, Session, provoking_minutes};
pub use set::{Candidate, Drawn, DrillSet};
pub use site::SimulatedSite;
