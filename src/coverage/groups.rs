//! Ambiguity groups: causes that no test tells apart.

use super::Scope;
use super::matrix::{ALIKE, DMatrix, best_parting};
use crate::model::{CauseId, Model};

/// When two causes count as not told apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Likeness {
    /// Their rows of the D-matrix are equal: the standard's own rule.
    SameRow,
    /// Every test has the same distribution of outcomes under both.
    SameDistribution,
    /// No test's distributions are as far apart as [`ALIKE`].
    Alike,
}

impl Likeness {
    /// All three, the standard's first.
    pub const ALL: [Self; 3] = [Self::SameRow, Self::SameDistribution, Self::Alike];
}

/// The detected causes in groups.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Groups {
    /// By weight, heaviest first; so are the causes in each. A cause that is alone is a group of one.
    pub groups: Vec<Vec<CauseId>>,
}

impl Groups {
    /// Puts the detected causes of a matrix into groups.
    ///
    /// Being alike does not carry over from two pairs to the third, so those groups are built from the heaviest cause down: each joins
    /// the first group of which it is like *every* member.
    #[must_use]
    pub fn new(model: &Model, scope: &Scope, matrix: &DMatrix, likeness: Likeness) -> Self {
        let mut detected = matrix.detected();
        detected.sort_by(|a, b| {
            let (a_weight, b_weight) = (scope.weight[a.index()], scope.weight[b.index()]);
            b_weight.total_cmp(&a_weight).then(a.cmp(b))
        });
        let row = |c: CauseId| matrix.causes.iter().position(|d| *d == c).map(|at| &matrix.rows[at]);
        let same = |a: CauseId, b: CauseId| match likeness {
            Likeness::SameRow => row(a) == row(b),
            Likeness::SameDistribution => best_parting(model, a, b).0 <= 1e-9,
            Likeness::Alike => best_parting(model, a, b).0 < ALIKE - 1e-12,
        };
        let mut groups: Vec<Vec<CauseId>> = Vec::new();
        for cause in detected {
            match groups.iter_mut().find(|g| g.iter().all(|&other| same(other, cause))) {
                Some(group) => group.push(cause),
                None => groups.push(vec![cause]),
            }
        }
        groups.sort_by(|a, b| scope.of(b).total_cmp(&scope.of(a)).then(a.cmp(b)));
        Self { groups }
    }

    /// Groups of two and more.
    pub fn ambiguous(&self) -> impl Iterator<Item = &Vec<CauseId>> {
        self.groups.iter().filter(|g| g.len() > 1)
    }
}
