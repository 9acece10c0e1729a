//! What a drill comes to: worked out from its journal alone, so that it can be done again from the file.

use serde::Serialize;

use super::conduct::{Conduct, Skipped, UnsafeAct};
use super::regret::worth;
use super::scenario::PlanPlayed;
use super::score::Score;
use super::session::{seed_of, worked};
use super::site::SimulatedSite;
use crate::call::{Call, Engine, Entry};
use crate::knowledge::schema::{Case, Ending, Severity};
use crate::plan::Action;

/// A repair with less behind it than this was a guess.
const A_GUESS: f64 = 0.5;

/// One decision of the trainee's.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Decision {
    /// Position of its event.
    pub entry: usize,
    /// What was done.
    pub what: String,
    /// Minutes expected from there, beginning with it, more than with the best step: 0 where none was better.
    pub regret: f64,
    /// What the plan would have done.
    pub better: String,
}

/// A repair for which there was too little reason, or that changed nothing.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Guess {
    /// Position of its event.
    pub entry: usize,
    /// The repair.
    pub what: String,
    /// How likely it was then to have anything to cure.
    pub support: f64,
    /// Whether it cured anything.
    pub cured: bool,
    /// Price of its parts, in the pack's currency.
    pub parts: f64,
}

/// The debrief.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Debrief {
    /// What was wrong: titles.
    pub truth: Vec<String>,
    /// Of that, what was not found and cured.
    pub left: Vec<String>,
    /// How the trainee left it.
    pub ending: Option<Ending>,
    /// Endings that would have been right.
    pub right_endings: Vec<Ending>,
    /// Minutes of work.
    pub minutes: f64,
    /// Minutes that the plan takes on the same site.
    pub plan_minutes: f64,
    /// What the plan does there, in order.
    pub plan: Vec<String>,
    /// What the trainee did.
    pub decisions: Vec<Decision>,
    /// Repairs on too little evidence, and those that changed nothing.
    pub guesses: Vec<Guess>,
    /// Worst first.
    pub unsafe_acts: Vec<UnsafeAct>,
    /// Preparation left out.
    pub skipped: Vec<Skipped>,
    /// Lines of the retest that were done, and how many there are at this site.
    pub retest: (usize, usize),
    /// Over the time, against the clock: by how many minutes.
    pub over_time: Option<f64>,
    /// The score, line by line.
    pub score: Score,
    /// Not passed where there was a grave unsafe act, whatever the score.
    pub passed: bool,
    /// One thing to practise next.
    pub practise: String,
    /// What the trainer wanted to show.
    pub lesson: String,
}

impl Debrief {
    /// Goes through a drill again.
    #[must_use]
    pub fn of(engine: &Engine, case: &Case, entries: &[Entry], allowed: Option<f64>) -> Self {
        let seed = seed_of(entries.iter().map(|e| &e.event));
        let plan = PlanPlayed::on(engine, case, seed);
        let mut site = SimulatedSite::of_case(engine, case, seed);
        let mut call = Call::in_memory(engine, Vec::new());
        let mut conduct = Conduct::default();
        let (mut decisions, mut guesses) = (Vec::new(), Vec::new());
        for (i, entry) in entries.iter().enumerate() {
            conduct.look(&call, &site, i, &entry.event);
            let before = site.left().len();
            let worth = worth(&call, &entry.event);
            site.relive(&entry.event);
            if let Some(worth) = worth {
                let cured = site.left().len() < before;
                if let Action::Repair(r) = worth.action {
                    let repair = &engine.knowledge.repairs[r.index()];
                    if worth.support < A_GUESS || !cured {
                        guesses.push(Guess {
                            entry: i,
                            what: repair.title.clone(),
                            support: worth.support,
                            cured,
                            parts: repair.parts.iter().map(|p| p.price).sum(),
                        });
                    }
                }
                decisions.push(Decision {
                    entry: i,
                    what: title(engine, worth.action),
                    regret: worth.regret,
                    better: title(engine, worth.better),
                });
            }
            // In memory nothing can go wrong.
            let _ = call.record(entry.clone());
        }
        let cause_title = |c: &crate::model::CauseId| engine.knowledge.causes[c.index()].title.clone();
        let ending = call.ending().map(|e| e.0);
        let lines = engine.knowledge.retest.values();
        let applying = lines.filter(|l| site.facts().holds(&l.when) != Some(false)).count();
        conduct
            .unsafe_acts
            .sort_by(|a, b| b.severity.cmp(&a.severity).then(a.entry.cmp(&b.entry)));
        let worked = worked(engine, &call, &case.under);
        let mut debrief = Self {
            truth: site.at_start().iter().map(cause_title).collect(),
            left: site.left().iter().map(cause_title).collect(),
            ending,
            right_endings: right_endings(engine, case, &site, plan.ending),
            minutes: worked,
            plan_minutes: plan.minutes,
            plan: plan.steps.iter().map(|id| step_title(engine, id)).collect(),
            decisions,
            guesses,
            unsafe_acts: conduct.unsafe_acts,
            skipped: conduct.skipped,
            retest: (call.retest().len(), applying),
            over_time: allowed.filter(|most| worked > *most).map(|most| worked - most),
            score: Score::default(),
            passed: false,
            practise: String::new(),
            lesson: case.drill.as_ref().map_or_else(String::new, |d| d.lesson.clone()),
        };
        debrief.score = Score::of(&debrief);
        debrief.passed = debrief.score.passes() && !debrief.unsafe_acts.iter().any(UnsafeAct::is_grave);
        debrief.practise = debrief.practise_next();
        debrief
    }

