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
}

impl Shared {
    fn new(cells: Vec<Cell>, causes: usize) -> Self {
        let mut by_cause = vec![Vec::new(); causes];
        for (at, cell) in (0u32..).zip(&cells) {
            cell.causes[..cell.n].iter().for_each(|c| by_cause[c.index()].push(at));
        }
        Self { cells, by_cause }
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
        let under = evidence.current_spell().map_or(&[][..], |s| &s.under);
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
    pub(crate) fn follow(&self) -> Following<'_> {
        let mut by_cause = vec![0.0; self.shared.by_cause.len()];
        // Active from the start: whatever a proof run may show gone without another repair (*nothing wrong*, faults that come and go, and
        // what an earlier repair may have cured).
        let (mut active, mut is_active) = (Vec::new(), vec![false; self.weights.len()]);
        for (at, (cell, weights)) in (0u32..).zip(self.each()) {
            count(cell, weights, 1.0, &mut by_cause);
            if cell.masks().any(|m| weights[m] * cell.gone[m] > 0.0) {
                active.push(at);
                is_active[at as usize] = true;
            }
        }
        Following {
            shared: &self.shared,
            weights: self.weights.clone(),
            by_cause,
            active,
            is_active,
        }
    }
}

/// Weights while an order of repairs is followed; only what a repair touches is visited.
pub(crate) struct Following<'a> {
    shared: &'a Shared,
    pub(crate) weights: Vec<[f64; 4]>,
    /// Weight with which each cause is there; a branch with two counts half for each.
    pub(crate) by_cause: Vec<f64>,
    /// Cells of which a proof run may show something gone.
    active: Vec<u32>,
    is_active: Vec<bool>,
}

impl Following<'_> {
    /// Repairs, then takes out what a proof run shows gone. Returns the weight gone with nothing left that makes a reported symptom, and the
    /// weight gone by luck.
    pub(crate) fn try_repair(&mut self, model: &Model, repair: RepairId) -> (f64, f64) {
        for &(cause, _) in &model.repairs[repair.index()].cures {
            for &at in &self.shared.by_cause[cause.index()] {
                if !std::mem::replace(&mut self.is_active[at as usize], true) {
                    self.active.push(at);
                }
            }
        }
        let (mut well, mut lucky) = (0.0, 0.0);
        for &at in &self.active {
            let cell = &self.shared.cells[at as usize];
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
            // What no proof run can show gone any more is left alone until a repair touches it again.
            self.is_active[at as usize] = cell.masks().any(|m| weights[m] * cell.gone[m] > 0.0);
        }
        let is_active = &self.is_active;
        self.active.retain(|&at| is_active[at as usize]);
        (well, lucky)
    }

    /// The cells as they are now.
    pub(crate) fn into_cells(self, from: &Cells) -> Cells {
        Cells {
            shared: Rc::clone(&from.shared),
            weights: self.weights,
            kept: from.kept,
        }
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
    }
}
