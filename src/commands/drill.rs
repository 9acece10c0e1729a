//! `pintle drill`: hidden faults for practice, and what came of it.

mod class;
mod find;
mod train;

use std::io::Write;

use super::{CommandError, Data, Exit, Packs};
use crate::settings::Settings;
use crate::terminal::Style;

/// Arguments of `pintle drill`.
#[derive(Debug, clap::Args)]
#[command(args_conflicts_with_subcommands = true)]
pub struct Args {
    /// What else than to run one.
    #[command(subcommand)]
    pub what: Option<What>,
    /// To run one.
    #[command(flatten)]
    pub run: train::Run,
}

/// What can be done beside running a drill.
#[derive(Debug, clap::Subcommand)]
pub enum What {
    /// List the scenarios with what makes each hard (for trainers: it tells what is wrong)
    List(class::List),
    /// Draw a set for a class: balanced over subjects and grades, the same for everybody
    Set(class::Set),
    /// Print sheets: answers for the trainer, blanks for the trainees
    Sheet(class::Sheet),
    /// Show how a class is getting on
    Results(class::Results),
    /// Go on with a drill that was left
    Resume(train::Resume),
    /// Print the debrief of a drill again
    Debrief(train::Again),
}

/// Where drills and packs are.
#[derive(Debug, clap::Args, Clone, Default)]
pub struct Places {
    /// Packs.
    #[command(flatten)]
    pub packs: Packs,
    /// Where drills are kept.
    #[command(flatten)]
    pub data: Data,
}

/// Runs it.
///
/// # Errors
/// When a scenario or the knowledge can't be used, there is no terminal, or a file can't be read or written.
pub fn run(args: &Args, settings: &Settings, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    match &args.what {
        None => train::run(&args.run, settings, style, out),
        Some(What::List(args)) => class::list(args, settings, style, out),
        Some(What::Set(args)) => class::set(args, settings, out),
        Some(What::Sheet(args)) => class::sheet(args, settings, out),
        Some(What::Results(args)) => class::results(args, style, out),
        Some(What::Resume(args)) => train::resume(args, settings, style, out),
        Some(What::Debrief(args)) => train::again(args, settings, style, out),
    }
}
