//! `pintle calibration`: were the percentages honest?

use std::io::Write;
use std::path::{Path, PathBuf};

use super::json;
use super::learn::read_calls;
use super::{CommandError, Exit, Packs};
use crate::knowledge::WithCases;
use crate::records::{Calibration, Predictions, Skips, picture};
use crate::settings::Settings;
use crate::terminal::{Style, render_calibration};

/// Arguments of `pintle calibration`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Files of calls, or folders of them
    #[arg(required = true, value_name = "CALLS")]
    pub calls: Vec<PathBuf>,
    /// Write JSON
    #[arg(long)]
    pub json: bool,
    /// With --json: every prediction and whether it came true
    #[arg(long, requires = "json")]
    pub predictions: bool,
    /// Write the picture to a new SVG file
    #[arg(long, value_name = "FILE")]
    pub svg: Option<PathBuf>,
    /// Packs.
    #[command(flatten)]
    pub packs: Packs,
}

/// What `--json` writes.
#[derive(serde::Serialize)]
struct Output<'a> {
    #[serde(flatten)]
    calibration: &'a Calibration,
    skipped: &'a Skips,
}

/// Scores the percentages of closed calls.
///
/// # Errors
/// When the knowledge has errors, there are no calls, none can be scored, or the picture can't be written.
pub fn run(args: &Args, settings: &Settings, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let engine = args.packs.engine(settings, WithCases::No)?;
    if let Some(file) = args.svg.as_deref().filter(|f| f.exists()) {
        return Err(there_already(file));
    }
    let window = super::learn::window(&args.calls)?;
    let (threads, skips) = read_calls(&args.calls, || Predictions::new(&engine, &window), Predictions::add)?;
    let calibration = Calibration::from_threads(threads, args.predictions);
    let page = if args.json {
        json(&Output {
            calibration: &calibration,
            skipped: &skips,
        })?
    } else {
        style.signs(render_calibration(&calibration, &skips, style))
    };
    super::report::put(out, &page)?;
    let Some(scores) = &calibration.scores else {
        return Err(CommandError::new(
            "no call can be scored",
            "a call counts once it ended as fixed or explained and every symptom was proven gone after the last repair",
        ));
    };
    if let Some(file) = &args.svg {
        let written = std::fs::OpenOptions::new().write(true).create_new(true).open(file);
        written
            .and_then(|mut f| f.write_all(picture(scores).as_bytes()))
            .map_err(|error| {
                CommandError::new(
                    format!("{} can't be written: {error}", file.display()),
                    "name another file with --svg",
                )
            })?;
    }
    Ok(Exit::Ok)
}

fn there_already(file: &Path) -> CommandError {
    CommandError::new(
        format!("{} is there already", file.display()),
        "name a new file with --svg",
    )
}
