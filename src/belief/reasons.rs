//! Why the ranking is what it is: what each answer did, and whether the answers agree with each other.

use std::collections::BTreeMap;

use super::evidence::Evidence;
use super::hypothesis::{Hypothesis, Prior};
use super::posterior::Belief;
use crate::model::{CauseId, Model};

/// What one answer did to one cause.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Influence {
    /// Position of the answer's event.
    pub event: usize,
    /// The cause.
    pub cause: CauseId,
    /// ln odds(c | e) − ln odds(c | e without it). Never summed: answers share what they say.
    pub log_odds: f64,
}

/// What each answer did to each of `causes`, by leaving it out.
#[must_use]
pub fn influence(model: &Model, prior: &Prior, evidence: &Evidence, causes: &[CauseId]) -> Vec<Influence> {
    let with = Belief::new(model, prior, evidence).causes(model);
    let mut found = Vec::new();
    for event in events(evidence) {
        let without = Belief::new(model, prior, &evidence.filtered(&|e| e != event)).causes(model);
        for &cause in causes {
            let log_odds = log_odds(with[cause.index()]) - log_odds(without[cause.index()]);
            found.push(Influence { event, cause, log_odds });
        }
    }
    found
}

fn log_odds(p: f64) -> f64 {
    let p = p.clamp(1e-12, 1.0 - 1e-12);
    (p / (1.0 - p)).ln()
}

fn events(evidence: &Evidence) -> Vec<usize> {
    let mut events: Vec<usize> = evidence.answers().map(|a| a.event).collect();
    events.extend(evidence.epochs.iter().flat_map(|e| e.proofs.iter().map(|p| p.event)));
    events.sort_unstable();
    events.dedup();
    events
}

/// Whether the answers agree.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Conflict {
    /// They do.
    None,
    /// Unusual together, but some hypothesis explains them.
    Rare,
    /// They contradict each other; the one whose removal helps most should be taken again.
    Contradiction {
        /// Event of the answer to take again.
        retake: usize,
    },
    /// They exclude everything; the events of the answers that, left out alone, allow something again.
    Impossible {
        /// Event of the last answer that can be to blame.
        retake: usize,
    },
}

/// ln Π P(eᵢ)/P(e) > ln 3 and no hypothesis that explains them: a contradiction (Jensen's conflict measure, given the symptoms).
#[must_use]
pub fn conflict(model: &Model, prior: &Prior, evidence: &Evidence) -> Conflict {
    let events = events(evidence);
    if events.len() < 2 {
        return if Belief::new(model, prior, evidence).total > 0.0 {
            Conflict::None
        } else {
            impossible(model, prior, evidence, &events)
        };
    }
    let base = Belief::new(model, prior, &evidence.filtered(&|_| false));
    let all = Belief::new(model, prior, evidence);
    if all.total <= 0.0 {
        return impossible(model, prior, evidence, &events);
    }
    let measure = |keep: &dyn Fn(usize) -> bool| -> f64 {
        let joint = Belief::new(model, prior, &evidence.filtered(keep)).total / base.total;
        let alone: f64 = events
            .iter()
            .filter(|e| keep(**e))
            .map(|&e| alone(model, prior, evidence, e) / base.total)
            .map(f64::ln)
            .sum();
        alone - joint.ln()
    };
    let conflict = measure(&|_| true);
    if conflict <= 3f64.ln() {
        return Conflict::None;
    }
    let (before, after) = (by_hypothesis(&base), by_hypothesis(&all));
    let explained = after
        .iter()
        .map(|(h, w)| ((w / all.total) / (before[h] / base.total)).ln());
    if explained.fold(f64::NEG_INFINITY, f64::max) >= conflict {
        return Conflict::Rare;
    }
    let retake = events
        .iter()
        .map(|&event| (event, measure(&|e| e != event)))
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .map_or(0, |(event, _)| event);
    Conflict::Contradiction { retake }
}

fn by_hypothesis(belief: &Belief) -> BTreeMap<Hypothesis, f64> {
    let mut sums = BTreeMap::new();
    for branch in &belief.branches {
        *sums.entry(branch.hypothesis).or_insert(0.0) += branch.weight;
    }
    sums
}

fn alone(model: &Model, prior: &Prior, evidence: &Evidence, event: usize) -> f64 {
    Belief::new(model, prior, &evidence.filtered(&|e| e == event)).total
}

fn impossible(model: &Model, prior: &Prior, evidence: &Evidence, events: &[usize]) -> Conflict {
    let blame = events
        .iter()
        .rev()
        .find(|&&event| Belief::new(model, prior, &evidence.filtered(&|e| e != event)).total > 0.0);
    Conflict::Impossible {
        retake: blame.or(events.last()).copied().unwrap_or(0),
    }
}
