//! What may be offered at all: constraints, never costs.

use std::collections::{BTreeMap, BTreeSet};

use super::access::{ActionCosts, Costs, Standing};
use crate::belief::{Belief, Evidence};
use crate::knowledge::Knowledge;
use crate::knowledge::schema::{At, Condition, Moves, Severity, StopAt, Test, Who};
use crate::model::{CauseId, Model, RepairId, SiteFacts, TestId};

/// What is dangerous with some causes is not offered from this posterior of theirs on; common practice, as the threshold for *may maim*.
const WELL_BE_THERE: f64 = 0.05;

/// Everything the next step depends on.
#[derive(Debug, Clone, PartialEq)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is one thing that may or may not stand in the way"
)]
pub struct Situation {
    /// What is known of the site.
    pub site: SiteFacts,
    /// What counts.
    pub evidence: Evidence,
    /// Where one stands.
    pub standing: Standing,
    /// Tests that have an answer.
    pub answered: BTreeSet<TestId>,
    /// Those of them of which at the gate only a caller's answer is known: worth another look where it pays. The outcome told.
    pub told: BTreeMap<TestId, usize>,
    /// Tests that can't be done here, or were skipped.
    pub blocked: BTreeSet<TestId>,
    /// Facts that nobody can tell.
    pub unknowable: BTreeSet<String>,
    /// Repairs that were tried, can't be done or were skipped.
    pub tried: BTreeSet<RepairId>,
    /// On the phone or at the gate.
    pub at: At,
    /// The most that the person at the gate may do.
    pub who: Who,
    /// Tools that are not at hand.
    pub missing_tools: BTreeSet<String>,
    /// Conditions that can't be brought about here.
    pub cannot: BTreeSet<Condition>,
    /// Nobody confirmed that the gate may be moved.
    pub no_movement: bool,
    /// The gate was put out of use.
    pub stopped: bool,
    /// A hazard sign stands: nothing may move, whatever it would settle.
    pub signs: bool,
    /// A protection device is off and not yet back.
    pub device_off: bool,
}

impl Situation {
    /// At the start of a call with these symptoms.
    #[must_use]
    pub fn starting(evidence: Evidence) -> Self {
        Self {
            site: SiteFacts::unknown(),
            evidence,
            standing: Standing::arriving(),
            answered: BTreeSet::new(),
            told: BTreeMap::new(),
            blocked: BTreeSet::new(),
            unknowable: BTreeSet::new(),
            tried: BTreeSet::new(),
            at: At::Gate,
            who: Who::Technician,
            missing_tools: BTreeSet::new(),
            cannot: BTreeSet::new(),
            no_movement: false,
            stopped: false,
            signs: false,
            device_off: false,
        }
    }

    /// A test that has no answer, or none but a caller's where a technician could look.
    #[must_use]
    pub fn is_open(&self, test: TestId) -> bool {
        !self.answered.contains(&test) || self.told.contains_key(&test)
    }

    /// What it will be when a technician arrives with nothing further known, as far as that can be told: dangers are settled first, and are
    /// not priced.
    #[must_use]
    pub fn arrived(&self) -> Self {
        Self {
            at: At::Gate,
            who: Who::Technician,
            standing: Standing::arriving(),
            blocked: BTreeSet::new(),
            cannot: BTreeSet::new(),
            no_movement: false,
            stopped: false,
            signs: false,
            ..self.clone()
        }
    }
}

/// What may be offered now, by id.
#[derive(Debug, Clone, PartialEq)]
pub struct Offer {
    /// Tests.
    pub tests: Vec<bool>,
    /// Repairs.
    pub repairs: Vec<bool>,
    /// Repairs that an order may hold which goes on from here: on the phone those that a visit allows too.
    pub in_orders: Vec<bool>,
    /// Where it is offered.
    pub at: At,
    /// Number facts that a test waits for.
    pub facts_first: Vec<Vec<String>>,
    /// Ending with nothing found: only where *nothing wrong* leads the ranking.
    pub no_fault_found: bool,
}

impl Offer {
    /// What may be offered in a situation, at the site as given (which may differ from the situation's by a fact that is being weighed).
    #[must_use]
    pub fn at_site(
        knowledge: &Knowledge,
        model: &Model,
        costs: &Costs,
        belief: &Belief,
        situation: &Situation,
        site: &SiteFacts,
    ) -> Self {
        let dangerous = if situation.stopped {
            dangers(model, belief)
        } else {
            Vec::new()
        };
        let chances = belief.causes(model);
        let harmless = |action: &ActionCosts| {
            let may_be_there: f64 = action.not_with.iter().map(|c| chances[c.index()]).sum();
            may_be_there < WELL_BE_THERE
        };
        // Whether somebody here may do it now, apart from what has to come before it.
        let can_do = |(id, test): (TestId, &Test)| {
            let able = may(situation, test.who, test.caller.is_some()) && at_hand(situation, &test.tools);
            let settling = situation.stopped && settles(model, id, &dangerous);
            let safe = movement_allowed(situation, test.moves, &test.needs)
                || (settling && may_settle(situation, test.moves, &test.needs));
            able && safe && harmless(costs.test(id)) && !situation.blocked.contains(&id)
        };
        let tests = (0..).map(TestId::at).zip(knowledge.tests.values());
        let possible: Vec<bool> = tests.map(can_do).collect();
        let ready = ready(knowledge, costs, situation, site, &possible);
        let within_reach = |action: &ActionCosts| action.after.iter().all(|t| ready[t.index()]);
        let mut offer = Self {
            tests: Vec::new(),
            repairs: Vec::new(),
            in_orders: Vec::new(),
            at: situation.at,
            facts_first: Vec::new(),
            no_fault_found: false,
        };
        for (i, test) in knowledge.tests.values().enumerate() {
            let id = TestId::at(i);
            let open = situation.is_open(id) && possible[i];
            let waits: Vec<String> = costs
                .test(id)
                .numbers
                .iter()
                .filter(|fact| site.get(fact).is_none())
                .cloned()
                .collect();
            let knowable = waits.iter().all(|fact| !situation.unknowable.contains(fact));
            offer
                .tests
                .push(open && within_reach(costs.test(id)) && knowable && site.holds(&test.when) == Some(true));
            offer.facts_first.push(waits);
        }
        for (i, repair) in knowledge.repairs.values().enumerate() {
            let id = RepairId::at(i);
            let able = may(situation, repair.who, repair.who == Who::Anyone) && at_hand(situation, &repair.tools);
            let safe = movement_allowed(situation, repair.moves, &repair.needs);
            offer.repairs.push(
                !situation.tried.contains(&id)
                    && able
                    && safe
                    && harmless(costs.repair(id))
                    && within_reach(costs.repair(id))
                    && site.holds(&repair.when) == Some(true),
            );
        }
        offer.in_orders.clone_from(&offer.repairs);
        if situation.at == At::Phone {
            let there = Self::at_site(knowledge, model, costs, belief, &situation.arrived(), site);
            let later = there.repairs.iter().zip(&mut offer.in_orders);
            later.for_each(|(there, here)| *here |= there);
        }
        let nothing = belief.nothing();
        offer.no_fault_found = nothing > belief.not_listed() && chances.iter().all(|p| *p < nothing);
        offer
    }
}

