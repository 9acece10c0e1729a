//! To send somebody or to ask on. On the phone the visit is the outermost cover: it is opened once, at the price of travel and call-out, before
//! everything that a caller can't do.
//!
//! Orders of repairs alone would make every question look worth its while, for at the gate a meter soon tells what a caller can't. So what an
//! order costs after an answer is taken at the share that the gate's own tests make of the order now: with `send` the price of going at once,
//! and `guess` that of going and repairing without a test, a question costs its own minutes and send/guess of the orders after its answers.

use super::choose::{Action, Choice, Planner, Priced, cheapest_first};
use super::offer::Situation;
use super::order::Pricing;
use crate::belief::Belief;
use crate::model::{FactId, TestId};

/// A question has to save so many minutes: prices are no surer than that, and a caller pays with patience too.
const LEAST_SAVING: f64 = 0.5;

impl Planner<'_> {
    /// Minutes of a visit that begins now: travel, call-out and what is expected at the gate.
    #[must_use]
    pub fn visit_cost(&self, situation: &Situation, belief: &Belief) -> f64 {
        self.costs.travel() + self.cheapest(&situation.arrived(), belief).cost
    }

    /// Minutes to book at the gate so that this share of such gates is put right or given up in it, with the retest: the way through the best
    /// order of repairs, shortened as the gate's own tests shorten it.
    #[must_use]
    pub fn booking(&self, situation: &Situation, belief: &Belief, share: f64) -> f64 {
        let arrived = situation.arrived();
        let choice = self.cheapest(&arrived, belief);
        let offer = self.offer(belief, &arrived, &arrived.site);
        let answered = self.answered(&arrived);
        let pricing = self.pricing(&offer, &answered);
        let cells = self.shortlisted(&arrived, belief);
        let mass = cells.mass();
        let order = pricing.best_order(cells.clone(), &arrived.standing);
        let (mut following, mut standing) = (cells.follow(), arrived.standing);
        let (mut spent, mut over) = (0.0, 0.0);
        for repair in order.repairs {
            let entry = &self.knowledge.repairs[repair.index()];
            let parts = self.costs.repair(repair).minutes - entry.minutes;
            spent += pricing.pay(repair, &mut standing) - parts;
            over += following.try_repair(self.model, repair).0;
            if over >= share * mass {
                break;
            }
        }
        let shorter = if choice.repairs_only > 0.0 {
            (choice.cost / choice.repairs_only).min(1.0)
        } else {
            1.0
        };
        spent * shorter + self.model.settings.retest_minutes
    }

    /// The next step of a call on the phone.
    pub(super) fn cheapest_by_phone(&self, situation: &Situation, belief: &Belief) -> Choice {
        let site = &situation.site;
        let here = self.offer(belief, situation, site);
        let there = self.offer(belief, &situation.arrived(), site);
        let answered = self.answered(situation);
        let pricing = self.pricing(&here, &answered);
        let at_gate = Pricing {
            allowed: &there.repairs,
            ..pricing
        };
        let cells = self.shortlisted(situation, belief);
        let mass = cells.mass().max(f64::MIN_POSITIVE);
        let guess = at_gate.best_order(cells.clone(), &situation.standing).cost / mass;
        let send = self.visit_cost(situation, belief);
        let share = (send / guess.max(f64::MIN_POSITIVE)).min(1.0);
        let order = pricing.best_order(cells.clone(), &situation.standing);
        let mut priced = vec![Priced {
            action: Action::Visit,
            cost: send,
        }];
        let tests = (0..here.tests.len()).map(TestId::at).filter(|t| here.tests[t.index()]);
        let told = |fact: &FactId| self.knowledge.facts[fact.index()].caller.is_some();
        let facts = (0..self.knowledge.facts.len()).map(FactId::at).filter(told);
        let questions = tests.map(Action::Test).chain(facts.map(Action::Fact));
        priced.extend(self.price_promising(questions.collect(), &cells, &|question, cells| {
            let price = match question {
                Action::Test(test) => self.price_test(&pricing, cells, situation, test, order.dearest)?,
                Action::Fact(fact) => self.price_fact(belief, &here, cells, situation, fact)?,
                _ => return None,
            };
            Some(price.own + share * price.after)
        }));
        if here.no_fault_found {
            priced.push(Priced {
                action: Action::NoFaultFound,
                cost: self.callback() * cells.bad_mass() / mass,
            });
        } else if let Some(&first) = order.repairs.first().filter(|r| here.repairs[r.index()]) {
            let own = pricing.pay(first, &mut situation.standing.clone());
            priced.push(Priced {
                action: Action::Repair(first),
                cost: own + share * (order.cost / mass - own),
            });
        }
        cheapest_first(&mut priced);
        let chosen = worth_asking(&mut priced);
        let (action, serves) = self.first_of(chosen.action, &answered, &here);
        Choice {
            action,
            serves,
            cost: chosen.cost,
            repairs_only: send,
            early: false,
            lower_bound: self.lower_bound(&cells, situation),
            others: priced,
            kept: cells.kept,
        }
    }
}

/// Takes out the cheapest; before a question that saves next to nothing, the visit or repair that it would put off.
fn worth_asking(priced: &mut Vec<Priced>) -> Priced {
    let asks = matches!(priced[0].action, Action::Test(_) | Action::Fact(_));
    let goes_on =
        |p: &Priced| matches!(p.action, Action::Repair(_) | Action::Visit) && p.cost - LEAST_SAVING < priced[0].cost;
    let at = priced.iter().position(goes_on).filter(|_| asks);
    priced.remove(at.unwrap_or(0))
}
