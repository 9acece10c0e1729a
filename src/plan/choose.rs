//! Prices every action one step ahead and takes the cheapest.

use std::borrow::Cow;

use super::access::Costs;
use super::cells::{Cells, SHORTLIST_MASS, Teller};
use super::offer::{Offer, Situation};
use super::order::{Pricing, Proposal};
use crate::belief::{Belief, Hypothesis, Prior, PriorWeigher, trace_chance};
use crate::knowledge::Knowledge;
use crate::knowledge::schema::{At, Repair};
use crate::model::{FactId, Model, RepairId, SiteFacts, TestId};

/// Something that can be done next.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Action {
    /// A test.
    Test(TestId),
    /// A question about the site.
    Fact(FactId),
    /// A repair and its proof.
    Repair(RepairId),
    /// Somebody comes to the gate: on the phone only.
    Visit,
    /// Hand it to somebody else.
    Refer,
    /// Run and watch, then end with nothing found.
    NoFaultFound,
}

impl Action {
    /// Title of the test or repair, question of the fact; `None` for what is no entry.
    #[must_use]
    pub fn entry_title(self, knowledge: &Knowledge) -> Option<&str> {
        match self {
            Self::Test(t) => Some(&knowledge.tests[t.index()].title),
            Self::Fact(f) => Some(&knowledge.facts[f.index()].ask),
            Self::Repair(r) => Some(&knowledge.repairs[r.index()].title),
            Self::Visit | Self::Refer | Self::NoFaultFound => None,
        }
    }
}

/// An action with its price.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Priced {
    /// The action.
    pub action: Action,
    /// Expected minutes from here to a working gate proven safe, beginning with it.
    pub cost: f64,
}

/// What to do next, and how sure that is.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice {
    /// The action to take. Where something has to be done before it, `serves` names what it is for.
    pub action: Action,
    /// The action this one prepares, if it was not chosen for itself.
    pub serves: Option<Action>,
    /// Expected minutes with it: an upper bound on the optimum, since the policy can be followed. Where giving up waits, what giving up costs.
    pub cost: f64,
    /// Expected minutes without any test: the best order of repairs, cut where referring is cheaper; while nothing wrong leads, of giving up.
    pub repairs_only: f64,
    /// Giving up costs least, one step ahead, and is early yet: the action is what is looked at or done before it, and is not priced.
    pub early: bool,
    /// No policy can cost less.
    pub lower_bound: f64,
    /// Every other action that was priced on the whole shortlist, cheapest first.
    pub others: Vec<Priced>,
    /// Share of the posterior that planning looked at.
    pub kept: f64,
}

impl Choice {
    /// Minutes that the step is expected to save against going on without it; 0 for repairs and endings.
    #[must_use]
    pub fn worth(&self) -> f64 {
        (self.repairs_only - self.cost).max(0.0)
    }

    /// (upper − lower)/lower; 0 where nothing can cost anything.
    #[must_use]
    pub fn gap(&self) -> f64 {
        if self.lower_bound > 0.0 {
            (self.cost - self.lower_bound) / self.lower_bound
        } else {
            0.0
        }
    }
}

/// Plans with one knowledge.
#[derive(Debug, Clone)]
pub struct Planner<'a> {
    /// The knowledge.
    pub knowledge: &'a Knowledge,
    /// Its tables.
    pub model: &'a Model,
    pub(super) costs: Cow<'a, Costs>,
    proposal: Proposal,
    shortlist: f64,
    /// Questions are first priced on hypotheses with this share of the shortlist; `None`: on all of it at once.
    glance: Option<f64>,
    /// Giving up is priced at so many times what it costs.
    patience: f64,
}

/// Before giving up the plan looks once more, as if giving up cost so many times what it does: one step ahead it can't see that two tests
/// together, or the first of two repairs, lead somewhere.
const PATIENCE: f64 = 3.0;

/// Questions are priced on the likeliest hypotheses with this share of the shortlist before they are priced on all of it.
const GLANCE: f64 = 0.95;
/// So many of them then are.
const PROMISING: usize = 20;

impl<'a> Planner<'a> {
    /// The product's planner.
    #[must_use]
    pub fn new(knowledge: &'a Knowledge, model: &'a Model) -> Self {
        Self::with_costs(knowledge, model, Cow::Owned(Costs::new(knowledge)))
    }

