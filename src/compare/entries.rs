//! What was written differently: entries by section and field, settings.

use indexmap::IndexMap;
use serde::Serialize;
use serde_yaml::Value;

use super::Side;
use crate::knowledge::load::entries;
use crate::knowledge::schema::Settings;

/// What happened to an entry.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// It is gone.
    Removed,
    /// Some fields differ.
    Changed,
    /// It is new.
    Added,
}

/// One entry that is not as it was.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct EntryChange {
    /// Section: "causes".
    pub section: String,
    /// Its id.
    pub id: String,
    /// What happened.
    pub kind: Kind,
    /// The fields, for a changed one.
    pub fields: Vec<FieldChange>,
}

/// One field that is not as it was.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct FieldChange {
    /// Way to it: "shows.rest-volts.low".
    pub field: String,
    /// As it was; nothing where it is new.
    pub before: Option<String>,
    /// As it is; nothing where it is gone.
    pub after: Option<String>,
}

/// Entries that differ after the packs of each side are laid over each other.
pub(super) fn changes(old: &Side, new: &Side) -> Vec<EntryChange> {
    let (before, after) = (entries(&old.packs), entries(&new.packs));
    let mut found = Vec::new();
    let empty = IndexMap::new();
    for section in keys(&before, &after) {
        let (old, new) = (
            before.get(section).unwrap_or(&empty),
            after.get(section).unwrap_or(&empty),
        );
        for id in keys(old, new) {
            let change = |kind, fields| EntryChange {
                section: section.clone(),
                id: id.clone(),
                kind,
                fields,
            };
            match (old.get(id), new.get(id)) {
                (Some(old), Some(new)) => {
                    let mut fields = Vec::new();
                    differ("", old, new, &mut fields);
                    found.extend((!fields.is_empty()).then(|| change(Kind::Changed, fields)));
                }
                (Some(_), None) => found.push(change(Kind::Removed, Vec::new())),
                (None, _) => found.push(change(Kind::Added, Vec::new())),
            }
        }
    }
    found
}

/// Keys of both, the first one's order first.
fn keys<'a, T>(old: &'a IndexMap<String, T>, new: &'a IndexMap<String, T>) -> Vec<&'a String> {
    let added = new.keys().filter(|k| !old.contains_key(*k));
    old.keys().chain(added).collect()
}

/// Maps are gone into, everything else is one value.
fn differ(path: &str, old: &Value, new: &Value, found: &mut Vec<FieldChange>) {
    if let (Value::Mapping(old), Value::Mapping(new)) = (old, new) {
        let below = |key: &Value| {
            let key = shown(key);
            if path.is_empty() { key } else { format!("{path}.{key}") }
        };
        for (key, value) in old {
            match new.get(key) {
                Some(other) => differ(&below(key), value, other, found),
                None => found.push(FieldChange {
                    field: below(key),
                    before: Some(shown(value)),
                    after: None,
                }),
            }
        }
        for (key, value) in new.iter().filter(|(key, _)| !old.contains_key(*key)) {
            found.push(FieldChange {
                field: below(key),
                before: None,
                after: Some(shown(value)),
            });
        }
    } else if old != new {
        found.push(FieldChange {
            field: path.to_owned(),
            before: Some(shown(old)),
            after: Some(shown(new)),
        });
    }
}

/// A value on one line, as an author could write it.
fn shown(value: &Value) -> String {
    match value {
        Value::Null => "nothing".to_owned(),
        Value::Bool(b) => if *b { "yes" } else { "no" }.to_owned(),
        Value::Number(n) => n.to_string(),
        Value::String(text) => text.split_whitespace().collect::<Vec<_>>().join(" "),
        Value::Sequence(items) => {
            let items: Vec<String> = items.iter().map(shown).collect();
            format!("[{}]", items.join(", "))
        }
        Value::Mapping(map) => {
            let items: Vec<String> = map.iter().map(|(k, v)| format!("{}: {}", shown(k), shown(v))).collect();
            format!("{{{}}}", items.join(", "))
        }
        Value::Tagged(tagged) => shown(&tagged.value),
    }
}

/// Settings in force that moved.
pub(super) fn settings(old: &Settings, new: &Settings) -> Vec<FieldChange> {
    named(old)
        .into_iter()
        .zip(named(new))
        .filter(|((_, before), (_, after))| before != after)
        .map(|((field, before), (_, after))| FieldChange {
            field: field.to_owned(),
            before: Some(before),
            after: Some(after),
        })
        .collect()
}

fn named(s: &Settings) -> Vec<(&'static str, String)> {
    vec![
        ("not-listed", s.not_listed.to_string()),
        ("nothing-wrong", s.nothing_wrong.to_string()),
        ("leak", s.leak.to_string()),
        ("pairs", if s.pairs { "yes" } else { "no" }.to_owned()),
        ("unrelated-pairs", s.unrelated_pairs.to_string()),
        ("refer-minutes", s.refer_minutes.to_string()),
        ("callback-minutes", s.callback_minutes.to_string()),
        ("caller-reliability", s.caller_reliability.to_string()),
        ("not-listed-present", s.not_listed_present.to_string()),
        ("labour-per-hour", s.labour_per_hour.to_string()),
        ("proof-minutes", s.proof_minutes.to_string()),
        ("stop-at.kill", s.stop_at.kill.to_string()),
        ("stop-at.maim", s.stop_at.maim.to_string()),
        ("stop-at.hurt", s.stop_at.hurt.to_string()),
    ]
}
