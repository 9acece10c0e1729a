//! `pintle coverage`: how far the tests find and part the causes, and what is missing.

use std::io::Write;
use std::path::PathBuf;

use super::lines::Lines;
use super::progress::Progress;
use super::{CommandError, Exit, Packs, symptom_named};
use crate::call::{Engine, Suite, named_cases};
use crate::coverage::{Coverage, DMatrix, GroupFigures, Idle, Isolation, Named, Scope, walked_tests};
use crate::knowledge::WithCases;
use crate::settings::Settings;
use crate::terminal::Style;

/// Arguments of `pintle coverage`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Packs.
    #[command(flatten)]
    pub packs: Packs,
    /// Only the causes of this symptom: its id
    #[arg(long, value_name = "ID")]
    pub symptom: Option<String>,
    /// Write the D-matrix as CSV: a line a cause, a column a test
    #[arg(long, value_name = "FILE")]
    pub matrix: Option<PathBuf>,
    /// Also play the cases and follow the plan from every symptom: which tests are never asked (minutes)
    #[arg(long)]
    pub walks: bool,
    /// Write JSON
    #[arg(long)]
    pub json: bool,
}

/// Lines of a list before it is cut.
const SHOWN: usize = 8;

/// Runs it.
///
/// # Errors
/// When the knowledge has errors, there is no such symptom, or something can't be written.
pub fn run(args: &Args, settings: &Settings, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let engine = args.packs.engine(settings, WithCases::Yes)?;
    let symptom = args.symptom.as_ref().map(|id| symptom_named(&engine, id)).transpose()?;
    if let Some(file) = &args.matrix {
        let scope = Scope::new(&engine, symptom);
        let csv = DMatrix::new(&engine.model, &scope).csv(&engine, &scope);
        std::fs::write(file, csv).map_err(|e| {
            let message = format!("{} can't be written: {e}", file.display());
            CommandError::new(message, "see that its folder exists and may be written")
        })?;
    }
    let progress = Progress::new("tests looked at", engine.model.tests.len());
    let mut coverage = Coverage::new(&engine, symptom, &|| progress.step());
    drop(progress);
    if args.walks {
        coverage.never_asked = Some(walks(&engine));
    }
    if args.json {
        out.write_all(super::json(&coverage)?.as_bytes())?;
    } else {
        write!(out, "{}", page(&engine, &coverage, style))?;
    }
    Ok(Exit::Ok)
}

fn walks(engine: &Engine) -> Vec<Idle> {
    let cases = named_cases(engine);
    let progress = Progress::new("cases and symptoms walked", cases.len() + engine.model.symptom.len());
    let suite = Suite::play(engine, &cases, &|| progress.step());
    walked_tests(engine, &suite, &|| progress.step())
}

/// The page, section by section, what an author can act on in each.
#[must_use]
pub fn page(engine: &Engine, coverage: &Coverage, style: &Style) -> String {
    let mut lines = Lines::new(style);
    let of = coverage
        .symptom
        .as_ref()
        .and_then(|id| engine.knowledge.symptoms.get(id))
        .map_or(String::new(), |s| format!(" that make \"{}\"", s.title));
    let head = format!(
        "Testability: {} causes{of}, {} tests",
        coverage.figures.causes, coverage.figures.tests
    );
    lines.heading(&head);
    figures(coverage, &mut lines);
    isolation(&coverage.isolation, coverage.isolated_from, &mut lines);
    causes("No test notices", &coverage.missed, &mut lines);
    groups(coverage, &mut lines);
    apart(coverage, &mut lines);
    idle(coverage, &mut lines);
    causes("No case", &coverage.no_case, &mut lines);
    causes("No repair: can only be referred", &coverage.no_repair, &mut lines);
    lines.text
}

fn figures(coverage: &Coverage, lines: &mut Lines<'_>) {
    let (figures, noticed) = (&coverage.figures, coverage.noticed_from);
    lines.paragraph(&format!(
        "Words of IEEE Std 1522 and AI-ESTATE. d(f,t) = 1 where the outcomes of the test under the fault are {noticed} or more in total \
         variation from healthy ones. Weighted by rate, at a site of which nothing is known; in brackets each cause counts once."
    ));
    lines.blank();
    let d = figures.detected;
    lines.row(&format!(
        "fraction of faults detected, FFD         {:.3}  ({:.3})",
        d.by_rate, d.by_count
    ));
    lines.blank();
    let column = |of: &dyn Fn(&GroupFigures) -> String| -> String {
        let cells = figures.by_likeness.iter().map(|g| format!("{:>17}", of(g)));
        cells.collect::<Vec<_>>().concat()
    };
    lines.row(&format!(
        "{:27}{:>17}{:>17}{:>17}",
        "causes in one group have", "same row", "same chances", "like chances"
    ));
    lines.row(&format!(
        "{:27}{}",
        "ambiguity groups",
        column(&|g| g.groups.to_string())
    ));
    for size in 0..3 {
        let name = format!("FFI({}) of detected", size + 1);
        let cell = |g: &GroupFigures| {
            let part = g.isolated[size].of_detected;
            format!("{:.3} ({:.3})", part.by_rate, part.by_count)
        };
        lines.row(&format!("{name:27}{}", column(&cell)));
        let cell = |g: &GroupFigures| {
            let part = g.isolated[size].of_all;
            format!("{:.3} ({:.3})", part.by_rate, part.by_count)
        };
        lines.row(&format!("{:27}{}", "       of all", column(&cell)));
    }
    let cell = |g: &GroupFigures| format!("{:.2} ({:.2})", g.mean_size.by_rate, g.mean_size.by_count);
    lines.row(&format!("{:27}{}", "mean group size", column(&cell)));
    lines.blank();
    lines.paragraph(&format!(
        "Same chances: of every outcome of every test. Like chances: every two less than {} apart in total variation on every test, so that at \
         even odds the best single test still takes one for the other in {:.1} % of calls.",
        coverage.alike_below,
        (1.0 - coverage.alike_below) * 50.0
    ));
}

