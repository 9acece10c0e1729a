//! `pintle site`: what is known of the gates that come back, one file a site.

pub(super) mod at_call;
mod baseline;

use std::fmt::Write as _;
use std::io::{IsTerminal as _, Write};
use std::path::Path;

use clap::Subcommand;

use super::report::put;
use super::{CommandError, Data, Exit, Packs, clock};
use crate::author::Stop;
use crate::call::Engine;
use crate::finding::Level;
use crate::knowledge::WithCases;
use crate::report::plain_text;
use crate::settings::Settings;
use crate::site::{SiteError, SiteFile, Store, ask, check, set, visits};
use crate::terminal::{Author, ShownVisit, Style, site_findings, site_page};

/// Visits that `show` prints.
const SHOWN: usize = 5;

/// Arguments of `pintle site`.
#[derive(Debug, clap::Args)]
#[command(args_conflicts_with_subcommands = true, after_long_help = about_files())]
pub struct Args {
    /// What to do; the list of sites where left out
    #[command(subcommand)]
    pub act: Option<Act>,
    /// Where site files are kept.
    #[command(flatten)]
    pub place: Place,
}

/// Where site files are kept, and the knowledge they are read with.
#[derive(Debug, clap::Args, Clone, Default)]
pub struct Place {
    /// Where calls are kept.
    #[command(flatten)]
    pub data: Data,
    /// Packs.
    #[command(flatten)]
    pub packs: Packs,
}

/// What to do with sites.
#[derive(Debug, Subcommand)]
pub enum Act {
    /// List the sites
    List(Listing),
    /// Show a site: what is known, baselines with their age, the last visits
    Show(Named),
    /// Make a site's file: by questions, or from WORD=VALUE texts
    New(Changed),
    /// Change a site's file: by questions, or by WORD=VALUE texts
    Set(Changed),
    /// Keep readings of a gate that is well, for later visits to be measured against
    Baseline(baseline::Args),
    /// Check a site's file: every finding with its line
    Check(Named),
}

/// Nothing but the place.
#[derive(Debug, clap::Args)]
pub struct Listing {
    /// Where site files are kept.
    #[command(flatten)]
    pub place: Place,
}

/// A site.
#[derive(Debug, clap::Args)]
pub struct Named {
    /// Name of the site
    pub name: String,
    /// Where site files are kept.
    #[command(flatten)]
    pub place: Place,
}

/// A site and what is to be written.
#[derive(Debug, clap::Args)]
#[command(after_long_help = about_words())]
pub struct Changed {
    /// Name of the site
    pub name: String,
    /// A fact of the knowledge and its value (`gate-type=swing`), or a word of the list below; an empty value takes it out
    #[arg(value_name = "WORD=VALUE")]
    pub values: Vec<String>,
    /// Where site files are kept.
    #[command(flatten)]
    pub place: Place,
}

fn about_files() -> String {
    "A site file is YAML and may be written by hand: name, facts, operator, board, limits, batteries, loops, eyes, edges, protection, emergency-access, remarks, \
     baselines. The files lie in a folder `sites`: inside the calls folder where --data or PINTLE_DATA names one, else beside the calls in the platform's data folder (`pintle/calls`, `pintle/sites`). \
     Back up that one folder and you have both. Only you can read them; no code or PIN is ever written there."
        .to_owned()
}

fn about_words() -> String {
    let mut text = "Words besides the facts (`pintle explain` finds those):\n".to_owned();
    for (word, how) in set::WORDS {
        let _ = writeln!(text, "  {word:18}{how}");
    }
    text
}

/// Runs it.
///
/// # Errors
/// When there is no such site, its file is damaged, or it can't be written.
pub fn run(args: &Args, settings: &Settings, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    match &args.act {
        None => list(&args.place, settings, style, out),
        Some(Act::List(listing)) => list(&listing.place, settings, style, out),
        Some(Act::Show(named)) => show(named, settings, style, out),
        Some(Act::New(changed)) => new(changed, settings, style, out),
        Some(Act::Set(changed)) => change(changed, settings, style, out),
        Some(Act::Baseline(args)) => baseline::run(args, settings, style, out),
        Some(Act::Check(named)) => check_file(named, settings, style, out),
    }
}

/// The site files beside the calls: inside the folder that was named, else next to the calls' own.
pub(super) fn store(calls: &Path) -> Store {
    let own = calls.file_name().is_some_and(|name| name == "calls");
    let beside = calls.parent().filter(|_| own).unwrap_or(calls);
    Store::new(beside.join("sites"))
}

impl From<SiteError> for CommandError {
    fn from(error: SiteError) -> Self {
        let hint = match &error {
            SiteError::Nameless(_) => "name it with letters or digits".to_owned(),
            SiteError::Missing(name) => {
                format!("`pintle site` lists the sites there are; `pintle site new \"{name}\"` makes one")
            }
            SiteError::There { name, .. } => {
                format!("`pintle site set \"{name}\"` changes it; names that differ in case or marks only are one site")
            }
            SiteError::Damaged { help, .. } => format!("{help}; `pintle site check` shows everything that is wrong"),
            SiteError::Commented { .. } => "change the file by hand, or turn its comments into `remarks:`".to_owned(),
            SiteError::Io { .. } => "see that the folder may be written; --data names another".to_owned(),
        };
        Self::new(error.to_string(), hint)
    }
}

