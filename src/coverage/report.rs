//! Everything that is found about a knowledge, together.

use serde::Serialize;

use super::apart::{Apart, part};
use super::figures::{Figures, figures};
use super::gaps::{Idle, idle_tests};
use super::groups::{Groups, Likeness};
use super::isolate::{Isolation, isolation};
use super::matrix::{ALIKE, DMatrix, NOTICED, best_parting};
use super::{ISOLATED, Scope};
use crate::call::Engine;
use crate::knowledge::schema::Ambiguity;
use crate::model::{CauseId, SymptomId};

/// An entry by id and title, with its weight.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Named {
    /// Its id.
    pub id: String,
    /// Its title.
    pub title: String,
    /// Weight in the scope.
    pub weight: f64,
}

/// An ambiguity group of two and more.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Alike {
    /// Its causes, heaviest first.
    pub causes: Vec<Named>,
    /// Why no practical test parts them, as the knowledge says; two of the causes at least have to be named there.
    pub reasons: Vec<String>,
}

/// Testability of a knowledge.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Coverage {
    /// Version of this format.
    pub version: u32,
    /// The symptom to which it is confined.
    pub symptom: Option<String>,
    /// Total variation from which on a test notices a cause.
    pub noticed_from: f64,
    /// Total variation below which, on every test, two causes are alike.
    pub alike_below: f64,
    /// Share of the weight with which a group counts as isolated.
    pub isolated_from: f64,
    /// Figures off the D-matrix.
    pub figures: Figures,
    /// Minutes to isolate.
    pub isolation: Isolation,
    /// Causes that no test notices.
    pub missed: Vec<Named>,
    /// Groups of two and more whose causes are alike, heaviest first.
    pub groups: Vec<Alike>,
    /// Pairs that are alike and share a symptom; those that matter most first.
    pub alike: Vec<Apart>,
    /// Pairs that are alike, but no site has both or no symptom is made by both.
    pub parted_otherwise: usize,
    /// Tests that at the start of no symptom save more than they cost.
    pub idle: Vec<Idle>,
    /// Tests that no case and no decision graph asks; only where that was looked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub never_asked: Option<Vec<Idle>>,
    /// Causes without a case.
    pub no_case: Vec<Named>,
    /// Causes without a repair.
    pub no_repair: Vec<Named>,
}

impl Coverage {
    /// Works everything out but the walks. `looked` is told after every test that was looked at.
    #[must_use]
    pub fn new(engine: &Engine, symptom: Option<SymptomId>, looked: &(dyn Fn() + Sync)) -> Self {
        let scope = Scope::new(engine, symptom);
        let matrix = DMatrix::new(&engine.model, &scope);
        let (alike, parted_otherwise) = pairs(engine, &scope, &matrix);
        let mut idle = idle_tests(engine, looked);
        if symptom.is_some() {
            // Confined to a symptom, only tests on which its causes show something.
            let bears = |idle: &Idle| {
                let test = engine.model.test(&idle.test).map(|t| &engine.model.tests[t.index()]);
                test.is_some_and(|t| t.mentioned_by().any(|c| scope.weight[c.index()] > 0.0))
            };
            idle.retain(bears);
        }
        let in_case = |id: &String| engine.knowledge.cases.iter().any(|(_, case)| case.causes.contains(id));
        let cured = |id: &String| {
            let mut repairs = engine.knowledge.repairs.values();
            repairs.any(|r| r.cures.get(id).is_some_and(|f| f.chance > 0.0))
        };
        Self {
            version: 1,
            symptom: symptom
                .and_then(|s| engine.knowledge.symptoms.get_index(s.index()))
                .map(|(id, _)| id.clone()),
            noticed_from: NOTICED,
            alike_below: ALIKE,
            isolated_from: ISOLATED,
            figures: figures(&engine.model, &scope, &matrix),
            isolation: isolation(engine, &scope),
            missed: named(engine, &scope, matrix.missed()),
            groups: groups(engine, &scope, &matrix),
            alike,
            parted_otherwise,
            idle,
            never_asked: None,
            no_case: without(engine, &scope, in_case),
            no_repair: without(engine, &scope, cured),
        }
    }
}

/// Every two detected causes that are alike and make some symptom both; and how many the site or the complaint parts.
fn pairs(engine: &Engine, scope: &Scope, matrix: &DMatrix) -> (Vec<Apart>, usize) {
    let (mut found, mut otherwise) = (Vec::new(), 0);
    let detected = matrix.detected();
    for (i, &a) in detected.iter().enumerate() {
        for &b in &detected[i + 1..] {
            let variation = best_parting(&engine.model, a, b).0;
            if variation >= ALIKE - 1e-12 {
                continue;
            }
            let (a, b) = if scope.weight[a.index()] < scope.weight[b.index()] {
                (b, a)
            } else {
                (a, b)
            };
            let shared = engine
                .model
                .symptom
                .iter()
                .any(|q| q[a.index()] > 0.0 && q[b.index()] > 0.0);
            match part(engine, a, b).filter(|_| shared) {
                Some(apart) => found.push((scope.weight[b.index()] * (1.0 - variation), apart)),
                None => otherwise += 1,
            }
        }
    }
    // A pair matters as often as its rarer cause comes up and is mistaken.
    found.sort_by(|x, y| y.0.total_cmp(&x.0).then(x.1.causes.cmp(&y.1.causes)));
    (found.into_iter().map(|(_, apart)| apart).collect(), otherwise)
}

/// The ambiguity groups of two and more with the reasons that the knowledge gives for them.
fn groups(engine: &Engine, scope: &Scope, matrix: &DMatrix) -> Vec<Alike> {
    let groups = Groups::new(&engine.model, scope, matrix, Likeness::Alike);
    let alike = |group: &Vec<CauseId>| {
        let causes = named(engine, scope, group.clone());
        let among = |known: &&Ambiguity| causes.iter().filter(|c| known.causes.contains(&c.id)).count() > 1;
        let reasons = engine
            .knowledge
            .ambiguity
            .values()
            .filter(among)
            .map(|known| known.reason.clone());
        Alike {
            reasons: reasons.collect(),
            causes,
        }
    };
    groups.ambiguous().map(alike).collect()
}

fn without(engine: &Engine, scope: &Scope, has: impl Fn(&String) -> bool) -> Vec<Named> {
    let lacks = |c: &CauseId| {
        let cause = engine.knowledge.causes.get_index(c.index());
        cause.is_some_and(|(id, _)| !has(id))
    };
    named(engine, scope, scope.causes().filter(lacks).collect())
}

/// Heaviest first.
fn named(engine: &Engine, scope: &Scope, causes: Vec<CauseId>) -> Vec<Named> {
    let mut named: Vec<Named> = causes
        .into_iter()
        .filter_map(|c| {
            engine
                .knowledge
                .causes
                .get_index(c.index())
                .map(|(id, cause)| (c, id, cause))
        })
        .map(|(c, id, cause)| Named {
            id: id.clone(),
            title: cause.title.clone(),
            weight: scope.weight[c.index()],
        })
        .collect();
    named.sort_by(|a, b| b.weight.total_cmp(&a.weight).then(a.id.cmp(&b.id)));
    named
}
