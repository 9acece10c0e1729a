//! The commands: arguments in, library called, text out. One file a command; no domain logic here.

pub mod cases;

use std::path::PathBuf;

use clap::{Parser, Subcommand};

use crate::call::Engine;
use crate::finding::{Finding, Level};
use crate::knowledge::{Knowledge, WithCases};

/// How a command ended, as the process tells it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Exit {
    /// Done; nothing wrong.
    Ok,
    /// Done; something was found (errors in knowledge, a case that fails).
    Found,
}

/// Why a command could not do its work.
#[derive(Debug)]
pub struct CommandError {
    /// What was wrong.
    pub message: String,
    /// What to do.
    pub hints: Vec<String>,
}

impl CommandError {
    /// An error with one hint.
    #[must_use]
    pub fn new(message: impl Into<String>, hint: impl Into<String>) -> Self {
        Self {
            message: message.into(),
            hints: vec![hint.into()],
        }
    }
}

/// Finds what is wrong with an automatic vehicle gate, step by step, and writes it down.
#[derive(Debug, Parser)]
#[command(name = "pintle", version)]
pub struct Arguments {
    /// What to do.
    #[command(subcommand)]
    pub command: Option<Command>,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Play every case and tell which pass.
    Cases(cases::Args),
}

/// Packs that are laid over the built-in one.
#[derive(Debug, clap::Args, Clone, Default)]
pub struct Packs {
    /// A pack folder laid over the built-in knowledge; may be given several times.
    #[arg(long = "pack", value_name = "DIR")]
    pub pack: Vec<PathBuf>,
}

impl Packs {
    /// Loads knowledge for work; refuses errors.
    ///
    /// # Errors
    /// When the knowledge has errors.
    pub fn engine(&self, with_cases: WithCases) -> Result<Engine, CommandError> {
        let (knowledge, findings) = Knowledge::built_in(&self.pack, with_cases);
        refuse_errors(&findings)?;
        Ok(Engine::new(knowledge))
    }
}

fn refuse_errors(findings: &[Finding]) -> Result<(), CommandError> {
    let errors = findings.iter().filter(|f| f.level() == Level::Error).count();
    if errors == 0 {
        return Ok(());
    }
    Err(CommandError::new(
        format!("the knowledge has {errors} error(s)"),
        "run `pintle check` with the same packs: it shows each one with its line",
    ))
}
