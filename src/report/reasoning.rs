//! Which cause it was, which it was not, and which nobody looked for.

use super::phrases;
use super::record::{CauseLine, Labelled, RuledOut};
use crate::belief::{Belief, Evidence, Prior};
use crate::call::{ALSO_CHECK, Call, LINKED_CHECK};
use crate::model::{CauseId, Model};
use crate::plan::settles;

/// From here a cause counts as found.
const FOUND: f64 = 0.5;
/// Where none is found, those from here are named as suspects.
const SUSPECT: f64 = 0.1;
/// At most so many suspects.
const SUSPECTS: usize = 5;
/// What was less likely than this before the first answer needs no ruling out.
const WORTH_RULING_OUT: f64 = 0.01;
/// Below this a cause that a repair is meant for counts as put right.
const PUT_RIGHT: f64 = 0.05;

/// P(c ∈ H): the chance that each cause was there at the start, whatever has become of it.
pub(super) fn at_the_start(belief: &Belief, model: &Model) -> Vec<f64> {
    let mut p = vec![0.0; model.causes()];
    for branch in &belief.branches {
        let (causes, n) = branch.hypothesis.causes();
        for cause in &causes[..n] {
            p[cause.index()] += branch.weight;
        }
    }
    if belief.total > 0.0 {
        for p in &mut p {
            *p /= belief.total;
        }
    }
    p
}

/// Causes that were found, or the suspects; with whether they are settled.
pub(super) fn causes(call: &Call<'_>) -> (bool, Vec<CauseLine>) {
    let model = &call.engine.model;
    let start = at_the_start(call.belief(), model);
    let now = call.belief().causes(model);
    let mut order: Vec<usize> = (0..start.len()).filter(|&c| start[c] >= SUSPECT).collect();
    order.sort_by(|a, b| start[*b].total_cmp(&start[*a]).then(a.cmp(b)));
    let settled = order.first().is_some_and(|&c| start[c] >= FOUND);
    if call.answers().is_empty() && call.repairs().is_empty() {
        return (false, Vec::new());
    }
    let lines = order
        .into_iter()
        .filter(|&c| !settled || start[c] >= FOUND)
        .take(SUSPECTS)
        .map(|c| CauseLine {
            cause: phrases::cause(&call.engine.knowledge, c),
            chance: start[c],
            words: phrases::likely(start[c]).to_owned(),
            now: what_became_of(call, c, now[c]),
        })
        .collect();
    (settled, lines)
}

fn what_became_of(call: &Call<'_>, cause: usize, now: f64) -> String {
    let model = &call.engine.model;
    let meant_for = |id: &str| {
        model
            .repair(id)
            .is_some_and(|r| model.repairs[r.index()].chance(CauseId::at(cause)) > 0.0)
    };
    let Some(repair) = call.repairs().iter().rev().find(|r| meant_for(&r.repair)) else {
        return "nothing was done about it".to_owned();
    };
    let title = phrases::repair(&call.engine.knowledge, &repair.repair);
    let explains = call
        .engine
        .knowledge
        .repairs
        .get(&repair.repair)
        .is_some_and(|r| r.explains);
    if explains {
        format!("explained, nothing changed: {title}")
    } else if now < PUT_RIGHT {
        format!("put right by: {title}")
    } else if repair.proof.is_empty() {
        format!("treated, not proven: {title}")
    } else {
        format!("treated, may still be there: {title}")
    }
}

/// Causes whose odds are ten times smaller than before the first answer, each with the answer that did most.
pub(super) fn ruled_out(call: &Call<'_>) -> Vec<RuledOut> {
    let model = &call.engine.model;
    let evidence = &call.situation().evidence;
    if call.belief().total <= 0.0 {
        return Vec::new();
    }
    let prior = call.engine.planner().prior(call.situation());
    let shares = |evidence: &Evidence| at_the_start(&Belief::new(model, &prior, evidence), model);
    let before = shares(&evidence.filtered(&|_| false));
    let now = at_the_start(call.belief(), model);
    let lost = |c: usize| log_odds(before[c]) - log_odds(now[c]);
    let mut out: Vec<usize> = (0..before.len())
        .filter(|&c| before[c] >= WORTH_RULING_OUT && lost(c) > 10f64.ln())
        .collect();
    out.sort_by(|a, b| before[*b].total_cmp(&before[*a]).then(a.cmp(b)));
    let without = left_out(model, &prior, evidence);
    out.into_iter()
        .filter_map(|c| {
            let against = |e: &(usize, Vec<f64>)| log_odds(e.1[c]) - log_odds(now[c]);
            let (event, most) = without
                .iter()
                .map(|e| (e.0, against(e)))
                .max_by(|a, b| a.1.total_cmp(&b.1))?;
            Some(RuledOut {
                cause: phrases::cause(&call.engine.knowledge, c),
                by: phrases::evidence(call, event),
                together: most < 2f64.ln(),
            })
        })
        .collect()
}

/// P(c ∈ H) with each answer and proof left out in turn.
fn left_out(model: &Model, prior: &Prior, evidence: &Evidence) -> Vec<(usize, Vec<f64>)> {
    let proofs = evidence.epochs.iter().flat_map(|e| &e.proofs).map(|p| p.event);
    let mut events: Vec<usize> = evidence.answers().map(|a| a.event).chain(proofs).collect();
    events.sort_unstable();
    events.dedup();
    events
        .into_iter()
        .map(|event| {
            let belief = Belief::new(model, prior, &evidence.filtered(&|e| e != event));
            (event, at_the_start(&belief, model))
        })
        .collect()
}

fn log_odds(p: f64) -> f64 {
    let p = p.clamp(1e-12, 1.0 - 1e-12);
    (p / (1.0 - p)).ln()
}

/// Causes that are still likely, or that go with a cured one, and that no answer tells.
pub(super) fn not_checked(call: &Call<'_>) -> Vec<Labelled> {
    let model = &call.engine.model;
    let now = call.belief().causes(model);
    let cured: Vec<usize> = call
        .repairs()
        .iter()
        .filter_map(|r| model.repair(&r.repair))
        .flat_map(|r| model.repairs[r.index()].cures.iter().map(|(c, _)| c.index()))
        .collect();
    if cured.is_empty() {
        return Vec::new();
    }
    let start = at_the_start(call.belief(), model);
    let linked = |d: usize| {
        cured
            .iter()
            .any(|&c| start[c] >= FOUND && model.brings_on[c].iter().any(|(e, _)| e.index() == d))
    };
    let told = |d: usize| call.answers().iter().any(|a| settles(model, a.test, &[CauseId::at(d)]));
    (0..model.causes())
        .filter(|d| !cured.contains(d) && !told(*d))
        .filter(|&d| now[d] >= ALSO_CHECK || (linked(d) && now[d] >= LINKED_CHECK))
        .map(|d| Labelled {
            label: phrases::cause(&call.engine.knowledge, d),
            text: if linked(d) {
                "goes with what was found; nothing asked tells it".to_owned()
            } else {
                format!("{}; nothing asked tells it", phrases::likely(now[d]))
            },
        })
        .collect()
}
