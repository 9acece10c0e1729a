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

/// Who will answer, and what a caller said before.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Teller {
    /// A technician who looks.
    Seen,
    /// A caller, whose answer is what it seems with this chance ρ.
    Caller(f64),
    /// A technician who looks at what a caller has told: the answer takes the place of the caller's, which foretells it.
    LookAgain {
        /// The outcome that the caller told.
        said: usize,
        /// ρ.
        reliability: f64,
    },
}

impl Teller {
    /// From the chances of what is so, given a hypothesis, to the chances of what will be answered.
    fn tell(self, chances: &mut [f64]) {
        let even = 1.0 / chances.len() as f64;
        match self {
            Self::Seen => {}
            Self::Caller(rho) => chances.iter_mut().for_each(|p| *p = rho * *p + (1.0 - rho) * even),
            Self::LookAgain { said, reliability } => {
                // P(so | H, said) = P(so | H) P(said | so) / P(said | H).
                let said_if = |so: usize| f64::from(so == said) * reliability + (1.0 - reliability) * even;
                chances.iter_mut().enumerate().for_each(|(so, p)| *p *= said_if(so));
                let all: f64 = chances.iter().sum();
                if all > 0.0 {
                    chances.iter_mut().for_each(|p| *p /= all);
                }
            }
        }
    }
}

/// What a proof run takes from a cell, by mask: packed, because every run of every order passes over all cells.
#[derive(Debug, Clone, Copy)]
struct Run {
    gone: [f64; 4],
    /// The part of `gone` that is luck: a cause of a reported symptom is left.
    lucky: [f64; 4],
    /// Twice the same for a single cause. Where there is none it is any: what is counted for it is 0.
    causes: [CauseId; 2],
}

impl Run {
    fn new(cell: &Cell) -> Self {
        let mut lucky = cell.gone;
        lucky
            .iter_mut()
            .zip(cell.bad)
            .filter(|(_, bad)| !bad)
            .for_each(|(p, _)| *p = 0.0);
        Self {
            gone: cell.gone,
            lucky,
            causes: cell.causes,
        }
    }
}

/// Cells and where to find them; shared by everything that is priced from one belief.
#[derive(Debug)]
pub(crate) struct Shared {
    pub(crate) cells: Vec<Cell>,
    runs: Vec<Run>,
    /// Cells that hold a cause, with the cause's bit.
    by_cause: Vec<Vec<(u32, usize)>>,
    /// Causes of a reported symptom.
    makers: Vec<bool>,
    /// The cell of *not listed*.
    not_listed: Option<usize>,
}

