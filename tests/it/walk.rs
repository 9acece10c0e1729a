//! Walks plans through the product's own engine, every answer weighed by its chance.

use std::path::Path;

use pintle::belief::{Answer, Belief, Epoch, Evidence, Proof};
use pintle::knowledge::{Knowledge, PackText, WithCases, load};
use pintle::model::{Model, RepairId, SymptomId, TestId};
use pintle::plan::{Action, Planner, Situation};

/// Ways that are less likely than this are not followed.
const NEVER: f64 = 1e-13;

/// Packs of `tests/packs`, laid over each other; they must load without a finding.
pub(crate) fn packs(names: &[&str]) -> (Knowledge, Model) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/packs");
    compiled(names.iter().map(|name| PackText::read(&folder.join(name))).collect())
}

/// One pack given as text.
pub(crate) fn pack_text(text: String) -> (Knowledge, Model) {
    compiled(vec![PackText {
        files: vec![("generated.yaml".to_owned(), text)],
        unreadable: Vec::new(),
    }])
}

fn compiled(packs: Vec<PackText>) -> (Knowledge, Model) {
    let (knowledge, findings) = load(packs, WithCases::No);
    assert!(findings.is_empty(), "{findings:#?}");
    let model = Model::compile(&knowledge);
    (knowledge, model)
}

/// The start of a call that reports every symptom of the pack.
pub(crate) fn start(model: &Model) -> Situation {
    Situation::starting(Evidence::reported(
        (0..model.symptom.len()).map(SymptomId::at).collect(),
    ))
}

/// The test with that id.
pub(crate) fn test(model: &Model, id: &str) -> TestId {
    model.test(id).expect("a test of the pack")
}

/// The repair of that cause.
pub(crate) fn repair(model: &Model, cause: &str) -> RepairId {
    model.repair(&format!("fix-{cause}")).expect("a cause of the pack")
}

/// The situation after a test showed an outcome.
pub(crate) fn after_outcome(planner: &Planner<'_>, before: &Situation, test: TestId, outcome: usize) -> Situation {
    let outcomes = planner.model.tests[test.index()].outcomes.len();
    let mut after = before.clone();
    after.evidence = before.evidence.with(Answer::observed(test, outcome, outcomes, 0));
    after.answered.insert(test);
    planner.costs().go(planner.costs().test(test), &mut after.standing);
    after
}

/// The situation after a repair whose proof showed every symptom still there.
pub(crate) fn after_failed(planner: &Planner<'_>, before: &Situation, repair: RepairId) -> Situation {
    let mut after = before.clone();
    after.tried.insert(repair);
    planner.costs().go(planner.costs().repair(repair), &mut after.standing);
    after.evidence.repairs.push(repair);
    let proofs = before
        .evidence
        .symptoms
        .iter()
        .map(|&symptom| Proof {
            symptom,
            still_there: true,
            event: 0,
        })
        .collect();
    after.evidence.epochs.push(Epoch {
        spells: Vec::new(),
        proofs,
    });
    after
}

/// P(the answers of `after` | those of `before`).
pub(crate) fn chance(planner: &Planner<'_>, before: &Situation, after: &Situation) -> f64 {
    planner.belief(after).total / planner.belief(before).total
}

/// Expected minutes of doing what `next` says until the fault is cured (a proof that shows the symptoms gone) or referred.
///
/// For models in which a symptom is always there while its cause is, so that no proof is passed by luck.
pub(crate) fn cost_of(
    planner: &Planner<'_>,
    situation: &Situation,
    next: &mut dyn FnMut(&Situation, &Belief) -> Action,
) -> f64 {
    let belief = planner.belief(situation);
    match next(situation, &belief) {
        Action::Refer => planner.model.settings.refer_minutes,
        Action::Test(test) => {
            let action = planner.costs().test(test);
            let mut cost = action.minutes + planner.costs().access(action, &situation.standing);
            for outcome in 0..planner.model.tests[test.index()].outcomes.len() {
                let after = after_outcome(planner, situation, test, outcome);
                let p = chance(planner, situation, &after);
                if p > NEVER {
                    cost += p * cost_of(planner, &after, next);
                }
            }
            cost
        }
        Action::Repair(repair) => {
            let action = planner.costs().repair(repair);
            let cost = action.minutes + planner.costs().access(action, &situation.standing);
            let after = after_failed(planner, situation, repair);
            let p = chance(planner, situation, &after);
            cost + if p > NEVER {
                p * cost_of(planner, &after, next)
            } else {
                0.0
            }
        }
        other => panic!("{other:?} has no part in these models"),
    }
}

/// Expected minutes of the engine's own policy: its choice, replanned after every result.
pub(crate) fn policy_cost(planner: &Planner<'_>, situation: &Situation) -> f64 {
    cost_of(planner, situation, &mut |s, b| planner.choose(s, b).action)
}

/// Repairs in the order in which the engine's policy tries them while every one of them fails and nothing is tested.
pub(crate) fn repair_order(planner: &Planner<'_>) -> Vec<RepairId> {
    let mut situation = start(planner.model);
    let mut order = Vec::new();
    while planner.belief(&situation).total > NEVER {
        let Action::Repair(repair) = planner.choose(&situation, &planner.belief(&situation)).action else {
            break;
        };
        order.push(repair);
        situation = after_failed(planner, &situation, repair);
    }
    order
}

/// Entropy of the hypotheses in bits.
pub(crate) fn entropy(belief: &Belief) -> f64 {
    belief
        .branches
        .iter()
        .map(|b| b.weight / belief.total)
        .map(|p| -p * p.log2())
        .sum()
}

/// Bits that a test is expected to gain.
pub(crate) fn information_gain(planner: &Planner<'_>, situation: &Situation, test: TestId) -> f64 {
    let after = (0..planner.model.tests[test.index()].outcomes.len())
        .map(|outcome| after_outcome(planner, situation, test, outcome))
        .map(|after| (chance(planner, situation, &after), planner.belief(&after)))
        .filter(|(p, _)| *p > NEVER)
        .map(|(p, belief)| p * entropy(&belief))
        .sum::<f64>();
    entropy(&planner.belief(situation)) - after
}
