//! `pintle calls export`: the heads of the records, one row a call.

use std::io::Write;
use std::path::{Path, PathBuf};

use clap::ValueEnum;

use super::super::report::put;
use super::super::{CommandError, Exit};
use super::{Filter, Places, asides, chosen};
use crate::call::{Event, Journal, create_private};
use crate::knowledge::WithCases;
use crate::records::{CallRow, Listed, csv_table, json_lines};
use crate::settings::Settings;
use crate::terminal::Style;

/// Arguments of `pintle calls export`.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "CSV: a cell that begins with = + - or @ has an apostrophe before it, because a spreadsheet would run it as a formula, and \
                        callers' words are anybody's. Rows hold names and addresses unless --redact leaves them out; a file is \
                        written for the owner's eyes only."
)]
pub struct Args {
    /// As what
    #[arg(long = "as", value_enum, value_name = "FORM", default_value_t = Form::Jsonl)]
    pub form: Form,
    /// Leave out sites, callers' words, notes and remarks, and shorten times to the day
    #[arg(long)]
    pub redact: bool,
    /// Write into this new file instead of the screen
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Which.
    #[command(flatten)]
    pub filter: Filter,
    /// Where they are.
    #[command(flatten)]
    pub places: Places,
}

/// What rows are written as.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Form {
    /// JSON Lines: one object a call.
    Jsonl,
    /// A table with a head.
    Csv,
}

/// Runs it.
///
/// # Errors
/// When the knowledge has errors, the calls can't be read, or the output can't be written.
pub(super) fn run(args: &Args, settings: &Settings, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    if let Some(file) = args.out.as_deref().filter(|f| f.exists()) {
        return Err(there_already(file));
    }
    let (listing, _) = chosen(&args.filter, &args.places, settings)?;
    let engine = args.places.packs.engine(settings, WithCases::No)?;
    let row = |call: &Listed| {
        let stored = Journal::load(&call.path).ok()?;
        let drill = stored.entries.iter().any(|e| matches!(e.event, Event::Drill { .. }));
        (!drill).then(|| CallRow::of(&engine, &call.id, stored.entries, args.redact))
    };
    let rows: Vec<CallRow> = crate::spread::spread(&listing.calls, row);
    let failed = |why: String| CommandError::new(format!("the rows can't be written: {why}"), "try the other --as");
    let text = match args.form {
        Form::Jsonl => json_lines(&rows).map_err(|e| failed(e.to_string()))?,
        Form::Csv => csv_table(&rows).map_err(|e| failed(e.to_string()))?,
    };
    let Some(file) = &args.out else {
        put(out, &text)?;
        return Ok(Exit::Ok);
    };
    write_new(file, &text)?;
    writeln!(out, "Written: {} ({} calls)", file.display(), rows.len())?;
    asides(&listing, style, out)?;
    Ok(Exit::Ok)
}

fn there_already(file: &Path) -> CommandError {
    CommandError::new(
        format!("{} is there already; nothing of yours is written over", file.display()),
        "name a new file with --out",
    )
}

fn write_new(path: &Path, text: &str) -> Result<(), CommandError> {
    let written = create_private(path).and_then(|mut file| {
        file.write_all(text.as_bytes())?;
        file.sync_all()
    });
    written.map_err(|error| {
        CommandError::new(
            format!("{} can't be written: {error}", path.display()),
            "see that the place may be written to, or name another with --out",
        )
    })
}
