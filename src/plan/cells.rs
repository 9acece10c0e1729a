//! The posterior in the shape in which policies are priced: a cell a hypothesis, its branches by what is left.

use std::collections::BTreeMap;
use std::rc::Rc;

use crate::belief::{Belief, Evidence, Hypothesis, Proof};
use crate::knowledge::schema::Provocation;
use crate::model::{CauseId, Model, RepairId, TestId};

/// Planning works on the smallest set of hypotheses with this share of the posterior.
pub const SHORTLIST_MASS: f64 = 0.999;

/// Up to so many hypotheses nothing is left out: a price over the whole posterior is never below the optimum, one over a part of it can be.
const ALWAYS_KEPT: usize = 64;

/// What does not change while policies are priced.
#[derive(Debug, Clone)]
pub(crate) struct Cell {
    pub(crate) hypothesis: Hypothesis,
    pub(crate) causes: [CauseId; 2],
    pub(crate) n: usize,
    /// Chance that a proof run shows every reported symptom gone, by mask of what is left.
    pub(crate) gone: [f64; 4],
    /// Whether a cause of a reported symptom is left, by mask.
    pub(crate) bad: [bool; 4],
    /// Where the whole hypothesis shrinks with others, if any proof run may show it gone.
    bucket: Option<usize>,
}

/// Whole hypotheses with one chance of being seen gone in a proof run, whatever was repaired.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Bucket {
    gone: f64,
    bad: bool,
}

impl Cell {
    /// Masks that can have weight.
    pub(crate) fn masks(&self) -> std::ops::Range<usize> {
        0..1 << self.n
    }

    fn left(&self, mask: usize) -> ([CauseId; 2], usize) {
        match (self.n, mask) {
            (0, _) | (_, 0) => (self.causes, 0),
            (2, 2) => ([self.causes[1]; 2], 1),
            (_, 1) => ([self.causes[0]; 2], 1),
            _ => (self.causes, 2),
        }
    }
}

/// Cells and where to find them; shared by everything that is priced from one belief.
#[derive(Debug)]
pub(crate) struct Shared {
    pub(crate) cells: Vec<Cell>,
    /// Cells that hold a cause.
    by_cause: Vec<Vec<u32>>,
    buckets: Vec<Bucket>,
}

impl Shared {
    fn new(mut cells: Vec<Cell>, causes: usize) -> Self {
        let (mut by_cause, mut buckets) = (vec![Vec::new(); causes], Vec::<Bucket>::new());
        for (at, cell) in (0u32..).zip(&mut cells) {
            cell.causes[..cell.n].iter().for_each(|c| by_cause[c.index()].push(at));
            let whole = cell.masks().end - 1;
            let bucket = Bucket {
                gone: cell.gone[whole],
                bad: cell.bad[whole],
            };
            if bucket.gone > 0.0 {
                let found = buckets.iter().position(|b| *b == bucket);
                cell.bucket = Some(found.unwrap_or_else(|| {
                    buckets.push(bucket);
                    buckets.len() - 1
                }));
            }
        }
        Self {
            cells,
            by_cause,
            buckets,
        }
    }
}

/// The shortened posterior: shared cells, and the weight of each branch.
#[derive(Debug, Clone)]
pub struct Cells {
    pub(crate) shared: Rc<Shared>,
    /// By cell and mask of what is left; shares of the whole posterior.
    pub(crate) weights: Vec<[f64; 4]>,
    /// Share of the posterior that the cells hold.
    pub kept: f64,
}

/// Chance of each outcome of one test: cell by cell, mask by mask.
pub(crate) struct OutcomeChances {
    chances: Vec<f64>,
    outcomes: usize,
}

impl Cells {
    /// The smallest set of hypotheses that holds `share` of the posterior (all of it for 1).
    #[must_use]
    pub fn shortlist(model: &Model, belief: &Belief, evidence: &Evidence, share: f64) -> Self {
        let mut by_hypothesis: BTreeMap<Hypothesis, [f64; 4]> = BTreeMap::new();
        if belief.total > 0.0 {
            for branch in &belief.branches {
                by_hypothesis.entry(branch.hypothesis).or_insert([0.0; 4])[usize::from(branch.left)] +=
                    branch.weight / belief.total;
            }
        }
        let mut listed: Vec<(Hypothesis, [f64; 4])> = by_hypothesis.into_iter().collect();
        listed.sort_by(|a, b| {
            b.1.iter()
                .sum::<f64>()
                .total_cmp(&a.1.iter().sum::<f64>())
                .then(a.0.cmp(&b.0))
        });
        let under = evidence.under();
        let (mut kept, mut cells, mut all) = (0.0, Vec::new(), Vec::new());
        for (hypothesis, weights) in listed {
            if share < 1.0 && kept >= share && cells.len() >= ALWAYS_KEPT {
                break;
            }
            kept += weights.iter().sum::<f64>();
            cells.push(cell(model, hypothesis, evidence, under));
            all.push(weights);
        }
        Self {
            shared: Rc::new(Shared::new(cells, model.causes())),
            weights: all,
            kept,
        }
    }

