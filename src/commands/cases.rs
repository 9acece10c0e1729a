//! `pintle cases`: play every case and tell which pass.

use std::io::Write;
use std::path::{Path, PathBuf};

use super::progress::Progress;
use super::{CommandError, Exit, Packs};
use crate::call::{CaseResult, Suite, check_cases, named_cases};
use crate::finding::{Code, Finding, Level};
use crate::knowledge::{Knowledge, Sources, WithCases, load_case};
use crate::settings::Settings;
use crate::terminal::Style;

/// Arguments of `pintle cases`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// A folder or file of cases, played instead of the knowledge's own; or a word: only cases whose file name contains it
    #[arg(value_name = "DIR|FILE|WORD")]
    pub what: Vec<String>,
    /// Packs.
    #[command(flatten)]
    pub packs: Packs,
    /// Show what was asked in every case, not only in those that fail
    #[arg(long)]
    pub path: bool,
    /// Write JSON
    #[arg(long)]
    pub json: bool,
}

/// Runs it.
///
/// # Errors
/// When the knowledge or a case has errors, nothing fits, or the output can't be written.
pub fn run(args: &Args, settings: &Settings, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let (paths, words): (Vec<&String>, Vec<&String>) = args.what.iter().partition(|w| names_files(w));
    let engine = if paths.is_empty() {
        args.packs.engine(settings, WithCases::Yes)?
    } else {
        let mut engine = args.packs.engine(settings, WithCases::No)?;
        for path in paths {
            add_cases(&mut engine.knowledge, Path::new(path))?;
        }
        engine
    };
    refuse_broken(&engine.knowledge.sources, &check_cases(&engine.knowledge))?;
    let fits = |name: &str| words.is_empty() || words.iter().any(|w| name.contains(w.as_str()));
    let chosen: Vec<_> = named_cases(&engine)
        .into_iter()
        .filter(|(name, _)| fits(name))
        .collect();
    if chosen.is_empty() {
        return Err(nothing_fits(&words));
    }
    let progress = Progress::new("cases played", chosen.len());
    let suite = Suite::play(&engine, &chosen, &|| progress.step());
    drop(progress);
    if args.json {
        out.write_all(super::json(&suite)?.as_bytes())?;
    } else {
        table(&suite, args.path, style, out)?;
    }
    Ok(if suite.good() { Exit::Ok } else { Exit::Found })
}

fn nothing_fits(words: &[&String]) -> CommandError {
    let words: Vec<&str> = words.iter().map(|w| w.as_str()).collect();
    let hint = "a word picks cases by their file's name; a folder or a .yaml file that exists is played itself";
    if words.is_empty() {
        return CommandError::new("there is no case", "name a folder that holds .yaml files");
    }
    CommandError::new(format!("no case has {} in its file's name", words.join(" or ")), hint)
}

/// Whether an argument is a folder or a case file rather than a word.
fn names_files(word: &str) -> bool {
    let path = Path::new(word);
    path.is_dir() || (path.is_file() && is_yaml(path))
}

fn is_yaml(path: &Path) -> bool {
    path.extension().is_some_and(|e| e == "yaml" || e == "yml")
}

/// Reads the cases of a folder or a file into the knowledge.
///
/// # Errors
/// When a folder can't be read or a file holds no case; the first is told with its line.
fn add_cases(knowledge: &mut Knowledge, path: &Path) -> Result<(), CommandError> {
    for file in case_files(path)? {
        let (case, sources, findings) = load_case(&file);
        refuse_broken(&sources, &findings)?;
        let at = knowledge.sources.files.len();
        knowledge.sources.files.extend(sources.files);
        knowledge.cases.extend(case.map(|case| (at, case)));
    }
    Ok(())
}

/// Every case file below a folder: what stands in folders named `cases`, or, where there is none, every .yaml file.
fn case_files(path: &Path) -> Result<Vec<PathBuf>, CommandError> {
    let mut files = Vec::new();
    collect(path, 0, &mut files)?;
    files.sort();
    let in_cases = |file: &PathBuf| {
        let below = file.strip_prefix(path).unwrap_or(file);
        below.components().any(|c| c.as_os_str() == "cases")
    };
    if files.iter().any(in_cases) {
        files.retain(in_cases);
    }
    Ok(files)
}

/// Folders inside folders are followed so far; a link in a circle ends there.
const DEEPEST: usize = 8;

