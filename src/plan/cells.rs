//! The posterior in the shape in which policies are priced: a cell a hypothesis, its branches by what is left.

use std::collections::BTreeMap;

use crate::belief::{Belief, Evidence, Hypothesis, Proof};
use crate::knowledge::schema::Provocation;
use crate::model::{CauseId, Model, RepairId, TestId};

/// Planning works on the smallest set of hypotheses with this share of the posterior.
pub const SHORTLIST_MASS: f64 = 0.999;

/// One hypothesis with the weight of each branch.
#[derive(Debug, Clone)]
pub(crate) struct Cell {
    pub(crate) hypothesis: Hypothesis,
    pub(crate) causes: [CauseId; 2],
    pub(crate) n: usize,
    /// By mask of what is left; weights are shares of the whole posterior.
    pub(crate) weights: [f64; 4],
    /// Chance that a proof run shows every reported symptom gone, by mask.
    pub(crate) gone: [f64; 4],
    /// Whether a cause of a reported symptom is left, by mask.
    pub(crate) bad: [bool; 4],
}

impl Cell {
    pub(crate) fn mass(&self) -> f64 {
        self.weights.iter().sum()
    }
}

/// The shortened posterior.
#[derive(Debug, Clone)]
pub struct Cells {
    pub(crate) cells: Vec<Cell>,
    /// Share of the posterior that the cells hold.
    pub kept: f64,
}

impl Cells {
    /// The smallest set of hypotheses that holds [`SHORTLIST_MASS`] of the posterior (all of it for `share` 1).
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
        let mut kept = 0.0;
        let mut cells = Vec::new();
        for (hypothesis, weights) in listed {
            if share < 1.0 && kept >= share {
                break;
            }
            kept += weights.iter().sum::<f64>();
            cells.push(cell(model, hypothesis, weights, evidence, under));
        }
        Self { cells, kept }
    }

    /// Total weight.
    #[must_use]
    pub fn mass(&self) -> f64 {
        self.cells.iter().map(Cell::mass).sum()
    }

    /// Chance of each outcome of a test, cell by cell and mask by mask: `[cell][mask][outcome]`.
    ///
    /// `traces` is the chance that each cause shows on tests in the present spell; `reliability` spreads a caller's answers.
    pub(crate) fn outcome_chances(
        &self,
        model: &Model,
        test: TestId,
        traces: &[f64],
        reliability: Option<f64>,
    ) -> Vec<[Vec<f64>; 4]> {
        let table = &model.tests[test.index()];
        let k = table.outcomes.len();
        self.cells
            .iter()
            .map(|cell| {
                let mut by_mask: [Vec<f64>; 4] = Default::default();
                for (mask, chances) in by_mask.iter_mut().enumerate() {
                    if cell.weights[mask] <= 0.0 {
                        continue;
                    }
                    *chances = if cell.hypothesis == Hypothesis::NotListed {
                        table.not_listed()
                    } else {
                        given(table, cell, mask, traces)
                    };
                    if let Some(rho) = reliability {
                        chances.iter_mut().for_each(|p| *p = rho * *p + (1.0 - rho) / k as f64);
                    }
                }
                by_mask
            })
            .collect()
    }

    /// The cells after one outcome.
    pub(crate) fn after_outcome(&self, chances: &[[Vec<f64>; 4]], outcome: usize) -> Self {
        let mut cells = Vec::with_capacity(self.cells.len());
        for (cell, by_mask) in self.cells.iter().zip(chances) {
            let mut after = cell.clone();
            for (weight, p) in after.weights.iter_mut().zip(by_mask) {
                *weight *= p.get(outcome).copied().unwrap_or(0.0);
            }
            if after.mass() > 0.0 {
                cells.push(after);
            }
        }
        Self { cells, kept: self.kept }
    }

    /// The cells after a repair whose proof failed, the weight of each way the proof can show the symptoms gone: with nothing that makes
    /// a reported symptom left, and with something left.
    pub(crate) fn after_failed(&self, model: &Model, repair: RepairId) -> (Self, f64, f64) {
        let mut after = self.clone();
        let (well, lucky) = after.try_repair(model, repair);
        (after, well, lucky)
    }

    /// In place: repair, then take out what a proof run shows gone. Returns (gone and well, gone by luck).
    pub(crate) fn try_repair(&mut self, model: &Model, repair: RepairId) -> (f64, f64) {
        let (mut well, mut lucky) = (0.0, 0.0);
        for cell in &mut self.cells {
            cell.weights = crate::belief::split_by_repair(model, repair, cell.causes, cell.n, cell.weights);
            for mask in 0..4 {
                let gone = cell.weights[mask] * cell.gone[mask];
                if cell.bad[mask] {
                    lucky += gone;
                } else {
                    well += gone;
                }
                cell.weights[mask] -= gone;
            }
        }
        (well, lucky)
    }
}

fn given(table: &crate::model::TestTable, cell: &Cell, mask: usize, traces: &[f64]) -> Vec<f64> {
    let left: Vec<CauseId> = (0..cell.n)
        .filter(|bit| mask & (1 << bit) != 0)
        .map(|bit| cell.causes[bit])
        .collect();
    if left
        .iter()
        .all(|c| traces[c.index()] >= 1.0 || !table.by_cause.contains_key(c))
    {
        return table.outcomes_given(&left);
    }
    let mut mixed = vec![0.0; table.outcomes.len()];
    for drawn in 0..(1usize << left.len()) {
        let mut chance = 1.0;
        let mut showing = Vec::new();
        for (bit, cause) in left.iter().enumerate() {
            let b = traces[cause.index()];
            if drawn & (1 << bit) == 0 {
                chance *= 1.0 - b;
            } else {
                chance *= b;
                showing.push(*cause);
            }
        }
        for (m, p) in mixed.iter_mut().zip(table.outcomes_given(&showing)) {
            *m += chance * p;
        }
    }
    mixed
}

fn cell(model: &Model, hypothesis: Hypothesis, weights: [f64; 4], evidence: &Evidence, under: &[Provocation]) -> Cell {
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
        bad[at] = hypothesis == Hypothesis::NotListed
            || (0..n).any(|bit| {
                mask & (1 << bit) != 0
                    && evidence
                        .symptoms
                        .iter()
                        .any(|s| model.symptom[s.index()][causes[bit].index()] > 0.0)
            });
    }
    Cell {
        hypothesis,
        causes,
        n,
        weights,
        gone,
        bad,
    }
}
