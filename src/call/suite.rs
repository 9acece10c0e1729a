//! Many cases played one after the other on every core, and what came of them together.

use super::Engine;
use super::case::{CaseResult, play};
use crate::knowledge::schema::Case;
use crate::spread::spread;

/// More unlisted answers than this share fail a suite: its cases say too little.
pub const MOST_UNLISTED: f64 = 0.20;

/// What came of all cases.
#[derive(Debug, Clone, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Suite {
    /// Version of this format.
    pub version: u32,
    /// Cases played.
    pub cases: usize,
    /// Of them passed.
    pub passed: usize,
    /// Of them with the true causes among the first three when the walk stopped.
    pub in_first_three: usize,
    /// Mean tests and repairs a case.
    pub mean_steps: f64,
    /// Mean minutes a case.
    pub mean_minutes: f64,
    /// Share of the asked tests that the cases do not list.
    pub unlisted: f64,
    /// Each case with its file, by file name.
    pub results: Vec<(String, CaseResult)>,
}

impl Suite {
    /// Plays cases, each with the name of its file. `played` is told after every one.
    #[must_use]
    pub fn play(engine: &Engine, cases: &[(String, &Case)], played: &(dyn Fn() + Sync)) -> Self {
        let mut results = spread(cases, |(name, case)| {
            let result = play(engine, case).0;
            played();
            Some((name.clone(), result))
        });
        results.sort_by(|a, b| a.0.cmp(&b.0));
        let n = results.len().max(1) as f64;
        let asked: usize = results.iter().map(|(_, r)| r.steps).sum();
        let unlisted: usize = results.iter().map(|(_, r)| r.unlisted.len()).sum();
        Self {
            version: 1,
            cases: results.len(),
            passed: results.iter().filter(|(_, r)| r.passed()).count(),
            in_first_three: results.iter().filter(|(_, r)| r.in_first_three).count(),
            mean_steps: asked as f64 / n,
            mean_minutes: results.iter().map(|(_, r)| r.minutes).sum::<f64>() / n,
            unlisted: unlisted as f64 / asked.max(1) as f64,
            results,
        }
    }

    /// Every case passes, and together they list enough.
    #[must_use]
    pub fn good(&self) -> bool {
        self.passed == self.cases && self.unlisted <= MOST_UNLISTED
    }
}

impl CaseResult {
    /// Whether nothing failed.
    #[must_use]
    pub fn passed(&self) -> bool {
        self.failures.is_empty()
    }
}

/// The cases of the knowledge with the names of their files, as [`Suite::play`] takes them.
#[must_use]
pub fn named_cases(engine: &Engine) -> Vec<(String, &Case)> {
    let files = &engine.knowledge.sources.files;
    let named = engine.knowledge.cases.iter();
    named.map(|(file, case)| (files[*file].name.clone(), case)).collect()
}
