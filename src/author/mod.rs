//! Writing new entries by being asked for them: questions in trade words, checked as they are answered, written as
//! commented YAML into files that did not exist before.
//!
//! The dialogue knows no terminal: [`Ask`] is whoever answers, a person or a script.

mod case;
mod cause;
mod draft;
mod interview;
mod pack;
mod pick;
mod questions;
mod repair;
mod step;
mod symptom;
mod test;
mod yaml;

pub use draft::{Draft, WriteError};
pub use interview::{Ask, Interview, Show, Stop};
pub use pack::{NewPack, PackError, folder_of};
pub use yaml::{Field, Node, scalar, write_map};

use serde::Serialize;

/// What can be written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum Kind {
    /// What callers report.
    Symptom,
    /// What is wrong, with its repair and what it shows.
    Cause,
    /// A procedure that gives evidence.
    Test,
    /// A repair of causes that exist.
    Repair,
    /// A worked example that the knowledge must pass.
    Case,
}

/// Asks for one entry until it is whole; what was said so far stands in [`Interview::draft`], also where it is left early.
///
/// # Errors
/// [`Stop`] when whoever answers leaves or can't be asked.
pub fn interview(kind: Kind, interview: &mut Interview<'_>) -> Result<(), Stop> {
    let dialogue: fn(&mut Interview<'_>) -> Result<(), Stop> = match kind {
        Kind::Symptom => symptom::ask,
        Kind::Cause => cause::ask,
        Kind::Test => test::ask_alone,
        Kind::Repair => repair::ask_alone,
        Kind::Case => case::ask,
    };
    interview.run(dialogue)
}