    /// The product's planner with costs that were read before.
    #[must_use]
    pub fn with_costs(knowledge: &'a Knowledge, model: &'a Model, costs: Cow<'a, Costs>) -> Self {
        Self {
            knowledge,
            model,
            costs,
            proposal: Proposal::default(),
            shortlist: SHORTLIST_MASS,
            glance: Some(GLANCE),
            patience: 1.0,
        }
    }

    /// The same planner with another way to propose orders.
    #[must_use]
    pub fn proposing(mut self, proposal: Proposal) -> Self {
        self.proposal = proposal;
        self
    }

    /// The same planner without the glance: every question is priced on the whole shortlist.
    #[must_use]
    pub fn pricing_all(mut self) -> Self {
        self.glance = None;
        self
    }

    /// Costs in force.
    #[must_use]
    pub fn costs(&self) -> &Costs {
        &self.costs
    }

    /// The prior at a site.
    #[must_use]
    pub fn prior(&self, situation: &Situation) -> Prior {
        Prior::new(self.model, &self.model.rates(self.knowledge, &situation.site))
    }

    /// The belief in a situation.
    #[must_use]
    pub fn belief(&self, situation: &Situation) -> Belief {
        Belief::new(self.model, &self.prior(situation), &situation.evidence)
    }

    /// The next step.
    ///
    /// Giving up waits as long as what was spent on this gate, with the least that its fault can cost, stays under the cost of referring:
    /// who gives up then has paid at most twice what giving up at once would have cost (the argument of renting or buying skis: Karlin,
    /// Manasse, Rudolph & Sleator, "Competitive snoopy caching", Algorithmica 3, 1988; from memory). Where only one fault at a time is
    /// considered, one step ahead is within a hundredth of the optimum, and giving up is taken at its word.
    #[must_use]
    pub fn choose(&self, situation: &Situation, belief: &Belief) -> Choice {
        let choice = self.cheapest(situation, belief);
        let gives_up = |action| matches!(action, Action::Refer | Action::NoFaultFound);
        let settings = &self.model.settings;
        let early = settings.pairs && self.spent(situation) + choice.lower_bound < settings.refer_minutes;
        if !gives_up(choice.action) || !early {
            return choice;
        }
        let instead = if choice.action == Action::NoFaultFound {
            let look = self.most_telling(situation, belief, choice.cost);
            look.map(|test| self.begin(Action::Test(test), situation, belief))
        } else {
            let patient = Self {
                patience: PATIENCE,
                ..self.clone()
            };
            let further = patient.cheapest(situation, belief);
            (!gives_up(further.action)).then_some((further.action, further.serves))
        };
        match instead {
            Some((action, serves)) => Choice {
                action,
                serves,
                early: true,
                ..choice
            },
            None => choice,
        }
    }

    /// The posterior as planning works on it.
    pub(super) fn shortlisted(&self, situation: &Situation, belief: &Belief) -> Cells {
        Cells::shortlist(self.model, belief, &situation.evidence, self.shortlist)
    }

    /// Minutes of the tests answered and the repairs done so far, without ways and covers.
    fn spent(&self, situation: &Situation) -> f64 {
        let tests = situation.answered.iter().map(|&t| self.costs.test(t).minutes);
        let repairs = situation.evidence.repairs.iter().map(|&r| self.costs.repair(r).minutes);
        tests.chain(repairs).sum()
    }

    /// S, as it is weighed.
    pub(super) fn refer(&self) -> f64 {
        self.patience * self.model.settings.refer_minutes
    }

    /// K, as it is weighed.
    pub(super) fn callback(&self) -> f64 {
        self.patience * self.model.settings.callback_minutes
    }

