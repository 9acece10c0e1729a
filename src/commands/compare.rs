//! `pintle compare`: two versions of the knowledge, what an author reads before merging.

use std::io::Write;
use std::path::Path;

use super::check::first_text;
use super::lines::Lines;
use super::progress::Note;
use super::{CommandError, Exit};
use crate::call::First;
use crate::compare::{BUILT_IN, Brief, CaseChange, Comparison, EntryChange, FieldChange, Kind, Play, Side};
use crate::finding::Level;
use crate::terminal::Style;

/// Arguments of `pintle compare`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The version before: `built-in`, a whole knowledge folder, or a pack laid over the built-in knowledge
    pub old: String,
    /// The version after, likewise
    pub new: String,
    /// Play only cases whose file name contains this
    #[arg(long, value_name = "WORD", conflicts_with = "no_cases")]
    pub cases: Option<String>,
    /// Play no cases (they take most of the time)
    #[arg(long)]
    pub no_cases: bool,
    /// First steps also at each kind of site: every value of the facts that are asked before a walk
    #[arg(long)]
    pub sites: bool,
    /// Write JSON
    #[arg(long)]
    pub json: bool,
}

/// Lines of a list before it is cut.
const SHOWN: usize = 10;

/// Runs it.
///
/// # Errors
/// When a version can't be read or has errors, or the output can't be written.
pub fn run(args: &Args, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let (old, new) = (side(&args.old)?, side(&args.new)?);
    let play = match &args.cases {
        _ if args.no_cases => Play::None,
        Some(word) => Play::Named(word.clone()),
        None => Play::All,
    };
    let note = Note::new();
    let comparison = Comparison::new(&old, &new, &play, args.sites, &|what| note.say(what));
    drop(note);
    if args.json {
        out.write_all(super::json(&comparison)?.as_bytes())?;
    } else {
        write!(out, "{}", page(&comparison, style))?;
    }
    Ok(if comparison.breaks() { Exit::Found } else { Exit::Ok })
}

/// Reads a version.
fn side(name: &str) -> Result<Side, CommandError> {
    if name != BUILT_IN && !Path::new(name).exists() {
        return Err(CommandError::new(
            format!("there is no folder {name}"),
            "name a folder of knowledge, or `built-in`",
        ));
    }
    Side::read(name).map_err(|trouble| {
        let (knowledge, findings) = *trouble;
        let errors = || findings.iter().filter(|f| f.level() == Level::Error);
        let first = errors().next().map_or_else(String::new, |f| {
            let file = knowledge
                .sources
                .files
                .get(f.location.file)
                .map_or("", |f| f.name.as_str());
            let at = knowledge.sources.position(&f.location);
            format!("{file}:{}:{}: {}", at.line, at.column, f.message)
        });
        let mut error = CommandError::new(format!("{name} has {} error(s)", errors().count()), first);
        error
            .hints
            .push("`pintle check` shows each one with what to do".to_owned());
        error
    })
}

/// The page: what went wrong first, then what a walk does differently, then what was written.
#[must_use]
pub fn page(comparison: &Comparison, style: &Style) -> String {
    let mut lines = Lines::new(style);
    if comparison.is_empty() {
        lines.row("nothing changes");
        return lines.text;
    }
    lines.heading(&headline(comparison));
    cases(comparison, &mut lines);
    first_steps(comparison, &mut lines);
    rankings(comparison, &mut lines);
    if !comparison.figures.is_empty() {
        lines.section("Figures of coverage that move", comparison.figures.len());
        for figure in &comparison.figures {
            lines.item(&format!("{}: {} -> {}", figure.figure, figure.before, figure.after));
        }
    }
    if !comparison.settings.is_empty() {
        lines.section("Settings that move", comparison.settings.len());
        comparison.settings.iter().for_each(|s| lines.item(&field(s)));
    }
    entries(&comparison.entries, &mut lines);
    lines.text
}

fn headline(comparison: &Comparison) -> String {
    let broken = comparison.cases.iter().filter(|c| c.breaks()).count();
    let cases = match (comparison.played, broken) {
        (0, _) => "no case played".to_owned(),
        (_, 0) => "no case that passed fails".to_owned(),
        (_, 1) => "1 case that passed now fails".to_owned(),
        (_, n) => format!("{n} cases that passed now fail"),
    };
    let steps = match comparison.first_steps.len() {
        0 => "no first step changes".to_owned(),
        1 => "1 first step changes".to_owned(),
        n => format!("{n} first steps change"),
    };
    format!("{cases}; {steps}")
}

