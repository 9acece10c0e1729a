//! `pintle chart`: the decision graph of a symptom as a card to print.

use std::io::Write;
use std::path::{Path, PathBuf};

use clap::ValueEnum;

use super::progress::Progress;
use super::{CommandError, Data, Exit, Packs, site_of, symptom_named};
use crate::chart::{self, Wanted, dot, gather, grow, html, on_one_page, svg};
use crate::knowledge::WithCases;
use crate::knowledge::schema::{At, Who};
use crate::model::SiteFacts;
use crate::settings::Settings;

/// Arguments of `pintle chart`.
#[derive(Debug, clap::Args)]
#[command(after_help = "Example: pintle chart slow --fact power=solar --out slow.html\n\
    Print the HTML from a browser on both sides of one sheet, A4 or Letter, black and white will do:\n\
    boxes in front; hazard signs, cautions and the retest on the back.\n\
    The card is no more than the likeliest part of the walks: `pintle diagnose` knows the rest.")]
pub struct Args {
    /// The symptom: its id
    pub symptom: String,
    /// As what
    #[arg(long = "as", value_name = "KIND", value_enum, default_value_t = Kind::Html)]
    pub kind: Kind,
    /// Write it to this file, which must not be there yet (otherwise to standard output)
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Write over the file if it is there
    #[arg(long, requires = "out")]
    pub replace: bool,
    /// A fact of the site, such as gate-type=swing; may be given several times
    #[arg(long = "fact", value_name = "FACT=VALUE")]
    pub facts: Vec<String>,
    /// A known site (`pintle site`): its card, by what its file says
    #[arg(long, value_name = "NAME")]
    pub site: Option<String>,
    /// Most boxes, 1 to 200; the likeliest are kept, and fewer where the front has no room for more
    #[arg(long, default_value_t = 40, value_parser = clap::value_parser!(u16).range(1..=200))]
    pub most: u16,
    /// Who will read it: the most that they may do
    #[arg(long, value_enum, default_value_t = Reader::Technician)]
    pub who: Reader,
    /// For the phone: only what a caller may do
    #[arg(long, conflicts_with = "who")]
    pub phone: bool,
    /// Packs.
    #[command(flatten)]
    pub packs: Packs,
    /// Calls, and the site files beside them.
    #[command(flatten)]
    pub data: Data,
}

/// As what a card is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Kind {
    /// One file for browser and printer
    Html,
    /// The picture of the front alone: the hazard signs are on the back, which only html has
    Svg,
    /// Text for Graphviz; all boxes, whatever a page has room for
    Dot,
    /// What is on the card, for other programs; all boxes
    Json,
}

/// Who reads a card.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Reader {
    /// Looks and listens, opens nothing
    Anyone,
    /// A gate technician: low voltage and battery
    Technician,
    /// A licensed electrician
    Electrician,
}

/// Runs it.
///
/// # Errors
/// When the knowledge has errors, the symptom or a fact is unknown, the card has no room, or the output can't be written.
pub fn run(args: &Args, settings: &Settings, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let engine = args.packs.engine(settings, WithCases::No)?;
    let known = match &args.site {
        Some(name) => Some(super::site::store(&args.data.folder(settings)?).load(name)?),
        None => None,
    };
    let of_file = |known| crate::site::facts(known, &engine.knowledge, super::site::today());
    let mut site = known.as_ref().map_or_else(SiteFacts::unknown, of_file);
    // What was typed now replaces what the file says.
    let typed = site_of(&engine, &args.facts)?;
    typed.iter().for_each(|(fact, value)| site.learn(fact, value));
    let wanted = Wanted {
        symptom: symptom_named(&engine, &args.symptom)?,
        site,
        name: known.map(|known| known.name),
        at: if args.phone { At::Phone } else { At::Gate },
        who: match args.who {
            Reader::Anyone => Who::Anyone,
            Reader::Technician => Who::Technician,
            Reader::Electrician => Who::Electrician,
        },
        most: usize::from(args.most),
    };
    // Before minutes of work rather than after.
    if let Some(file) = args.out.as_ref().filter(|f| f.exists() && !args.replace) {
        return Err(there_already(file));
    }
    let progress = Progress::new("boxes planned", wanted.most);
    let walks = grow(&engine, &wanted, &|| progress.step());
    drop(progress);
    let card = || on_one_page(&engine, &wanted, &walks).ok_or_else(no_room);
    let text = match args.kind {
        Kind::Dot => dot(&gather(&engine, &wanted, &walks)),
        Kind::Json => super::json(&gather(&engine, &wanted, &walks))?,
        Kind::Svg => card().and_then(|(chart, page)| svg(&chart, &page).map_err(of_the_program))?,
        Kind::Html => card().and_then(|(chart, page)| html(&chart, &page).map_err(of_the_program))?,
    };
    match &args.out {
        None => out.write_all(text.as_bytes())?,
        Some(file) => {
            write(file, &text, args.replace)?;
            writeln!(out, "{}", file.display())?;
        }
    }
    Ok(Exit::Ok)
}

fn there_already(file: &Path) -> CommandError {
    CommandError::new(
        format!("{} is there already", file.display()),
        "name another file, or write over it with --replace",
    )
}

fn no_room() -> CommandError {
    CommandError::new(
        "the front has no room for one box, or the back none for what it has to say",
        "shorten the title, the signs, the cautions or the list for putting a gate out of use; --as dot needs no page",
    )
}

fn of_the_program(error: chart::DrawError) -> CommandError {
    CommandError::new(
        format!("the card can't be drawn: {error}"),
        "this is a fault of the program",
    )
}

/// Writes beside the file first, so that a disk that is full leaves no half card.
fn write(file: &Path, text: &str, replace: bool) -> Result<(), CommandError> {
    let refused = |e: std::io::Error| {
        let message = format!("{} can't be written: {e}", file.display());
        CommandError::new(message, "see that its folder exists and may be written")
    };
    let folder = file
        .parent()
        .filter(|f| !f.as_os_str().is_empty())
        .unwrap_or(Path::new("."));
    let mut made = tempfile::Builder::new();
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        // As any other new file: others may read it unless the user's mask says no.
        made.permissions(std::fs::Permissions::from_mode(0o666));
    }
    let mut beside = made.prefix(".card-").tempfile_in(folder).map_err(refused)?;
    beside.write_all(text.as_bytes()).map_err(refused)?;
    beside.as_file().sync_all().map_err(refused)?;
    if replace {
        beside.persist(file).map_err(|e| refused(e.error))?;
    } else {
        beside.persist_noclobber(file).map_err(|e| {
            if e.error.kind() == std::io::ErrorKind::AlreadyExists {
                there_already(file)
            } else {
                refused(e.error)
            }
        })?;
    }
    Ok(())
}