    /// The action that is cheapest one step ahead.
    pub(super) fn cheapest(&self, situation: &Situation, belief: &Belief) -> Choice {
        if situation.at == At::Phone {
            return self.cheapest_by_phone(situation, belief);
        }
        let offer = self.offer(belief, situation, &situation.site);
        let cells = self.shortlisted(situation, belief);
        let answered = self.answered(situation);
        let pricing = self.pricing(&offer, &answered);
        let order = pricing.best_order(cells.clone(), &situation.standing);
        let mass = cells.mass().max(f64::MIN_POSITIVE);
        let tests = (0..offer.tests.len())
            .map(TestId::at)
            .filter(|t| offer.tests[t.index()]);
        let facts = (0..self.knowledge.facts.len()).map(FactId::at);
        let questions = tests.map(Action::Test).chain(facts.map(Action::Fact));
        let mut priced = self.price_promising(questions.collect(), &cells, &|question, cells| match question {
            Action::Test(test) => self
                .price_test(&pricing, cells, situation, test, order.dearest)
                .map(Price::total),
            Action::Fact(fact) => self
                .price_fact(belief, &offer, cells, situation, fact)
                .map(Price::total),
            _ => None,
        });
        priced.push(Priced {
            action: Action::Refer,
            cost: self.refer(),
        });
        if offer.no_fault_found {
            priced.push(Priced {
                action: Action::NoFaultFound,
                cost: self.callback() * cells.bad_mass() / mass,
            });
        }
        // While nothing wrong leads, a repair would be a guess: its proof would be seen to pass whatever it cured.
        if let Some(&first) = order.repairs.first()
            && !offer.no_fault_found
        {
            priced.push(Priced {
                action: Action::Repair(first),
                cost: order.cost / mass,
            });
        }
        cheapest_first(&mut priced);
        let chosen = priced[0];
        let (action, serves) = self.first_of(chosen.action, &answered, &offer);
        Choice {
            action,
            serves,
            cost: chosen.cost,
            repairs_only: order.cost / mass,
            early: false,
            lower_bound: self.lower_bound(&cells, situation),
            others: priced.split_off(1),
            kept: cells.kept,
        }
    }

    /// Prices of questions: all of them first on the likeliest hypotheses alone, then on the whole shortlist those that came out cheapest.
    ///
    /// Nearly all hypotheses of a large posterior are pairs that hold next to nothing of it together.
    pub(super) fn price_promising(
        &self,
        questions: Vec<Action>,
        cells: &Cells,
        price: &dyn Fn(Action, &Cells) -> Option<f64>,
    ) -> Vec<Priced> {
        let on = |questions: &[Action], cells: &Cells| -> Vec<Priced> {
            let priced = questions.iter().filter_map(|&action| {
                let cost = price(action, cells)?;
                Some(Priced { action, cost })
            });
            priced.collect()
        };
        let Some(likeliest) = self.glance.and_then(|share| cells.likeliest(share)) else {
            return on(&questions, cells);
        };
        let mut promising = on(&questions, &likeliest);
        cheapest_first(&mut promising);
        let promising: Vec<Action> = promising.iter().take(PROMISING).map(|p| p.action).collect();
        on(&promising, cells)
    }

    /// Expected minutes of one action followed by the best order: what [`Choice`] compares. `None` if it is not on offer.
    #[must_use]
    pub fn price(&self, situation: &Situation, belief: &Belief, action: Action) -> Option<f64> {
        let offer = self.offer(belief, situation, &situation.site);
        let offered = match action {
            Action::Test(test) => offer.tests[test.index()],
            Action::Repair(repair) => offer.repairs[repair.index()],
            Action::Fact(_) | Action::Refer => true,
            Action::Visit => situation.at == At::Phone,
            Action::NoFaultFound => offer.no_fault_found,
        };
        if !offered {
            return None;
        }
        self.value_in(&offer, situation, belief, action)
    }

    /// The same of any action, offered or not: what a person chose is priced by what it tells and costs, whether or not the plan would
    /// have put it forward. What tells nothing new costs its own minutes before the best order.
    #[must_use]
    pub fn value(&self, situation: &Situation, belief: &Belief, action: Action) -> f64 {
        let offer = self.offer(belief, situation, &situation.site);
        self.value_in(&offer, situation, belief, action).unwrap_or_else(|| {
            let cells = self.shortlisted(situation, belief);
            let answered = self.answered(situation);
            let mass = cells.mass().max(f64::MIN_POSITIVE);
            let mut standing = situation.standing.clone();
            let wasted = match action {
                Action::Test(t) => self.waste(self.costs.test(t), &mut standing),
                Action::Repair(r) => self.waste(self.costs.repair(r), &mut standing),
                Action::Fact(f) => self.costs.facts[f.index()],
                Action::Visit | Action::Refer | Action::NoFaultFound => 0.0,
            };
            let rest = self.pricing(&offer, &answered).best_order(cells, &standing).cost;
            wasted + rest / mass
        })
    }

    /// Minutes of an action from which nothing is learnt.
    fn waste(&self, action: &super::ActionCosts, standing: &mut super::Standing) -> f64 {
        let minutes = action.minutes + self.costs.access(action, standing);
        self.costs.go(action, standing);
        minutes
    }

