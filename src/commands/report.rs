//! `pintle report`

use std::io::Write;

use super::{CommandError, Data, Exit, Packs, call_path};
use crate::call::{Call, Journal, Terms};
use crate::knowledge::WithCases;
use crate::report::{ServiceRecord, markdown};
use crate::settings::Settings;
use crate::terminal::Style;

/// Arguments of `pintle report`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The call: its id, or the path of its file
    pub call: String,
    /// Write JSON instead of Markdown
    #[arg(long)]
    pub json: bool,
    /// Where calls are kept.
    #[command(flatten)]
    pub data: Data,
    /// Packs.
    #[command(flatten)]
    pub packs: Packs,
}

/// Writes the service record of a call.
///
/// # Errors
/// When the knowledge has errors, there is no such call, or it can't be read or written.
pub fn run(args: &Args, settings: &Settings, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let stored = Journal::load(&call_path(&args.data.folder(settings)?, &args.call))?;
    let engine = args
        .packs
        .engine_on(&Terms::of(&stored.entries), settings, WithCases::No)?;
    let record = ServiceRecord::of(&Call::in_memory(&engine, stored.entries));
    let text = if args.json {
        let json = serde_json::to_string_pretty(&record);
        json.map_err(|e| CommandError::new(format!("the record can't be written as JSON: {e}"), "leave out --json"))?
            + "\n"
    } else {
        style.signs(markdown(&record))
    };
    put(out, &text)?;
    Ok(Exit::Ok)
}

/// Writes a whole page. A reader that has gone away (a pager that was left) is no error.
pub(super) fn put(out: &mut dyn Write, text: &str) -> Result<(), CommandError> {
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(e) if e.kind() != std::io::ErrorKind::BrokenPipe => Err(CommandError::new(
            format!("the page can't be written: {e}"),
            "look whether the disk is full or the place may be written to",
        )),
        _ => Ok(()),
    }
}
