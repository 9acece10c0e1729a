//! Every id that an entry names must be the id of an entry.

use super::{Entry, Found, steps, suggestion};
use crate::finding::Code;
use crate::knowledge::schema::{Cause, Condition, Test, When};

pub(super) fn check(found: &mut Found<'_>) {
    let k = found.knowledge;
    for step in steps(k) {
        named(found, step.entry, &["place"], "places", step.place);
        named(found, step.entry, &["inside"], "covers", step.inside);
        for (i, test) in step.after.iter().enumerate() {
            named(found, step.entry, &["after", &i.to_string()], "tests", Some(test));
        }
        for (i, cause) in step.not_with.iter().enumerate() {
            named(found, step.entry, &["not-with", &i.to_string()], "causes", Some(cause));
        }
        when(found, step.entry, step.when);
    }
    for (id, test) in &k.tests {
        outcomes(found, id, test);
        named(found, ("tests", id), &["unplugs"], "facts", test.unplugs.as_deref());
    }
    for (id, repair) in &k.repairs {
        for cause in repair.cures.keys() {
            named_key(found, ("repairs", id), &["cures", cause], "causes", cause);
        }
    }
    for (id, cause) in &k.causes {
        of_cause(found, id, cause);
    }
    for (id, cover) in &k.covers {
        named(found, ("covers", id), &["place"], "places", cover.place.as_deref());
        named(found, ("covers", id), &["inside"], "covers", cover.inside.as_deref());
    }
    for (id, standing) in &k.standing {
        for (i, place) in standing.places.iter().enumerate() {
            named(
                found,
                ("standing", id),
                &["places", &i.to_string()],
                "places",
                Some(place),
            );
        }
    }
    for (id, line) in &k.retest {
        when(found, ("retest", id), &line.when);
    }
    for (id, piece) in &k.kit {
        when(found, ("kit", id), &piece.when);
    }
    for (id, group) in &k.ambiguity {
        for (i, cause) in group.causes.iter().enumerate() {
            named(
                found,
                ("ambiguity", id),
                &["causes", &i.to_string()],
                "causes",
                Some(cause),
            );
        }
    }
    for (id, shortcut) in &k.shortcuts {
        let entry = ("shortcuts", id.as_str());
        for (field, section, ids) in [
            ("symptoms", "symptoms", &shortcut.symptoms),
            ("hides", "symptoms", &shortcut.hides),
            ("at-retest", "retest", &shortcut.at_retest),
            ("fails", "retest", &shortcut.fails),
        ] {
            for (i, named_id) in ids.iter().enumerate() {
                named(found, entry, &[field, &i.to_string()], section, Some(named_id));
            }
        }
        when(found, entry, &shortcut.when);
    }
    for id in k.conditions.keys() {
        let known = Condition::ALL.iter().map(|c| c.id());
        if !known.clone().any(|c| c == id) {
            let help = suggestion(id, known, "condition");
            let message = format!("there is no condition `{id}`");
            found.at_key(Code::UnknownId, ("conditions", id), &[], message, help);
        }
    }
}

/// One id at one place.
fn named(found: &mut Found<'_>, entry: Entry<'_>, rest: &[&str], section: &'static str, id: Option<&str>) {
    if let Some((message, help)) = id.and_then(|id| unknown(found, section, id)) {
        found.at(Code::UnknownId, entry, rest, message, help);
    }
}

/// One id that is a key.
fn named_key(found: &mut Found<'_>, entry: Entry<'_>, rest: &[&str], section: &'static str, id: &str) {
    if let Some((message, help)) = unknown(found, section, id) {
        found.at_key(Code::UnknownId, entry, rest, message, help);
    }
}

/// What is wrong with an id, and what to do, if no entry has it.
fn unknown(found: &Found<'_>, section: &'static str, id: &str) -> Option<(String, String)> {
    if found.has(section, id) {
        return None;
    }
    let kind = section.trim_end_matches('s');
    let help = suggestion(id, found.ids(section).into_iter(), kind);
    Some((format!("there is no {kind} `{id}`"), help))
}

