//! Whoever answers the steps.

use super::event::Event;
use super::state::Call;
use super::step::Step;
use super::{Entry, JournalError};

/// What an answerer says to a step.
#[derive(Debug, Clone, PartialEq)]
pub enum Reply {
    /// These things happened.
    Events(Vec<Event>),
    /// Take back the last answer.
    Back,
    /// Leave the call for later.
    Pause,
}

/// Answers steps: a person at a terminal, a case file, a simulated site.
pub trait Answerer {
    /// Why it can't go on.
    type Error;

    /// Answers one step.
    ///
    /// # Errors
    /// When the answerer can't go on: the terminal is gone, say. What was recorded stays recorded.
    fn answer(&mut self, call: &Call<'_>, step: &Step) -> Result<Reply, Self::Error>;

    /// The time now, for the journal.
    fn now(&self) -> String;
}

/// How a walk came to its end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// The call has ended.
    Ended,
    /// It was left for later.
    Paused,
    /// The answerer had nothing to say, or the walk went round in a circle.
    Stuck,
}

/// Why a walk broke off.
#[derive(Debug, thiserror::Error)]
pub enum WalkError<E> {
    /// The answerer can't go on.
    #[error("{0}")]
    Answerer(E),
    /// The journal can't be written.
    #[error(transparent)]
    Journal(#[from] JournalError),
}

/// Most steps of one sitting: far more than any person takes.
const MOST_STEPS: usize = 2_000;

/// Walks a call with an answerer until it ends or is left.
///
/// # Errors
/// When the answerer can't go on or the journal can't be written.
pub fn walk<A: Answerer>(call: &mut Call<'_>, answerer: &mut A) -> Result<Outcome, WalkError<A::Error>> {
    for _ in 0..MOST_STEPS {
        let step = call.next_step();
        if step == Step::Ended {
            return Ok(Outcome::Ended);
        }
        let events = match answerer.answer(call, &step).map_err(WalkError::Answerer)? {
            Reply::Events(events) => events,
            Reply::Back => {
                if let Some(entry) = call.last_answer() {
                    let time = answerer.now();
                    call.record(Entry {
                        time,
                        event: Event::Retracted { entry },
                    })?;
                }
                continue;
            }
            Reply::Pause => {
                let time = answerer.now();
                call.record(Entry {
                    time,
                    event: Event::Paused,
                })?;
                return Ok(Outcome::Paused);
            }
        };
        if events.is_empty() {
            return Ok(Outcome::Stuck);
        }
        for event in events {
            let time = answerer.now();
            call.record(Entry { time, event })?;
        }
    }
    Ok(Outcome::Stuck)
}
