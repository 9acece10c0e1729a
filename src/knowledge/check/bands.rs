//! Bands cover every number once.
//!
//! Bands may be written in any order. Laid in the order of their lower limits, the first has no `from`, the last no
//! `below`, and each begins where the one before it ends: `from` belongs to a band, `below` does not.

use super::Found;
use crate::finding::Code;
use crate::knowledge::schema::{Band, Test};

pub(super) fn check(found: &mut Found<'_>) {
    for (id, test) in &found.knowledge.tests {
        kind(found, id, test);
        if limits(found, id, test) {
            joints(found, id, test);
        }
    }
}

/// A number with bands, or one observation.
fn kind(found: &mut Found<'_>, id: &str, test: &Test) {
    let entry = ("tests", id);
    let (message, help) = match (test.bands.is_empty(), test.outcomes.is_empty()) {
        (true, true) => (
            format!("`{id}` has no outcomes"),
            "give it `readings:` and `bands:`, or `outcomes:`",
        ),
        (false, false) => (
            format!("`{id}` has bands and outcomes"),
            "a test is a number or one observation: make two tests of it",
        ),
        (false, true) if test.readings.is_empty() => {
            (format!("`{id}` has bands, but nothing is read"), "add `readings:`")
        }
        (true, false) if !test.readings.is_empty() || test.value.is_some() => (
            format!("`{id}` takes readings that no band judges"),
            "give it `bands:` in place of `outcomes:`, or take the readings out",
        ),
        _ => return,
    };
    found.at(Code::NoOutcomes, entry, &[], message, help);
}

/// Whether every band has something in it.
fn limits(found: &mut Found<'_>, id: &str, test: &Test) -> bool {
    let mut sound = true;
    for (name, band) in &test.bands {
        let (from, below) = span(band);
        if from.is_nan() || below.is_nan() || from >= below {
            sound = false;
            let message = format!("no number is in `{name}`: it begins at {from} and ends before {below}");
            let help = "`from` must be smaller than `below`";
            found.at(Code::BadBands, ("tests", id), &["bands", name], message, help);
        }
    }
    sound
}

fn span(band: &Band) -> (f64, f64) {
    (
        band.from.unwrap_or(f64::NEG_INFINITY),
        band.below.unwrap_or(f64::INFINITY),
    )
}

fn joints(found: &mut Found<'_>, id: &str, test: &Test) {
    let mut bands: Vec<(&str, f64, f64)> = test
        .bands
        .iter()
        .map(|(name, band)| (name.as_str(), span(band).0, span(band).1))
        .collect();
    bands.sort_by(|a, b| a.1.total_cmp(&b.1).then(a.2.total_cmp(&b.2)));
    let (Some(first), Some(last)) = (
        bands.first().copied(),
        bands.iter().copied().max_by(|a, b| a.2.total_cmp(&b.2)),
    ) else {
        return;
    };
    let mut report = |band: &str, field: &str, message: String, help: String| {
        found.at(Code::BadBands, ("tests", id), &["bands", band, field], message, help);
    };
    if first.1.is_finite() {
        let message = format!("nothing is below {}: the lowest band has a `from`", first.1);
        report(
            first.0,
            "from",
            message,
            "take `from` out of the lowest band".to_owned(),
        );
    }
    let mut reach = (first.0, first.2);
    for &(name, from, below) in &bands[1..] {
        if from > reach.1 {
            let message = format!("no band has the numbers from {} up to {from}", reach.1);
            report(
                name,
                "from",
                message,
                format!("begin here at {}, where `{}` ends", reach.1, reach.0),
            );
        } else if from < reach.1 {
            let up_to = below.min(reach.1);
            let range = match (from.is_finite(), up_to.is_finite()) {
                (true, true) => format!("the numbers from {from} up to {up_to}"),
                (true, false) => format!("the numbers from {from} up"),
                (false, true) => format!("the numbers below {up_to}"),
                (false, false) => "every number".to_owned(),
            };
            let message = format!("`{}` and `{name}` both have {range}", reach.0);
            report(
                name,
                "from",
                message,
                "let each band begin where the one before it ends".to_owned(),
            );
        }
        if below > reach.1 {
            reach = (name, below);
        }
    }
    if last.2.is_finite() {
        let message = format!("nothing is at {} or above: the highest band has a `below`", last.2);
        report(
            last.0,
            "below",
            message,
            "take `below` out of the highest band".to_owned(),
        );
    }
}
