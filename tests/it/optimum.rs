//! The plan against the exact optimum, on generated find-and-fix models.
//!
//! Every model is solved by dynamic programming ([`crate::exact`], which shares no code with the engine and gives the published optima of six
//! models) and walked by the engine's own policy. In every state that the walk reaches, every price must be at least the optimum that begins with that
//! action, and the lower bound at most the optimum. The ratios are printed with `cargo test optimum -- --nocapture`.

#![expect(clippy::print_stdout, reason = "the measured ratios are for people to read")]
#![expect(clippy::cast_precision_loss, reason = "small numbers")]

use std::fmt::Write;

use pintle::knowledge::Knowledge;
use pintle::model::{Model, RepairId, TestId};
use pintle::plan::{Action, Planner, Proposal, Situation};

use crate::exact::{
    Do, ExactRepair, ExactTest, Instance, MOST, Solver, State, Weights, after_repair, after_test, mass, paid,
};
use crate::tape::{Tape, seeded};
use crate::walk::{after_failed, after_outcome, chance, pack_text, policy_cost, start};

/// Rounding in sums of thousands of minutes.
const ROUNDING: f64 = 1e-7;

/// What a generated model may have.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    /// One repair a cause that always cures it, as in the published models.
    Plain,
    /// Repairs that fail, repairs that cure two causes, faults that nobody listed.
    Rich,
}

/// A generated model: what the solver sees and what the engine reads.
struct Generated {
    instance: Instance,
    knowledge: Knowledge,
    model: Model,
}

fn generate(seed: u64, kind: Kind) -> Generated {
    let numbers = seeded(seed, 600);
    let tape = &mut Tape::new(&numbers);
    let causes = 3 + tape.below(3);
    let covered = seed.is_multiple_of(2);
    let not_listed = if kind == Kind::Rich && tape.chance(60) {
        0.05
    } else {
        0.0
    };
    let rates: Vec<usize> = (0..causes).map(|_| 4 + tape.below(60)).collect();
    let listed: usize = rates.iter().sum();
    let mut prior = [0.0; MOST];
    for (p, rate) in prior.iter_mut().zip(&rates) {
        *p = (1.0 - not_listed) * *rate as f64 / listed as f64;
    }
    prior[causes] = not_listed;
    let tests = (0..2 + tape.below(4)).map(|_| {
        let outcomes = 2 + usize::from(tape.chance(35));
        let mut chance = vec![[0.0; MOST]; outcomes];
        for c in 0..causes {
            for (by_cause, p) in chance.iter_mut().zip(sharp(tape, outcomes)) {
                by_cause[c] = p;
            }
        }
        for (o, by_cause) in chance.iter_mut().enumerate() {
            // Half healthy (always the first outcome), half even.
            by_cause[causes] = 0.5 * f64::from(u8::from(o == 0)) + 0.5 / outcomes as f64;
        }
        ExactTest {
            cost: 3.0 + tape.below(28) as f64,
            inside: covered && tape.chance(35),
            chance,
        }
    });
    let tests: Vec<ExactTest> = tests.collect();
    let repairs = (0..causes).map(|c| {
        let mut cures = [0.0; MOST];
        cures[c] = 1.0;
        if kind == Kind::Rich {
            cures[c] = tape.pick(&[1.0, 0.9, 0.7]);
            if tape.chance(25) {
                cures[(c + 1) % causes] = tape.pick(&[1.0, 0.6]);
            }
        }
        ExactRepair {
            cost: 10.0 + 5.0 * tape.below(30) as f64,
            inside: covered && tape.chance(45),
            cures,
        }
    });
    let repairs: Vec<ExactRepair> = repairs.collect();
    let instance = Instance {
        prior,
        tests,
        repairs,
        refer: 350.0 + 10.0 * tape.below(26) as f64,
        opening: if covered {
            5.0 + 5.0 * tape.below(13) as f64
        } else {
            0.0
        },
    };
    let (knowledge, model) = pack_text(yaml(&instance, &rates, not_listed));
    Generated {
        instance,
        knowledge,
        model,
    }
}

/// Mostly one outcome.
fn sharp(tape: &mut Tape<'_>, outcomes: usize) -> Vec<f64> {
    let main = tape.below(outcomes);
    let rest = tape.below(22);
    let mut parts = vec![0; outcomes];
    parts[main] = 100 - rest;
    let second = (main + 1 + tape.below(outcomes - 1)) % outcomes;
    let split = if outcomes > 2 { tape.below(rest + 1) } else { 0 };
    parts[second] += rest - split;
    let third = (0..outcomes).find(|o| *o != main && *o != second).unwrap_or(second);
    parts[third] += split;
    parts.iter().map(|p| *p as f64 / 100.0).collect()
}

