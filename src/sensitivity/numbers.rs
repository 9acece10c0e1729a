//! The single numbers that can matter at a start.

use super::shake::{moved, written};
use crate::belief::Belief;
use crate::call::Engine;
use crate::knowledge::Knowledge;
use crate::knowledge::frequency::Frequency;
use crate::model::{CauseId, Model, RepairId, SymptomId, TestId};
use crate::plan::{Action, Situation};

/// A cause with less than this share moves next to nothing by itself.
const LEAST: f64 = 0.01;

/// One number of the knowledge.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum One {
    /// Calls in a thousand.
    Rate(CauseId),
    /// How often a cause makes a symptom.
    Makes(CauseId, SymptomId),
    /// How often a cause shows its likeliest outcome on a test.
    Shows(CauseId, TestId),
    /// How often a healthy gate shows its likeliest outcome on a test.
    Healthy(TestId),
    /// How surely a repair cures a cause.
    Cures(RepairId, CauseId),
    /// Share of calls whose cause nobody wrote down.
    NotListed,
    /// Share of calls with nothing wrong.
    NothingWrong,
}

/// Numbers of the causes that have a part in the belief, and of the step that is planned.
pub(super) fn of(engine: &Engine, belief: &Belief, situation: &Situation, action: Action) -> Vec<One> {
    let model = &engine.model;
    let share = belief.causes(model);
    let mut all = vec![One::NotListed, One::NothingWrong];
    for cause in (0..model.causes()).filter(|&c| share[c] >= LEAST).map(CauseId::at) {
        all.push(One::Rate(cause));
        let made = situation.evidence.symptoms.iter();
        let made = made.filter(|s| model.symptom[s.index()][cause.index()] > 0.0);
        all.extend(made.map(|s| One::Makes(cause, *s)));
        for (at, repair) in model.repairs.iter().enumerate() {
            if repair.chance(cause) > 0.0 {
                all.push(One::Cures(RepairId::at(at), cause));
            }
        }
        if let Action::Test(test) = action
            && model.tests[test.index()].shown(cause).is_some()
        {
            all.push(One::Shows(cause, test));
        }
    }
    if let Action::Test(test) = action {
        all.push(One::Healthy(test));
    }
    all
}

impl One {
    /// Moves it: a rate by a factor e^by, a chance by `by` in log-odds.
    pub(super) fn shift(self, knowledge: &mut Knowledge, model: &Model, by: f64) {
        match self {
            Self::Rate(c) => knowledge.causes[c.index()].rate *= by.exp(),
            Self::Makes(c, s) => {
                let symptom = knowledge.symptoms.get_index(s.index()).map(|(id, _)| id.clone());
                let cause = &mut knowledge.causes[c.index()];
                if let Some(chance) = symptom.and_then(|id| cause.symptoms.get_mut(&id)) {
                    *chance = Frequency::number(moved(chance.chance, by));
                }
            }
            Self::Shows(c, t) => {
                let table = &model.tests[t.index()];
                let test = knowledge.tests.get_index(t.index()).map(|(id, _)| id.clone());
                if let (Some(test), Some(shown)) = (test, table.shown(c)) {
                    let shows = written(table, &likeliest_moved(shown, by));
                    knowledge.causes[c.index()].shows.insert(test, shows);
                }
            }
            Self::Healthy(t) => {
                let table = &model.tests[t.index()];
                let test = &mut knowledge.tests[t.index()];
                let normal = table.outcomes.iter().zip(&table.normal).filter(|(_, n)| **n);
                test.normal = normal.map(|(outcome, _)| outcome.clone()).collect();
                test.healthy = written(table, &likeliest_moved(&table.healthy, by));
            }
            Self::Cures(r, c) => {
                let cause = knowledge.causes.get_index(c.index()).map(|(id, _)| id.clone());
                let repair = &mut knowledge.repairs[r.index()];
                if let Some(chance) = cause.and_then(|id| repair.cures.get_mut(&id)) {
                    *chance = Frequency::number(moved(chance.chance, by));
                }
            }
            Self::NotListed => knowledge.settings.not_listed = moved(knowledge.settings.not_listed, by),
            Self::NothingWrong => knowledge.settings.nothing_wrong = moved(knowledge.settings.nothing_wrong, by),
        }
    }

    /// In words.
    pub(super) fn words(self, knowledge: &Knowledge) -> String {
        let cause = |c: CauseId| knowledge.causes[c.index()].title.clone();
        match self {
            Self::Rate(c) => format!("rate of {}", cause(c)),
            Self::Makes(c, s) => format!("how often {} makes: {}", cause(c), knowledge.symptoms[s.index()].title),
            Self::Shows(c, t) => format!("what {} shows on: {}", cause(c), knowledge.tests[t.index()].title),
            Self::Healthy(t) => format!("what a healthy gate shows on: {}", knowledge.tests[t.index()].title),
            Self::Cures(r, c) => format!(
                "how surely this cures {}: {}",
                cause(c),
                knowledge.repairs[r.index()].title
            ),
            Self::NotListed => "share of calls whose cause nobody wrote down".to_owned(),
            Self::NothingWrong => "share of calls with nothing wrong".to_owned(),
        }
    }

    /// Where it stands.
    pub(super) fn path(self, knowledge: &Knowledge) -> String {
        let cause = |c: CauseId| id(&knowledge.causes, c.index());
        match self {
            Self::Rate(c) => format!("causes.{}.rate", cause(c)),
            Self::Makes(c, s) => format!("causes.{}.symptoms.{}", cause(c), id(&knowledge.symptoms, s.index())),
            Self::Shows(c, t) => format!("causes.{}.shows.{}", cause(c), id(&knowledge.tests, t.index())),
            Self::Healthy(t) => format!("tests.{}.healthy", id(&knowledge.tests, t.index())),
            Self::Cures(r, c) => format!("repairs.{}.cures.{}", id(&knowledge.repairs, r.index()), cause(c)),
            Self::NotListed => "settings.not-listed".to_owned(),
            Self::NothingWrong => "settings.nothing-wrong".to_owned(),
        }
    }
}

/// The likeliest outcome moved in log-odds, the others keeping their proportions.
fn likeliest_moved(chances: &[f64], by: f64) -> Vec<f64> {
    let Some(most) = (0..chances.len()).max_by(|a, b| chances[*a].total_cmp(&chances[*b])) else {
        return Vec::new();
    };
    let to = moved(chances[most], by);
    let rest = 1.0 - chances[most];
    let share = |at: usize| {
        if rest > 0.0 {
            chances[at] / rest * (1.0 - to)
        } else {
            0.0
        }
    };
    (0..chances.len())
        .map(|at| if at == most { to } else { share(at) })
        .collect()
}

fn id<T>(entries: &crate::knowledge::schema::Entries<T>, at: usize) -> &str {
    entries.get_index(at).map_or("", |(id, _)| id.as_str())
}
