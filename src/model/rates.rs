//! The site's part of the prior: base rates after multipliers, shares where a fact is unknown.

use std::collections::BTreeMap;

use super::CauseId;
use super::tables::Model;
use crate::knowledge::Knowledge;
use crate::knowledge::schema::{Cause, When};

/// What is known of a site: fact id → value id (or the text of a number).
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct SiteFacts(BTreeMap<String, String>);

impl SiteFacts {
    /// Nothing known.
    #[must_use]
    pub fn unknown() -> Self {
        Self::default()
    }

    /// The value of a fact, if known.
    #[must_use]
    pub fn get(&self, fact: &str) -> Option<&str> {
        self.0.get(fact).map(String::as_str)
    }

    /// Learns a fact.
    pub fn learn(&mut self, fact: &str, value: &str) {
        self.0.insert(fact.to_owned(), value.to_owned());
    }

    /// The same site with one more fact known.
    #[must_use]
    pub fn with(&self, fact: &str, value: &str) -> Self {
        let mut more = self.clone();
        more.learn(fact, value);
        more
    }

    /// All that is known, in order of the fact's id.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &str)> {
        self.0.iter().map(|(f, v)| (f.as_str(), v.as_str()))
    }

    /// Whether `when` holds here; `None` if an unknown fact could decide it.
    #[must_use]
    pub fn holds(&self, when: &When) -> Option<bool> {
        crate::knowledge::holds(when, &|fact| self.get(fact).map(str::to_owned))
    }
}

/// Base rates of the causes at a site.
#[derive(Debug, Clone, PartialEq)]
pub struct Rates {
    /// r(c), calls in a thousand.
    pub rate: Vec<f64>,
    /// Share of such sites on which the cause can occur at all, 0 to 1.
    pub applicable: Vec<f64>,
}

impl Model {
    /// r(c) = `Σ_v` P(v) r(c|v) over the values of every unknown fact, cause by cause.
    ///
    /// Facts are independent of each other, so the sum factorises: one factor a fact that the cause names.
    #[must_use]
    pub fn rates(&self, knowledge: &Knowledge, site: &SiteFacts) -> Rates {
        let mut rates = Rates {
            rate: Vec::new(),
            applicable: Vec::new(),
        };
        for cause in knowledge.causes.values() {
            let (rate, applicable) = cause_rate(knowledge, cause, site);
            rates.rate.push(rate);
            rates.applicable.push(applicable);
        }
        rates
    }

    /// Whether a fact changes the rate of that cause.
    #[must_use]
    pub fn fact_bears_on(&self, knowledge: &Knowledge, fact: &str, cause: CauseId) -> bool {
        let cause = &knowledge.causes[cause.index()];
        cause.when.contains_key(fact) || cause.times.contains_key(fact)
    }
}

/// What one fact does to a cause: the multiplier of its rate, and the chance that it can occur at all. With the value unknown, both are means over
/// the shares of the values.
pub(crate) fn site_factor(knowledge: &Knowledge, cause: &Cause, fact: &str, value: Option<&str>) -> (f64, f64) {
    let allowed = |value: &str| {
        cause
            .when
            .get(fact)
            .is_none_or(|values| values.iter().any(|v| v == value))
    };
    let times = |value: &str| cause.times.get(fact).and_then(|t| t.get(value)).copied().unwrap_or(1.0);
    if let Some(value) = value {
        let can = f64::from(u8::from(allowed(value)));
        (can * times(value), can)
    } else if let Some(entry) = knowledge.facts.get(fact) {
        let shares = entry.values.iter().filter(|(value, _)| allowed(value));
        let applicable = shares.clone().map(|(_, v)| v.share).sum();
        (shares.map(|(value, v)| v.share * times(value)).sum(), applicable)
    } else {
        (1.0, 1.0)
    }
}

/// The facts that a cause names.
pub(crate) fn facts_of(cause: &Cause) -> Vec<&String> {
    let mut facts: Vec<&String> = cause.when.keys().chain(cause.times.keys()).collect();
    facts.sort();
    facts.dedup();
    facts
}

fn cause_rate(knowledge: &Knowledge, cause: &Cause, site: &SiteFacts) -> (f64, f64) {
    let (mut rate, mut applicable) = (cause.rate, 1.0);
    for fact in facts_of(cause) {
        let (times, can) = site_factor(knowledge, cause, fact, site.get(fact));
        rate *= times;
        applicable *= can;
    }
    (rate, applicable)
}
