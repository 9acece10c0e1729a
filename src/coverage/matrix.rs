//! The D-matrix: which test can notice which cause.

use std::fmt::Write as _;

use super::Scope;
use crate::call::Engine;
use crate::model::{CauseId, Model, TestTable};

/// A test notices a cause from this total variation between its outcomes and healthy ones on.
pub const NOTICED: f64 = 0.2;

/// Two causes are alike below this total variation on every test: at even odds the best single test then takes one for the other in more than
/// one call of eight, (1 − 0.75)/2.
pub const ALIKE: f64 = 0.75;

/// d(f, t) = 1 where test t can fail for cause f.
///
/// Tests that err fail now and then for no reason, so "can fail" is read as: the distribution of outcomes under the cause is at least
/// [`NOTICED`] in total variation away from the healthy one. For tests that never err that is the usual rule.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DMatrix {
    /// The causes, one a row.
    pub causes: Vec<CauseId>,
    /// By row, then by test.
    pub rows: Vec<Vec<bool>>,
}

impl DMatrix {
    /// The matrix of the causes in scope.
    #[must_use]
    pub fn new(model: &Model, scope: &Scope) -> Self {
        let causes: Vec<CauseId> = scope.causes().collect();
        let notices = |cause: CauseId, test: &TestTable| {
            let shown = test.shown(cause);
            shown.is_some_and(|shown| variation(shown, &test.healthy) >= NOTICED - 1e-12)
        };
        let row = |&cause: &CauseId| model.tests.iter().map(|t| notices(cause, t)).collect();
        Self {
            rows: causes.iter().map(row).collect(),
            causes,
        }
    }

    /// The causes that some test notices.
    #[must_use]
    pub fn detected(&self) -> Vec<CauseId> {
        let rows = self.causes.iter().zip(&self.rows);
        rows.filter(|(_, row)| row.contains(&true)).map(|(c, _)| *c).collect()
    }

    /// The causes that no test notices.
    #[must_use]
    pub fn missed(&self) -> Vec<CauseId> {
        let rows = self.causes.iter().zip(&self.rows);
        rows.filter(|(_, row)| !row.contains(&true)).map(|(c, _)| *c).collect()
    }

    /// As comma-separated values: a line for the ids of the tests, then one a cause with its weight and 0 or 1 a test.
    #[must_use]
    pub fn csv(&self, engine: &Engine, scope: &Scope) -> String {
        // Ids are kebab-case, so nothing needs quotes.
        let tests: Vec<&str> = engine.knowledge.tests.keys().map(String::as_str).collect();
        let mut text = format!("cause,weight,{}\n", tests.join(","));
        for (cause, row) in self.causes.iter().zip(&self.rows) {
            let id = engine
                .knowledge
                .causes
                .get_index(cause.index())
                .map_or("", |(id, _)| id);
            let cells: Vec<&str> = row.iter().map(|d| if *d { "1" } else { "0" }).collect();
            let _ = writeln!(text, "{id},{},{}", scope.weight[cause.index()], cells.join(","));
        }
        text
    }
}

/// Total variation: half the sum of the differences, 0 to 1.
pub(super) fn variation(p: &[f64], q: &[f64]) -> f64 {
    0.5 * p.iter().zip(q).map(|(p, q)| (p - q).abs()).sum::<f64>()
}

/// The greatest total variation of any test between two causes, and which test that is.
pub(super) fn best_parting(model: &Model, a: CauseId, b: CauseId) -> (f64, Option<usize>) {
    let mut best = (0.0, None);
    for (at, test) in model.tests.iter().enumerate() {
        let (p, q) = (test.shown(a), test.shown(b));
        if p.is_none() && q.is_none() {
            continue;
        }
        let apart = variation(p.unwrap_or(&test.healthy), q.unwrap_or(&test.healthy));
        if apart > best.0 {
            best = (apart, Some(at));
        }
    }
    best
}