/// Today by the clock of this machine.
pub(super) fn today() -> jiff::civil::Date {
    jiff::ZonedDateTime::now().date()
}

/// The same as it is written.
pub(super) fn today_text() -> String {
    clock().chars().take(10).collect()
}

fn list(place: &Place, settings: &Settings, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let store = store(&place.data.folder(settings)?);
    let names = store.names();
    let mut text = String::new();
    if names.is_empty() {
        let _ = writeln!(
            text,
            "No site files yet in {}. `pintle site new NAME` makes one.",
            store.folder().display()
        );
    }
    for name in names {
        let line = match store.load(&name) {
            Ok(site) => {
                let updated = site.updated.as_deref().map(plain_text).unwrap_or_default();
                let baselines = site.baselines.len();
                format!(
                    "{:30} {updated:10}  {} fact(s), {baselines} baseline(s)",
                    plain_text(&site.name),
                    site.facts.len()
                )
            }
            Err(error) => format!("left out: {error}"),
        };
        for line in textwrap::wrap(&line, textwrap::Options::new(style.width).subsequent_indent("  ")) {
            text += line.trim_end();
            text.push('\n');
        }
    }
    put(out, &style.signs(text))?;
    Ok(Exit::Ok)
}

fn show(named: &Named, settings: &Settings, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let engine = named.place.packs.engine(settings, WithCases::No)?;
    let site = store(&named.place.data.folder(settings)?).load(&named.name)?;
    let calls = named.place.data.folder(settings)?;
    let all = visits(&engine, &calls, &site.name, None);
    let more = all.len().saturating_sub(SHOWN);
    let shown: Vec<ShownVisit<'_>> = all[more..]
        .iter()
        .rev()
        .map(|visit| ShownVisit {
            cause: visit.cause(&engine),
            visit,
        })
        .collect();
    let page = site_page(&site, &engine.knowledge, &shown, more, today(), style);
    put(out, &style.signs(page))?;
    Ok(Exit::Ok)
}

fn new(changed: &Changed, settings: &Settings, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let engine = changed.place.packs.engine(settings, WithCases::No)?;
    let store = store(&changed.place.data.folder(settings)?);
    let path = store.path(&changed.name)?;
    if store.has(&changed.name) {
        return Err(SiteError::There {
            name: plain_text(&changed.name),
            path,
        }
        .into());
    }
    let mut site = SiteFile {
        name: plain_text(&changed.name),
        ..SiteFile::default()
    };
    fill(changed, &engine, &mut site, style, out)?;
    let path = store.create(&site)?;
    put(out, &format!("Written: {}\n", path.display()))?;
    Ok(Exit::Ok)
}

fn change(changed: &Changed, settings: &Settings, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let engine = changed.place.packs.engine(settings, WithCases::No)?;
    let store = store(&changed.place.data.folder(settings)?);
    let mut site = store.load(&changed.name)?;
    let before = site.clone();
    fill(changed, &engine, &mut site, style, out)?;
    if site == before {
        put(out, "Nothing changed.\n")?;
        return Ok(Exit::Ok);
    }
    let path = store.replace(&site)?;
    put(out, &format!("Written: {}\n", path.display()))?;
    Ok(Exit::Ok)
}

/// From the texts, or by asking where there are none.
fn fill(
    changed: &Changed,
    engine: &Engine,
    site: &mut SiteFile,
    style: &Style,
    out: &mut dyn Write,
) -> Result<(), CommandError> {
    let facts = site.facts.clone();
    if changed.values.is_empty() {
        if !std::io::stdin().is_terminal() {
            return Err(CommandError::new(
                "there is no terminal to ask questions on",
                "say it in the command: pintle site new \"Hill farm\" gate-type=swing power=solar",
            ));
        }
        let asked = ask::ask(&mut Author::new(*style, out), &engine.knowledge, site);
        asked.map_err(|stop| left(&stop))?;
    }
    for text in &changed.values {
        set::apply(site, &engine.knowledge, text).map_err(|problem| {
            CommandError::new(problem, "nothing was written; `pintle site set --help` lists the words")
        })?;
    }
    if site.facts != facts || site.updated.is_none() {
        site.updated = Some(today_text());
    }
    Ok(())
}

/// Somebody left the questions.
pub(super) fn left(stop: &Stop) -> CommandError {
    CommandError::new(stop.to_string(), "nothing was written")
}

fn check_file(named: &Named, settings: &Settings, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let engine = named.place.packs.engine(settings, WithCases::No)?;
    let store = store(&named.place.data.folder(settings)?);
    let read = store.read(&named.name)?;
    let path = store.path(&named.name)?;
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    let findings = check(&read, &stem, &engine.knowledge, today());
    let errors = findings.iter().filter(|f| f.level == Level::Error).count();
    let mut text = site_findings(&path.display().to_string(), &findings, style);
    let _ = writeln!(text, "{errors} error(s), {} warning(s)", findings.len() - errors);
    put(out, &style.signs(text))?;
    Ok(if errors == 0 { Exit::Ok } else { Exit::Found })
}
