//! `pintle calls`: list, search, close and export; and `pintle` alone: what there is to go on with.

mod close;
mod export;

use std::io::Write;

use clap::ValueEnum;
use jiff::civil::Date;

use super::{CommandError, Data, Exit, Packs};
use crate::knowledge::WithCases;
use crate::knowledge::schema::Ending;
use crate::records::{Listed, Listing, Wanted, list_folder};
use crate::settings::Settings;
use crate::terminal::Style;

/// Arguments of `pintle calls`.
#[derive(Debug, clap::Args)]
#[command(
    args_conflicts_with_subcommands = true,
    after_help = "Go on with one: pintle resume CALL. Read one: pintle report CALL."
)]
pub struct Args {
    /// What else than to list them.
    #[command(subcommand)]
    pub what: Option<What>,
    /// Which.
    #[command(flatten)]
    pub filter: Filter,
    /// Where they are.
    #[command(flatten)]
    pub places: Places,
}

/// What can be done beside listing the calls.
#[derive(Debug, clap::Subcommand)]
pub enum What {
    /// End a call that nobody goes on with; fixed only with its proof and retest
    Close(close::Args),
    /// Write the calls for another program, one row a call
    Export(export::Args),
}

/// Packs and data.
#[derive(Debug, clap::Args, Clone, Default)]
pub struct Places {
    /// Where calls are kept.
    #[command(flatten)]
    pub data: Data,
    /// Packs.
    #[command(flatten)]
    pub packs: Packs,
}

/// Which calls are meant.
#[derive(Debug, clap::Args, Clone, Default)]
pub struct Filter {
    /// Only calls that have not ended
    #[arg(long)]
    pub open: bool,
    /// Only calls in this state; may be given several times
    #[arg(long, value_enum, value_name = "STATE")]
    pub state: Vec<State>,
    /// Only sites with this in their name
    #[arg(long, value_name = "TEXT")]
    pub site: Option<String>,
    /// Opened on this day or later, such as 2026-03-04
    #[arg(long, value_name = "DAY", value_parser = day)]
    pub since: Option<Date>,
    /// Opened on this day or before
    #[arg(long, value_name = "DAY", value_parser = day)]
    pub until: Option<Date>,
    /// All of these words, in the complaint, site, notes, or the titles of symptoms, repairs and the causes they cure
    #[arg(long, value_name = "WORD", num_args = 1..)]
    pub words: Vec<String>,
}

/// The state of a call.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum State {
    /// Not ended.
    Open,
    /// Repaired, proven, retested.
    Fixed,
    /// Working as set; nothing was changed.
    Explained,
    /// Nothing wrong was found.
    NoFaultFound,
    /// Waits for parts or a return.
    Waiting,
    /// Handed to somebody else.
    Referred,
    /// Made safe and left out of use.
    OutOfUse,
    /// The owner refuses to have a deficiency put right.
    DeficiencyRefused,
    /// The caller withdrew.
    Withdrawn,
}

impl State {
    /// The ending; none while it is open.
    #[must_use]
    pub fn ending(self) -> Option<Ending> {
        Some(match self {
            Self::Open => return None,
            Self::Fixed => Ending::Fixed,
            Self::Explained => Ending::Explained,
            Self::NoFaultFound => Ending::NoFaultFound,
            Self::Waiting => Ending::Waiting,
            Self::Referred => Ending::Referred,
            Self::OutOfUse => Ending::OutOfUse,
            Self::DeficiencyRefused => Ending::DeficiencyRefused,
            Self::Withdrawn => Ending::Withdrawn,
        })
    }
}

fn day(text: &str) -> Result<Date, String> {
    text.parse()
        .map_err(|_| "write a day as year, month and day, such as 2026-03-04".to_owned())
}

impl Filter {
    fn wanted(&self) -> Wanted {
        let open = self.open.then_some(None);
        let words = self.words.iter().flat_map(|w| w.split_whitespace());
        Wanted {
            states: open.into_iter().chain(self.state.iter().map(|s| s.ending())).collect(),
            site: self.site.clone(),
            since: self.since,
            until: self.until,
            words: words.map(str::to_owned).collect(),
        }
    }