fn isolation(isolation: &Isolation, sure: f64, lines: &mut Lines<'_>) {
    lines.blank();
    let (about, how) = if isolation.followed < 0.9995 {
        let how = format!(
            "; {:.0} % of it worked out way by way, the rest from ways drawn by chance",
            isolation.followed * 100.0
        );
        ("about ", how)
    } else {
        ("", String::new())
    };
    lines.paragraph(&format!(
        "Mean cost to isolate: {about}{:.1} minutes, {:.1} tests. Counted from the report of one symptom, one fault at a time, always the test \
         with the most information per minute, until one group of like chances has {:.0} % or no test tells more; {:.0} % of the walks \
         come that far{how}.",
        isolation.minutes,
        isolation.tests,
        sure * 100.0,
        isolation.isolated * 100.0
    ));
}

fn causes(title: &str, named: &[Named], lines: &mut Lines<'_>) {
    lines.section(title, named.len());
    for cause in named.iter().take(SHOWN) {
        lines.item(&format!("{}  ({})", cause.title, cause.id));
    }
    lines.more(named.len(), SHOWN);
}

/// Every ambiguity group, none left out: a technician has to know where the tests end.
fn groups(coverage: &Coverage, lines: &mut Lines<'_>) {
    lines.section(
        "Ambiguity groups of two and more, by like chances",
        coverage.groups.len(),
    );
    for group in &coverage.groups {
        let titles: Vec<&str> = group.causes.iter().map(|c| c.title.as_str()).collect();
        lines.item(&titles.join(" | "));
        group.reasons.iter().for_each(|reason| lines.under(reason));
        if group.reasons.is_empty() {
            lines.under("no reason is written: add a test that parts them, or an `ambiguity:` entry that says why there is none");
        }
    }
}

fn apart(coverage: &Coverage, lines: &mut Lines<'_>) {
    lines.section(
        "Can't be told apart, or not well: like chances, and a symptom in common",
        coverage.alike.len(),
    );
    for pair in coverage.alike.iter().take(SHOWN) {
        lines.item(&format!("{} | {}", pair.titles[0], pair.titles[1]));
        lines.under(&match &pair.best_test {
            Some(test) => format!(
                "best test: {test}; mistakes one for the other in {:.0} %",
                (1.0 - pair.variation) * 50.0
            ),
            None => "no test tells anything between them".to_owned(),
        });
        pair.ways.iter().take(2).for_each(|way| lines.under(way));
    }
    lines.more(coverage.alike.len(), SHOWN);
    if coverage.parted_otherwise > 0 {
        lines.paragraph(&format!(
            "{} further pairs of like chances are parted by the site or the complaint: no site, or no symptom, has both.",
            coverage.parted_otherwise
        ));
    }
}

fn idle(coverage: &Coverage, lines: &mut Lines<'_>) {
    lines.section(
        "Never save their time as a first step, whatever is reported",
        coverage.idle.len(),
    );
    for idle in coverage.idle.iter().take(SHOWN) {
        let nearest = idle.nearest.as_ref().map_or(String::new(), |(symptom, saved)| {
            format!("; nearest: {symptom}, {:.1} min short", -saved)
        });
        lines.item(&format!(
            "{}  ({}, {:.0} min{nearest})",
            idle.title, idle.test, idle.minutes
        ));
    }
    lines.more(coverage.idle.len(), SHOWN);
    let Some(never) = &coverage.never_asked else {
        if !coverage.idle.is_empty() {
            lines.paragraph("They may still pay later in a walk: --walks follows the cases and the plan and says which are never asked.");
        }
        return;
    };
    lines.section(
        "Never asked, in the walks of the cases or by the plan from any symptom",
        never.len(),
    );
    for idle in never.iter().take(SHOWN) {
        lines.item(&format!("{}  ({}, {:.0} min)", idle.title, idle.test, idle.minutes));
    }
    lines.more(never.len(), SHOWN);
}
