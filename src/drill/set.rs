//! A set of drills for a class: balanced over subjects and grades, the same for everybody with the same seed.

use std::collections::BTreeMap;

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng as _;
use serde::{Deserialize, Serialize};

use super::scenario::{Difficulty, Hardness};
use crate::lot::unit;

/// A scenario that may be drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// Its name.
    pub name: String,
    /// Its file, unless it travels in the program.
    pub path: Option<String>,
    /// What it practises.
    pub subject: String,
    /// How hard it is.
    pub difficulty: Difficulty,
}

/// A class set.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct DrillSet {
    /// Version of this format.
    pub version: u32,
    /// Seed of the draw and of every site in it.
    pub seed: u64,
    /// The drills, in the order in which they are taken: easier ones first.
    pub drills: Vec<Drawn>,
}

/// One drill of a set. A trainee sees its number only.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct Drawn {
    /// Number in the set, from 1.
    pub number: usize,
    /// Name of the scenario.
    pub scenario: String,
    /// Its file, unless it travels in the program.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub path: Option<String>,
    /// What it practises.
    pub subject: String,
    /// Its grade.
    pub grade: Hardness,
}

impl DrillSet {
    /// Draws a set: each time from the subject, then the grade, that was drawn least so far; among equals by lot.
    #[must_use]
    pub fn draw(candidates: &[Candidate], number: usize, seed: u64) -> Self {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let mut left: Vec<(u64, &Candidate)> = candidates
            .iter()
            .map(|c| ((unit(&mut rng) * 1e15).to_bits(), c))
            .collect();
        left.sort_by(|a, b| a.0.cmp(&b.0).then_with(|| a.1.name.cmp(&b.1.name)));
        let mut by_subject: BTreeMap<&str, usize> = BTreeMap::new();
        let mut by_grade: BTreeMap<Hardness, usize> = BTreeMap::new();
        let mut drawn: Vec<&Candidate> = Vec::new();
        while drawn.len() < number && !left.is_empty() {
            let used = |(_, c): &(u64, &Candidate)| {
                (
                    by_subject.get(c.subject.as_str()).copied().unwrap_or(0),
                    by_grade.get(&c.difficulty.grade()).copied().unwrap_or(0),
                )
            };
            let at = (0..left.len()).min_by_key(|&i| (used(&left[i]), i)).unwrap_or(0);
            let (_, candidate) = left.remove(at);
            *by_subject.entry(&candidate.subject).or_insert(0) += 1;
            *by_grade.entry(candidate.difficulty.grade()).or_insert(0) += 1;
            drawn.push(candidate);
        }
        drawn.sort_by(|a, b| {
            let points = |c: &Candidate| c.difficulty.points();
            points(a).total_cmp(&points(b)).then_with(|| a.name.cmp(&b.name))
        });
        let drills = drawn.into_iter().enumerate().map(|(i, c)| Drawn {
            number: i + 1,
            scenario: c.name.clone(),
            path: c.path.clone(),
            subject: c.subject.clone(),
            grade: c.difficulty.grade(),
        });
        Self {
            version: 1,
            seed,
            drills: drills.collect(),
        }
    }
}
