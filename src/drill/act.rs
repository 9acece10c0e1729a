//! What a trainee can do, and what comes of it.

use crate::knowledge::schema::{Condition, Ending, Provocation};

/// One thing that a trainee does.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Act {
    /// Look round for hazard signs before anything is touched.
    LookForDanger,
    /// Ask or look up a fact of the site.
    Ask(String),
    /// Look whether it is doing it now.
    Look,
    /// Bring it about, or come back when it is like that.
    Provoke(Provocation),
    /// Power it, isolate it, hold other commands off, secure the leaf.
    Set(Condition),
    /// See that the whole travel is clear, a stop in reach.
    SeeClear,
    /// Find out who is entitled to have the gate opened or reprogrammed.
    Verify,
    /// A test.
    Test(String),
    /// Put a device back that was unplugged.
    PutBack,
    /// A repair.
    Repair(String),
    /// Run it and see whether the trouble is gone; before any repair: run and watch.
    Run,
    /// Out of use: isolated, secured, signed, told in writing.
    OutOfUse,
    /// A line of the safety retest, done as it should be.
    Retest(String),
    /// A line of the retest, done by a shortcut.
    RetestBy {
        /// The line.
        line: String,
        /// The shortcut.
        shortcut: String,
    },
    /// Give back what was held off, set again what was wiped.
    GiveBack,
    /// What must not be done.
    Shortcut(String),
    /// Leave the call like this.
    End(Ending),
}

/// Why nothing came of an act. None of this costs time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Refusal {
    /// The gate is isolated, and this needs it powered.
    NoPower,
    /// There is no such thing at this site.
    NotHere,
    /// It was unplugged by nobody.
    NothingOff,
    /// Nothing of the kind exists.
    Unknown(String),
}
