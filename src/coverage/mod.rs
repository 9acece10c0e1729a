//! How far tests can find and part the causes: the testability figures, and in words what is missing.
//!
//! Problem: say of a knowledge, before anybody walks it, which faults its tests notice, how small the groups are to which they narrow
//! them down, and what that costs. Figures as in IEEE Std 1522-2004 over the D-matrix of IEEE Std 1232 (AI-ESTATE); from memory of their usual
//! definitions.
//!
//! Exact: everything that is counted off the matrix. Estimated, where there are many causes: the minutes to isolate by one stated policy;
//! [`Isolation::followed`] says how much of it was followed in full.

mod apart;
mod figures;
mod gaps;
mod groups;
mod isolate;
mod matrix;
mod report;

pub use apart::{Apart, part};
pub use figures::{Figures, GroupFigures, Isolated, Share, figures};
pub use gaps::{Idle, idle_tests, walked_tests};
pub use groups::{Groups, Likeness};
pub use isolate::{ISOLATED, Isolation, isolation};
pub use matrix::{ALIKE, DMatrix, NOTICED};
pub use report::{Alike, Coverage, Named};

use crate::call::Engine;
use crate::model::{CauseId, SiteFacts, SymptomId};

/// What is counted: which causes, and the weight of each.
#[derive(Debug, Clone)]
pub struct Scope {
    /// Weight by [`CauseId`]: calls in a thousand at an average site, those with the symptom if there is one; 0: not counted.
    pub weight: Vec<f64>,
    /// The symptom to which it is confined.
    pub symptom: Option<SymptomId>,
}

impl Scope {
    /// All causes by their rates at a site of which nothing is known, or those of one symptom, each by rate times how often it makes it.
    #[must_use]
    pub fn new(engine: &Engine, symptom: Option<SymptomId>) -> Self {
        let rates = engine.model.rates(&engine.knowledge, &SiteFacts::unknown()).rate;
        let makes = |c: usize| symptom.map_or(1.0, |s| engine.model.symptom[s.index()][c]);
        Self {
            weight: rates.iter().enumerate().map(|(c, r)| r * makes(c)).collect(),
            symptom,
        }
    }

    /// The causes that are counted.
    pub fn causes(&self) -> impl Iterator<Item = CauseId> {
        (0..self.weight.len())
            .filter(|&c| self.weight[c] > 0.0)
            .map(CauseId::at)
    }

    /// Total weight of some causes.
    #[must_use]
    pub fn of(&self, causes: &[CauseId]) -> f64 {
        causes.iter().fold(0.0, |sum, c| sum + self.weight[c.index()])
    }
}
