//! Entries that can do nothing: a test that tells nothing, a cause that nothing tells, a repair of nothing.

use std::collections::{BTreeMap, BTreeSet};

use super::{Found, chances, steps};
use crate::finding::Code;
use crate::knowledge::schema::{Cause, Repair, Touch, Who};

/// A cause whose outcomes are nearer to healthy than this on every test can't be told from health.
const TELLS: f64 = 0.02;

pub(super) fn check(found: &mut Found<'_>) {
    tests(found);
    let k = found.knowledge;
    for (id, cause) in &k.causes {
        of_cause(found, id, cause);
    }
    for id in k.symptoms.keys() {
        if !k
            .causes
            .values()
            .any(|c| c.symptoms.get(id).is_some_and(|f| f.chance > 0.0))
        {
            let message = format!("no cause makes `{id}`");
            let help = "name it under `symptoms:` of the causes that make it, or take it out";
            found.at(Code::UnreachableSymptom, ("symptoms", id), &[], message, help);
        }
    }
    for (id, repair) in &k.repairs {
        of_repair(found, id, repair);
    }
    quantities(found);
}

fn tests(found: &mut Found<'_>) {
    let k = found.knowledge;
    let mut used: BTreeSet<&str> = k
        .causes
        .values()
        .flat_map(|c| c.shows.keys())
        .map(String::as_str)
        .collect();
    used.extend(steps(k).iter().flat_map(|s| s.after).map(String::as_str));
    for (id, test) in &k.tests {
        if !used.contains(id.as_str()) {
            let message = format!("no cause shows anything on `{id}`, and nothing waits for it");
            let help = "name it under `shows:` of the causes it bears on, or take it out";
            found.at(Code::UnusedTest, ("tests", id), &[], message, help);
        }
        if test.who == Who::Anyone && test.caller.as_ref().is_none_or(|words| words.trim().is_empty()) {
            let message = format!("anyone may do `{id}`, but there are no words to read out");
            let help = "add `caller:` with the question in a caller's words, and where to stand";
            found.at(Code::NoCallerWords, ("tests", id), &["who"], message, help);
        }
    }
}

fn of_cause(found: &mut Found<'_>, id: &str, cause: &Cause) {
    let k = found.knowledge;
    let entry = ("causes", id);
    let tells = |(test, shows)| {
        let test = k.tests.get::<String>(test);
        test.is_none_or(|test| chances::distance(test, shows).is_none_or(|d| d > TELLS))
    };
    if !cause.shows.iter().any(tells) {
        let message = format!("no test tells `{id}` from a gate with nothing wrong");
        let help = "say under `shows:` what some test would show, or write a test for it";
        found.at(Code::UntestedCause, entry, &["shows"], message, help);
    }
    let cured = |r: &Repair| r.cures.get(id).is_some_and(|f| f.chance > 0.0);
    if !k.repairs.values().any(cured) {
        let message = format!("no repair cures `{id}`: it can only be referred");
        let help = "add a `repair:` block, or name it under `cures:` of a repair; leave it so if it must be referred";
        found.at(Code::NoRepair, entry, &[], message, help);
    }
    let brought_on = || k.causes.values().any(|c| c.brings_on.contains_key(id));
    if cause.symptoms.values().all(|f| f.chance <= 0.0) && !brought_on() {
        let message = format!("`{id}` makes no symptom and nothing brings it on: it is never found");
        let help = "name what callers report of it under `symptoms:`, or what brings it on";
        found.at(Code::SilentCause, entry, &["symptoms"], message, help);
    }
}

fn of_repair(found: &mut Found<'_>, id: &str, repair: &Repair) {
    let entry = ("repairs", id);
    if repair.cures.values().all(|f| f.chance <= 0.0) {
        let message = format!("`{id}` cures nothing");
        let help = "name causes under `cures:`, or take it out";
        found.at(Code::CuresNothing, entry, &[], message, help);
    }
    if repair.after.is_empty() && is_dear_replacement(repair) {
        let message = format!("`{id}` replaces a dear part before anything is proven");
        let help = "name under `after:` the tests that must be answered first";
        found.at(Code::Unguarded, entry, &["title"], message, help);
    }
}

/// A new board, motor, operator or receiver: dear, and most often replaced without need.
fn is_dear_replacement(repair: &Repair) -> bool {
    let title = repair.title.to_lowercase();
    let replaces = ["replace ", "change the ", "fit a new "]
        .iter()
        .any(|start| title.starts_with(start));
    let dear = ["board", "motor", "receiver", "operator"]
        .iter()
        .any(|part| title.contains(part));
    replaces && (dear || repair.touches.contains(&Touch::Board))
}

/// Answers of one quantity replace each other, so a cause must show on all its tests or on none.
fn quantities(found: &mut Found<'_>) {
    let k = found.knowledge;
    let mut groups: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for (id, test) in &k.tests {
        groups
            .entry(test.quantity.as_deref().unwrap_or(id))
            .or_default()
            .push(id);
    }
    for (quantity, tests) in &groups {
        if let [only] = tests.as_slice()
            && only != quantity
        {
            let others = groups.keys().copied().filter(|q| q != quantity);
            let help = super::nearest(quantity, others).map_or_else(
                || "take `quantity:` out, or give it to the other test that asks for the same".to_owned(),
                |near| format!("did you mean `{near}`?"),
            );
            let message = format!("no other test has the quantity `{quantity}`");
            found.at(Code::SplitQuantity, ("tests", only), &["quantity"], message, help);
        }
        for shown in tests {
            for hidden in tests.iter().filter(|hidden| *hidden != shown) {
                half_shown(found, quantity, shown, hidden);
            }
        }
    }
}

fn half_shown(found: &mut Found<'_>, quantity: &str, shown: &str, hidden: &str) {
    let causes = found.knowledge.causes.iter();
    let half: Vec<&str> = causes
        .filter(|(_, c)| c.shows.contains_key(shown) && !c.shows.contains_key(hidden))
        .map(|(id, _)| id.as_str())
        .collect();
    let names = match half.as_slice() {
        [] => return,
        [one] => format!("`{one}` shows"),
        few if few.len() <= 3 => format!("`{}` show", few.join("`, `")),
        many => format!("`{}` and {} more show", many[..2].join("`, `"), many.len() - 2),
    };
    let message = format!("{names} on `{shown}` but not on `{hidden}`, and both ask for `{quantity}`");
    let help = format!(
        "answers of one quantity replace each other: say in the causes what `{hidden}` shows too, or give it a quantity of its own"
    );
    found.at(Code::SplitQuantity, ("tests", hidden), &["quantity"], message, help);
}