fn yaml(instance: &Instance, rates: &[usize], not_listed: f64) -> String {
    let inside = |inside: bool| if inside { ", inside: box" } else { "" };
    let mut text = format!(
        "pack:\n  id: generated\n  title: generated\n  settings: {{not-listed: {not_listed}, nothing-wrong: 0, leak: 0, pairs: false, refer-minutes: {}}}\n\
         symptoms:\n  broken: {{title: b, says: [b], gone: gone, source: generated}}\ncovers:\n  box: {{title: box, minutes: {}}}\ntests:\n",
        instance.refer, instance.opening
    );
    for (t, test) in instance.tests.iter().enumerate() {
        let outcomes: Vec<String> = (0..test.chance.len()).map(|o| format!("o{o}: {{say: o}}")).collect();
        let line = format!(
            "  t{t}: {{title: t, ask: t, minutes: {}{}, outcomes: {{{}}}, healthy: {{o0: 1}}, source: generated}}",
            test.cost,
            inside(test.inside),
            outcomes.join(", ")
        );
        writeln!(text, "{line}").expect("text");
    }
    text += "causes:\n";
    for (c, rate) in rates.iter().enumerate() {
        let shows = instance.tests.iter().enumerate().map(|(t, test)| {
            let chances = test.chance.iter().enumerate().map(|(o, p)| format!("o{o}: {}", p[c]));
            format!("t{t}: {{{}}}", chances.collect::<Vec<_>>().join(", "))
        });
        let shows = shows.collect::<Vec<_>>().join(", ");
        let line = format!(
            "  c{c}: {{title: c, rate: {rate}, severity: none, symptoms: {{broken: 1}}, shows: {{{shows}}}, source: generated}}"
        );
        writeln!(text, "{line}").expect("text");
    }
    text += "repairs:\n";
    for (r, repair) in instance.repairs.iter().enumerate() {
        let cures = (0..rates.len())
            .filter(|c| repair.cures[*c] > 0.0)
            .map(|c| format!("c{c}: {}", repair.cures[c]));
        let line = format!(
            "  r{r}: {{title: r, minutes: {}{}, cures: {{{}}}, source: generated}}",
            repair.cost,
            inside(repair.inside),
            cures.collect::<Vec<_>>().join(", ")
        );
        writeln!(text, "{line}").expect("text");
    }
    text
}

/// Follows the engine's policy beside the exact solver.
struct Walk<'a> {
    planner: &'a Planner<'a>,
    instance: &'a Instance,
    solver: Solver<'a>,
    states: usize,
    /// Where a price or bound lies on the wrong side of the optimum, and by how much.
    wrong: Vec<(String, f64)>,
}

impl Walk<'_> {
    /// Expected minutes of the policy from here, for the weight of the state.
    fn follow(&mut self, situation: &Situation, state: State, weights: &Weights) -> f64 {
        self.states += 1;
        let whole = mass(weights);
        let belief = self.planner.belief(situation);
        for (c, p) in belief.causes(self.planner.model).into_iter().enumerate() {
            assert!((p - weights[c] / whole).abs() < 1e-9, "belief and weights differ");
        }
        let choice = self.planner.choose(situation, &belief);
        let optimum = self.solver.value(state, weights) / whole;
        self.at_most("lower bound", choice.lower_bound, optimum);
        self.at_most("choice", optimum, choice.cost);
        let mut actions: Vec<(Action, f64)> = choice.others.iter().map(|o| (o.action, o.cost)).collect();
        for action in all(self.planner.model) {
            if let Some(price) = self.planner.price(situation, &belief, action) {
                actions.push((action, price));
            }
        }
        for (action, price) in actions {
            let least = self.solver.cost(state, weights, doing(action)) / whole;
            self.at_most(&format!("{action:?}"), least, price);
        }
        let own = whole * paid(self.instance, state, doing(choice.action));
        match choice.action {
            Action::Test(test) => {
                let mut cost = own;
                for outcome in 0..self.instance.tests[test.index()].chance.len() {
                    let (next, after) = after_test(self.instance, state, weights, test.index(), outcome);
                    if mass(&after) > 1e-12 {
                        cost += self.follow(&after_outcome(self.planner, situation, test, outcome), next, &after);
                    }
                }
                cost
            }
            Action::Repair(repair) => {
                let (next, after) = after_repair(self.instance, state, weights, repair.index());
                if mass(&after) > 1e-12 {
                    own + self.follow(&after_failed(self.planner, situation, repair), next, &after)
                } else {
                    own
                }
            }
            _ => own,
        }
    }

    fn at_most(&mut self, what: &str, low: f64, high: f64) {
        if low > high + ROUNDING {
            self.wrong.push((format!("{what}: {low} over {high}"), low - high));
        }
    }
}

fn all(model: &Model) -> Vec<Action> {
    let tests = (0..model.tests.len()).map(|t| Action::Test(TestId::at(t)));
    let repairs = (0..model.repairs.len()).map(|r| Action::Repair(RepairId::at(r)));
    tests.chain(repairs).chain([Action::Refer]).collect()
}

