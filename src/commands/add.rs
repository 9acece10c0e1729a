//! `pintle add`: a pack of one's own, and new entries in it by being asked for them.

use std::io::Write;
use std::path::{Path, PathBuf};

use clap::Subcommand;

use super::check::everything;
use super::{CommandError, Exit};
use crate::author::{Interview, Kind, NewPack, PackError, Stop, WriteError, folder_of, interview};
use crate::finding::{Finding, Level};
use crate::knowledge::{Knowledge, WithCases};
use crate::terminal::{Author, Page, Style, render_findings};

/// Arguments of `pintle add`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// What to add
    #[command(subcommand)]
    pub what: What,
}

/// What can be added.
#[derive(Debug, Subcommand)]
pub enum What {
    /// A pack of your own: a folder with its first file
    Pack {
        /// The folder; its name is the pack's id
        #[arg(value_name = "DIR")]
        name: PathBuf,
        /// What a person calls it
        #[arg(long)]
        title: Option<String>,
    },
    /// What callers report
    Symptom(To),
    /// What can be wrong, with its repair and what it shows on tests
    Cause(To),
    /// A procedure that gives evidence
    Test(To),
    /// A repair of causes that are there already
    Repair(To),
    /// A call as it was, which the knowledge must solve
    Case(To),
}

/// Where it is written.
#[derive(Debug, clap::Args)]
pub struct To {
    /// Your pack; of several the last is written to [default: the folder you are in]
    #[arg(long = "pack", value_name = "DIR")]
    pub pack: Vec<PathBuf>,
}

impl From<PackError> for CommandError {
    fn from(error: PackError) -> Self {
        let hint = match &error {
            PackError::Name(_) => "such as: pintle add pack our-company",
            PackError::Exists(_) => "choose another name, or add to it with --pack",
            PackError::Missing(_) => "name your pack with --pack DIR; `pintle add pack NAME` makes one",
            PackError::Io { .. } => "see that the folder may be written to",
        };
        Self::new(error.to_string(), hint)
    }
}

impl From<WriteError> for CommandError {
    fn from(error: WriteError) -> Self {
        Self::new(
            error.to_string(),
            "nothing was written; the text stands above, to be kept by hand",
        )
    }
}

/// Makes a pack, or asks for an entry and writes it.
///
/// # Errors
/// When there is no terminal to ask on, no pack to write to, or a file can't be written.
pub fn run(args: &Args, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    match &args.what {
        What::Pack { name, title } => pack(name, title.as_deref(), style, out),
        What::Symptom(to) => entry(Kind::Symptom, to, style, out),
        What::Cause(to) => entry(Kind::Cause, to, style, out),
        What::Test(to) => entry(Kind::Test, to, style, out),
        What::Repair(to) => entry(Kind::Repair, to, style, out),
        What::Case(to) => entry(Kind::Case, to, style, out),
    }
}

fn pack(folder: &Path, title: Option<&str>, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let written = NewPack::new(folder, title)?.make()?;
    let mut page = Page::new(style);
    page.line(&format!("written: {}", written.display()));
    page.line(&format!("next:    pintle add symptom --pack {}", folder.display()));
    write!(out, "{}", page.finish())?;
    Ok(Exit::Ok)
}

fn entry(kind: Kind, to: &To, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let folder = folder_of(&to.pack)?;
    let packs = if to.pack.is_empty() {
        vec![folder.clone()]
    } else {
        to.pack.clone()
    };
    let (knowledge, _) = Knowledge::built_in(&packs, WithCases::Yes);
    let (end, draft) = {
        let mut person = Author::new(*style, out);
        let mut asked = Interview::new(&mut person, &knowledge);
        let end = interview(kind, &mut asked);
        (end, std::mem::take(&mut asked.draft))
    };
    if let Err(stop) = end {
        return left(&stop, &draft.so_far(), style, out);
    }
    let written = draft.write(&folder)?;
    let mut page = Page::new(style);
    page.title("Written");
    written.iter().for_each(|path| page.line(&path.display().to_string()));
    write!(out, "{}", page.finish())?;
    checked(&packs, &written, style, out)
}

/// Left before the end: nothing is written, what was said stands on the page.
fn left(stop: &Stop, so_far: &str, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    match stop {
        Stop::Back | Stop::Interrupted => {
            let mut page = Page::new(style);
            page.title("Left: nothing was written");
            if !so_far.is_empty() {
                page.line("This is what you had said so far, to be kept by hand:");
            }
            write!(out, "{}{so_far}", page.finish())?;
            Ok(Exit::Ok)
        }
        Stop::NoTerminal => Err(CommandError::new(
            "there is no terminal to ask questions on",
            "write the YAML by hand instead: LANGUAGE.md has an example of each entry, and `pintle check` finds mistakes",
        )),
        Stop::Gone(_) => Err(CommandError::new(stop.to_string(), "nothing was written")),
    }
}

/// The checks over all packs; shown is what they say of the new files, and how many there are elsewhere.
fn checked(packs: &[PathBuf], written: &[PathBuf], style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let (knowledge, loaded) = Knowledge::built_in(packs, WithCases::Yes);
    let (findings, _) = everything(&knowledge, loaded);
    let of_new = |f: &Finding| {
        let file = knowledge.sources.files.get(f.location.file);
        file.is_some_and(|file| written.iter().any(|path| path == Path::new(&file.name)))
    };
    let of_pack = |f: &&Finding| {
        knowledge
            .sources
            .files
            .get(f.location.file)
            .is_some_and(|file| file.pack > 0)
    };
    let (mine, others): (Vec<Finding>, Vec<Finding>) = findings.into_iter().partition(of_new);
    let mut page = Page::new(style);
    page.title("Checked");
    let elsewhere = others.iter().filter(of_pack).count();
    if mine.is_empty() {
        page.line("Nothing is wrong with it.");
    }
    write!(out, "{}{}", page.finish(), render_findings(&knowledge, &mine, style))?;
    if elsewhere > 0 {
        let mut page = Page::new(style);
        page.line(&format!(
            "{elsewhere} finding(s) elsewhere in the packs: `pintle check` shows them."
        ));
        write!(out, "{}", page.finish())?;
    }
    let errors = mine.iter().any(|f| f.level() == Level::Error);
    Ok(if errors { Exit::Found } else { Exit::Ok })
}