/// Facts and values of a `when`.
fn when(found: &mut Found<'_>, entry: Entry<'_>, when: &When) {
    for (fact, values) in when {
        named_key(found, entry, &["when", fact], "facts", fact);
        if values.is_empty() {
            let message = format!("no value of `{fact}` is named, so this never applies");
            let help = "name the values under which it applies, or take the fact out";
            found.at(Code::BadEntry, entry, &["when", fact], message, help);
        }
        for (i, value) in values.iter().enumerate() {
            let place = ["when", fact, &i.to_string()];
            if let Some((message, help)) = unknown_value(found, fact, value) {
                found.at(Code::UnknownId, entry, &place, message, help);
            }
        }
    }
}

/// What is wrong with a fact's value, and what to do, if the fact does not have it.
fn unknown_value(found: &Found<'_>, fact: &str, value: &str) -> Option<(String, String)> {
    let known = &found.knowledge.facts.get(fact)?.values;
    if known.contains_key(value) {
        return None;
    }
    Some(if known.is_empty() {
        (
            format!("`{fact}` is a number, and only a fact with values can decide this"),
            "use the number in a formula, or make a fact with values of it".to_owned(),
        )
    } else {
        (
            format!("`{fact}` has no value `{value}`"),
            suggestion(value, known.keys().map(String::as_str), "value"),
        )
    })
}

/// `normal` and `ol` name outcomes.
fn outcomes(found: &mut Found<'_>, id: &str, test: &Test) {
    let known = || test.bands.keys().chain(test.outcomes.keys()).map(String::as_str);
    for (i, outcome) in test.normal.iter().enumerate() {
        if !known().any(|o| o == outcome) {
            let message = format!("`{id}` has no outcome `{outcome}`");
            let help = suggestion(outcome, known(), "outcome");
            let rest = ["normal", &i.to_string()];
            found.at(Code::UnknownId, ("tests", id), &rest, message, help);
        }
    }
    for (reading, spec) in &test.readings {
        let Some(ol) = spec.ol.as_ref().filter(|ol| !test.bands.contains_key(*ol)) else {
            continue;
        };
        let message = format!("OL is to mean `{ol}`, but `{id}` has no such band");
        let help = suggestion(ol, test.bands.keys().map(String::as_str), "band");
        found.at(
            Code::UnknownId,
            ("tests", id),
            &["readings", reading, "ol"],
            message,
            help,
        );
    }
}

fn of_cause(found: &mut Found<'_>, id: &str, cause: &Cause) {
    let entry = ("causes", id);
    for symptom in cause.symptoms.keys() {
        named_key(found, entry, &["symptoms", symptom], "symptoms", symptom);
    }
    for test in cause.shows.keys() {
        named_key(found, entry, &["shows", test], "tests", test);
    }
    for (field, others) in [
        ("brings-on", cause.brings_on.keys().collect::<Vec<_>>()),
        ("confused-with", cause.confused_with.keys().collect()),
    ] {
        for other in others {
            named_key(found, entry, &[field, other], "causes", other);
            if other == id {
                let message = format!("`{id}` names itself in `{field}`");
                found.at_key(Code::BadEntry, entry, &[field, other], message, "name another cause");
            }
        }
    }
    for (i, line) in cause.fails.iter().enumerate() {
        named(found, entry, &["fails", &i.to_string()], "retest", Some(line));
    }
    when(found, entry, &cause.when);
    for (fact, factors) in &cause.times {
        named_key(found, entry, &["times", fact], "facts", fact);
        for value in factors.keys() {
            if let Some((message, help)) = unknown_value(found, fact, value) {
                found.at_key(Code::UnknownId, entry, &["times", fact, value], message, help);
            }
        }
    }
}
