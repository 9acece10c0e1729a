//! `pintle calls`, and `pintle` alone: what there is to go on with.

use std::io::Write;
use std::path::{Path, PathBuf};

use super::{CommandError, Data, Exit, calls_folder};
use crate::call::{Event, Journal, Stored};
use crate::terminal::Style;

/// Arguments of `pintle calls`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Only calls that have not ended
    #[arg(long)]
    pub open: bool,
    /// Where calls are kept.
    #[command(flatten)]
    pub data: Data,
}

/// One call in the list.
struct Listed {
    id: String,
    opened: String,
    words: String,
    site: String,
    ending: Option<String>,
}

/// Runs it.
///
/// # Errors
/// When the folder can't be read.
pub fn run(args: &Args, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let folder = calls_folder(args.data.data.as_ref())?;
    let (mut calls, damaged) = list(&folder);
    if args.open {
        calls.retain(|c| c.ending.is_none());
    }
    if calls.is_empty() && damaged.is_empty() {
        writeln!(out, "No calls yet. `pintle diagnose` begins one.")?;
    }
    for call in &calls {
        write_line(call, style, out)?;
    }
    for reason in damaged {
        let text = format!("left out: {reason}");
        for line in textwrap::wrap(&text, style.width) {
            writeln!(out, "{line}")?;
        }
    }
    Ok(Exit::Ok)
}

fn write_line(call: &Listed, style: &Style, out: &mut dyn Write) -> Result<(), CommandError> {
    let state = call.ending.as_deref().unwrap_or("open");
    let opened: String = call.opened.chars().take(16).collect::<String>().replace('T', " ");
    let site = if call.site.is_empty() {
        String::new()
    } else {
        format!("{}: ", call.site)
    };
    let line = format!("{:14} {opened}  {state:18} {site}{}", call.id, call.words);
    let line: String = line.chars().take(style.width).collect();
    writeln!(out, "{}", line.trim_end())?;
    Ok(())
}

/// `pintle` alone: what can be done, and the open calls.
///
/// # Errors
/// When the output can't be written.
pub fn welcome(style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    writeln!(
        out,
        "{}",
        style.strong("Pintle finds what is wrong with an automatic vehicle gate, and writes it down.")
    )?;
    writeln!(out)?;
    for (command, what) in [
        ("pintle diagnose", "begin a call: test, repair, prove, write down"),
        ("pintle diagnose --at phone", "the same with a caller on the phone"),
        ("pintle resume CALL", "go on with a call that was left"),
        ("pintle why CALL", "the ranking, and what each answer did to it"),
        ("pintle report CALL", "the service record"),
        ("pintle calls", "list the calls"),
        ("pintle check [DIR...]", "check knowledge, built in or your own"),
        ("pintle cases", "play the cases of the knowledge"),
    ] {
        writeln!(out, "  {command:28}{what}")?;
    }
    let open: Vec<Listed> = calls_folder(std::env::var_os("PINTLE_DATA").map(PathBuf::from).as_ref())
        .map(|folder| list(&folder).0.into_iter().filter(|c| c.ending.is_none()).collect())
        .unwrap_or_default();
    if !open.is_empty() {
        writeln!(out, "\nOpen calls:")?;
        for call in open.iter().rev().take(9) {
            write!(out, "  ")?;
            write_line(
                call,
                &Style {
                    width: style.width.saturating_sub(2),
                    ..*style
                },
                out,
            )?;
        }
    }
    Ok(Exit::Ok)
}

/// Calls of a folder by id, and the files that can't be read.
fn list(folder: &Path) -> (Vec<Listed>, Vec<String>) {
    let (mut calls, mut damaged) = (Vec::new(), Vec::new());
    let mut paths: Vec<PathBuf> = std::fs::read_dir(folder)
        .map(|d| d.flatten().map(|e| e.path()).collect())
        .unwrap_or_default();
    paths.retain(|p| p.extension().is_some_and(|e| e == "jsonl"));
    paths.sort_by_key(|p| (p.file_stem().map(std::ffi::OsStr::len), p.clone()));
    for path in paths {
        match Journal::load(&path) {
            Ok(stored) => calls.push(listed(&path, &stored)),
            Err(error) => damaged.push(error.to_string()),
        }
    }
    (calls, damaged)
}

fn listed(path: &Path, stored: &Stored) -> Listed {
    let id = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    let mut call = Listed {
        id,
        opened: String::new(),
        words: String::new(),
        site: String::new(),
        ending: None,
    };
    for entry in &stored.entries {
        match &entry.event {
            Event::Opened { site, .. } => {
                call.opened.clone_from(&entry.time);
                call.site = site.clone().unwrap_or_default();
            }
            Event::Complaint { words, .. } => call.words.clone_from(words),
            Event::Ended { ending, .. } => call.ending = Some(ending.say().to_owned()),
            _ => {}
        }
    }
    call
}
