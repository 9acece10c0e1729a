//! What the facts of a site do to the rates of the causes, small enough to keep for a hundred thousand calls.

use crate::knowledge::Knowledge;
use crate::model::{SiteFacts, facts_of, site_factor};

/// The facts of a site that matter to some cause, one byte a fact: 0 not known, 255 a value that the knowledge does not have.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) struct SiteKey(Box<[u8]>);

const NOT_KNOWN: u8 = 0;
const OTHER: u8 = 255;

/// Multipliers of every cause by fact and value.
#[derive(Debug)]
pub struct Sites {
    /// Fact and its values.
    facts: Vec<(String, Vec<String>)>,
    /// For each cause: position of the fact, factor by byte (not known first, other last).
    factors: Vec<Vec<(usize, Vec<f64>)>>,
    /// The multiplier of each cause at a site of which nothing is known.
    pub(crate) mean: Vec<f64>,
}

impl Sites {
    /// For some knowledge.
    #[must_use]
    pub fn new(knowledge: &Knowledge) -> Self {
        let named = |id: &String| {
            knowledge
                .causes
                .values()
                .any(|c| c.when.contains_key(id) || c.times.contains_key(id))
        };
        let facts: Vec<(String, Vec<String>)> = knowledge
            .facts
            .iter()
            .filter(|(id, fact)| fact.number.is_none() && named(id))
            .map(|(id, fact)| (id.clone(), fact.values.keys().cloned().collect()))
            .collect();
        let factors: Vec<Vec<(usize, Vec<f64>)>> = knowledge
            .causes
            .values()
            .map(|cause| {
                let of_fact = |fact: &String| {
                    let at = facts.iter().position(|(id, _)| id == fact)?;
                    let values = facts[at].1.iter().map(|v| Some(v.as_str()));
                    let factors = std::iter::once(None).chain(values).chain([Some("")]);
                    Some((at, factors.map(|v| site_factor(knowledge, cause, fact, v).0).collect()))
                };
                facts_of(cause).into_iter().filter_map(of_fact).collect()
            })
            .collect();
        let mean = factors
            .iter()
            .map(|f: &Vec<(usize, Vec<f64>)>| f.iter().map(|(_, by_value)| by_value[0]).product())
            .collect();
        Self { facts, factors, mean }
    }

    pub(crate) fn key(&self, site: &SiteFacts) -> SiteKey {
        let byte = |(fact, values): &(String, Vec<String>)| match site.get(fact) {
            None => NOT_KNOWN,
            Some(value) => values
                .iter()
                .position(|v| v == value)
                .and_then(|at| u8::try_from(at + 1).ok())
                .unwrap_or(OTHER),
        };
        SiteKey(self.facts.iter().map(byte).collect())
    }

    /// The multiplier of a cause at such a site, as a multiple of its mean over all sites; 0 where it can't occur.
    pub(crate) fn relative(&self, cause: usize, key: &SiteKey) -> f64 {
        let here: f64 = self.factors[cause]
            .iter()
            .map(|(fact, by_value)| match key.0[*fact] {
                OTHER => by_value.last().copied().unwrap_or(1.0),
                at => by_value.get(usize::from(at)).copied().unwrap_or(1.0),
            })
            .product();
        if self.mean[cause] > 0.0 {
            here / self.mean[cause]
        } else {
            0.0
        }
    }
}
