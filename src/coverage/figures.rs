//! The figures of IEEE Std 1522 over a set of groups.

use serde::Serialize;

use super::Scope;
use super::groups::{Groups, Likeness};
use super::matrix::DMatrix;
use crate::model::{CauseId, Model};

/// A figure by weight and by count.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Share {
    /// Each cause by its weight.
    pub by_rate: f64,
    /// Each cause once.
    pub by_count: f64,
}

/// Fraction of faults isolated to groups of at most `size`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Isolated {
    /// Largest group that counts.
    pub size: usize,
    /// Of the detected faults, by weight and by count.
    pub of_detected: Share,
    /// Of all faults.
    pub of_all: Share,
}

/// Groups by one rule, and what follows from them.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct GroupFigures {
    /// The rule.
    pub likeness: Likeness,
    /// How many groups there are.
    pub groups: usize,
    /// FFI(1), FFI(2), FFI(3).
    pub isolated: Vec<Isolated>,
    /// Mean size: by weight over the faults, by count over the groups.
    pub mean_size: Share,
}

/// The figures of one scope.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Figures {
    /// How many causes are counted.
    pub causes: usize,
    /// How many tests there are.
    pub tests: usize,
    /// Fraction of faults detected, FFD.
    pub detected: Share,
    /// By each rule of likeness.
    pub by_likeness: Vec<GroupFigures>,
}

/// Counts the figures off the matrix.
#[must_use]
pub fn figures(model: &Model, scope: &Scope, matrix: &DMatrix) -> Figures {
    let of = |groups: Groups, likeness| group_figures(scope, matrix, &groups, likeness);
    let by_likeness = Likeness::ALL
        .iter()
        .map(|&l| of(Groups::new(model, scope, matrix, l), l))
        .collect();
    Figures {
        causes: matrix.causes.len(),
        tests: model.tests.len(),
        detected: share(scope, &matrix.detected(), &matrix.causes),
        by_likeness,
    }
}

fn group_figures(scope: &Scope, matrix: &DMatrix, groups: &Groups, likeness: Likeness) -> GroupFigures {
    let detected = matrix.detected();
    let isolated = (1..=3)
        .map(|size| {
            let small = groups.groups.iter().filter(|g| g.len() <= size);
            let inside: Vec<CauseId> = small.flatten().copied().collect();
            Isolated {
                size,
                of_detected: share(scope, &inside, &detected),
                of_all: share(scope, &inside, &matrix.causes),
            }
        })
        .collect();
    let weighted = groups
        .groups
        .iter()
        .fold(0.0, |sum, g| sum + scope.of(g) * g.len() as f64);
    GroupFigures {
        likeness,
        groups: groups.groups.len(),
        isolated,
        mean_size: Share {
            by_rate: ratio(weighted, scope.of(&detected)),
            by_count: ratio(detected.len() as f64, groups.groups.len() as f64),
        },
    }
}

fn share(scope: &Scope, part: &[CauseId], whole: &[CauseId]) -> Share {
    Share {
        by_rate: ratio(scope.of(part), scope.of(whole)),
        by_count: ratio(part.len() as f64, whole.len() as f64),
    }
}

/// 0 where there is nothing to take a part of.
fn ratio(part: f64, whole: f64) -> f64 {
    if whole > 0.0 { part / whole } else { 0.0 }
}
