//! Chances that make distributions: shares of a fact, `healthy`, what each cause shows.

use super::{Entry, Found, suggestion};
use crate::finding::Code;
use crate::knowledge::frequency::{DistributionError, distribution};
use crate::knowledge::schema::Test;

/// How far the shares of a fact may be from 1.
const SHARES_WITHIN: f64 = 1e-6;

pub(super) fn check(found: &mut Found<'_>) {
    let k = found.knowledge;
    shares(found);
    for (id, test) in &k.tests {
        if outcome_ids(test).is_empty() {
            continue;
        }
        if let Err(error) = healthy(test) {
            report(found, ("tests", id), &["healthy"], test, id, error);
        }
    }
    for (id, cause) in &k.causes {
        for (test_id, shows) in &cause.shows {
            let Some(test) = k.tests.get(test_id).filter(|t| !outcome_ids(t).is_empty()) else {
                continue;
            };
            if let Err(error) = shown(test, shows) {
                report(found, ("causes", id), &["shows", test_id], test, test_id, error);
            }
        }
    }
}

/// Outcomes of a test in the author's order.
pub(super) fn outcome_ids(test: &Test) -> Vec<&str> {
    test.bands
        .keys()
        .chain(test.outcomes.keys())
        .map(String::as_str)
        .collect()
}

fn healthy(test: &Test) -> Result<Vec<f64>, DistributionError> {
    let named = test.healthy.iter().map(|(o, f)| (o.as_str(), *f));
    distribution(named, &outcome_ids(test), None)
}

type Shows = crate::knowledge::schema::Entries<crate::knowledge::frequency::Frequency>;

fn shown(test: &Test, shows: &Shows) -> Result<Vec<f64>, DistributionError> {
    let named = shows.iter().map(|(o, f)| (o.as_str(), *f));
    distribution(named, &outcome_ids(test), healthy(test).ok().as_deref())
}

/// How far what a cause shows is from healthy: half the sum of the differences, 0 (no telling) to 1. `None` where
/// one of them is no distribution.
pub(super) fn distance(test: &Test, shows: &Shows) -> Option<f64> {
    let (a, b) = (shown(test, shows).ok()?, healthy(test).ok()?);
    Some(a.iter().zip(&b).map(|(a, b)| (a - b).abs()).sum::<f64>() / 2.0)
}

fn report(
    found: &mut Found<'_>,
    entry: Entry<'_>,
    rest: &[&str],
    test: &Test,
    test_id: &str,
    error: DistributionError,
) {
    match error {
        DistributionError::UnknownOutcome(outcome) => {
            let help = suggestion(&outcome, outcome_ids(test).into_iter(), "outcome");
            let path: Vec<&str> = rest.iter().copied().chain([outcome.as_str()]).collect();
            let message = format!("`{test_id}` has no outcome `{outcome}`");
            found.at_key(Code::UnknownId, entry, &path, message, help);
        }
        DistributionError::Sum { sum, rule } => {
            let message = format!("these chances add to {}; {rule}", plain(sum));
            let help = "change them, or leave one outcome out: it takes what is left";
            found.at(Code::BadChances, entry, rest, message, help);
        }
    }
}

fn shares(found: &mut Found<'_>) {
    for (id, fact) in &found.knowledge.facts {
        let entry = ("facts", id.as_str());
        if fact.values.is_empty() == fact.number.is_none() {
            let message = if fact.number.is_none() {
                format!("`{id}` has neither values nor a number")
            } else {
                format!("`{id}` has values and a number")
            };
            found.at(
                Code::BadEntry,
                entry,
                &[],
                message,
                "give it `values:` or `number:`, one of them",
            );
        }
        let wrong = fact.values.iter().filter(|(_, v)| !(0.0..=1.0).contains(&v.share));
        let mut any_wrong = false;
        for (value, v) in wrong {
            any_wrong = true;
            let message = format!("{} is not a share", v.share);
            let rest = ["values", value, "share"];
            found.at(Code::BadShares, entry, &rest, message, "write a number from 0 to 1");
        }
        let sum: f64 = fact.values.values().map(|v| v.share).sum();
        if !any_wrong && !fact.values.is_empty() && (sum - 1.0).abs() > SHARES_WITHIN {
            let message = format!("the shares of `{id}` add to {}", plain(sum));
            let help = format!(
                "change them by {:+} together, so that they add to 1",
                rounded(1.0 - sum)
            );
            found.at(Code::BadShares, entry, &["values"], message, help);
        }
    }
}

fn rounded(x: f64) -> f64 {
    (x * 1e6).round() / 1e6
}

fn plain(x: f64) -> String {
    rounded(x).to_string()
}
