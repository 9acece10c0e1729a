//! Distributions of outcomes, symptoms, cures: everything belief and plan need, as arrays.

use std::collections::HashMap;

use super::ids::{CauseId, RepairId, SymptomId, TestId};
use crate::knowledge::Knowledge;
use crate::knowledge::frequency::{self, DistributionError};
use crate::knowledge::schema::{Cause, Provocation, Settings, Severity, ShowsWhen, Test};

/// One test's outcomes and how they come about.
#[derive(Debug, Clone)]
pub struct TestTable {
    /// Ids of the outcomes, in the author's order.
    pub outcomes: Vec<String>,
    /// Distribution with nothing wrong that bears on it.
    pub healthy: Vec<f64>,
    /// Which outcomes mean "nothing here".
    pub normal: Vec<bool>,
    /// Distribution under each cause, by [`CauseId`]; `None` where the cause does not mention the test.
    by_cause: Vec<Option<Shown>>,
    /// Quantity that answers are about.
    pub quantity: String,
}

/// What one cause shows on a test.
#[derive(Debug, Clone)]
struct Shown {
    chances: Vec<f64>,
    /// Chance of a normal outcome.
    normal: f64,
}

impl TestTable {
    /// What a cause shows, if it mentions the test.
    #[must_use]
    pub fn shown(&self, cause: CauseId) -> Option<&[f64]> {
        self.by_cause[cause.index()].as_ref().map(|s| s.chances.as_slice())
    }

    /// Chance that a cause shows a normal outcome; 0 if it does not mention the test.
    #[must_use]
    pub fn normal_chance(&self, cause: CauseId) -> f64 {
        self.by_cause[cause.index()].as_ref().map_or(0.0, |s| s.normal)
    }

    /// The causes that mention the test.
    pub fn mentioned_by(&self) -> impl Iterator<Item = CauseId> {
        (0..self.by_cause.len())
            .filter(|&c| self.by_cause[c].is_some())
            .map(CauseId::at)
    }

    fn set_shown(&mut self, cause: CauseId, chances: Vec<f64>) {
        let normal = chances
            .iter()
            .zip(&self.normal)
            .filter(|(_, n)| **n)
            .map(|(p, _)| p)
            .sum();
        self.by_cause[cause.index()] = Some(Shown { chances, normal });
    }

    /// Position of an outcome.
    #[must_use]
    pub fn outcome(&self, id: &str) -> Option<usize> {
        self.outcomes.iter().position(|o| o == id)
    }

    /// Adds `weight` × the chance of each outcome with the given faults showing.
    ///
    /// A cause that does not mention the test does not draw; if both do, a fault's abnormal outcome wins over the other's normal
    /// one, and two abnormal ones share evenly.
    pub fn add_given(&self, showing: &[CauseId], weight: f64, sum: &mut [f64]) {
        let mut mentioned = showing.iter().filter_map(|c| self.by_cause[c.index()].as_ref());
        match (mentioned.next(), mentioned.next()) {
            (None, _) => add(&self.healthy, weight, sum),
            (Some(one), None) => add(&one.chances, weight, sum),
            (Some(c), Some(d)) => {
                let (ac, ad) = (1.0 - c.normal, 1.0 - d.normal);
                for (o, into) in sum.iter_mut().enumerate() {
                    let (pc, pd) = (c.chances[o], d.chances[o]);
                    let over = pc * d.normal + c.normal * pd;
                    *into += weight
                        * if self.normal[o] {
                            0.5 * over
                        } else {
                            over + 0.5 * (pc * ad + ac * pd)
                        };
                }
            }
        }
    }

    /// Chance of each outcome with the given faults showing; see [`TestTable::add_given`].
    #[must_use]
    pub fn outcomes_given(&self, showing: &[CauseId]) -> Vec<f64> {
        let mut sum = vec![0.0; self.outcomes.len()];
        self.add_given(showing, 1.0, &mut sum);
        sum
    }

    /// Chance of each outcome under a fault that nobody wrote down: half healthy, half anything.
    #[must_use]
    pub fn not_listed(&self) -> Vec<f64> {
        let even = 1.0 / self.outcomes.len() as f64;
        self.healthy.iter().map(|h| 0.5 * h + 0.5 * even).collect()
    }
}

