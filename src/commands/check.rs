//! `pintle check`: everything that is wrong with the knowledge, and what each walk opens with.

use std::io::Write;
use std::path::PathBuf;

use serde::Serialize;

use super::{CommandError, Exit};
use crate::call::{Danger, Engine, First, Opening, check_cases, openings};
use crate::finding::{Finding, Level};
use crate::knowledge::schema::Severity;
use crate::knowledge::{Knowledge, WithCases, check};
use crate::model::SiteFacts;
use crate::terminal::{Style, level_word, render_findings};

/// Arguments of `pintle check`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Pack folders, each laid over the built-in knowledge and the ones before it; none: the built-in knowledge alone
    #[arg(value_name = "DIR")]
    pub dirs: Vec<PathBuf>,
    /// Findings and openings as JSON
    #[arg(long)]
    pub json: bool,
}

/// Checks, prints, and says whether there was an error.
///
/// # Errors
/// When the output can't be written.
pub fn run(args: &Args, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let (knowledge, loaded) = Knowledge::built_in(&args.dirs, WithCases::Yes);
    let (findings, echoes) = everything(&knowledge, loaded);
    let errors = findings.iter().filter(|f| f.level() == Level::Error).count();
    let report = Report::new(&knowledge, &findings);
    let text = if args.json {
        String::new()
    } else {
        render_findings(&knowledge, &findings, style)
    };
    // A walk through knowledge with errors would say nothing about the knowledge that is meant.
    let openings = (errors == 0).then(|| openings(&Engine::new(knowledge), &SiteFacts::unknown()));
    if args.json {
        let report = Report { openings, ..report };
        serde_json::to_writer_pretty(&mut *out, &report).map_err(std::io::Error::from)?;
        writeln!(out)?;
    } else {
        write!(out, "{text}")?;
        summary(out, &report, errors, echoes, style)?;
        if let Some(openings) = &openings {
            write!(out, "{}", render_openings(openings, style))?;
        }
    }
    Ok(if errors == 0 { Exit::Ok } else { Exit::Found })
}

/// Every finding about a knowledge, in the order of its files; and whether some were left out because a file can't be read.
#[must_use]
pub fn everything(knowledge: &Knowledge, loaded: Vec<Finding>) -> (Vec<Finding>, bool) {
    let echoes = check::has_echoes(&loaded);
    let mut findings = loaded;
    findings.extend(check::check(knowledge));
    findings.extend(check_cases(knowledge));
    (check::sorted(knowledge, findings), echoes)
}