    fn value_in(&self, offer: &Offer, situation: &Situation, belief: &Belief, action: Action) -> Option<f64> {
        let cells = self.shortlisted(situation, belief);
        let answered = self.answered(situation);
        let pricing = self.pricing(offer, &answered);
        let mass = cells.mass().max(f64::MIN_POSITIVE);
        match action {
            Action::Test(test) => {
                let there = self.knowledge.tests.get_index(test.index());
                let absent = there.is_some_and(|(_, t)| situation.site.holds(&t.when) == Some(false));
                if absent || !situation.is_open(test) {
                    return None;
                }
                self.price_test(&pricing, &cells, situation, test, f64::INFINITY)
                    .map(Price::total)
            }
            Action::Repair(repair) if situation.tried.contains(&repair) => None,
            Action::Repair(repair) => {
                let mut standing = situation.standing.clone();
                let paid = mass * pricing.pay(repair, &mut standing);
                let mut following = cells.clone().follow();
                let (_, lucky) = following.try_repair(self.model, repair);
                let after = cells.with_weights(following.into_weights());
                let mut allowed = offer.in_orders.clone();
                allowed[repair.index()] = false;
                let rest = Pricing {
                    allowed: &allowed,
                    ..pricing
                }
                .best_order(after, &standing)
                .cost;
                Some((paid + lucky * self.callback() + rest) / mass)
            }
            Action::Fact(fact) => self
                .price_fact(belief, offer, &cells, situation, fact)
                .map(Price::total),
            Action::Visit => Some(self.visit_cost(situation, belief)),
            Action::Refer => Some(self.refer()),
            Action::NoFaultFound => Some(self.callback() * cells.bad_mass() / mass),
        }
    }

    /// Minutes that a test saves one step ahead against going on without any; below 0 where it costs more. `None` if it is not on offer.
    #[must_use]
    pub fn saving(&self, situation: &Situation, belief: &Belief, test: TestId) -> Option<f64> {
        let with = self.price(situation, belief, Action::Test(test))?;
        Some(self.repairs_only(situation, belief) - with)
    }

    /// Expected minutes without any test: [`Choice::repairs_only`] by itself.
    #[must_use]
    pub fn repairs_only(&self, situation: &Situation, belief: &Belief) -> f64 {
        let offer = self.offer(belief, situation, &situation.site);
        let answered = self.answered(situation);
        let cells = self.shortlisted(situation, belief);
        let mass = cells.mass().max(f64::MIN_POSITIVE);
        self.pricing(&offer, &answered)
            .best_order(cells, &situation.standing)
            .cost
            / mass
    }

    /// What may be offered in a situation, at that site.
    #[must_use]
    pub fn offer(&self, belief: &Belief, situation: &Situation, site: &SiteFacts) -> Offer {
        Offer::at_site(self.knowledge, self.model, &self.costs, belief, situation, site)
    }

    pub(super) fn answered(&self, situation: &Situation) -> Vec<bool> {
        let mut answered = vec![false; self.model.tests.len()];
        situation.answered.iter().for_each(|t| answered[t.index()] = true);
        // What does not apply to this site need not be answered before anything.
        for (i, test) in self.knowledge.tests.values().enumerate() {
            answered[i] |= situation.site.holds(&test.when) == Some(false);
        }
        answered
    }