    /// Total weight.
    #[must_use]
    pub fn mass(&self) -> f64 {
        self.weights.iter().map(|w| w.iter().sum::<f64>()).sum()
    }

    /// Weight of the branches in which a cause of a reported symptom is left.
    #[must_use]
    pub fn bad_mass(&self) -> f64 {
        self.each()
            .map(|(c, w)| (0..4).filter(|m| c.bad[*m]).map(|m| w[m]).sum::<f64>())
            .sum()
    }

    /// Weight of the cells in which some cause mentions the test.
    pub(crate) fn mentioning(&self, model: &Model, test: TestId) -> f64 {
        let table = &model.tests[test.index()];
        let mentions = |c: &Cell| c.causes[..c.n].iter().any(|cause| table.shown(*cause).is_some());
        self.each()
            .filter(|(c, _)| mentions(c))
            .map(|(_, w)| w.iter().sum::<f64>())
            .sum()
    }

    /// Cells with their weights.
    pub(crate) fn each(&self) -> impl Iterator<Item = (&Cell, &[f64; 4])> {
        self.shared.cells.iter().zip(&self.weights)
    }

    /// Chance of each outcome of a test.
    ///
    /// `traces` is the chance that each cause shows on tests in the present spell; `reliability` spreads a caller's answers.
    pub(crate) fn outcome_chances(
        &self,
        model: &Model,
        test: TestId,
        traces: &[f64],
        reliability: Option<f64>,
    ) -> OutcomeChances {
        let table = &model.tests[test.index()];
        let k = table.outcomes.len();
        let mut chances = vec![0.0; self.shared.cells.len() * 4 * k];
        for (at, (cell, weights)) in self.each().enumerate() {
            for mask in cell.masks().filter(|&m| weights[m] > 0.0) {
                let into = &mut chances[(at * 4 + mask) * k..][..k];
                if cell.hypothesis == Hypothesis::NotListed {
                    into.copy_from_slice(&table.not_listed());
                } else {
                    let (left, n) = cell.left(mask);
                    given(table, &left[..n], traces, into);
                }
                if let Some(rho) = reliability {
                    into.iter_mut().for_each(|p| *p = rho * *p + (1.0 - rho) / k as f64);
                }
            }
        }
        OutcomeChances { chances, outcomes: k }
    }

    /// The cells after one outcome.
    pub(crate) fn after_outcome(&self, chances: &OutcomeChances, outcome: usize) -> Self {
        let k = chances.outcomes;
        let mut after = self.clone();
        for (at, weights) in after.weights.iter_mut().enumerate() {
            for (mask, weight) in weights.iter_mut().enumerate() {
                *weight *= chances.chances[(at * 4 + mask) * k + outcome];
            }
        }
        after
    }

    /// Starts following an order of repairs.
    pub(crate) fn follow(self) -> Following {
        Following::new(self.shared, self.weights)
    }

    /// The same cells with other weights.
    pub(crate) fn with_weights(&self, weights: Vec<[f64; 4]>) -> Self {
        Self {
            shared: Rc::clone(&self.shared),
            weights,
            kept: self.kept,
        }
    }
}

/// Weights while an order of repairs is followed.
///
/// Only cells that a repair touches are visited one by one. Whole hypotheses of which any proof run may show something gone, whatever was
/// repaired (*nothing wrong*, faults that come and go), shrink together: all those with one chance g of being seen gone are a [`Bucket`]
/// that keeps 1 − g of its weight a run.
pub(crate) struct Following {
    shared: Rc<Shared>,
    weights: Vec<[f64; 4]>,
    /// Weight with which each cause is there; a branch with two counts half for each.
    pub(crate) by_cause: Vec<f64>,
    /// Cells that are visited one by one.
    touched: Vec<u32>,
    is_touched: Vec<bool>,
    loose: Vec<Loose>,
}

/// What is left of one bucket.
struct Loose {
    mass: f64,
    by_cause: Vec<f64>,
    kept: f64,
}

impl Following {
    fn new(shared: Rc<Shared>, weights: Vec<[f64; 4]>) -> Self {
        let causes = shared.by_cause.len();
        let mut by_cause = vec![0.0; causes];
        let (mut touched, mut is_touched) = (Vec::new(), vec![false; weights.len()]);
        let mut loose: Vec<Loose> = shared
            .buckets
            .iter()
            .map(|_| Loose {
                mass: 0.0,
                by_cause: vec![0.0; causes],
                kept: 1.0,
            })
            .collect();
        for (at, (cell, weights)) in (0u32..).zip(shared.cells.iter().zip(&weights)) {
            count(cell, weights, 1.0, &mut by_cause);
            let whole = cell.masks().end - 1;
            if (0..whole).any(|m| weights[m] > 0.0) {
                // What an earlier repair may have cured in part.
                touched.push(at);
                is_touched[at as usize] = true;
            } else if let Some(bucket) = cell.bucket {
                loose[bucket].mass += weights[whole];
                count(cell, weights, 1.0, &mut loose[bucket].by_cause);
            }
        }
        Self {
            shared,
            weights,
            by_cause,
            touched,
            is_touched,
            loose,
        }
    }