fn collect(path: &Path, depth: usize, files: &mut Vec<PathBuf>) -> Result<(), CommandError> {
    if !path.is_dir() {
        files.extend(is_yaml(path).then(|| path.to_owned()));
        return Ok(());
    }
    if depth > DEEPEST {
        return Ok(());
    }
    let trouble = |e: std::io::Error| {
        let message = format!("{} can't be read: {e}", path.display());
        CommandError::new(message, "see that the folder may be read")
    };
    for entry in std::fs::read_dir(path).map_err(trouble)? {
        collect(&entry.map_err(trouble)?.path(), depth + 1, files)?;
    }
    Ok(())
}

/// The first error with its place, and how many more there are.
fn refuse_broken(sources: &Sources, findings: &[Finding]) -> Result<(), CommandError> {
    let mut errors = findings.iter().filter(|f| f.level() == Level::Error);
    let Some(first) = errors.next() else {
        return Ok(());
    };
    let name = sources.files.get(first.location.file).map_or("", |f| f.name.as_str());
    // A file that can't be read has no lines.
    let place = if first.code == Code::UnreadableFile {
        name.to_owned()
    } else {
        let at = sources.position(&first.location);
        format!("{name}:{}:{}", at.line, at.column)
    };
    let mut error = CommandError::new(format!("{place}: {}", first.message), first.help.clone());
    let more = errors.count();
    if more > 0 {
        error.hints.push(format!("and {more} more in the cases"));
    }
    Err(error)
}

fn table(suite: &Suite, path: bool, style: &Style, out: &mut dyn Write) -> Result<(), CommandError> {
    writeln!(
        out,
        "{:6} {:>5} {:>7} {:>5}  case, and what leads at the end",
        "", "steps", "minutes", "leads"
    )?;
    for (file, result) in &suite.results {
        let mark = if result.passed() {
            style.good("passed")
        } else {
            style.danger("FAILED")
        };
        let (leads, cause) = leads(result);
        let text = beside(&result.title, cause, style.width.saturating_sub(28).max(20), style);
        writeln!(
            out,
            "{mark} {:>5} {:>7.0} {leads:>5}  {text}",
            result.steps, result.minutes
        )?;
        if !result.passed() {
            let why = format!("{file}: {}", result.failures.join("; "));
            wrapped(&why, "       ", style, out)?;
        }
        if path || !result.passed() {
            for step in &result.path {
                wrapped(step, "         ", style, out)?;
            }
            let ranking: Vec<String> = result
                .ranking
                .iter()
                .map(|(id, p)| format!("{id} {:.0} %", p * 100.0))
                .collect();
            wrapped(&format!("= {}", ranking.join(", ")), "         ", style, out)?;
        }
    }
    let summary = format!(
        "{} of {} passed; true cause in the first three in {}; {:.1} steps and {:.0} minutes a case; {:.0} % of the answers unlisted",
        suite.passed,
        suite.cases,
        suite.in_first_three,
        suite.mean_steps,
        suite.mean_minutes,
        suite.unlisted * 100.0
    );
    wrapped(&summary, "", style, out)
}

/// The first of the ranking when the walk stopped: its share and its id.
fn leads(result: &CaseResult) -> (String, &str) {
    result
        .ranking
        .first()
        .map_or((String::new(), ""), |(id, p)| (format!("{:.0} %", p * 100.0), id))
}

/// A title with an id at the right edge, where both fit.
fn beside(title: &str, id: &str, room: usize, style: &Style) -> String {
    let taken = title.chars().count() + 2;
    if taken + id.chars().count() > room {
        return title.to_owned();
    }
    let gap = room - taken - id.chars().count() + 2;
    format!("{title}{}{}", " ".repeat(gap), style.faint(id))
}

fn wrapped(text: &str, indent: &str, style: &Style, out: &mut dyn Write) -> Result<(), CommandError> {
    let deeper = format!("{indent}  ");
    let options = textwrap::Options::new(style.width.max(20))
        .initial_indent(indent)
        .subsequent_indent(&deeper)
        .word_separator(textwrap::WordSeparator::AsciiSpace)
        .word_splitter(textwrap::WordSplitter::NoHyphenation);
    for line in textwrap::wrap(text, options) {
        writeln!(out, "{line}")?;
    }
    Ok(())
}