fn add(p: &[f64], weight: f64, sum: &mut [f64]) {
    sum.iter_mut().zip(p).for_each(|(into, p)| *into += weight * p);
}

/// In which share of moments a cause shows.
#[derive(Debug, Clone, PartialEq)]
pub struct ShowTable {
    under: Vec<Provocation>,
    share: f64,
    otherwise: f64,
    traces: Option<f64>,
}

impl ShowTable {
    fn new(when: Option<&ShowsWhen>) -> Self {
        when.map_or(
            Self {
                under: Vec::new(),
                share: 1.0,
                otherwise: 0.0,
                traces: None,
            },
            |w| Self {
                under: w.under.clone(),
                share: w.share,
                otherwise: w.otherwise,
                traces: w.traces,
            },
        )
    }

    /// a, the chance that it shows under these provocations.
    #[must_use]
    pub fn share(&self, under: &[Provocation]) -> f64 {
        if self.under.is_empty() || self.under.iter().any(|p| under.contains(p)) {
            self.share
        } else {
            self.otherwise
        }
    }

    /// b, the chance that it leaves traces on tests while the symptom is away.
    #[must_use]
    pub fn traces(&self, under: &[Provocation]) -> f64 {
        self.traces.unwrap_or_else(|| self.share(under))
    }
}

/// What a repair cures.
#[derive(Debug, Clone)]
pub struct RepairTable {
    /// Cause → chance that it is cured.
    pub cures: Vec<(CauseId, f64)>,
    by_cause: Vec<f64>,
}

impl RepairTable {
    fn new(cures: Vec<(CauseId, f64)>, causes: usize) -> Self {
        let mut by_cause = vec![0.0; causes];
        cures.iter().for_each(|(c, f)| by_cause[c.index()] = *f);
        Self { cures, by_cause }
    }

    /// f, the chance that it cures that cause; 0 if it is not meant for it.
    #[must_use]
    pub fn chance(&self, cause: CauseId) -> f64 {
        self.by_cause[cause.index()]
    }
}

/// The compiled knowledge.
#[derive(Debug, Clone)]
pub struct Model {
    /// Settings in force.
    pub settings: Settings,
    /// Tests, by [`TestId`].
    pub tests: Vec<TestTable>,
    /// Repairs, by [`RepairId`].
    pub repairs: Vec<RepairTable>,
    /// q(s|c): symptom by cause, 0 where not mentioned.
    pub symptom: Vec<Vec<f64>>,
    /// x(d|c): what each cause brings on.
    pub brings_on: Vec<Vec<(CauseId, f64)>>,
    /// When each cause shows.
    pub shows: Vec<ShowTable>,
    /// Severity of each cause.
    pub severity: Vec<Severity>,
    test_ids: HashMap<String, TestId>,
    cause_ids: HashMap<String, CauseId>,
    repair_ids: HashMap<String, RepairId>,
    symptom_ids: HashMap<String, SymptomId>,
}

impl Model {
    /// Compiles knowledge. Entries that `check` refuses fall back to `healthy`; callers refuse to walk with errors.
    #[must_use]
    pub fn compile(knowledge: &Knowledge) -> Self {
        let cause_ids = index(knowledge.causes.keys(), CauseId::at);
        let symptom_ids = index(knowledge.symptoms.keys(), SymptomId::at);
        let mut tests: Vec<TestTable> = knowledge
            .tests
            .iter()
            .map(|(id, test)| table(id, test, knowledge.causes.len()))
            .collect();
        let test_ids: HashMap<String, TestId> = index(knowledge.tests.keys(), TestId::at);
        for (id, cause) in &knowledge.causes {
            for (test, shows) in &cause.shows {
                if let Some(&t) = test_ids.get(test) {
                    let table = &mut tests[t.index()];
                    let shown = shown_distribution(table, shows).unwrap_or_else(|_| table.healthy.clone());
                    table.set_shown(cause_ids[id], shown);
                }
            }
        }
        let symptom = knowledge
            .symptoms
            .keys()
            .map(|s| {
                knowledge
                    .causes
                    .values()
                    .map(|c| c.symptoms.get(s).map_or(0.0, |f| f.chance))
                    .collect()
            })
            .collect();
        let known = |list: &crate::knowledge::schema::Entries<frequency::Frequency>| {
            list.iter()
                .filter_map(|(id, f)| cause_ids.get(id).map(|&c| (c, f.chance)))
                .collect::<Vec<_>>()
        };
        Self {
            settings: knowledge.settings.clone(),
            repairs: knowledge
                .repairs
                .values()
                .map(|r| RepairTable::new(known(&r.cures), knowledge.causes.len()))
                .collect(),
            brings_on: knowledge.causes.values().map(|c: &Cause| known(&c.brings_on)).collect(),
            shows: knowledge
                .causes
                .values()
                .map(|c| ShowTable::new(c.shows_when.as_ref()))
                .collect(),
            severity: knowledge.causes.values().map(|c| c.severity).collect(),
            repair_ids: index(knowledge.repairs.keys(), RepairId::at),
            tests,
            symptom,
            test_ids,
            cause_ids,
            symptom_ids,
        }
    }