/// What `--json` writes.
#[derive(Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
struct Report {
    version: u32,
    counts: Counts,
    findings: Vec<FindingOut>,
    /// Left out while there are errors.
    openings: Option<Vec<Opening>>,
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
struct Counts {
    symptoms: usize,
    causes: usize,
    tests: usize,
    repairs: usize,
    cases: usize,
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
struct FindingOut {
    code: &'static str,
    level: Level,
    file: String,
    line: usize,
    column: usize,
    path: Vec<String>,
    text: String,
    message: String,
    help: String,
}

impl Report {
    fn new(knowledge: &Knowledge, findings: &[Finding]) -> Self {
        let counts = Counts {
            symptoms: knowledge.symptoms.len(),
            causes: knowledge.causes.len(),
            tests: knowledge.tests.len(),
            repairs: knowledge.repairs.len(),
            cases: knowledge.cases.len(),
        };
        let out = |f: &Finding| {
            let at = knowledge.sources.position(&f.location);
            let file = knowledge.sources.files.get(f.location.file);
            FindingOut {
                code: f.code.name(),
                level: f.level(),
                file: file.map(|f| f.name.clone()).unwrap_or_default(),
                line: at.line,
                column: at.column,
                path: f.location.path.clone(),
                text: knowledge.sources.line(f.location.file, at.line).to_owned(),
                message: f.message.clone(),
                help: f.help.clone(),
            }
        };
        Self {
            version: 1,
            counts,
            findings: findings.iter().map(out).collect(),
            openings: None,
        }
    }
}

fn summary(out: &mut dyn Write, report: &Report, errors: usize, echoes: bool, style: &Style) -> std::io::Result<()> {
    let c = &report.counts;
    let warnings = report.findings.len() - errors;
    let counts = format!(
        "{}, {}, {}, {}, {}",
        many(c.symptoms, "symptom"),
        many(c.causes, "cause"),
        many(c.tests, "test"),
        many(c.repairs, "repair"),
        many(c.cases, "case"),
    );
    let verdict = match (errors, warnings) {
        (0, 0) => style.good("nothing found"),
        (0, _) => style.caution(&many(warnings, level_word(Level::Warning))),
        _ => {
            let errors = many(errors, level_word(Level::Error));
            style.danger(&format!("{errors}, {}", many(warnings, level_word(Level::Warning))))
        }
    };
    writeln!(out, "{counts}: {verdict}")?;
    let mut note = |text: &str| -> std::io::Result<()> {
        for line in textwrap::wrap(text, style.width.max(20)) {
            writeln!(out, "{line}")?;
        }
        Ok(())
    };
    if echoes {
        note("Ids and unused entries are checked once every file can be read.")?;
    }
    if errors > 0 {
        note("What each walk opens with is worked out once there are no errors.")?;
    }
    Ok(())
}

fn many(n: usize, what: &str) -> String {
    format!("{n} {what}{}", if n == 1 { "" } else { "s" })
}

/// For each symptom, the first step at a site of which nothing is known.
fn render_openings(openings: &[Opening], style: &Style) -> String {
    let mut text = format!(
        "\n{}\n",
        style.strong("What each walk opens with, at a site of which nothing is known")
    );
    let column = (style.width * 2 / 5).max(16);
    let left_width = openings
        .iter()
        .map(|o| o.title.chars().count())
        .max()
        .unwrap_or(0)
        .min(column);
    let right_width = style.width.saturating_sub(left_width + 2).max(20);
    for opening in openings {
        let first = first_text(&opening.first);
        let words = match &opening.danger {
            None => first,
            Some(danger) if opening.first == First::Stop => format!("stop: {}", danger_text(danger)),
            Some(danger) => format!("{first} (settles it first: {})", danger_text(danger)),
        };
        let left = textwrap::wrap(&opening.title, left_width.max(1));
        let right = textwrap::wrap(&words, right_width);
        for row in 0..left.len().max(right.len()) {
            let (l, r) = (left.get(row).map_or("", |l| l), right.get(row).map_or("", |r| r));
            let padded = format!("{l:left_width$}");
            let right = match (&opening.first, opening.danger.is_some()) {
                (First::Stop, _) => style.danger(r),
                (_, true) => style.caution(r),
                _ => r.to_owned(),
            };
            text.push_str(format!("{padded}  {right}").trim_end());
            text.push('\n');
        }
    }
    text
}

pub(super) fn first_text(first: &First) -> String {
    match first {
        First::Test { title, .. } => title.clone(),
        First::Repair { title, .. } => format!("repair: {title}"),
        First::Fact { title, .. } => format!("question: {title}"),
        First::Stop => "stop".to_owned(),
        First::End { title } => format!("end: {title}"),
    }
}

fn danger_text(danger: &Danger) -> String {
    let worst = match danger.severity {
        Severity::Kill => "may kill",
        Severity::Maim => "may maim",
        Severity::Hurt => "may hurt",
        Severity::None => "is a nuisance",
    };
    let causes: Vec<String> = danger
        .causes
        .iter()
        .map(|(title, p)| format!("{title} {}", percent(*p)))
        .collect();
    format!(
        "{} for a fault that {worst}: {}",
        percent(danger.chance),
        causes.join(", ")
    )
}

fn percent(p: f64) -> String {
    if p < 0.01 {
        format!("{:.1} %", p * 100.0)
    } else {
        format!("{:.0} %", p * 100.0)
    }
}
