//! Tests that never earn their time.
//!
//! Two readings, each stated where it is shown. The cheap one: at the start of no symptom that their causes make does doing the test first save
//! more than it costs, one step ahead. The slow one: no walk of a case asks it, and no decision graph compiled from a symptom does.
//! Tests that something else waits for, or that come first by rule, serve another end and are not listed.

use std::collections::BTreeSet;

use serde::Serialize;

use crate::belief::Evidence;
use crate::call::{Engine, Suite};
use crate::knowledge::schema::Who;
use crate::model::{SymptomId, TestId};
use crate::plan::{Action, DecisionGraph, Situation};
use crate::spread::spread;

/// Situations that fewer walks than this share reach are not followed.
const REACH: f64 = 0.04;
/// Most situations followed from each symptom.
const MOST: usize = 24;

/// A test that did not earn its time.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Idle {
    /// Its id.
    pub test: String,
    /// Its title.
    pub title: String,
    /// Minutes of the test by itself.
    pub minutes: f64,
    /// Where it comes nearest to paying: the symptom, and what doing it first saves there (below 0: it loses).
    pub nearest: Option<(String, f64)>,
}

/// Tests that at the start of no symptom save more than they cost, those that fall shortest first. `looked` is told after every test.
#[must_use]
pub fn idle_tests(engine: &Engine, looked: &(dyn Fn() + Sync)) -> Vec<Idle> {
    let tests: Vec<TestId> = (0..engine.model.tests.len()).map(TestId::at).collect();
    let mut idle = spread(&tests, |&test| {
        let found = if serves_another_end(engine, test) {
            None
        } else {
            idle_at_starts(engine, test)
        };
        looked();
        found
    });
    // Furthest from paying first.
    let short = |idle: &Idle| idle.nearest.as_ref().map_or(f64::NEG_INFINITY, |(_, saved)| *saved);
    idle.sort_by(|a, b| short(a).total_cmp(&short(b)).then(a.test.cmp(&b.test)));
    idle
}

/// Something waits for it, it comes first by rule, or nothing mentions it (which `check` says).
fn serves_another_end(engine: &Engine, test: TestId) -> bool {
    let Some((id, entry)) = engine.knowledge.tests.get_index(test.index()) else {
        return true;
    };
    let waited_for = engine.knowledge.tests.values().any(|t| t.after.contains(id))
        || engine.knowledge.repairs.values().any(|r| r.after.contains(id));
    waited_for || entry.first || engine.model.tests[test.index()].mentioned_by().next().is_none()
}

fn idle_at_starts(engine: &Engine, test: TestId) -> Option<Idle> {
    let (id, entry) = engine.knowledge.tests.get_index(test.index())?;
    let mut nearest: Option<(String, f64)> = None;
    for symptom in symptoms_by_bearing(engine, test) {
        let start = start(engine, symptom, test);
        let planner = engine.planner();
        let belief = planner.belief(&start);
        let Some(saved) = planner.saving(&start, &belief, test) else {
            continue;
        };
        if saved > 1e-6 {
            return None;
        }
        if nearest.as_ref().is_none_or(|(_, most)| saved > *most) {
            let symptom = engine
                .knowledge
                .symptoms
                .get_index(symptom.index())
                .map(|(id, _)| id.clone());
            nearest = symptom.map(|symptom| (symptom, saved));
        }
    }
    Some(Idle {
        test: id.clone(),
        title: entry.title.clone(),
        minutes: entry.minutes,
        nearest,
    })
}

/// Symptoms that causes of the test make, those they make most first.
fn symptoms_by_bearing(engine: &Engine, test: TestId) -> Vec<SymptomId> {
    let table = &engine.model.tests[test.index()];
    let weight = |s: &SymptomId| -> f64 {
        let row = &engine.model.symptom[s.index()];
        let causes = table.mentioned_by();
        causes
            .map(|c| row[c.index()] * engine.knowledge.causes[c.index()].rate)
            .sum()
    };
    let mut symptoms: Vec<(f64, SymptomId)> = (0..engine.model.symptom.len())
        .map(SymptomId::at)
        .map(|s| (weight(&s), s))
        .filter(|(w, _)| *w > 0.0)
        .collect();
    symptoms.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    symptoms.into_iter().map(|(_, s)| s).collect()
}

/// A symptom reported at an average site of the kind on which the test makes sense; somebody is there who may do it.
fn start(engine: &Engine, symptom: SymptomId, test: TestId) -> Situation {
    let mut start = Situation::starting(Evidence::reported(vec![symptom]));
    start.who = Who::Electrician;
    for (fact, values) in &engine.knowledge.tests[test.index()].when {
        let share = |value: &&String| {
            let fact = engine.knowledge.facts.get(fact);
            fact.and_then(|f| f.values.get(*value)).map_or(0.0, |v| v.share)
        };
        if let Some(value) = values.iter().max_by(|a, b| share(a).total_cmp(&share(b))) {
            start.site.learn(fact, value);
        }
    }
    start
}

/// Tests that neither a walk of a case asks nor a decision graph from a symptom. `compiled` is told after every graph.
#[must_use]
pub fn walked_tests(engine: &Engine, suite: &Suite, compiled: &(dyn Fn() + Sync)) -> Vec<Idle> {
    let mut asked: BTreeSet<TestId> = suite
        .results
        .iter()
        .flat_map(|(_, r)| &r.path)
        .filter_map(|line| line.split(':').next())
        .filter_map(|id| engine.model.test(id))
        .collect();
    let symptoms: Vec<SymptomId> = (0..engine.model.symptom.len()).map(SymptomId::at).collect();
    let in_graphs = spread(&symptoms, |&symptom| {
        let planner = engine.planner();
        let mut graph = DecisionGraph::new(&planner);
        let start = Situation::starting(Evidence::reported(vec![symptom]));
        graph.compile(&start, REACH, MOST);
        compiled();
        Some(graph.actions())
    });
    for action in in_graphs.into_iter().flatten() {
        if let Action::Test(test) = action {
            asked.insert(test);
        }
    }
    (0..engine.model.tests.len())
        .map(TestId::at)
        .filter(|t| !asked.contains(t) && !serves_another_end(engine, *t))
        .filter_map(|t| engine.knowledge.tests.get_index(t.index()))
        .map(|(id, test)| Idle {
            test: id.clone(),
            title: test.title.clone(),
            minutes: test.minutes,
            nearest: None,
        })
        .collect()
}
