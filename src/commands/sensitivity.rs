//! `pintle sensitivity`: how far the author's numbers can be off before the start of a walk changes.

use std::io::Write;

use super::lines::Lines;
use super::progress::Progress;
use super::{CommandError, Exit, Packs, site_of, symptom_named};
use crate::belief::Evidence;
use crate::call::Engine;
use crate::knowledge::WithCases;
use crate::plan::Situation;
use crate::sensitivity::{Number, Sensitivity, pieces, sensitivity};
use crate::settings::Settings;
use crate::terminal::Style;

/// Arguments of `pintle sensitivity`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The symptom: its id
    pub symptom: String,
    /// A fact of the site, such as gate-type=swing; may be given several times
    #[arg(long = "fact", value_name = "FACT=VALUE")]
    pub facts: Vec<String>,
    /// Draws at each strength of noise
    #[arg(long, default_value_t = 24, value_parser = clap::value_parser!(u32).range(1..=100_000))]
    pub draws: u32,
    /// Seed of the draws
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
    /// Packs.
    #[command(flatten)]
    pub packs: Packs,
    /// Write JSON
    #[arg(long)]
    pub json: bool,
}

/// Lines of a table before it is cut.
const SHOWN: usize = 8;
/// Smaller changes of a share are not shown.
const SHARE_SHOWN: f64 = 0.005;
/// Smaller changes of the minutes are not shown.
const MINUTES_SHOWN: f64 = 0.5;

/// Runs it.
///
/// # Errors
/// When the knowledge has errors, the symptom or a fact is unknown, no cause makes it, or the output can't be written.
pub fn run(args: &Args, settings: &Settings, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let engine = args.packs.engine(settings, WithCases::No)?;
    let symptom = symptom_named(&engine, &args.symptom)?;
    let mut start = Situation::starting(Evidence::reported(vec![symptom]));
    start.site = site_of(&engine, &args.facts)?;
    if engine.planner().belief(&start).total <= 0.0 {
        return Err(CommandError::new(
            "no cause makes this at such a site",
            "leave a --fact out, or see `pintle check`",
        ));
    }
    let progress = Progress::new("draws and numbers", pieces(&engine, &start, args.draws));
    let found = sensitivity(&engine, &start, args.draws, args.seed, &|| progress.step());
    drop(progress);
    if args.json {
        out.write_all(super::json(&found)?.as_bytes())?;
    } else {
        let title = &engine.knowledge.symptoms[symptom.index()].title;
        write!(out, "{}", page(&engine, title, &found, style))?;
    }
    Ok(Exit::Ok)
}

/// The page: in words first, the tables below.
#[must_use]
pub fn page(engine: &Engine, title: &str, found: &Sensitivity, style: &Style) -> String {
    let mut lines = Lines::new(style);
    let (lead, share) = (&found.lead.0, found.lead.1);
    let cause = engine
        .knowledge
        .causes
        .get(lead)
        .map_or(lead.as_str(), |c| c.title.as_str());
    lines.heading(title);
    lines.paragraph(&format!(
        "{cause} leads with {:.0} %; first step: {} ({:.0} min to go).",
        share * 100.0,
        found.first_step,
        found.to_go
    ));
    lines.paragraph(&holds("The same cause leads", found, |level| level.lead_stays));
    lines.paragraph(&holds("The first step is the same", found, |level| {
        level.first_step_stays
    }));
    if let Some(number) = found.numbers.first().filter(|n| n.lead_moves(share) >= SHARE_SHOWN) {
        let other = if number.other_leads.contains(&true) {
            "; then another cause leads"
        } else {
            ""
        };
        lines.paragraph(&format!(
            "What matters most for the ranking: {}. Off by 1 in log-odds it moves {cause} to {:.0} or {:.0} %{other}.",
            number.what,
            number.lead[0] * 100.0,
            number.lead[1] * 100.0
        ));
    }
    let by_minutes = by_minutes(found);
    let measure = if found.repairs_alone {
        " (of repairs alone, as the first step is a question)"
    } else {
        ""
    };
    if let Some(number) = by_minutes.first() {
        lines.paragraph(&format!(
            "What matters most for the minutes{measure}: {}. Off by 1 in log-odds it makes them {:.0} or {:.0}.",
            number.what, number.minutes[0], number.minutes[1]
        ));
    }
    levels(found, &mut lines);
    let moving: Vec<&Number> = found
        .numbers
        .iter()
        .filter(|n| n.lead_moves(share) >= SHARE_SHOWN)
        .collect();
    lines.section(
        "Single numbers that move the leading cause, down and up by 1",
        moving.len(),
    );
    for number in moving.iter().take(SHOWN) {
        let [down, up] = number.lead.map(|p| p * 100.0);
        lines.item(&format!("{down:.0} to {up:.0} %: {}", number.path));
    }
    lines.more(moving.len(), SHOWN);
    lines.section("Single numbers that move the minutes", by_minutes.len());
    for number in by_minutes.iter().take(SHOWN) {
        let [down, up] = number.minutes;
        lines.item(&format!("{down:.1} to {up:.1} min: {}", number.path));
    }
    lines.more(by_minutes.len(), SHOWN);
    lines.text
}

/// Up to which strength of noise something holds in nine draws of ten.
fn holds(what: &str, found: &Sensitivity, of: impl Fn(&crate::sensitivity::Level) -> f64) -> String {
    let upto = found.levels.iter().take_while(|l| of(l) >= 0.9).last();
    match upto {
        None => {
            let first = found.levels.first().map_or(0.0, of);
            format!(
                "{what} in only {:.0} % of the draws even when every number is off by little: it is a close thing.",
                first * 100.0
            )
        }
        Some(level) => format!(
            "{what} in {:.0} % of the draws with every number off by {} in log-odds ({}).",
            of(level) * 100.0,
            level.sigma,
            half(level.sigma)
        ),
    }
}

/// What a shift does to a chance of one half.
fn half(sigma: f64) -> String {
    let up = 100.0 / (1.0 + (-sigma).exp());
    format!("50 % may be {:.0} or {up:.0} %", 100.0 - up)
}

fn levels(found: &Sensitivity, lines: &mut Lines<'_>) {
    lines.blank();
    lines.row(&format!(
        "{} draws each, seed {}: every rate and chance moved by its own normal draw",
        found.draws, found.seed
    ));
    lines.row(&format!(
        "{:34}{:>14}{:>18}",
        "off by (one standard deviation)", "leads still", "same first step"
    ));
    for level in &found.levels {
        let off = format!("{} ({})", level.sigma, half(level.sigma));
        lines.row(&format!(
            "{off:34}{:>12.0} %{:>16.0} %",
            level.lead_stays * 100.0,
            level.first_step_stays * 100.0
        ));
    }
}

/// Numbers that move the minutes, those that do most first.
fn by_minutes(found: &Sensitivity) -> Vec<&Number> {
    let moves = |n: &&Number| n.minutes_move(found.minutes) >= MINUTES_SHOWN;
    let mut numbers: Vec<&Number> = found.numbers.iter().filter(moves).collect();
    numbers.sort_by(|a, b| {
        let moved = |n: &Number| n.minutes_move(found.minutes);
        moved(b).total_cmp(&moved(a)).then(a.path.cmp(&b.path))
    });
    numbers
}