    /// Whether it asks for anything.
    fn asks(&self) -> bool {
        self.wanted() != Wanted::default()
    }
}

/// Runs it.
///
/// # Errors
/// When the folder can't be read.
pub fn run(args: &Args, settings: &Settings, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    match &args.what {
        None => list(args, settings, style, out),
        Some(What::Close(args)) => close::run(args, settings, out),
        Some(What::Export(args)) => export::run(args, settings, style, out),
    }
}

/// The calls that a filter lets through, and what else there is to say of the folder.
///
/// # Errors
/// When the platform names no data folder, or words are looked for and the knowledge has errors.
fn chosen(filter: &Filter, places: &Places, settings: &Settings) -> Result<(Listing, usize), CommandError> {
    let mut listing = list_folder(&places.data.folder(settings)?);
    let all = listing.calls.len();
    let wanted = filter.wanted();
    // Titles are looked up only where words are looked for: a plain list needs no knowledge.
    let knowledge = if wanted.words.is_empty() {
        None
    } else {
        Some(places.packs.engine(settings, WithCases::No)?.knowledge)
    };
    listing.calls.retain(|c| c.is(&wanted, knowledge.as_ref()));
    Ok((listing, all))
}

fn list(args: &Args, settings: &Settings, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let (listing, all) = chosen(&args.filter, &args.places, settings)?;
    if all == 0 && listing.damaged.is_empty() {
        writeln!(out, "No calls yet. `pintle diagnose` begins one.")?;
    } else if listing.calls.is_empty() && args.filter.asks() {
        writeln!(out, "None of the {all} calls is like that.")?;
    }
    let longest = listing.calls.iter().map(|c| c.id.chars().count()).max().unwrap_or(0);
    for call in &listing.calls {
        write_line(call, longest, style, out)?;
    }
    asides(&listing, style, out)?;
    Ok(Exit::Ok)
}

/// What has to be said of the files.
fn asides(listing: &Listing, style: &Style, out: &mut dyn Write) -> Result<(), CommandError> {
    let mut texts: Vec<String> = listing.damaged.iter().map(|d| format!("left out: {d}")).collect();
    if listing.tightened > 0 {
        texts.push(format!(
            "Others on this machine could read the files of {} call(s); from now on only you can.",
            listing.tightened
        ));
    }
    for text in texts {
        for line in textwrap::wrap(&text, style.width) {
            writeln!(out, "{line}")?;
        }
    }
    Ok(())
}

fn write_line(call: &Listed, longest: usize, style: &Style, out: &mut dyn Write) -> Result<(), CommandError> {
    let opened: String = call.opened.chars().take(16).collect::<String>().replace('T', " ");
    let site = if call.site.is_empty() {
        String::new()
    } else {
        format!("{}: ", call.site)
    };
    let ids = longest.clamp(14, 24);
    let line = format!("{:ids$} {opened:16}  {:18} {site}{}", call.id, call.state(), call.words);
    let line: String = line.chars().filter(|c| !c.is_control()).take(style.width).collect();
    writeln!(out, "{}", line.trim_end())?;
    Ok(())
}

/// `pintle` alone: what can be done, and the open calls.
///
/// # Errors
/// When the output can't be written.
pub fn welcome(settings: &Settings, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
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
        ("pintle calls", "list, search, close and export the calls"),
        ("pintle check [DIR...]", "check knowledge, built in or your own"),
        ("pintle cases", "play the cases of the knowledge"),
        ("pintle settings", "what is set: labour rate, tools, packs, folders"),
    ] {
        writeln!(out, "  {command:28}{what}")?;
    }
    let mut open: Vec<Listed> = Data::default()
        .folder(settings)
        .map(|folder| list_folder(&folder).calls)
        .unwrap_or_default();
    open.retain(|c| c.ending.is_none());
    if !open.is_empty() {
        writeln!(out, "\nOpen calls:")?;
        let narrower = Style {
            width: style.width.saturating_sub(2),
            ..*style
        };
        for call in open.iter().rev().take(9) {
            write!(out, "  ")?;
            write_line(call, 0, &narrower, out)?;
        }
    }
    Ok(Exit::Ok)
}