    /// What pricing works on. Whoever a call on the phone is referred to has to come too.
    pub(super) fn pricing<'b>(&'b self, offer: &'b Offer, answered: &'b [bool]) -> Pricing<'b> {
        Pricing {
            model: self.model,
            costs: &self.costs,
            offer,
            allowed: &offer.in_orders,
            answered,
            proposal: self.proposal,
            refer: self.refer()
                + if offer.at == At::Phone {
                    self.costs.travel()
                } else {
                    0.0
                },
            callback: self.callback(),
        }
    }

    pub(super) fn price_test(
        &self,
        pricing: &Pricing<'_>,
        cells: &Cells,
        situation: &Situation,
        test: TestId,
        dearest: f64,
    ) -> Option<Price> {
        let action = self.costs.test(test);
        let facts: f64 = pricing.offer.facts_first[test.index()]
            .iter()
            .filter_map(|f| self.knowledge.facts.get(f))
            .map(|f| f.minutes)
            .sum();
        let own = action.minutes
            + facts
            + pricing.prerequisites(&action.after)
            + self.costs.access(action, &situation.standing);
        // What the order would have to ask anyway before one of its repairs is not charged twice.
        let mut answered = pricing.answered.to_vec();
        answered[test.index()] = true;
        action.after.iter().for_each(|t| answered[t.index()] = true);
        let asked_anyway = pricing.costs.repairs.iter().any(|r| r.after.contains(&test));
        // Knowing at once whether one of the causes that mention the test is there could save no more than their weight times the
        // dearest way through the order: a test that this can't repay is not priced.
        if !asked_anyway && cells.mentioning(self.model, test) * dearest <= cells.mass() * own {
            return None;
        }
        let pricing = &Pricing {
            answered: &answered,
            ..*pricing
        };
        let mut standing = situation.standing.clone();
        self.costs.go(action, &mut standing);
        let traces = self.traces(situation);
        let mut after = 0.0;
        for chances in cells.outcome_chances(self.model, test, &traces, self.teller(situation, test)) {
            after += pricing.best_order(cells.after_outcome(&chances), &standing).cost;
        }
        Some(Price {
            own,
            after: after / cells.mass().max(f64::MIN_POSITIVE),
        })
    }

    /// ρ of a caller on a test.
    #[must_use]
    pub fn reliability(&self, test: TestId) -> f64 {
        self.knowledge.tests[test.index()]
            .reliability
            .unwrap_or(self.model.settings.caller_reliability)
    }

    /// Who answers a test, and what was told of it before.
    pub(super) fn teller(&self, situation: &Situation, test: TestId) -> Teller {
        let reliability = self.reliability(test);
        match situation.told.get(&test) {
            _ if situation.at == At::Phone => Teller::Caller(reliability),
            Some(&said) => Teller::LookAgain { said, reliability },
            None => Teller::Seen,
        }
    }

    pub(super) fn traces(&self, situation: &Situation) -> Vec<f64> {
        let spell = situation.evidence.current_spell();
        let now = spell.and_then(|s| s.now);
        let under = situation.evidence.under();
        self.model
            .shows
            .iter()
            .map(|show| trace_chance(now, show.share(under), show.traces(under)))
            .collect()
    }

    /// Asking a fact: every value re-weighs the prior and may switch tests and repairs on. `None` if it bears on nothing here.
    ///
    /// The weight of *not listed* and *nothing wrong* is taken as it is: a planning approximation, the belief itself is recompiled.
    pub(super) fn price_fact(
        &self,
        belief: &Belief,
        before: &Offer,
        cells: &Cells,
        situation: &Situation,
        fact: FactId,
    ) -> Option<Price> {
        let (id, entry) = self.knowledge.facts.get_index(fact.index())?;
        if entry.values.len() < 2 || situation.site.get(id).is_some() || situation.unknowable.contains(id) {
            return None;
        }
        let bears = cells.shared.cells.iter().any(|c| {
            c.causes[..c.n]
                .iter()
                .any(|&cause| self.model.fact_bears_on(self.knowledge, id, cause))
        });
        if !bears {
            return None;
        }
        let rates_now = self.model.rates(self.knowledge, &situation.site);
        let prior_now = PriorWeigher::new(self.model, &rates_now);
        let weights_now: Vec<f64> = cells.each().map(|(c, _)| prior_now.weight(c.hypothesis)).collect();
        let answered = self.answered(situation);
        let mut after = 0.0;
        for (value, fact_value) in &entry.values {
            let site = situation.site.with(id, value);
            let rates = self.model.rates(self.knowledge, &site);
            let prior = PriorWeigher::new(self.model, &rates);
            let mut then = cells.clone();
            for ((cell, weights), now) in then.shared.cells.iter().zip(&mut then.weights).zip(&weights_now) {
                let times = match cell.hypothesis {
                    Hypothesis::NotListed | Hypothesis::Nothing => 1.0,
                    listed => prior.weight(listed) / now,
                };
                weights.iter_mut().for_each(|w| *w *= times * fact_value.share);
            }
            let offer = self.offer(belief, situation, &site);
            let pricing = self.pricing(&offer, &answered);
            let order = pricing.best_order(then.clone(), &situation.standing);
            let mut best = order.cost;
            let there = Situation {
                site,
                ..situation.clone()
            };
            for test in (0..offer.tests.len())
                .filter(|&t| offer.tests[t] && !before.tests[t])
                .map(TestId::at)
            {
                if let Some(price) = self.price_test(&pricing, &then, &there, test, order.dearest) {
                    best = best.min(price.total() * then.mass());
                }
            }
            after += best;
        }
        Some(Price {
            own: entry.minutes,
            after: after / cells.mass().max(f64::MIN_POSITIVE),
        })
    }

    /// What has to be done first for an action, and the action if that is another.
    #[must_use]
    pub fn begin(&self, action: Action, situation: &Situation, belief: &Belief) -> (Action, Option<Action>) {
        let offer = self.offer(belief, situation, &situation.site);
        self.first_of(action, &self.answered(situation), &offer)
    }

    /// What has to be done first for an action: a number that its formula needs, a test that must have an answer.
    pub(super) fn first_of(&self, action: Action, answered: &[bool], offer: &Offer) -> (Action, Option<Action>) {
        let mut first = action;
        for _ in 0..self.model.tests.len() {
            let after = match first {
                Action::Test(t) => {
                    if let Some(fact) = offer.facts_first[t.index()].first()
                        && let Some(at) = self.knowledge.facts.get_index_of(fact)
                    {
                        return (Action::Fact(FactId::at(at)), Some(action));
                    }
                    &self.costs.test(t).after
                }
                Action::Repair(r) => &self.costs.repair(r).after,
                _ => break,
            };
            let Some(&missing) = after.iter().find(|t| !answered[t.index()]) else {
                break;
            };
            first = Action::Test(missing);
        }
        (first, (first != action).then_some(action))
    }

    /// Σ P(H) · min(S, K, cheapest repair that cures some of it, with its opening); *not listed* min(S, K), *nothing wrong* 0.
    pub(super) fn lower_bound(&self, cells: &Cells, situation: &Situation) -> f64 {
        let settings = &self.model.settings;
        let give_up = settings.refer_minutes.min(settings.callback_minutes);
        let mut cheapest = vec![f64::INFINITY; self.model.causes()];
        // A repair that waits for a fact or a test may be on offer later, so it counts.
        let ever = |r: usize, repair: &Repair| {
            let in_time = !situation.tried.contains(&RepairId::at(r)) && repair.who <= situation.who;
            in_time && situation.site.holds(&repair.when) != Some(false)
        };
        let repairs = self.knowledge.repairs.values().zip(&self.model.repairs).enumerate();
        for (r, (_, table)) in repairs.filter(|(r, (repair, _))| ever(*r, repair)) {
            let action = &self.costs.repairs[r];
            let cost = action.minutes + self.costs.access(action, &situation.standing);
            for (cause, _) in &table.cures {
                cheapest[cause.index()] = cheapest[cause.index()].min(cost);
            }
        }
        let least = |cell: &super::cells::Cell, mask: usize| match cell.hypothesis {
            Hypothesis::NotListed => give_up,
            Hypothesis::Nothing => 0.0,
            _ if !cell.bad[mask] => 0.0,
            _ => (0..cell.n)
                .filter(|bit| mask & (1 << bit) != 0)
                .map(|bit| cheapest[cell.causes[bit].index()])
                .fold(give_up, f64::min),
        };
        cells
            .each()
            .map(|(c, w)| c.masks().map(|m| w[m] * least(c, m)).sum::<f64>())
            .sum()
    }
}

/// Minutes of an action by itself, and of the best order after it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Price {
    pub(super) own: f64,
    pub(super) after: f64,
}

impl Price {
    pub(super) fn total(self) -> f64 {
        self.own + self.after
    }
}

/// Sorts by cost, rounded, so that sums in another order don't decide between equals.
pub(super) fn cheapest_first(priced: &mut [Priced]) {
    let rounded = |p: &Priced| (p.cost * 1e9).round();
    priced.sort_by(|a, b| {
        rounded(a)
            .total_cmp(&rounded(b))
            .then_with(|| rank(a.action).cmp(&rank(b.action)))
    });
}

/// Among equals: repair before test before fact before endings, so that a test must earn its time.
fn rank(action: Action) -> u8 {
    match action {
        Action::Repair(_) => 0,
        Action::Test(_) => 1,
        Action::Fact(_) => 2,
        Action::NoFaultFound => 3,
        Action::Visit => 4,
        Action::Refer => 5,
    }
}
