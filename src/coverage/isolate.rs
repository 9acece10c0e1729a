//! What it costs to isolate a cause by tests alone.
//!
//! Policy: from the report of one symptom, always the test with the most information about which cause it is per minute, walking, opening and
//! switching included (information per cost: Johnson, about 1960; from memory), until one ambiguity group holds [`ISOLATED`] of the weight or no
//! test tells anything. One cause at a time, symptom there, every test possible at an average site.
//!
//! Every way is followed, the likeliest first, up to a stated number of situations: with few causes all of it, so that the figures are exact
//! for that policy. From each situation beyond, one way is drawn by its chance (seeded), which leaves the figures right on average.

use std::collections::BinaryHeap;

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng as _;
use serde::Serialize;

use super::Scope;
use super::groups::{Groups, Likeness};
use super::matrix::DMatrix;
use crate::call::Engine;
use crate::lot::unit;
use crate::model::{CauseId, SymptomId, TestId};
use crate::plan::{Costs, Standing};

/// Share of the weight with which a group counts as isolated.
pub const ISOLATED: f64 = 0.9;
/// Situations from each symptom of which every way is followed.
const MOST: usize = 200;
/// A test that tells less than this (in nats) is not worth doing for its information.
const LEAST_GAIN: f64 = 1e-2;
/// The draws are the same for everybody.
const SEED: u64 = 1522;

/// Minutes to isolate.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Isolation {
    /// Mean minutes.
    pub minutes: f64,
    /// Mean number of tests.
    pub tests: f64,
    /// Share of the walks that end with one group isolated.
    pub isolated: f64,
    /// Share of the walks of which every way was followed to its end; 1: the figures are exact for the policy.
    pub followed: f64,
}

/// Mean over the symptoms, each by how often its causes make it; or of the one symptom of the scope.
#[must_use]
pub fn isolation(engine: &Engine, scope: &Scope) -> Isolation {
    let symptoms: Vec<SymptomId> = match scope.symptom {
        Some(symptom) => vec![symptom],
        None => (0..engine.model.symptom.len()).map(SymptomId::at).collect(),
    };
    let mut sum = Isolation {
        minutes: 0.0,
        tests: 0.0,
        isolated: 0.0,
        followed: 0.0,
    };
    let mut total = 0.0;
    let costs = Costs::new(&engine.knowledge);
    for symptom in symptoms {
        let scope = Scope::new(engine, Some(symptom));
        let weight: f64 = scope.weight.iter().sum();
        if weight > 0.0 {
            let one = Isolator::new(engine, &costs, &scope).run();
            sum.minutes += weight * one.minutes;
            sum.tests += weight * one.tests;
            sum.isolated += weight * one.isolated;
            sum.followed += weight * one.followed;
            total += weight;
        }
    }
    let mean = |x: f64| if total > 0.0 { x / total } else { 0.0 };
    Isolation {
        minutes: mean(sum.minutes),
        tests: mean(sum.tests),
        isolated: mean(sum.isolated),
        followed: mean(sum.followed),
    }
}

/// A test as far as it bears on the causes in scope.
struct Bearing {
    test: TestId,
    healthy: Vec<f64>,
    healthy_entropy: f64,
    /// Causes (by position in the scope) with what they show and its entropy.
    shown: Vec<(usize, Vec<f64>, f64)>,
}

struct Isolator<'a> {
    costs: &'a Costs,
    /// Weight of each cause in scope; adds to 1.
    prior: Vec<f64>,
    /// Group of each cause.
    group: Vec<usize>,
    groups: usize,
    bearings: Vec<Bearing>,
    /// By [`TestId`]: which bearing it is, if any.
    of_test: Vec<Option<usize>>,
}

/// A situation on the way.
struct Here {
    /// Chance to get here: the sum of `weight`.
    reach: f64,
    /// Weight of each cause with the answers so far.
    weight: Vec<f64>,
    done: Vec<bool>,
    standing: Standing,
    minutes: f64,
    tests: f64,
}

impl PartialEq for Here {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}
impl Eq for Here {}
impl PartialOrd for Here {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Here {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.reach.total_cmp(&other.reach)
    }
}

impl<'a> Isolator<'a> {
    fn new(engine: &Engine, costs: &'a Costs, scope: &Scope) -> Self {
        let model = &engine.model;
        let causes: Vec<CauseId> = scope.causes().collect();
        let total = scope.of(&causes);
        let matrix = DMatrix::new(model, scope);
        let mut groups = Groups::new(model, scope, &matrix, Likeness::Alike).groups;
        // What no test notices is a group too: it is what is left.
        groups.push(matrix.missed());
        let group_of = |c: &CauseId| groups.iter().position(|g| g.contains(c)).unwrap_or(groups.len() - 1);
        let mut bearings = Vec::new();
        let mut of_test = vec![None; model.tests.len()];
        for (at, table) in model.tests.iter().enumerate() {
            let shown: Vec<_> = causes
                .iter()
                .enumerate()
                .filter_map(|(i, c)| table.shown(*c).map(|p| (i, p.to_vec(), entropy(p))))
                .collect();
            if !shown.is_empty() {
                of_test[at] = Some(bearings.len());
                bearings.push(Bearing {
                    test: TestId::at(at),
                    healthy_entropy: entropy(&table.healthy),
                    healthy: table.healthy.clone(),
                    shown,
                });
            }
        }
        Self {
            costs,
            prior: causes.iter().map(|c| scope.weight[c.index()] / total).collect(),
            group: causes.iter().map(group_of).collect(),
            groups: groups.len(),
            bearings,
            of_test,
        }
    }

