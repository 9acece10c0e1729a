//! Find-and-fix models solved exactly, by dynamic programming over everything that can have happened.
//!
//! Shares no code with the engine. Exactly one cause is there (or one that no repair cures); outcomes of different tests are independent given it;
//! a test or repair is done at most once; a repair is followed by a free check that never errs; referring ends the job at a fixed price. Some
//! actions lie inside one cover, whose opening is paid once.

use std::collections::HashMap;

use pintle::knowledge::Knowledge;

/// Most causes of a model.
pub(crate) const MOST: usize = 8;
/// Weight of each cause.
pub(crate) type Weights = [f64; MOST];

#[derive(Debug, Clone)]
pub(crate) struct ExactTest {
    pub(crate) cost: f64,
    pub(crate) inside: bool,
    /// `[outcome][cause]`
    pub(crate) chance: Vec<Weights>,
}

#[derive(Debug, Clone)]
pub(crate) struct ExactRepair {
    pub(crate) cost: f64,
    pub(crate) inside: bool,
    /// Chance that each cause is cured.
    pub(crate) cures: Weights,
}

#[derive(Debug, Clone)]
pub(crate) struct Instance {
    pub(crate) prior: Weights,
    pub(crate) tests: Vec<ExactTest>,
    pub(crate) repairs: Vec<ExactRepair>,
    pub(crate) refer: f64,
    pub(crate) opening: f64,
}

impl Instance {
    /// Reads what the author wrote, every outcome of every cause being a number there.
    pub(crate) fn read(knowledge: &Knowledge) -> Self {
        let total: f64 = knowledge.causes.values().map(|c| c.rate).sum();
        let by_cause = |f: &dyn Fn(&str) -> f64| {
            let mut weights = [0.0; MOST];
            for (w, id) in weights.iter_mut().zip(knowledge.causes.keys()) {
                *w = f(id);
            }
            weights
        };
        let tests = knowledge.tests.iter().map(|(id, test)| ExactTest {
            cost: test.minutes,
            inside: test.inside.is_some(),
            chance: test
                .outcomes
                .keys()
                .map(|o| by_cause(&|c| knowledge.causes[c].shows[id][o].chance))
                .collect(),
        });
        let repairs = knowledge.repairs.values().map(|repair| ExactRepair {
            cost: repair.minutes,
            inside: repair.inside.is_some(),
            cures: by_cause(&|c| repair.cures.get(c).map_or(0.0, |f| f.chance)),
        });
        Self {
            prior: by_cause(&|c| knowledge.causes[c].rate / total),
            tests: tests.collect(),
            repairs: repairs.collect(),
            refer: knowledge.settings.refer_minutes,
            opening: knowledge.covers.values().map(|c| c.minutes).sum(),
        }
    }
}

/// What has happened.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub(crate) struct State {
    /// By test: 0 not done, else 1 + outcome.
    answers: [u8; MOST],
    failed: u8,
    open: bool,
}

/// Something that can be done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Do {
    Test(usize),
    Repair(usize),
    Refer,
}

/// Least expected costs. Costs and weights are not normalised: a cost is for the whole weight.
pub(crate) struct Solver<'a> {
    instance: &'a Instance,
    with_tests: bool,
    known: HashMap<State, f64>,
}

impl<'a> Solver<'a> {
    /// With tests and repairs.
    pub(crate) fn new(instance: &'a Instance) -> Self {
        Self {
            instance,
            with_tests: true,
            known: HashMap::new(),
        }
    }

    /// As if there were no tests: the best order of repairs.
    pub(crate) fn repairs_only(instance: &'a Instance) -> Self {
        Self {
            with_tests: false,
            ..Self::new(instance)
        }
    }

    pub(crate) fn optimum(&mut self) -> f64 {
        self.value(State::default(), &self.instance.prior.clone())
    }

    /// Least cost from a state.
    pub(crate) fn value(&mut self, state: State, weights: &Weights) -> f64 {
        if let Some(&known) = self.known.get(&state) {
            return known;
        }
        let mut best = mass(weights) * self.instance.refer;
        if mass(weights) > 0.0 {
            for action in self.open_actions(state) {
                best = best.min(self.cost(state, weights, action));
            }
        }
        self.known.insert(state, best);
        best
    }

    fn open_actions(&self, state: State) -> Vec<Do> {
        let tests = (0..self.instance.tests.len())
            .filter(|&t| self.with_tests && state.answers[t] == 0)
            .map(Do::Test);
        let repairs = (0..self.instance.repairs.len())
            .filter(|r| state.failed & (1 << r) == 0)
            .map(Do::Repair);
        tests.chain(repairs).collect()
    }

    /// Cost of an action, then the least.
    pub(crate) fn cost(&mut self, state: State, weights: &Weights, action: Do) -> f64 {
        let instance = self.instance;
        match action {
            Do::Refer => mass(weights) * instance.refer,
            Do::Test(t) => {
                let mut cost = mass(weights) * paid(instance, state, action);
                for outcome in 0..instance.tests[t].chance.len() {
                    let (next, after) = after_test(instance, state, weights, t, outcome);
                    cost += self.value(next, &after);
                }
                cost
            }
            Do::Repair(r) => {
                let (next, after) = after_repair(instance, state, weights, r);
                mass(weights) * paid(instance, state, action) + self.value(next, &after)
            }
        }
    }
}

pub(crate) fn mass(weights: &Weights) -> f64 {
    weights.iter().sum()
}

/// Minutes of an action with the opening of the cover if that is still to be paid.
pub(crate) fn paid(instance: &Instance, state: State, action: Do) -> f64 {
    let (cost, inside) = match action {
        Do::Test(t) => (instance.tests[t].cost, instance.tests[t].inside),
        Do::Repair(r) => (instance.repairs[r].cost, instance.repairs[r].inside),
        Do::Refer => (instance.refer, false),
    };
    cost + if inside && !state.open { instance.opening } else { 0.0 }
}

/// State and weights after an outcome.
pub(crate) fn after_test(
    instance: &Instance,
    state: State,
    weights: &Weights,
    test: usize,
    outcome: usize,
) -> (State, Weights) {
    let mut next = state;
    next.answers[test] = u8::try_from(outcome + 1).expect("few outcomes");
    next.open |= instance.tests[test].inside;
    let mut after = *weights;
    for (w, p) in after.iter_mut().zip(&instance.tests[test].chance[outcome]) {
        *w *= p;
    }
    (next, after)
}

/// State and weights after a repair that did not help.
pub(crate) fn after_repair(instance: &Instance, state: State, weights: &Weights, repair: usize) -> (State, Weights) {
    let mut next = state;
    next.failed |= 1 << repair;
    next.open |= instance.repairs[repair].inside;
    let mut after = *weights;
    for (w, f) in after.iter_mut().zip(&instance.repairs[repair].cures) {
        *w *= 1.0 - f;
    }
    (next, after)
}
