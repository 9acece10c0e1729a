//! The best order of repairs that P/C proposes, and what following it costs.

use super::access::{Costs, Standing};
use super::cells::Cells;
use crate::belief::Hypothesis;
use crate::model::{Model, RepairId, TestId};

/// How the order is proposed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Proposal {
    /// Opening costs count, shared inside a cover (the product's own).
    #[default]
    WithOpening,
    /// P/C of the repair alone, opening costs ignored when ordering (still paid). Kept to compare with published figures.
    PlainEfficiency,
}

/// An order of repairs, cut where referring is cheaper.
#[derive(Debug, Clone, PartialEq)]
pub struct Order {
    /// Expected minutes, weighted by the mass of the cells it was asked for.
    pub cost: f64,
    /// Repairs before the cut.
    pub repairs: Vec<RepairId>,
}

/// What pricing an order needs.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Pricing<'a> {
    pub(crate) model: &'a Model,
    pub(crate) costs: &'a Costs,
    /// Repairs that may be offered, by id.
    pub(crate) allowed: &'a [bool],
    /// Tests that have an answer, by id.
    pub(crate) answered: &'a [bool],
    pub(crate) proposal: Proposal,
}

/// Longest order that is looked at; what is left is referred.
const LONGEST: usize = 16;

impl Pricing<'_> {
    /// Minutes of tests that must be answered before, and are not.
    pub(crate) fn prerequisites(&self, after: &[TestId]) -> f64 {
        after
            .iter()
            .filter(|t| !self.answered[t.index()])
            .map(|&t| self.costs.test(t).minutes)
            .sum()
    }

    /// Cost of a repair by itself (with its missing prerequisites) and of getting there.
    fn repair_cost(&self, repair: RepairId, standing: &Standing) -> (f64, f64) {
        let action = self.costs.repair(repair);
        (
            action.minutes + self.prerequisites(&action.after),
            self.costs.access(action, standing),
        )
    }

    /// Pays for a repair and its proof run; moves the standing on.
    pub(crate) fn pay(&self, repair: RepairId, standing: &mut Standing) -> f64 {
        let (own, access) = self.repair_cost(repair, standing);
        self.costs.go(self.costs.repair(repair), standing);
        let proof = self.costs.proof(standing);
        standing.switch(crate::knowledge::schema::Condition::Powered);
        own + access + proof
    }

    /// The order, priced over all cells and branches, cut where referring what is left is cheaper.
    pub(crate) fn best_order(&self, cells: &Cells, standing: &Standing) -> Order {
        let settings = &self.model.settings;
        let mass = cells.mass();
        let mut best = Order {
            cost: mass * settings.refer_minutes,
            repairs: Vec::new(),
        };
        let (mut cells, mut standing, mut left) = (cells.clone(), standing.clone(), mass);
        let mut done: Vec<RepairId> = Vec::new();
        let mut paid = 0.0;
        while done.len() < LONGEST && left > 1e-9 * mass && paid < best.cost {
            let Some(repair) = self.next(&cells, &standing, &done) else {
                break;
            };
            paid += left * self.pay(repair, &mut standing);
            let (well, lucky) = cells.try_repair(self.model, repair);
            paid += lucky * settings.callback_minutes;
            left -= well + lucky;
            done.push(repair);
            let rest = if left > 1e-12 {
                left * settings.refer_minutes
            } else {
                0.0
            };
            if paid + rest < best.cost - 1e-12 {
                best = Order {
                    cost: paid + rest,
                    repairs: done.clone(),
                };
            }
        }
        best
    }

    /// The next repair by efficiency: chance that it cures over what it costs, a cover's opening shared by the best run of repairs inside it.
    fn next(&self, cells: &Cells, standing: &Standing, done: &[RepairId]) -> Option<RepairId> {
        let chance = self.cure_chances(cells);
        let mut open: Vec<Candidate> = chance
            .iter()
            .enumerate()
            .filter(|(r, p)| **p > 1e-12 && self.allowed[*r] && !done.contains(&RepairId::at(*r)))
            .map(|(r, &p)| {
                let repair = RepairId::at(r);
                let (own, access) = self.repair_cost(repair, standing);
                Candidate { repair, p, own, access }
            })
            .collect();
        open.sort_by(|a, b| (b.p * a.own).total_cmp(&(a.p * b.own)).then(a.repair.cmp(&b.repair)));
        if self.proposal == Proposal::PlainEfficiency {
            return open.first().map(|c| c.repair);
        }
        let mut best: Option<(f64, RepairId)> = None;
        for leader in &open {
            let efficiency = self.group_efficiency(leader, &open);
            if best.is_none_or(|(e, _)| efficiency > e + 1e-15) {
                best = Some((efficiency, leader.repair));
            }
        }
        best.map(|(_, repair)| repair)
    }

    /// max over runs of the leader and the repairs that become free with it: Σ P / (access + Σ C).
    fn group_efficiency(&self, leader: &Candidate, open: &[Candidate]) -> f64 {
        let (mut p, mut cost) = (leader.p, leader.own + leader.access);
        let mut best = p / cost.max(1e-9);
        if leader.access <= 0.0 {
            return best;
        }
        for other in open
            .iter()
            .filter(|o| o.repair != leader.repair && self.shares_access(leader, o))
        {
            p += other.p;
            cost += other.own;
            best = best.max(p / cost.max(1e-9));
        }
        best
    }

    fn shares_access(&self, a: &Candidate, b: &Candidate) -> bool {
        let (a, b) = (self.costs.repair(a.repair), self.costs.repair(b.repair));
        a.place == b.place
            && b.needs.iter().all(|n| a.needs.contains(n))
            && b.covers.iter().all(|c| a.covers.contains(c))
    }

    /// Weight that each repair is expected to cure; a branch with two causes counts half for each.
    fn cure_chances(&self, cells: &Cells) -> Vec<f64> {
        let mut by_cause = vec![0.0; self.model.causes()];
        for cell in cells
            .cells
            .iter()
            .filter(|c| !matches!(c.hypothesis, Hypothesis::NotListed | Hypothesis::Nothing))
        {
            for mask in 1..(1usize << cell.n) {
                let share = cell.weights[mask] / f64::from(mask.count_ones());
                for bit in 0..cell.n {
                    if mask & (1 << bit) != 0 {
                        by_cause[cell.causes[bit].index()] += share;
                    }
                }
            }
        }
        self.model
            .repairs
            .iter()
            .map(|r| r.cures.iter().map(|(c, f)| by_cause[c.index()] * f).sum())
            .collect()
    }
}

struct Candidate {
    repair: RepairId,
    p: f64,
    own: f64,
    access: f64,
}