impl Shared {
    fn new(cells: Vec<Cell>, causes: usize) -> Self {
        let (mut by_cause, mut makers) = (vec![Vec::new(); causes], vec![false; causes]);
        for (at, cell) in (0u32..).zip(&cells) {
            for (cause, bit) in cell.causes[..cell.n].iter().zip([1, 2]) {
                by_cause[cause.index()].push((at, bit));
                makers[cause.index()] = cell.bad[bit];
            }
        }
        Self {
            runs: cells.iter().map(Run::new).collect(),
            not_listed: cells.iter().position(|c| c.hypothesis == Hypothesis::NotListed),
            cells,
            by_cause,
            makers,
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

    /// The likeliest hypotheses of a shortlist alone: the fewest with this share of its weight. `None` where that is no shorter.
    pub(crate) fn likeliest(&self, share: f64) -> Option<Self> {
        let (all, mut held, mut n) = (self.mass(), 0.0, 0);
        for weights in &self.weights {
            if n >= ALWAYS_KEPT && held >= share * all {
                break;
            }
            held += weights.iter().sum::<f64>();
            n += 1;
        }
        (n < self.weights.len()).then(|| Self {
            shared: Rc::new(Shared::new(self.shared.cells[..n].to_vec(), self.shared.by_cause.len())),
            weights: self.weights[..n].to_vec(),
            kept: self.kept * held / all,
        })
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

    /// Whether *nothing wrong* is likelier than *not listed* and than every cause.
    pub(crate) fn nothing_leads(&self) -> bool {
        let of = |hypothesis: Hypothesis| -> f64 {
            let there = self.each().filter(|(c, _)| c.hypothesis == hypothesis);
            there.map(|(_, w)| w[0]).sum()
        };
        let nothing = of(Hypothesis::Nothing);
        if nothing <= of(Hypothesis::NotListed) {
            return false;
        }
        let causes = self
            .each()
            .flat_map(|(c, _)| &c.causes[..c.n])
            .map(|c| c.index() + 1)
            .max();
        let mut chances = vec![0.0; causes.unwrap_or(0)];
        for (cell, weights) in self.each() {
            for (bit, cause) in cell.causes[..cell.n].iter().enumerate() {
                let there = cell.masks().filter(|m| m & (1 << bit) != 0);
                chances[cause.index()] += there.map(|m| weights[m]).sum::<f64>();
            }
        }
        chances.iter().all(|p| *p < nothing)
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

    /// Chance of each outcome of a test: by outcome, cell and mask.
    ///
    /// `traces` is the chance that each cause shows on tests in the present spell.
    pub(crate) fn outcome_chances(
        &self,
        model: &Model,
        test: TestId,
        traces: &[f64],
        teller: Teller,
    ) -> Vec<Vec<[f64; 4]>> {
        let table = &model.tests[test.index()];
        let not_listed = table.not_listed();
        let mut by_outcome = vec![vec![[0.0; 4]; self.weights.len()]; table.outcomes.len()];
        let mut chances = not_listed.clone();
        for (at, (cell, weights)) in self.each().enumerate() {
            for mask in cell.masks().filter(|&m| weights[m] > 0.0) {
                if cell.hypothesis == Hypothesis::NotListed {
                    chances.copy_from_slice(&not_listed);
                } else {
                    let (left, n) = cell.left(mask);
                    chances.fill(0.0);
                    given(table, &left[..n], traces, &mut chances);
                }
                teller.tell(&mut chances);
                for (of_outcome, p) in by_outcome.iter_mut().zip(&chances) {
                    of_outcome[at][mask] = *p;
                }
            }
        }
        by_outcome
    }

    /// The cells after an outcome, by its chance in each.
    pub(crate) fn after_outcome(&self, chances: &[[f64; 4]]) -> Self {
        let after = |(weights, p): (&[f64; 4], &[f64; 4])| std::array::from_fn(|mask| weights[mask] * p[mask]);
        self.with_weights(self.weights.iter().zip(chances).map(after).collect())
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
pub(crate) struct Following {
    shared: Rc<Shared>,
    weights: Vec<[f64; 4]>,
    /// Weight with which each cause is there; a branch with two counts half for each.
    pub(crate) by_cause: Vec<f64>,
}

impl Following {
    fn new(shared: Rc<Shared>, weights: Vec<[f64; 4]>) -> Self {
        let mut by_cause = vec![0.0; shared.by_cause.len()];
        for (run, weights) in shared.runs.iter().zip(&weights) {
            count(run.causes, weights, &mut by_cause);
        }
        Self {
            shared,
            weights,
            by_cause,
        }
    }

    /// Repairs, then takes out what a proof run shows gone. Returns the weight gone, and the part of it that is luck: something that makes a
    /// reported symptom is left.
    pub(crate) fn try_repair(&mut self, model: &Model, repair: RepairId) -> (f64, f64) {
        for &(cause, chance) in &model.repairs[repair.index()].cures {
            for &(at, bit) in &self.shared.by_cause[cause.index()] {
                let weights = &mut self.weights[at as usize];
                for mask in [bit, 3] {
                    let cured = weights[mask] * chance;
                    weights[mask] -= cured;
                    weights[mask & !bit] += cured;
                }
            }
        }
        self.by_cause.fill(0.0);
        let (mut gone, mut lucky) = ([0.0; 4], [0.0; 4]);
        for (run, weights) in self.shared.runs.iter().zip(&mut self.weights) {
            // One thing after the other for all four masks, so that the compiler takes them two at a time.
            let lost: [f64; 4] = std::array::from_fn(|mask| weights[mask] * run.gone[mask]);
            let by_luck: [f64; 4] = std::array::from_fn(|mask| weights[mask] * run.lucky[mask]);
            (0..4).for_each(|mask| weights[mask] -= lost[mask]);
            (0..4).for_each(|mask| gone[mask] += lost[mask]);
            (0..4).for_each(|mask| lucky[mask] += by_luck[mask]);
            count(run.causes, weights, &mut self.by_cause);
        }
        (gone.iter().sum(), lucky.iter().sum())
    }

    /// Weight of what nobody listed and of causes of a reported symptom for which no repair is left (`remedies` counts those, by cause; a branch
    /// with two causes counts half for each). It leaves by luck or not at all.
    pub(crate) fn doomed(&self, remedies: &[usize]) -> f64 {
        let causes = self.shared.makers.iter().zip(remedies).zip(&self.by_cause);
        let lost = causes.filter(|((makes, left), _)| **makes && **left == 0);
        let not_listed = self.shared.not_listed.map_or(0.0, |at| self.weights[at][0]);
        not_listed + lost.map(|(_, p)| p).sum::<f64>()
    }

    /// The weights as they are now.
    pub(crate) fn into_weights(self) -> Vec<[f64; 4]> {
        self.weights
    }
}

fn count(causes: [CauseId; 2], weights: &[f64; 4], by_cause: &mut [f64]) {
    let half = 0.5 * weights[3];
    by_cause[causes[0].index()] += weights[1] + half;
    by_cause[causes[1].index()] += weights[2] + half;
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
