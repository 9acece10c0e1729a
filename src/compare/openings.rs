//! Symptoms whose walks open differently, or whose ranking at the start moved.

use serde::Serialize;

use super::{Side, both};
use crate::belief::Evidence;
use crate::call::{First, openings};
use crate::knowledge::Knowledge;
use crate::model::SiteFacts;
use crate::plan::Situation;

/// A share of the ranking that moved by no more than this is no change.
const MOVED: f64 = 0.02;
/// So many of the ranking are compared.
const TOP: usize = 3;

/// Another first step.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct FirstStepChange {
    /// Id of the symptom.
    pub symptom: String,
    /// What is reported.
    pub title: String,
    /// The kind of site, "gate-type=slide"; nothing: a site of which nothing is known.
    pub site: Option<String>,
    /// As it was; nothing where the symptom is new.
    pub before: Option<First>,
    /// As it is; nothing where the symptom is gone.
    pub after: Option<First>,
}

/// Another ranking.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct RankingChange {
    /// Id of the symptom.
    pub symptom: String,
    /// What is reported.
    pub title: String,
    /// The first three as they were, with their shares.
    pub before: Vec<(String, f64)>,
    /// As they are.
    pub after: Vec<(String, f64)>,
}

/// First steps that differ, at a site of which nothing is known; with `every_site` also where one opening fact has each of its values.
pub(super) fn first_steps(old: &Side, new: &Side, every_site: bool) -> Vec<FirstStepChange> {
    let mut sites = vec![None];
    if every_site {
        sites.extend(kinds(&new.engine.knowledge).into_iter().map(Some));
    }
    let mut found = Vec::new();
    for site in sites {
        let mut facts = SiteFacts::unknown();
        if let Some((fact, value)) = &site {
            facts.learn(fact, value);
        }
        let (before, after) = both(old, new, |side| openings(&side.engine, &facts));
        for opening in &after {
            let was = before.iter().find(|b| b.symptom == opening.symptom).map(|b| &b.first);
            // A reworded title is told among the entries.
            if was.is_none_or(|was| !same_step(was, &opening.first)) {
                found.push(FirstStepChange {
                    symptom: opening.symptom.clone(),
                    title: opening.title.clone(),
                    site: site.as_ref().map(|(fact, value)| format!("{fact}={value}")),
                    before: was.cloned(),
                    after: Some(opening.first.clone()),
                });
            }
        }
        for gone in before.iter().filter(|b| after.iter().all(|a| a.symptom != b.symptom)) {
            found.push(FirstStepChange {
                symptom: gone.symptom.clone(),
                title: gone.title.clone(),
                site: site.as_ref().map(|(fact, value)| format!("{fact}={value}")),
                before: Some(gone.first.clone()),
                after: None,
            });
        }
    }
    found
}

fn same_step(a: &First, b: &First) -> bool {
    match (a, b) {
        (First::Test { id: a, .. }, First::Test { id: b, .. })
        | (First::Repair { id: a, .. }, First::Repair { id: b, .. })
        | (First::Fact { id: a, .. }, First::Fact { id: b, .. }) => a == b,
        _ => a == b,
    }
}

/// Every value of the facts that are asked before a walk.
fn kinds(knowledge: &Knowledge) -> Vec<(String, String)> {
    let facts = knowledge.facts.iter().filter(|(_, fact)| fact.opening);
    facts
        .flat_map(|(id, fact)| fact.values.keys().map(|value| (id.clone(), value.clone())))
        .collect()
}

/// Rankings at the start whose first three changed places or moved by more than [`MOVED`].
pub(super) fn rankings(old: &Side, new: &Side) -> Vec<RankingChange> {
    let (before, after) = both(old, new, top);
    after
        .into_iter()
        .filter_map(|(symptom, after)| {
            let (_, before) = before.iter().find(|(s, _)| *s == symptom)?;
            moved(before, &after).then(|| RankingChange {
                title: new.engine.knowledge.symptoms[&symptom].title.clone(),
                symptom,
                before: before.clone(),
                after,
            })
        })
        .collect()
}

fn moved(before: &[(String, f64)], after: &[(String, f64)]) -> bool {
    before.len() != after.len()
        || before
            .iter()
            .zip(after)
            .any(|((a, p), (b, q))| a != b || (p - q).abs() > MOVED)
}

type Top = Vec<(String, f64)>;

/// For each symptom the first of the ranking when nothing else is known.
fn top(side: &Side) -> Vec<(String, Top)> {
    let (engine, planner) = (&side.engine, side.engine.planner());
    let mut all = Vec::new();
    for (at, symptom) in engine.knowledge.symptoms.keys().enumerate() {
        let start = Situation::starting(Evidence::reported(vec![crate::model::SymptomId::at(at)]));
        let chances = planner.belief(&start).causes(&engine.model);
        let mut ranking: Top = engine.knowledge.causes.keys().cloned().zip(chances).collect();
        ranking.sort_by(|a, b| b.1.total_cmp(&a.1));
        ranking.truncate(TOP);
        all.push((symptom.clone(), ranking));
    }
    all
}
