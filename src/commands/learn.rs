//! `pintle learn`: base rates and outcome frequencies from closed calls, written as a pack that layers.

use std::io::Write;
use std::path::{Path, PathBuf};

use super::{CommandError, Exit, Packs, json};
use crate::call::Engine;
use crate::finding::Level;
use crate::knowledge::{Knowledge, PackText, WithCases, check};
use crate::records::{Learned, Sites, Skips, Tally, Weights, Window, count_files, each_call, learn, pack_files};
use crate::settings::Settings;
use crate::terminal::{Style, render_learned};

/// Arguments of `pintle learn`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Files of calls, or folders of them
    #[arg(required = true, value_name = "CALLS")]
    pub calls: Vec<PathBuf>,
    /// New folder for the pack
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
    /// Calls that the author's base rates are worth
    #[arg(long, value_name = "CALLS", default_value_t = learn::WEIGHT, value_parser = above_zero)]
    pub weight: f64,
    /// Answers that the author's outcome frequencies are worth
    #[arg(long, value_name = "ANSWERS", default_value_t = learn::TEST_WEIGHT, value_parser = above_zero)]
    pub test_weight: f64,
    /// Write what was learnt as JSON
    #[arg(long)]
    pub json: bool,
    /// Packs.
    #[command(flatten)]
    pub packs: Packs,
}

fn above_zero(text: &str) -> Result<f64, String> {
    let number: f64 = text.parse().map_err(|_| "write a number".to_owned())?;
    if number.is_finite() && number > 0.0 {
        Ok(number)
    } else {
        Err("write a number above 0".to_owned())
    }
}

/// Learns and writes the pack.
///
/// # Errors
/// When the knowledge has errors, there are no calls, none confirms a cause, or the folder can't be written.
pub fn run(args: &Args, settings: &Settings, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let engine = args.packs.engine(settings, WithCases::No)?;
    refuse_folder(&args.out)?;
    let sites = Sites::new(&engine.knowledge);
    let window = window(&args.calls)?;
    let (tallies, skips) = read_calls(
        &args.calls,
        || Tally::new(&engine, &sites, &window),
        |tally, entries| tally.add(&engine, entries),
    )?;
    let weights = Weights {
        rates: args.weight,
        tests: args.test_weight,
    };
    let learned = Learned::from_tallies(&engine, &sites, tallies, weights);
    let page = if args.json {
        json(&Output {
            learned: &learned,
            skipped: &skips,
        })?
    } else {
        style.signs(render_learned(&learned, &skips, style))
    };
    super::report::put(out, &page)?;
    if learned.kinds.confirmed == 0 {
        return Err(CommandError::new(
            "no call confirms a cause, so no pack was written",
            "a call counts once it ended as fixed or explained, every symptom was proven gone after the last repair, and it was not called back",
        ));
    }
    write_pack(&engine, &learned, args, settings)?;
    if !args.json {
        writeln!(out, "\nWritten: {}", args.out.join("pack.yaml").display())?;
        writeln!(out, "         {}", args.out.join("learned.yaml").display())?;
        writeln!(
            out,
            "Use it:  pintle diagnose {}--pack {}",
            given(args.packs.folders(settings)),
            args.out.display()
        )?;
    }
    Ok(Exit::Ok)
}

/// What `--json` writes.
#[derive(serde::Serialize)]
struct Output<'a> {
    #[serde(flatten)]
    learned: &'a Learned,
    skipped: &'a Skips,
}

/// The packs as they were given, to be laid under what was learnt.
fn given(packs: &[PathBuf]) -> String {
    let each = packs.iter().map(|p| format!("--pack {} ", p.display()));
    each.collect::<Vec<_>>().concat()
}

fn refuse_folder(folder: &Path) -> Result<(), CommandError> {
    let holds_something = match std::fs::read_dir(folder) {
        Ok(mut entries) => entries.next().is_some(),
        Err(_) => folder.exists(),
    };
    if holds_something {
        return Err(CommandError::new(
            format!(
                "{} is there already; nothing of yours is written over",
                folder.display()
            ),
            "name a new folder with --out",
        ));
    }
    Ok(())
}

fn write_pack(engine: &Engine, learned: &Learned, args: &Args, settings: &Settings) -> Result<(), CommandError> {
    let files = pack_files(&engine.knowledge, &engine.model, learned);
    prove(&files, args, settings)?;
    let failed = |error: std::io::Error| {
        CommandError::new(
            format!("{} can't be written: {error}", args.out.display()),
            "see that the place may be written to, or name another with --out",
        )
    };
    std::fs::create_dir_all(&args.out).map_err(failed)?;
    for (name, text) in files {
        let mut file = std::fs::OpenOptions::new()
            .write(true)
            .create_new(true)
            .open(args.out.join(name))
            .map_err(failed)?;
        file.write_all(text.as_bytes())
            .and_then(|()| file.sync_all())
            .map_err(failed)?;
    }
    Ok(())
}

/// The pack must pass the checks over the packs that it was learnt with, before anything is on disk.
fn prove(files: &[(&'static str, String)], args: &Args, settings: &Settings) -> Result<(), CommandError> {
    let text = PackText {
        files: files
            .iter()
            .map(|(name, text)| ((*name).to_owned(), text.clone()))
            .collect(),
        unreadable: Vec::new(),
    };
    let (knowledge, mut findings) = Knowledge::built_in_with(args.packs.folders(settings), vec![text], WithCases::No);
    findings.extend(check::check(&knowledge));
    match findings.iter().find(|f| f.level() == Level::Error) {
        None => Ok(()),
        Some(error) => Err(CommandError::new(
            format!(
                "what was learnt does not pass the checks: {} ({})",
                error.message,
                error.location.path.join(".")
            ),
            "nothing was written; this is a fault of the program, please report it with this line",
        )),
    }
}

/// What all calls together say of callbacks: the first of two readings.
///
/// # Errors
/// When a path does not exist or there is no call at all.
pub(super) fn window(paths: &[PathBuf]) -> Result<Window, CommandError> {
    let take = |window: &mut Window, entries: Vec<crate::call::Entry>| {
        window.add(&entries);
        Ok(())
    };
    let (threads, _) = read_calls(paths, Window::default, take)?;
    Ok(threads.into_iter().fold(Window::default(), |mut all, one| {
        all.join(one);
        all
    }))
}

/// Reads every call, with a bar where somebody looks.
///
/// # Errors
/// When a path does not exist or there is no call at all.
pub(super) fn read_calls<A: Send>(
    paths: &[PathBuf],
    start: impl Fn() -> A + Sync,
    take: impl Fn(&mut A, Vec<crate::call::Entry>) -> Result<(), crate::records::Strange> + Sync,
) -> Result<(Vec<A>, Skips), CommandError> {
    if let Some(missing) = paths.iter().find(|p| !p.exists()) {
        return Err(CommandError::new(
            format!("there is no {}", missing.display()),
            "name files of calls (.jsonl) or folders that hold them",
        ));
    }
    let files = count_files(paths);
    if files == 0 {
        return Err(CommandError::new(
            "there is no call in there",
            "files of calls end in .jsonl; `pintle calls` shows where yours are",
        ));
    }
    let bar = indicatif::ProgressBar::new(files);
    let read = each_call(paths, start, take, &|| bar.inc(1));
    bar.finish_and_clear();
    Ok(read)
}
