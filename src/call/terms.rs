//! What somebody's own settings change in a call: recorded with it, so that it says the same when it is read again.

use std::collections::BTreeSet;

use serde::{Deserialize, Serialize};

use super::event::{Entry, Event};
use crate::knowledge::Knowledge;
use crate::quantity::Meters;

/// Labour rate, meters and tools of whoever took the call. What is not set is the knowledge's own.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", default)]
pub struct Terms {
    /// Turns the price of parts into minutes; currency per hour.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub labour_per_hour: Option<f64>,
    /// Accuracy of the meters in hand, where a test does not ask for one.
    #[serde(skip_serializing_if = "Meters::is_usual")]
    pub meters: Meters,
    /// Tools in the truck, and what tests call them; empty: whatever is asked for is there.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub carries: Vec<String>,
}

impl Terms {
    /// Nothing is set.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// The terms in force after these entries: the last ones that were not taken back.
    #[must_use]
    pub fn of(entries: &[Entry]) -> Self {
        let taken_back: BTreeSet<usize> = entries
            .iter()
            .filter_map(|e| match e.event {
                Event::Retracted { entry } => Some(entry),
                _ => None,
            })
            .collect();
        let last = entries.iter().enumerate().rev().find_map(|(i, e)| match &e.event {
            Event::Terms(terms) if !taken_back.contains(&i) => Some(terms.clone()),
            _ => None,
        });
        last.unwrap_or_default()
    }
}

impl Terms {
    /// Tools in the truck beside the kit, by the names that tests call them; none where nobody said what is in it.
    #[must_use]
    pub fn tools_at_hand(&self, knowledge: &Knowledge) -> BTreeSet<String> {
        let here = |tool: &&str| !self.carries.is_empty() && carried(&self.carries, tool);
        let asked = tools_asked_for(knowledge).into_iter();
        asked.filter(here).map(str::to_owned).collect()
    }
}

/// Words that say nothing about which tool it is.
const FILLING: [&str; 6] = ["a", "an", "the", "of", "with", "and"];

fn words(tool: &str) -> BTreeSet<String> {
    tool.to_lowercase()
        .split(|c: char| !c.is_alphanumeric() && c != '.')
        .filter(|w| !w.is_empty() && !FILLING.contains(w))
        .map(str::to_owned)
        .collect()
}

/// Whether one of the carried tools is the one that is asked for: it has every word of its name. A *multimeter with minimum hold* is
/// a *multimeter*, a *measuring rule* is a *rule*, but not the other way round. Nothing carried: everything is.
///
/// ```
/// use pintle::call::carried;
/// let truck = ["Measuring rule".to_owned(), "multimeter CAT III".to_owned()];
/// assert!(carried(&truck, "rule") && carried(&truck, "multimeter"));
/// assert!(!carried(&truck, "multimeter with minimum hold") && carried(&[], "torch"));
/// ```
#[must_use]
pub fn carried(carries: &[String], tool: &str) -> bool {
    let asked = words(tool);
    carries.is_empty() || carries.iter().any(|own| asked.is_subset(&words(own)))
}

/// Every tool that a test or a repair of this knowledge asks for.
#[must_use]
pub fn tools_asked_for(knowledge: &Knowledge) -> BTreeSet<&str> {
    knowledge.tools().map(String::as_str).collect()
}

/// Whether the kit has a tool.
fn in_kit(knowledge: &Knowledge, tool: &str) -> bool {
    knowledge
        .kit
        .values()
        .any(|piece| piece.covers.iter().any(|c| c == tool))
}

/// Those of them that are not carried; the kit of the knowledge always is.
#[must_use]
pub fn not_carried(knowledge: &Knowledge, carries: &[String]) -> BTreeSet<String> {
    if carries.is_empty() {
        // Nobody said what is in the truck: every call that is read comes by here.
        return BTreeSet::new();
    }
    let missing = tools_asked_for(knowledge)
        .into_iter()
        .filter(|tool| !carried(carries, tool) && !in_kit(knowledge, tool));
    missing.map(str::to_owned).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_special_tool_is_a_general_one_but_not_the_other_way_round() {
        let truck = vec!["multimeter with a 10 A jack".to_owned()];
        assert!(carried(&truck, "multimeter"));
        assert!(carried(&truck, "Multimeter, 10 A jack"));
        assert!(!carried(&truck, "multimeter with low-impedance mode"));
        assert!(!carried(&truck, "torch"));
    }

    #[test]
    fn the_last_terms_that_stand_count() {
        let terms = |rate: f64| Terms {
            labour_per_hour: Some(rate),
            ..Terms::default()
        };
        let entry = |event| Entry {
            time: "2026-01-01T00:00:00Z".to_owned(),
            event,
        };
        let mut entries = vec![entry(Event::Terms(terms(100.0))), entry(Event::Terms(terms(150.0)))];
        assert_eq!(Terms::of(&entries), terms(150.0));
        entries.push(entry(Event::Retracted { entry: 1 }));
        assert_eq!(Terms::of(&entries), terms(100.0));
        assert!(Terms::of(&[]).is_empty());
    }

    #[test]
    fn terms_are_written_without_what_is_not_set() {
        let line = serde_json::to_string(&Event::Terms(Terms {
            carries: vec!["torch".to_owned()],
            ..Terms::default()
        }));
        let line = line.expect("json");
        assert_eq!(line, r#"{"event":"terms","carries":["torch"]}"#);
        let read: Event = serde_json::from_str(&line).expect("reads back");
        assert!(matches!(read, Event::Terms(t) if t.carries == ["torch"]));
    }
}
