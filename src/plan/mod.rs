//! The next step: which test, fact, repair, referral or ending is expected to cost least until the gate works and is proven.
//!
//! Problem: choose the action with the least expected cost in minutes (parts are turned into minutes by the labour rate), one step ahead: every test is
//! priced by what the best *order of repairs* would cost after each of its outcomes. The order is proposed by P/C with opening costs shared inside a
//! cover (Heckerman, Breese & Rommelse, CACM 38(3), 1995; Ottosen & Jensen, arXiv 1203.3502) and cut where referring is cheaper.
//!
//! Exact: the price of the policy "this action, then that order" under the model. Bounded: that policy against the optimum;
//! [`Choice::gap`] says how far, at most.
//!
//! Safety is never priced here: [`Offer`] says what may be offered at all.

mod access;
mod before;
mod cells;
mod choose;
mod graph;
mod likely;
mod offer;
mod order;
mod telling;
mod visit;

pub use access::{ActionCosts, Costs, Standing};
pub(crate) use before::{SURE_DANGER, first_look, for_others, settling};
pub use cells::{Cells, SHORTLIST_MASS};
pub use choose::{Action, Choice, Planner, Priced};
pub use graph::{DecisionGraph, Node, Way};
pub use likely::{Beyond, LikelyWalks, Stage, TooLikely, Why};
pub use offer::{Offer, Situation};
pub(crate) use offer::{dangers, over_threshold, settles};
pub use order::{Order, Proposal};
