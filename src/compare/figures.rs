//! Figures of coverage that moved.

use serde::Serialize;

use super::{Side, both};
use crate::coverage::{Coverage, Likeness};

/// A figure that moved.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct FigureChange {
    /// Its name, as `coverage` has it.
    pub figure: String,
    /// As it was, in the digits that are shown.
    pub before: String,
    /// As it is.
    pub after: String,
}

/// Figures that differ in the digits that are shown.
pub(super) fn changes(old: &Side, new: &Side) -> Vec<FigureChange> {
    let (before, after) = both(old, new, |side| figures(&Coverage::new(&side.engine, None, &|| ())));
    before
        .into_iter()
        .zip(after)
        .filter(|((_, before), (_, after))| before != after)
        .map(|((figure, before), (_, after))| FigureChange { figure, before, after })
        .collect()
}

fn figures(coverage: &Coverage) -> Vec<(String, String)> {
    let f = &coverage.figures;
    let mut all = vec![
        ("causes".to_owned(), f.causes.to_string()),
        ("tests".to_owned(), f.tests.to_string()),
        (
            "fraction of faults detected, FFD".to_owned(),
            format!("{:.3}", f.detected.by_rate),
        ),
    ];
    for groups in &f.by_likeness {
        let of = match groups.likeness {
            Likeness::SameRow => "the same row",
            Likeness::SameDistribution => "the same chances",
            Likeness::Alike => "like chances",
        };
        for isolated in &groups.isolated {
            let name = format!("FFI({}) of detected, {of}", isolated.size);
            all.push((name, format!("{:.3}", isolated.of_detected.by_rate)));
        }
        all.push((
            format!("mean group size, {of}"),
            format!("{:.2}", groups.mean_size.by_rate),
        ));
    }
    let counts = [
        ("causes that no test notices", coverage.missed.len()),
        ("pairs of like chances", coverage.alike.len()),
        ("tests that never save their time as a first step", coverage.idle.len()),
        ("causes without a case", coverage.no_case.len()),
        ("causes without a repair", coverage.no_repair.len()),
    ];
    all.extend(counts.iter().map(|(name, n)| ((*name).to_owned(), n.to_string())));
    all.push((
        "minutes to isolate".to_owned(),
        format!("{:.1}", coverage.isolation.minutes),
    ));
    all.push((
        "tests to isolate".to_owned(),
        format!("{:.1}", coverage.isolation.tests),
    ));
    all
}
