//! The best order of repairs that P/C proposes, and what following it costs.

use std::cmp::Ordering;

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
/// A repair with less than this chance to cure what is left is not proposed: cheap as it is, it would look absurd to whoever has to do it.
const NEGLIGIBLE: f64 = 0.01;

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
        if cells.nothing_leads() {
            // While nothing wrong leads, nothing is repaired on a guess.
            best.cost = best.cost.min(self.callback * cells.bad_mass());
            return best;
        }
        let (mut following, mut standing, mut left) = (cells.follow(), standing.clone(), mass);
        let mut done: Vec<RepairId> = Vec::new();
        let mut untried: Vec<RepairId> = (0..self.allowed.len())
            .filter(|&r| self.allowed[r])
            .map(RepairId::at)
            .collect();
        let cures = |repair: RepairId| self.model.repairs[repair.index()].cures.iter().map(|(c, _)| *c);
        let mut remedies = vec![0; self.model.causes()];
        untried
            .iter()
            .flat_map(|r| cures(*r))
            .for_each(|c| remedies[c.index()] += 1);
        let (mut paid, mut spent) = (0.0, 0.0);
        while done.len() < LONGEST && left > 1e-9 * mass && paid < best.cost {
            let Some(repair) = self.next(&following.by_cause, left, &standing, &untried) else {
                break;
            };
            let price = self.pay(repair, &mut standing);
            spent += price;
            paid += left * price;
            // What no repair is left for costs a callback or a referral in the end: no longer order can cost less.
            if paid + following.doomed(&remedies) * self.refer.min(self.callback) >= best.cost {
                break;
            }
            let (gone, lucky) = following.try_repair(self.model, repair);
            paid += lucky * self.callback;
            left -= gone;
            done.push(repair);
            untried.retain(|r| *r != repair);
            cures(repair).for_each(|c| remedies[c.index()] -= 1);
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
    fn next(&self, by_cause: &[f64], left: f64, standing: &Standing, untried: &[RepairId]) -> Option<RepairId> {
        let reaches = &self.costs.reaches;
        let mut access: Vec<Option<f64>> = vec![None; reaches.len()];
        let mut open: Vec<Candidate> = Vec::with_capacity(untried.len());
        for &repair in untried {
            let cures = &self.model.repairs[repair.index()].cures;
            let p: f64 = cures.iter().map(|(c, f)| by_cause[c.index()] * f).sum();
            if p > NEGLIGIBLE * left {
                let action = self.costs.repair(repair);
                let reach = reaches.of(repair);
                open.push(Candidate {
                    repair,
                    reach,
                    p,
                    own: action.minutes + self.prerequisites(&action.after),
                    access: *access[reach].get_or_insert_with(|| self.costs.access(action, standing)),
                });
            }
        }
        if self.proposal == Proposal::PlainEfficiency {
            return open.iter().min_by(|a, b| a.by_rate(b)).map(|c| c.repair);
        }
        let alone = open.iter().map(|c| efficiency(c.p, c.own + c.access));
        let least = alone.fold(0.0, f64::max) * (1.0 - 1e-9);
        // The first of a group has the best P/C in it: no other can lead a better run.
        let mut leaders: Vec<Option<&Candidate>> = vec![None; reaches.len()];
        for candidate in &open {
            let leader = &mut leaders[candidate.reach];
            if leader.is_none_or(|l| candidate.by_rate(l).is_lt()) {
                *leader = Some(candidate);
            }
        }
        // What has a lower P/C than a run it joins only makes that run worse.
        let mut joining: Vec<&Candidate> = open.iter().filter(|c| c.p >= least * c.own).collect();
        joining.sort_by(|a, b| a.by_rate(b));
        let mut runs: Vec<(f64, &Candidate)> = leaders
            .into_iter()
            .flatten()
            .map(|leader| (self.run_efficiency(leader, &joining), leader))
            .filter(|(efficiency, _)| *efficiency >= least)
            .collect();
        runs.sort_by(|a, b| a.1.by_rate(b.1));
        let mut best: Option<(f64, RepairId)> = None;
        for (efficiency, leader) in runs {
            if best.is_none_or(|(e, _)| efficiency > e + 1e-15) {
                best = Some((efficiency, leader.repair));
            }
        }
        best.map(|(_, repair)| repair)
    }

    /// max over runs of the leader and the repairs that become free with it: Σ P / (access + Σ C).
    fn run_efficiency(&self, leader: &Candidate, joining: &[&Candidate]) -> f64 {
        let (mut p, mut cost) = (leader.p, leader.own + leader.access);
        let mut best = efficiency(p, cost);
        if leader.access <= 0.0 {
            return best;
        }
        let joins = |o: &&&Candidate| o.repair != leader.repair && self.costs.reaches.free_with(leader.reach, o.reach);
        for other in joining.iter().filter(joins) {
            p += other.p;
            cost += other.own;
            best = best.max(efficiency(p, cost));
        }
        best
    }
}

/// P/C; what costs nothing costs next to nothing.
fn efficiency(p: f64, cost: f64) -> f64 {
    p / cost.max(1e-9)
}

/// A repair that may come next.
struct Candidate {
    repair: RepairId,
    /// Its group in [`Reaches`](super::access::Reaches).
    reach: usize,
    p: f64,
    own: f64,
    access: f64,
}

impl Candidate {
    /// Best P/C first, getting there left out.
    fn by_rate(&self, other: &Self) -> Ordering {
        let rates = (other.p * self.own).total_cmp(&(self.p * other.own));
        rates.then(self.repair.cmp(&other.repair))
    }
}
