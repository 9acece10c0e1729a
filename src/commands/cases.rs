//! `pintle cases`: play every case and tell which pass.

use std::io::Write;

use super::{CommandError, Exit, Packs};
use crate::call::{CaseResult, Engine, play};
use crate::knowledge::WithCases;
use crate::terminal::Style;

/// Arguments of `pintle cases`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Only cases whose file name contains this
    pub only: Option<String>,
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

/// More unlisted answers than this share fail the run: the cases say too little.
const MOST_UNLISTED: f64 = 0.20;

/// The whole run.
#[derive(Debug, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Summary {
    /// Version of this format.
    pub version: u32,
    /// Cases played.
    pub cases: usize,
    /// Of them passed.
    pub passed: usize,
    /// Of them with the true causes among the first three when the walk stopped.
    pub in_first_three: usize,
    /// Mean tests and repairs a case.
    pub mean_steps: f64,
    /// Mean minutes a case.
    pub mean_minutes: f64,
    /// Share of the asked tests that the cases do not list.
    pub unlisted: f64,
    /// Each case with its file.
    pub results: Vec<(String, CaseResult)>,
}

impl Summary {
    /// Plays the cases whose file name contains `only`, two at a time.
    #[must_use]
    pub fn play(engine: &Engine, only: Option<&str>) -> Self {
        let files = &engine.knowledge.sources.files;
        let chosen: Vec<_> = engine
            .knowledge
            .cases
            .iter()
            .map(|(file, case)| (files[*file].name.clone(), case))
            .filter(|(name, _)| only.is_none_or(|only| name.contains(only)))
            .collect();
        let threads = std::thread::available_parallelism().map_or(1, usize::from);
        let mut results: Vec<(String, CaseResult)> = std::thread::scope(|scope| {
            let workers: Vec<_> = (0..threads)
                .map(|worker| {
                    let mine: Vec<_> = chosen.iter().skip(worker).step_by(threads).collect();
                    scope.spawn(move || {
                        mine.into_iter()
                            .map(|(name, case)| (name.clone(), play(engine, case).0))
                            .collect::<Vec<_>>()
                    })
                })
                .collect();
            workers.into_iter().filter_map(|w| w.join().ok()).flatten().collect()
        });
        results.sort_by(|a, b| a.0.cmp(&b.0));
        let n = results.len().max(1) as f64;
        let asked: usize = results.iter().map(|(_, r)| r.steps).sum();
        let unlisted: usize = results.iter().map(|(_, r)| r.unlisted.len()).sum();
        Self {
            version: 1,
            cases: results.len(),
            passed: results.iter().filter(|(_, r)| r.failures.is_empty()).count(),
            in_first_three: results.iter().filter(|(_, r)| r.in_first_three).count(),
            mean_steps: asked as f64 / n,
            mean_minutes: results.iter().map(|(_, r)| r.minutes).sum::<f64>() / n,
            unlisted: unlisted as f64 / asked.max(1) as f64,
            results,
        }
    }
}

/// Runs it.
///
/// # Errors
/// When the knowledge has errors or the output can't be written.
pub fn run(args: &Args, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let engine = args.packs.engine(WithCases::Yes)?;
    let summary = Summary::play(&engine, args.only.as_deref());
    if args.json {
        let text = serde_json::to_string_pretty(&summary)
            .map_err(|e| CommandError::new(e.to_string(), "leave out --json to read it as text"))?;
        writeln!(out, "{text}")?;
    } else {
        table(&summary, args.path, style, out)?;
    }
    let good = summary.passed == summary.cases && summary.unlisted <= MOST_UNLISTED;
    Ok(if good { Exit::Ok } else { Exit::Found })
}

fn table(summary: &Summary, path: bool, style: &Style, out: &mut dyn Write) -> Result<(), CommandError> {
    writeln!(out, "{:6} {:>5} {:>7}  case", "", "steps", "minutes")?;
    for (file, result) in &summary.results {
        let passed = result.failures.is_empty();
        let mark = if passed {
            style.good("passed")
        } else {
            style.danger("FAILED")
        };
        writeln!(
            out,
            "{mark} {:>5} {:>7.0}  {}",
            result.steps, result.minutes, result.title
        )?;
        if !passed {
            writeln!(out, "       {file}: {}", result.failures.join("; "))?;
        }
        if path || !passed {
            for step in &result.path {
                writeln!(out, "         {step}")?;
            }
            let ranking: Vec<String> = result
                .ranking
                .iter()
                .map(|(id, p)| format!("{id} {:.0} %", p * 100.0))
                .collect();
            writeln!(out, "         = {}", ranking.join(", "))?;
        }
    }
    writeln!(
        out,
        "{} of {} passed; true cause in the first three in {}; {:.1} steps and {:.0} minutes a case; {:.0} % of the answers unlisted",
        summary.passed,
        summary.cases,
        summary.in_first_three,
        summary.mean_steps,
        summary.mean_minutes,
        summary.unlisted * 100.0
    )?;
    Ok(())
}
