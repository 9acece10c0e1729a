//! `pintle why`

use std::io::Write;

use super::{CommandError, Data, Exit, Packs, call_path};
use crate::call::{Call, Journal, Terms};
use crate::knowledge::WithCases;
use crate::report::render_why;
use crate::settings::Settings;
use crate::terminal::Style;

/// Arguments of `pintle why`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The call: its id, or the path of its file
    pub call: String,
    /// Where calls are kept.
    #[command(flatten)]
    pub data: Data,
    /// Packs.
    #[command(flatten)]
    pub packs: Packs,
}

/// Shows the ranking of a call, what each answer did to it and how the next step was chosen.
///
/// # Errors
/// When the knowledge has errors, there is no such call, or it can't be read or the page not written.
pub fn run(args: &Args, settings: &Settings, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let stored = Journal::load(&call_path(&args.data.folder(settings)?, &args.call))?;
    let engine = args
        .packs
        .engine_on(&Terms::of(&stored.entries), settings, WithCases::No)?;
    let page = render_why(&Call::in_memory(&engine, stored.entries), style);
    super::report::put(out, &page)?;
    Ok(Exit::Ok)
}
