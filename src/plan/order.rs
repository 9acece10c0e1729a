//! The best order of repairs that P/C proposes, and what following it costs.

use super::access::{Costs, Standing};
use super::cells::Cells;
use super::offer::Offer;
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
    /// Minutes of the dearest way through it: every repair in vain, then referring or a callback.
    pub dearest: f64,
}

/// What pricing an order needs.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Pricing<'a> {
    pub(crate) model: &'a Model,
    pub(crate) costs: &'a Costs,
    /// What may be offered.
    pub(crate) offer: &'a Offer,
    /// Repairs that may be offered, by id.
    pub(crate) allowed: &'a [bool],
    /// Tests that have an answer, by id.
    pub(crate) answered: &'a [bool],
    pub(crate) proposal: Proposal,
    /// S, as it is weighed.
    pub(crate) refer: f64,
    /// K, as it is weighed.
    pub(crate) callback: f64,
}

/// Longest order that is looked at; what is left is referred.
const LONGEST: usize = 16;
/// A repair with less than this share of what is left is not proposed.
const NEGLIGIBLE: f64 = 1e-4;

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
    pub(crate) fn best_order(&self, cells: Cells, standing: &Standing) -> Order {
        let mass = cells.mass();
        let give_up = self.refer.max(self.callback);
        let mut best = Order {
            cost: mass * self.refer,
            repairs: Vec::new(),
            dearest: give_up,
        };
        let (mut following, mut standing, mut left) = (cells.follow(), standing.clone(), mass);
        let mut done: Vec<RepairId> = Vec::new();
        let (mut paid, mut spent) = (0.0, 0.0);
        while done.len() < LONGEST && left > 1e-9 * mass && paid < best.cost {
            let Some(repair) = self.next(&following.by_cause, left, &standing, &done) else {
                break;
            };
            let price = self.pay(repair, &mut standing);
            spent += price;
            paid += left * price;
            let (well, lucky) = following.try_repair(self.model, repair);
            paid += lucky * self.callback;
            left -= well + lucky;
            done.push(repair);
            let rest = if left > 1e-12 { left * self.refer } else { 0.0 };
            if paid + rest < best.cost - 1e-12 {
                best = Order {
                    cost: paid + rest,
                    repairs: done.clone(),
                    dearest: spent + give_up,
                };
            }
        }
        best
    }

    /// The next repair by efficiency: chance that it cures over what it costs, a cover's opening shared by the best run of repairs inside it.
    fn next(&self, by_cause: &[f64], left: f64, standing: &Standing, done: &[RepairId]) -> Option<RepairId> {
        let mut open: Vec<Candidate> = Vec::new();
        for (r, table) in self.model.repairs.iter().enumerate() {
            let repair = RepairId::at(r);
            let p: f64 = table.cures.iter().map(|(c, f)| by_cause[c.index()] * f).sum();
            if p > NEGLIGIBLE * left && self.allowed[r] && !done.contains(&repair) {
                let (own, access) = self.repair_cost(repair, standing);
                open.push(Candidate { repair, p, own, access });
            }
        }
        open.sort_by(|a, b| (b.p * a.own).total_cmp(&(a.p * b.own)).then(a.repair.cmp(&b.repair)));
        if self.proposal == Proposal::PlainEfficiency {
            return open.first().map(|c| c.repair);
        }
        let mut best: Option<(f64, RepairId)> = None;
        let mut led: Vec<RepairId> = Vec::new();
        for leader in &open {
            // The first of a group has the best P/C in it: no other can lead a better run.
            if led.iter().any(|&other| self.same_access(other, leader.repair)) {
                continue;
            }
            led.push(leader.repair);
            let efficiency = self.run_efficiency(leader, &open);
            if best.is_none_or(|(e, _)| efficiency > e + 1e-15) {
                best = Some((efficiency, leader.repair));
            }
        }
        best.map(|(_, repair)| repair)
    }

    /// max over runs of the leader and the repairs that become free with it: Σ P / (access + Σ C).
    fn run_efficiency(&self, leader: &Candidate, open: &[Candidate]) -> f64 {
        let (mut p, mut cost) = (leader.p, leader.own + leader.access);
        let mut best = p / cost.max(1e-9);
        if leader.access <= 0.0 {
            return best;
        }
        for other in open
            .iter()
            .filter(|o| o.repair != leader.repair && self.free_with(leader.repair, o.repair))
        {
            p += other.p;
            cost += other.own;
            best = best.max(p / cost.max(1e-9));
        }
        best
    }

    /// Whether b costs nothing to reach right after a.
    fn free_with(&self, a: RepairId, b: RepairId) -> bool {
        let (a, b) = (self.costs.repair(a), self.costs.repair(b));
        a.place == b.place
            && b.needs.iter().all(|n| a.needs.contains(n))
            && b.covers.iter().all(|c| a.covers.contains(c))
    }

    fn same_access(&self, a: RepairId, b: RepairId) -> bool {
        self.free_with(a, b) && self.free_with(b, a)
    }
}

struct Candidate {
    repair: RepairId,
    p: f64,
    own: f64,
    access: f64,
}