    fn run(&self) -> Isolation {
        let mut open = BinaryHeap::from([Here {
            reach: 1.0,
            weight: self.prior.clone(),
            done: vec![false; self.of_test.len()],
            standing: Standing::arriving(),
            minutes: 0.0,
            tests: 0.0,
        }]);
        let mut sum = Isolation {
            minutes: 0.0,
            tests: 0.0,
            isolated: 0.0,
            followed: 0.0,
        };
        let (mut seen, mut rng) = (0, ChaCha8Rng::seed_from_u64(SEED));
        while let Some(mut here) = open.pop() {
            seen += 1;
            let whole = seen <= MOST;
            let sure = loop {
                let sure = self.is_isolated(&here);
                let next = if sure { None } else { self.best(&here) };
                let Some(test) = next else { break sure };
                let ways = self.after(&here, test);
                if whole {
                    open.extend(ways);
                    // Counted where its ways end.
                    here.reach = 0.0;
                    break false;
                }
                here = drawn(ways, here.reach, &mut rng);
            };
            sum.minutes += here.reach * here.minutes;
            sum.tests += here.reach * here.tests;
            sum.isolated += if sure { here.reach } else { 0.0 };
            sum.followed += if whole { here.reach } else { 0.0 };
        }
        sum
    }

    fn is_isolated(&self, here: &Here) -> bool {
        let mut by_group = vec![0.0; self.groups];
        for (weight, &group) in here.weight.iter().zip(&self.group) {
            by_group[group] += weight;
        }
        by_group.iter().any(|w| *w >= ISOLATED * here.reach - 1e-12)
    }

    /// The test with the most information per minute, or what has to be answered before it.
    fn best(&self, here: &Here) -> Option<TestId> {
        let mut best: Option<(f64, TestId)> = None;
        for bearing in self.bearings.iter().filter(|b| !here.done[b.test.index()]) {
            let gain = bearing.gain(here);
            if gain > LEAST_GAIN {
                let per_minute = gain / self.minutes(here, bearing.test).max(1e-3);
                if best.is_none_or(|(most, _)| per_minute > most + 1e-15) {
                    best = Some((per_minute, bearing.test));
                }
            }
        }
        let mut first = best?.1;
        // A chain of prerequisites is shorter than the list of tests.
        for _ in 0..self.of_test.len() {
            let missing = self.costs.test(first).after.iter().find(|t| !here.done[t.index()]);
            let Some(&missing) = missing else { break };
            first = missing;
        }
        Some(first)
    }

    /// Minutes of a test from here, with what has to be answered before it.
    fn minutes(&self, here: &Here, test: TestId) -> f64 {
        let action = self.costs.test(test);
        let before = action.after.iter().filter(|t| !here.done[t.index()]);
        let before: f64 = before.map(|t| self.costs.test(*t).minutes).sum();
        action.minutes + before + self.costs.access(action, &here.standing)
    }

    fn after(&self, here: &Here, test: TestId) -> Vec<Here> {
        let action = self.costs.test(test);
        let mut standing = here.standing.clone();
        let minutes = here.minutes + action.minutes + self.costs.access(action, &standing);
        self.costs.go(action, &mut standing);
        let mut done = here.done.clone();
        done[test.index()] = true;
        let after = |weight: Vec<f64>| Here {
            reach: weight.iter().sum(),
            weight,
            done: done.clone(),
            standing: standing.clone(),
            minutes,
            tests: here.tests + 1.0,
        };
        let Some(bearing) = self.of_test[test.index()].map(|at| &self.bearings[at]) else {
            return vec![after(here.weight.clone())];
        };
        let weights = (0..bearing.healthy.len()).map(|outcome| {
            let mut weight: Vec<f64> = here.weight.iter().map(|w| w * bearing.healthy[outcome]).collect();
            for (cause, shown, _) in &bearing.shown {
                weight[*cause] = here.weight[*cause] * shown[outcome];
            }
            weight
        });
        weights.map(after).filter(|next| next.reach > 0.0).collect()
    }
}

/// One of the ways by its chance, standing for all of them.
fn drawn(mut ways: Vec<Here>, reach: f64, rng: &mut ChaCha8Rng) -> Here {
    let total: f64 = ways.iter().map(|w| w.reach).sum();
    let mut left = unit(rng) * total;
    let at = ways.iter().position(|w| {
        left -= w.reach;
        left < 0.0
    });
    let mut way = ways.swap_remove(at.unwrap_or(ways.len() - 1));
    let times = reach / way.reach;
    way.weight.iter_mut().for_each(|w| *w *= times);
    way.reach = reach;
    way
}

impl Bearing {
    /// Mutual information of the outcome and the cause, in nats.
    fn gain(&self, here: &Here) -> f64 {
        let (mut mixed, mut rest, mut conditional) = (vec![0.0; self.healthy.len()], 1.0, 0.0);
        for (cause, shown, entropy) in &self.shown {
            let p = here.weight[*cause] / here.reach;
            rest -= p;
            conditional += p * entropy;
            mixed.iter_mut().zip(shown).for_each(|(m, s)| *m += p * s);
        }
        mixed.iter_mut().zip(&self.healthy).for_each(|(m, h)| *m += rest * h);
        entropy(&mixed) - conditional - rest * self.healthy_entropy
    }
}

/// In nats.
fn entropy(p: &[f64]) -> f64 {
    p.iter().filter(|p| **p > 0.0).map(|p| -p * p.ln()).sum()
}
