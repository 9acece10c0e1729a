//! What a site file holds.

use indexmap::IndexMap;
use serde::{Deserialize, Deserializer, Serialize};

/// One site. Everything but the name may be left out; fields are written in this order.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct SiteFile {
    /// What the site is called, as in `--site`.
    pub name: String,
    /// The day on which facts were last written: `2026-03-02`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub updated: Option<String>,
    /// Facts of the knowledge, by id: a value's id, or a number with its unit.
    #[serde(default, skip_serializing_if = "IndexMap::is_empty")]
    pub facts: IndexMap<String, Typed>,
    /// What the operator's label says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub operator: Option<String>,
    /// What the board's label says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub board: Option<String>,
    /// Limits of the manual.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub limits: Vec<Limit>,
    /// Battery sets, one a supply.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub batteries: Vec<Battery>,
    /// Loops in the ground.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub loops: Vec<Loop>,
    /// Photo eyes: where, of what kind.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub eyes: Vec<String>,
    /// Contact edges: where, of what kind.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub edges: Vec<String>,
    /// What protects each place at which a body can be caught.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub protection: Vec<Protection>,
    /// How emergency services get in: the way, never the code.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub emergency_access: Option<String>,
    /// Anything else.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub remarks: Vec<String>,
    /// What was read when the gate was well.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub baselines: Vec<Kept>,
}

/// A limit out of the manual.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Limit {
    /// Of what: `leaf weight`.
    pub what: String,
    /// The number with its unit: `250 kg`.
    pub value: Typed,
    /// Page of the manual.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub page: Option<Typed>,
}

/// A battery set.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Battery {
    /// Volts of the whole set, all blocks together: `24 V`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub volts: Option<Typed>,
    /// Capacity in ampere hours.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ah: Option<Typed>,
    /// Value of the knowledge's fact about chemistry: `lead-acid`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub chemistry: Option<String>,
    /// Date on the case, a day or a month: `2024-05`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub date: Option<String>,
}

/// A loop in the ground.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Loop {
    /// What it is called here; baselines name it in `of`.
    pub name: String,
    /// What it is for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub purpose: Option<String>,
}

/// A way of travel.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[expect(missing_docs, reason = "the words say what they are")]
pub enum Travel {
    Closing,
    Opening,
}

/// What protects a place.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Protection {
    /// Which way the gate travels.
    pub travel: Travel,
    /// Where a body can be caught.
    pub place: String,
    /// What protects it.
    pub by: String,
}

/// A reading that was taken when the gate was well.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Kept {
    /// Test of the knowledge.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub test: Option<String>,
    /// Reading of that test.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reading: Option<String>,
    /// In place of test and reading: what was read, in words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub what: Option<String>,
    /// Which of several: a way of travel, a loop, a leaf.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub of: Option<String>,
    /// As typed, with its unit.
    pub value: Typed,
    /// The day.
    pub date: String,
    /// The meter it was read with.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub meter: Option<String>,
    /// The call it comes from.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub call: Option<String>,
}

impl Kept {
    /// Whether it is about the same thing as another: the newer one takes its place.
    #[must_use]
    pub fn same_thing(&self, other: &Self) -> bool {
        (&self.test, &self.reading, &self.what, &self.of) == (&other.test, &other.reading, &other.what, &other.of)
    }
}

/// A text, or a bare number as a person writes it without quotes.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct Typed(pub String);

impl<'de> Deserialize<'de> for Typed {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Visitor;
        impl serde::de::Visitor<'_> for Visitor {
            type Value = Typed;
            fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str("a number with its unit, or a word")
            }
            fn visit_str<E>(self, text: &str) -> Result<Typed, E> {
                Ok(Typed(text.to_owned()))
            }
            fn visit_u64<E>(self, n: u64) -> Result<Typed, E> {
                Ok(Typed(n.to_string()))
            }
            fn visit_i64<E>(self, n: i64) -> Result<Typed, E> {
                Ok(Typed(n.to_string()))
            }
            fn visit_f64<E>(self, n: f64) -> Result<Typed, E> {
                Ok(Typed(n.to_string()))
            }
            fn visit_bool<E>(self, yes: bool) -> Result<Typed, E> {
                Ok(Typed(if yes { "yes" } else { "no" }.to_owned()))
            }
        }
        deserializer.deserialize_any(Visitor)
    }
}

/// A day, `2024-05-01`, or a month, `2024-05`, as the day it begins with.
#[must_use]
pub fn day(text: &str) -> Option<jiff::civil::Date> {
    let text = text.trim();
    let whole = if text.len() == 7 {
        format!("{text}-01")
    } else {
        text.to_owned()
    };
    let plain = whole.len() == 10 && whole.chars().all(|c| c.is_ascii_digit() || c == '-');
    whole.parse().ok().filter(|_| plain)
}
