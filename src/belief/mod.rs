//! What is believed of the gate, given what was reported and answered. Exact for up to two faults at once.
//!
//! Hypotheses are single causes, pairs, *not listed* and *nothing wrong now*. H is what was there at the start, G what
//! is left of it after repairs. Belief is a function of the *set* of counting answers and the repairs between them; it is always computed afresh
//! from [`Evidence`], so that retracting an answer is the same as never having given it.
//!
//! Time is hypotheses × answers; nothing is cut up to [`MAX_EXACT_CAUSES`] causes.

mod evidence;
mod hypothesis;
mod posterior;
mod reasons;

pub use evidence::{Answer, Epoch, Evidence, Proof, Spell};
pub(crate) use hypothesis::PriorWeigher;
pub use hypothesis::{Hypothesis, Prior};
pub use posterior::{Belief, Branch};
pub(crate) use posterior::{gone_chance as proof_gone, present_chance, trace_chance};
pub use reasons::{Conflict, Influence, conflict, influence};

/// Up to here every applicable pair is kept.
pub const MAX_EXACT_CAUSES: usize = 400;