fn doing(action: Action) -> Do {
    match action {
        Action::Test(t) => Do::Test(t.index()),
        Action::Repair(r) => Do::Repair(r.index()),
        Action::Refer => Do::Refer,
        other => panic!("{other:?} has no part in these models"),
    }
}

/// Ratios to the optimum over many models.
#[derive(Default)]
struct Ratios(Vec<f64>);

impl Ratios {
    fn mean(&self) -> f64 {
        self.0.iter().sum::<f64>() / self.0.len() as f64
    }

    fn worst(&self) -> f64 {
        self.0.iter().copied().fold(0.0, f64::max)
    }

    fn share_over(&self, limit: f64) -> f64 {
        self.0.iter().filter(|r| **r > limit).count() as f64 / self.0.len() as f64
    }

    fn line(&self, what: &str) -> String {
        format!(
            "{what:<34} mean {:.4}  worst {:.4}  over 1.01: {:.1} %  over 1.05: {:.1} %",
            self.mean(),
            self.worst(),
            100.0 * self.share_over(1.01),
            100.0 * self.share_over(1.05)
        )
    }
}

/// What a run over generated models measures.
#[derive(Default)]
struct Measured {
    policy: Ratios,
    plain: Ratios,
    orders: Ratios,
    repairs_only: Ratios,
    states: usize,
    wrong: Vec<(u64, String, f64)>,
}

fn measure(models: u64, kind: Kind) -> Measured {
    let mut measured = Measured::default();
    for seed in 0..models {
        let Generated {
            instance,
            knowledge,
            model,
        } = generate(seed, kind);
        let planner = Planner::new(&knowledge, &model);
        let at = start(&model);
        let mut walk = Walk {
            planner: &planner,
            instance: &instance,
            solver: Solver::new(&instance),
            states: 0,
            wrong: Vec::new(),
        };
        let cost = walk.follow(&at, State::default(), &instance.prior);
        let optimum = walk.solver.optimum();
        let choice = planner.choose(&at, &planner.belief(&at));
        walk.at_most("policy against its own figure", cost, choice.cost);
        walk.at_most("optimum against policy", optimum, cost);
        measured.states += walk.states;
        measured
            .wrong
            .extend(walk.wrong.into_iter().map(|(what, by)| (seed, what, by)));
        measured.policy.0.push(cost / optimum);
        let plain = planner.clone().proposing(Proposal::PlainEfficiency);
        measured.plain.0.push(policy_cost(&plain, &at) / optimum);
        measured
            .orders
            .0
            .push(choice.repairs_only / Solver::repairs_only(&instance).optimum());
        measured.repairs_only.0.push(choice.repairs_only / optimum);
    }
    measured
}

fn report(name: &str, measured: &Measured) {
    println!(
        "{name}: {} models, {} states walked",
        measured.policy.0.len(),
        measured.states
    );
    println!("  {}", measured.policy.line("policy / optimum"));
    println!("  {}", measured.plain.line("policy with plain P/C / optimum"));
    println!("  {}", measured.repairs_only.line("repairs only / optimum"));
    println!("  {}", measured.orders.line("proposed order / best order"));
    println!("  prices or bounds on the wrong side: {}", measured.wrong.len());
    for (seed, what, by) in measured.wrong.iter().take(12) {
        println!("    model {seed}: {what} (by {by:.3e})");
    }
}

/// 200 models of 3 to 5 causes and 2 to 5 tests, half of them with a cover.
#[test]
fn one_step_policy_near_the_optimum() {
    let measured = measure(200, Kind::Plain);
    report("plain", &measured);
    assert!(measured.wrong.is_empty(), "{:?}", measured.wrong.first());
    assert!(measured.policy.mean() <= 1.01 && measured.policy.worst() <= 1.15);
}

/// 100 models in which repairs may fail, may cure two causes, and the fault may be one that nobody listed.
#[test]
fn one_step_policy_on_richer_models() {
    let measured = measure(100, Kind::Rich);
    report("rich", &measured);
    assert!(measured.wrong.is_empty(), "{:?}", measured.wrong.first());
    assert!(measured.policy.mean() <= 1.02 && measured.policy.worst() <= 1.15);
}

/// The engine's walk and the chance of each branch agree with the solver's weights.
#[test]
fn branch_chances_agree_with_the_solver() {
    let Generated {
        instance,
        knowledge,
        model,
    } = generate(7, Kind::Rich);
    let planner = Planner::new(&knowledge, &model);
    let at = start(&model);
    for t in 0..instance.tests.len() {
        for outcome in 0..instance.tests[t].chance.len() {
            let (_, weights) = after_test(&instance, State::default(), &instance.prior, t, outcome);
            let p = chance(&planner, &at, &after_outcome(&planner, &at, TestId::at(t), outcome));
            assert!((p - mass(&weights)).abs() < 1e-12, "{t} {outcome}");
        }
    }
}