    /// Repairs, then takes out what a proof run shows gone. Returns the weight gone with nothing left that makes a reported symptom, and the
    /// weight gone by luck.
    pub(crate) fn try_repair(&mut self, model: &Model, repair: RepairId) -> (f64, f64) {
        let shared = Rc::clone(&self.shared);
        for &(cause, _) in &model.repairs[repair.index()].cures {
            shared.by_cause[cause.index()]
                .iter()
                .for_each(|&at| self.touch(&shared, at));
        }
        let (mut well, mut lucky) = self.shrink_loose(&shared);
        for &at in &self.touched {
            let cell = &shared.cells[at as usize];
            let weights = &mut self.weights[at as usize];
            count(cell, weights, -1.0, &mut self.by_cause);
            if cell.n > 0 {
                *weights = crate::belief::split_by_repair(model, repair, cell.causes, cell.n, *weights);
            }
            for mask in cell.masks() {
                let gone = weights[mask] * cell.gone[mask];
                if cell.bad[mask] {
                    lucky += gone;
                } else {
                    well += gone;
                }
                weights[mask] -= gone;
            }
            count(cell, weights, 1.0, &mut self.by_cause);
        }
        (well, lucky)
    }

    /// From now on the cell is visited by itself; what it lost with its bucket so far is taken off.
    fn touch(&mut self, shared: &Shared, at: u32) {
        if std::mem::replace(&mut self.is_touched[at as usize], true) {
            return;
        }
        self.touched.push(at);
        let cell = &shared.cells[at as usize];
        if let Some(bucket) = cell.bucket {
            let (loose, weights) = (&mut self.loose[bucket], &mut self.weights[at as usize]);
            let whole = cell.masks().end - 1;
            count(cell, weights, -1.0, &mut loose.by_cause);
            loose.mass -= weights[whole];
            weights[whole] *= loose.kept;
        }
    }

    fn shrink_loose(&mut self, shared: &Shared) -> (f64, f64) {
        let (mut well, mut lucky) = (0.0, 0.0);
        for (bucket, loose) in shared.buckets.iter().zip(&mut self.loose) {
            let share = bucket.gone * loose.kept;
            if share <= 0.0 {
                continue;
            }
            if bucket.bad {
                lucky += share * loose.mass;
            } else {
                well += share * loose.mass;
            }
            self.by_cause
                .iter_mut()
                .zip(&loose.by_cause)
                .for_each(|(p, lost)| *p -= share * lost);
            loose.kept *= 1.0 - bucket.gone;
        }
        (well, lucky)
    }

    /// The weights as they are now.
    pub(crate) fn into_weights(mut self) -> Vec<[f64; 4]> {
        let shared = Rc::clone(&self.shared);
        (0..).take(self.weights.len()).for_each(|at| self.touch(&shared, at));
        self.weights
    }
}

fn count(cell: &Cell, weights: &[f64; 4], sign: f64, by_cause: &mut [f64]) {
    match cell.n {
        0 => {}
        1 => by_cause[cell.causes[0].index()] += sign * weights[1],
        _ => {
            by_cause[cell.causes[0].index()] += sign * (weights[1] + 0.5 * weights[3]);
            by_cause[cell.causes[1].index()] += sign * (weights[2] + 0.5 * weights[3]);
        }
    }
}

/// Each cause that is left draws whether it shows.
fn given(table: &crate::model::TestTable, left: &[CauseId], traces: &[f64], into: &mut [f64]) {
    match *left {
        [] => table.add_given(&[], 1.0, into),
        [c] => {
            let b = traces[c.index()];
            table.add_given(&[c], b, into);
            table.add_given(&[], 1.0 - b, into);
        }
        [c, d, ..] => {
            let (b, e) = (traces[c.index()], traces[d.index()]);
            table.add_given(&[c, d], b * e, into);
            if b * e < 1.0 {
                table.add_given(&[c], b * (1.0 - e), into);
                table.add_given(&[d], (1.0 - b) * e, into);
                table.add_given(&[], (1.0 - b) * (1.0 - e), into);
            }
        }
    }
}

fn cell(model: &Model, hypothesis: Hypothesis, evidence: &Evidence, under: &[Provocation]) -> Cell {
    let (causes, n) = hypothesis.causes();
    let (mut gone, mut bad) = ([0.0; 4], [false; 4]);
    for mask in 0..(1u8 << n) {
        let at = usize::from(mask);
        gone[at] = evidence
            .symptoms
            .iter()
            .map(|&symptom| {
                let proof = Proof {
                    symptom,
                    still_there: false,
                    event: 0,
                };
                crate::belief::proof_gone(model, proof, under, hypothesis, mask)
            })
            .product();
        let makes = |c: CauseId| {
            evidence
                .symptoms
                .iter()
                .any(|s| model.symptom[s.index()][c.index()] > 0.0)
        };
        bad[at] = hypothesis == Hypothesis::NotListed || (0..n).any(|bit| mask & (1 << bit) != 0 && makes(causes[bit]));
    }
    Cell {
        hypothesis,
        causes,
        n,
        gone,
        bad,
        bucket: None,
    }
}