/// The tests that have an answer, need none here, or can have one with all that comes before them: what has to come first and can't have
/// an answer keeps out whatever waits for it, at any remove.
fn ready(
    knowledge: &Knowledge,
    costs: &Costs,
    situation: &Situation,
    site: &SiteFacts,
    possible: &[bool],
) -> Vec<bool> {
    let mut ready: Vec<bool> = (0..)
        .map(TestId::at)
        .zip(knowledge.tests.values())
        .map(|(id, test)| situation.answered.contains(&id) || site.holds(&test.when) == Some(false))
        .collect();
    loop {
        let more: Vec<usize> = (0..ready.len())
            .filter(|&t| !ready[t] && possible[t])
            .filter(|&t| costs.tests[t].after.iter().all(|t| ready[t.index()]))
            .collect();
        if more.is_empty() {
            return ready;
        }
        more.into_iter().for_each(|t| ready[t] = true);
    }
}

fn may(situation: &Situation, who: Who, has_caller_words: bool) -> bool {
    match situation.at {
        At::Phone => who == Who::Anyone && has_caller_words,
        At::Gate => who <= situation.who,
    }
}

fn at_hand(situation: &Situation, tools: &[String]) -> bool {
    tools.iter().all(|tool| !situation.missing_tools.contains(tool))
}

/// Out of use: nothing that moves the gate or needs it powered. A device off: nothing that moves it.
fn movement_allowed(situation: &Situation, moves: Moves, needs: &[Condition]) -> bool {
    can_move(situation, moves, needs)
        && !(situation.stopped && (moves != Moves::No || needs.contains(&Condition::Powered)))
}

/// Nobody refused the movement, no device is off, every condition can be brought about.
fn can_move(situation: &Situation, moves: Moves, needs: &[Condition]) -> bool {
    let refused = situation.no_movement && moves == Moves::Commanded;
    let off = situation.device_off && moves != Moves::No;
    let can = needs.iter().all(|c| !situation.cannot.contains(c));
    can && !refused && !off
}

/// The step that settles a danger may go on while the gate is out of use, under its own conditions: never by commanded movement, and not by hand
/// either while a hazard sign stands.
fn may_settle(situation: &Situation, moves: Moves, needs: &[Condition]) -> bool {
    let still = moves == Moves::No || (moves == Moves::ByHand && !situation.signs && !situation.device_off);
    still && needs.iter().all(|c| !situation.cannot.contains(c))
}

/// Whether a test bears on one of the dangerous causes.
#[must_use]
pub(crate) fn settles(model: &Model, test: TestId, dangerous: &[CauseId]) -> bool {
    let table = &model.tests[test.index()];
    dangerous.iter().filter_map(|c| table.shown(*c)).any(|shown| {
        shown
            .iter()
            .zip(&table.healthy)
            .map(|(a, b)| (a - b).abs())
            .sum::<f64>()
            > 0.4
    })
}

/// The causes whose severity is over its threshold together.
#[must_use]
pub(crate) fn dangers(model: &Model, belief: &Belief) -> Vec<CauseId> {
    let p = belief.causes(model);
    let limits = model.settings.stop_at;
    let worst = [
        (Severity::Kill, limits.kill),
        (Severity::Maim, limits.maim),
        (Severity::Hurt, limits.hurt),
    ];
    let over = worst
        .iter()
        .filter(|(s, limit)| belief.danger(model, *s) >= *limit / 2.0)
        .map(|(s, _)| *s)
        .min();
    over.map_or_else(Vec::new, |least| {
        (0..model.causes())
            .filter(|&c| model.severity[c] >= least && p[c] > 1e-6)
            .map(CauseId::at)
            .collect()
    })
}

/// Whether some danger is at `share` of its threshold or over (1: stop; ½: a stop lifts below it).
#[must_use]
pub(crate) fn over_threshold(model: &Model, belief: &Belief, limits: StopAt, share: f64) -> Option<Severity> {
    [
        (Severity::Kill, limits.kill),
        (Severity::Maim, limits.maim),
        (Severity::Hurt, limits.hurt),
    ]
    .into_iter()
    .find(|(severity, limit)| belief.danger(model, *severity) >= limit * share)
    .map(|(severity, _)| severity)
}