fn cases(comparison: &Comparison, lines: &mut Lines<'_>) {
    let list = |title: &str, lines: &mut Lines<'_>, of: &dyn Fn(&CaseChange) -> bool| {
        let some: Vec<&CaseChange> = comparison.cases.iter().filter(|c| of(c)).collect();
        if some.is_empty() {
            return;
        }
        lines.section(title, some.len());
        for change in some.iter().take(SHOWN) {
            one_case(change, lines);
        }
        lines.more(some.len(), SHOWN);
    };
    let kept = |c: &CaseChange| c.before.is_some() && c.after.is_some();
    list("Cases that passed and now fail", lines, &CaseChange::breaks);
    list("Cases that are new", lines, &|c| c.before.is_none());
    list("Cases that are gone", lines, &|c| c.after.is_none());
    list("Cases that failed and now pass", lines, &CaseChange::mends);
    list("Cases that come out otherwise", lines, &|c| {
        kept(c) && !c.breaks() && !c.mends()
    });
}

fn one_case(change: &CaseChange, lines: &mut Lines<'_>) {
    let rewritten = if change.rewritten {
        "  (the case itself was rewritten)"
    } else {
        ""
    };
    lines.item(&format!("{}  ({}){rewritten}", change.title, change.file));
    if let Some(after) = change.after.as_ref().filter(|a| !a.passed()) {
        lines.under(&after.failures.join("; "));
    }
    match (&change.before, &change.after) {
        (Some(before), Some(after)) => {
            lines.under(&format!("before: {}", brief(before)));
            lines.under(&format!("after:  {}", brief(after)));
        }
        (None, Some(only)) | (Some(only), None) => lines.under(&brief(only)),
        (None, None) => {}
    }
}

fn brief(brief: &Brief) -> String {
    let ending = brief.ending.map_or("no ending", |e| e.say());
    let leads = brief
        .leads
        .as_ref()
        .map_or(String::new(), |(id, p)| format!("; {id} leads with {:.0} %", p * 100.0));
    format!("{ending}, {} steps, {:.0} min{leads}", brief.steps, brief.minutes)
}

fn first_steps(comparison: &Comparison, lines: &mut Lines<'_>) {
    if comparison.first_steps.is_empty() {
        return;
    }
    lines.section("First steps that change", comparison.first_steps.len());
    for change in comparison.first_steps.iter().take(SHOWN) {
        let site = change.site.as_ref().map_or(String::new(), |site| format!(", {site}"));
        lines.item(&format!("{}{site}", change.title));
        let say = |first: &Option<First>, none: &str| first.as_ref().map_or(none.to_owned(), first_text);
        lines.under(&format!("before: {}", say(&change.before, "there was no such symptom")));
        lines.under(&format!(
            "after:  {}",
            say(&change.after, "there is no such symptom any more")
        ));
    }
    lines.more(comparison.first_steps.len(), SHOWN);
}

fn rankings(comparison: &Comparison, lines: &mut Lines<'_>) {
    if comparison.rankings.is_empty() {
        return;
    }
    lines.section(
        "Rankings at the start, where the first three moved by over 2 %",
        comparison.rankings.len(),
    );
    let say = |ranking: &[(String, f64)]| {
        let causes: Vec<String> = ranking
            .iter()
            .map(|(id, p)| format!("{id} {:.0} %", p * 100.0))
            .collect();
        causes.join(", ")
    };
    for change in comparison.rankings.iter().take(SHOWN) {
        lines.item(&change.title);
        lines.under(&format!("before: {}", say(&change.before)));
        lines.under(&format!("after:  {}", say(&change.after)));
    }
    lines.more(comparison.rankings.len(), SHOWN);
}

fn entries(entries: &[EntryChange], lines: &mut Lines<'_>) {
    let mut sections: Vec<&String> = entries.iter().map(|e| &e.section).collect();
    sections.dedup();
    for section in sections {
        let of: Vec<&EntryChange> = entries.iter().filter(|e| e.section == *section).collect();
        lines.section(&format!("Entries under {section}"), of.len());
        for entry in of.iter().take(SHOWN) {
            match entry.kind {
                Kind::Added => lines.item(&format!("{}: added", entry.id)),
                Kind::Removed => lines.item(&format!("{}: removed", entry.id)),
                Kind::Changed => {
                    lines.item(&entry.id);
                    entry.fields.iter().take(SHOWN).for_each(|f| lines.under(&field(f)));
                    if entry.fields.len() > SHOWN {
                        lines.under(&format!("and {} more fields", entry.fields.len() - SHOWN));
                    }
                }
            }
        }
        lines.more(of.len(), SHOWN);
    }
}

/// Longest text of a value that is shown; what is longer is cut.
const LONGEST: usize = 60;

fn field(change: &FieldChange) -> String {
    let cut = |text: &String| {
        let short: String = text.chars().take(LONGEST).collect();
        if short.len() < text.len() {
            format!("{short}...")
        } else {
            short
        }
    };
    match (&change.before, &change.after) {
        (Some(before), Some(after)) => format!("{}: {} -> {}", change.field, cut(before), cut(after)),
        (None, Some(after)) => format!("{}: now {}", change.field, cut(after)),
        (Some(before), None) => format!("{}: no more {}", change.field, cut(before)),
        (None, None) => change.field.clone(),
    }
}