    /// How many causes there are.
    #[must_use]
    pub fn causes(&self) -> usize {
        self.severity.len()
    }

    /// Dense id of a test.
    #[must_use]
    pub fn test(&self, id: &str) -> Option<TestId> {
        self.test_ids.get(id).copied()
    }

    /// Dense id of a cause.
    #[must_use]
    pub fn cause(&self, id: &str) -> Option<CauseId> {
        self.cause_ids.get(id).copied()
    }

    /// Dense id of a repair.
    #[must_use]
    pub fn repair(&self, id: &str) -> Option<RepairId> {
        self.repair_ids.get(id).copied()
    }

    /// Dense id of a symptom.
    #[must_use]
    pub fn symptom_id(&self, id: &str) -> Option<SymptomId> {
        self.symptom_ids.get(id).copied()
    }

    /// q(s|G) = 1 − (1 − ℓ) Π (1 − q(s|c)) over the causes that are there.
    #[must_use]
    pub fn symptom_given(&self, symptom: SymptomId, present: &[CauseId]) -> f64 {
        let row = &self.symptom[symptom.index()];
        1.0 - present
            .iter()
            .fold(1.0 - self.settings.leak, |p, c| p * (1.0 - row[c.index()]))
    }
}

fn index<'a, Id>(keys: impl Iterator<Item = &'a String>, id: impl Fn(usize) -> Id) -> HashMap<String, Id> {
    keys.enumerate().map(|(i, key)| (key.clone(), id(i))).collect()
}

/// Ids of a test's outcomes: its bands, or its observation.
#[must_use]
pub(crate) fn outcome_ids(test: &Test) -> Vec<&str> {
    test.bands
        .keys()
        .chain(test.outcomes.keys())
        .map(String::as_str)
        .collect()
}

/// `healthy` of a test as a distribution.
///
/// # Errors
/// When the author's chances can't be one.
pub(crate) fn healthy_distribution(test: &Test) -> Result<Vec<f64>, DistributionError> {
    frequency::distribution(
        test.healthy.iter().map(|(o, f)| (o.as_str(), *f)),
        &outcome_ids(test),
        None,
    )
}

/// What a cause shows on a test as a distribution.
///
/// # Errors
/// When the author's chances can't be one.
pub(crate) fn shown_distribution(
    table: &TestTable,
    shows: &crate::knowledge::schema::Entries<frequency::Frequency>,
) -> Result<Vec<f64>, DistributionError> {
    let ids: Vec<&str> = table.outcomes.iter().map(String::as_str).collect();
    frequency::distribution(shows.iter().map(|(o, f)| (o.as_str(), *f)), &ids, Some(&table.healthy))
}

/// A test without its causes.
pub(crate) fn table(id: &str, test: &Test, causes: usize) -> TestTable {
    let outcomes: Vec<String> = outcome_ids(test).into_iter().map(str::to_owned).collect();
    let even = 1.0 / outcomes.len().max(1) as f64;
    let healthy = healthy_distribution(test).unwrap_or_else(|_| vec![even; outcomes.len()]);
    let most = healthy.iter().copied().fold(0.0, f64::max);
    let normal = outcomes
        .iter()
        .zip(&healthy)
        .map(|(o, h)| {
            if test.normal.is_empty() {
                *h >= most - 1e-12
            } else {
                test.normal.contains(o)
            }
        })
        .collect();
    let quantity = test.quantity.clone().unwrap_or_else(|| id.to_owned());
    TestTable {
        outcomes,
        healthy,
        normal,
        by_cause: vec![None; causes],
        quantity,
    }
}