    /// Whether the call was left as it should be.
    #[must_use]
    pub fn ended_well(&self) -> bool {
        self.ending.is_some_and(|e| self.right_endings.contains(&e))
    }

    /// Minutes lost to steps that were not the best.
    #[must_use]
    pub fn lost(&self) -> f64 {
        self.decisions.iter().map(|d| d.regret).sum()
    }

    /// Repairs that were guesses and changed nothing.
    #[must_use]
    pub fn swapped(&self) -> usize {
        self.guesses.iter().filter(|g| !g.cured && g.support < A_GUESS).count()
    }

    /// The dearest thing first: danger, then whatever cost most points.
    fn practise_next(&self) -> String {
        if let Some(act) = self.unsafe_acts.first() {
            return act.rule.clone();
        }
        if self.swapped() >= 2 {
            return "Measure before you swap: name the reading that would prove the part good or bad, take it, then decide."
                .to_owned();
        }
        let dearest = self.decisions.iter().max_by(|a, b| a.regret.total_cmp(&b.regret));
        match self.score.dearest() {
            None => "Nothing in particular: take a harder one.".to_owned(),
            Some(line) if line.about_time => dearest.map_or_else(String::new, |d| {
                format!(
                    "Ask what a step can tell before you do it: at \"{}\", \"{}\" would have told more for its minutes.",
                    d.what, d.better
                )
            }),
            Some(line) => line.practise.to_owned(),
        }
    }
}

/// How this gate may rightly be left.
pub(super) fn right_endings(
    engine: &Engine,
    case: &Case,
    site: &SimulatedSite<'_>,
    plan: Option<Ending>,
) -> Vec<Ending> {
    let mut right: Vec<Ending> = case.expect.ending.into_iter().chain(plan).collect();
    let all_cured = site.left().is_empty() && !site.at_start().is_empty();
    if all_cured && !right.contains(&Ending::Explained) {
        right.push(Ending::Fixed);
    }
    let severe = |c: &crate::model::CauseId| engine.knowledge.causes[c.index()].severity > Severity::None;
    if site.at_start().iter().any(severe) || !case.signs.is_empty() {
        right.push(Ending::OutOfUse);
    }
    right.sort_by_key(|e| e.say());
    right.dedup();
    right
}

fn title(engine: &Engine, action: Action) -> String {
    match (action, action.entry_title(&engine.knowledge)) {
        (Action::Repair(_), Some(title)) => format!("Repair: {title}"),
        (_, Some(title)) => title.to_owned(),
        (Action::NoFaultFound, None) => "Close it".to_owned(),
        (_, None) => "Hand it to somebody else".to_owned(),
    }
}

pub(super) fn step_title(engine: &Engine, id: &str) -> String {
    let knowledge = &engine.knowledge;
    match (knowledge.tests.get(id), knowledge.repairs.get(id)) {
        (Some(t), _) => t.title.clone(),
        (_, Some(r)) => format!("Repair: {}", r.title),
        _ => id.to_owned(),
    }
}
