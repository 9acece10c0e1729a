//! `pintle site baseline`: keep readings, typed or out of a call.

use std::fmt::Write as _;
use std::io::Write;

use super::{Place, at_call, store, today_text};
use crate::call::{Call, Journal};
use crate::commands::report::put;
use crate::commands::{CommandError, Exit, call_path};
use crate::knowledge::WithCases;
use crate::report::plain_text;
use crate::settings::Settings;
use crate::site::{SiteFile, day, ended_well, file_name, keep, offers, set};
use crate::terminal::{Style, offer_line};

/// Arguments of `pintle site baseline`.
#[derive(Debug, clap::Args)]
#[command(
    after_long_help = "  TEST=VALUE             motor-amps=\"3.1 A\"\n  TEST@OF=VALUE          motor-amps@opening=\"3.1 A\", loop-inductance@exit=\"98 uH\"\n  TEST/READING=VALUE     where a test has several\n  what:TEXT=VALUE        anything else\nA newer reading of the same thing takes the place of the older."
)]
pub struct Args {
    /// Name of the site
    pub name: String,
    /// A test with what it read
    #[arg(value_name = "TEST=VALUE", required_unless_present = "from", conflicts_with = "from")]
    pub readings: Vec<String>,
    /// Keep the normal readings of this call, which must have ended with a gate that works
    #[arg(long, value_name = "CALL")]
    pub from: Option<String>,
    /// With --from: only these, by their numbers as they are listed
    #[arg(long, value_name = "N", requires = "from", value_delimiter = ',')]
    pub only: Vec<usize>,
    /// With --from: list what would be kept, and keep nothing
    #[arg(long, requires = "from")]
    pub list: bool,
    /// Which of several it is of: a way of travel, a loop, a leaf
    #[arg(long, requires = "from", value_name = "TEXT")]
    pub of: Option<String>,
    /// The meter it was read with
    #[arg(long, value_name = "METER")]
    pub read_with: Option<String>,
    /// The day it was read, today where left out
    #[arg(long, value_name = "YYYY-MM-DD", conflicts_with = "from")]
    pub date: Option<String>,
    /// Where site files are kept.
    #[command(flatten)]
    pub place: Place,
}

/// Keeps them.
///
/// # Errors
/// When there is no such site or call, a reading can't be taken, or the file can't be written.
pub(super) fn run(args: &Args, settings: &Settings, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    if args.from.is_some() {
        return from_call(args, settings, style, out);
    }
    let engine = args.place.packs.engine(settings, WithCases::No)?;
    let store = store(&args.place.data.folder(settings)?);
    let mut site = store.load(&args.name)?;
    let date = args.date.clone().unwrap_or_else(today_text);
    if day(&date).is_none_or(|d| d > super::today()) {
        return Err(CommandError::new(
            format!("\"{}\" is no date of the past", plain_text(&date)),
            "write year, month and day: 2026-03-02",
        ));
    }
    for text in &args.readings {
        let kept = set::baseline(&engine.knowledge, text, &date, args.read_with.as_deref())
            .map_err(|problem| CommandError::new(problem, "nothing was written"))?;
        keep(&mut site, kept);
    }
    let path = store.replace(&site)?;
    put(out, &format!("Written: {}\n", path.display()))?;
    Ok(Exit::Ok)
}

fn from_call(args: &Args, settings: &Settings, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let engine = args.place.packs.engine(settings, WithCases::No)?;
    let store = store(&args.place.data.folder(settings)?);
    let id = args.from.as_deref().unwrap_or_default();
    let stored = Journal::load(&call_path(&args.place.data.folder(settings)?, id))?;
    let call = Call::in_memory(&engine, stored.entries);
    if !ended_well(&call) {
        return Err(CommandError::new(
            format!(
                "call {} has not ended as fixed, explained or no fault found",
                plain_text(id)
            ),
            "baselines are read on a gate that is well; type a reading yourself with TEST=VALUE",
        ));
    }
    let named = at_call::site_of_call(&call).and_then(file_name);
    if named.is_some() && named != file_name(&args.name) {
        return Err(CommandError::new(
            format!("call {} was at another site", plain_text(id)),
            "name the site it was at",
        ));
    }
    let offers = offers(&call, id);
    if offers.is_empty() {
        put(
            out,
            "That call has no measured reading that is normal by its test's limits.\n",
        )?;
        return Ok(Exit::Ok);
    }
    if let Some(wrong) = args.only.iter().find(|n| !(1..=offers.len()).contains(*n)) {
        return Err(CommandError::new(
            format!("there is no number {wrong} in the list of {}", offers.len()),
            "--list shows the numbers",
        ));
    }
    let mut text = String::new();
    let mut chosen = Vec::new();
    for (i, offer) in offers.iter().enumerate() {
        let keep = !args.list && (args.only.is_empty() || args.only.contains(&(i + 1)));
        if args.list || keep {
            let _ = writeln!(text, "{:>3}  {}", i + 1, offer_line(offer));
        }
        if keep {
            let mut kept = offer.kept.clone();
            kept.of = args.of.as_deref().map(plain_text).or(kept.of);
            kept.meter = args.read_with.as_deref().map(plain_text);
            chosen.push(kept);
        }
    }
    if !args.list {
        let new = !store.has(&args.name);
        let mut site: SiteFile = if new {
            at_call::file_from(&call, &args.name)
        } else {
            store.load(&args.name)?
        };
        chosen.into_iter().for_each(|kept| keep(&mut site, kept));
        let path = if new {
            store.create(&site)?
        } else {
            store.replace(&site)?
        };
        let _ = writeln!(text, "Written: {}", path.display());
    }
    put(out, &style.signs(text))?;
    Ok(Exit::Ok)
}
