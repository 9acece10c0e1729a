//! Numbers in their ranges.

use super::{Entry, Found, steps};
use crate::finding::Code;
use crate::knowledge::schema::{Settings, ShowsWhen};

pub(super) fn check(found: &mut Found<'_>) {
    let k = found.knowledge;
    settings(found, &k.settings);
    for step in steps(k) {
        minutes(found, step.entry, &["minutes"], step.minutes);
    }
    for (id, fact) in &k.facts {
        minutes(found, ("facts", id), &["minutes"], fact.minutes);
        if let Some(number) = &fact.number {
            range(found, ("facts", id), &["number", "range"], number.range);
        }
    }
    for (id, place) in &k.places {
        minutes(found, ("places", id), &["walk"], place.walk);
    }
    for (id, cover) in &k.covers {
        minutes(found, ("covers", id), &["minutes"], cover.minutes);
    }
    for (id, condition) in &k.conditions {
        minutes(found, ("conditions", id), &["minutes"], condition.minutes);
    }
    for (id, test) in &k.tests {
        let entry = ("tests", id.as_str());
        if let Some(reliability) = test.reliability {
            share(found, entry, &["reliability"], reliability);
        }
        for (reading, spec) in &test.readings {
            if let Some(limits) = spec.range {
                range(found, entry, &["readings", reading, "range"], limits);
            }
            if let Some(problem) = spec.meter.and_then(|m| m.problem()) {
                let message = format!("the meter of `{reading}` can't be used");
                found.at(
                    Code::BadNumber,
                    entry,
                    &["readings", reading, "meter"],
                    message,
                    problem,
                );
            }
        }
    }
    for (id, cause) in &k.causes {
        let entry = ("causes", id.as_str());
        positive(found, entry, &["rate"], cause.rate, "a rate");
        for (fact, factors) in &cause.times {
            for (value, factor) in factors {
                positive(found, entry, &["times", fact, value], *factor, "a multiplier");
            }
        }
        if let Some(when) = &cause.shows_when {
            shows_when(found, entry, when);
        }
    }
    for (id, repair) in &k.repairs {
        for (i, part) in repair.parts.iter().enumerate() {
            let rest = ["parts", &i.to_string(), "price"];
            positive(found, ("repairs", id), &rest, part.price, "a price");
        }
    }
}

fn shows_when(found: &mut Found<'_>, entry: Entry<'_>, when: &ShowsWhen) {
    share(found, entry, &["shows-when", "share"], when.share);
    share(found, entry, &["shows-when", "otherwise"], when.otherwise);
    if let Some(traces) = when.traces {
        share(found, entry, &["shows-when", "traces"], traces);
    }
}

fn minutes(found: &mut Found<'_>, entry: Entry<'_>, rest: &[&str], value: f64) {
    positive(found, entry, rest, value, "minutes");
}

fn positive(found: &mut Found<'_>, entry: Entry<'_>, rest: &[&str], value: f64, what: &str) {
    if !(value.is_finite() && value >= 0.0) {
        let message = format!("{value} is no number for {what}");
        found.at(Code::BadNumber, entry, rest, message, "write a number from 0 up");
    }
}

fn share(found: &mut Found<'_>, entry: Entry<'_>, rest: &[&str], value: f64) {
    if !(0.0..=1.0).contains(&value) {
        let message = format!("{value} is not a chance");
        found.at(Code::BadNumber, entry, rest, message, "write a number from 0 to 1");
    }
}

fn range(found: &mut Found<'_>, entry: Entry<'_>, rest: &[&str], [low, high]: [f64; 2]) {
    if !(low.is_finite() && high.is_finite() && low < high) {
        let message = format!("nothing lies between {low} and {high}");
        let help = "write the lowest believable value first, then the highest";
        found.at(Code::BadNumber, entry, rest, message, help);
    }
}

fn settings(found: &mut Found<'_>, s: &Settings) {
    let chances = [
        ("not-listed", s.not_listed, 1.0),
        ("nothing-wrong", s.nothing_wrong, 1.0),
        ("leak", s.leak, 1.0),
        ("caller-reliability", s.caller_reliability, 1.0 + f64::EPSILON),
        ("not-listed-present", s.not_listed_present, 1.0 + f64::EPSILON),
    ];
    for (field, value, below) in chances {
        if !(value >= 0.0 && value < below) {
            let help = "write a number from 0 up and below 1";
            setting(found, &[field], format!("{value} is no number for `{field}`"), help);
        }
    }
    if s.not_listed + s.nothing_wrong >= 1.0 {
        let message = "`not-listed` and `nothing-wrong` leave nothing for the causes".to_owned();
        setting(found, &["not-listed"], message, "together they must be below 1");
    }
    let amounts = [
        ("unrelated-pairs", s.unrelated_pairs, true),
        ("refer-minutes", s.refer_minutes, true),
        ("callback-minutes", s.callback_minutes, true),
        ("labour-per-hour", s.labour_per_hour, false),
        ("proof-minutes", s.proof_minutes, true),
    ];
    // Where nobody sets it, a callback costs what referring does.
    let callback_set = s.callback_minutes.to_bits() != s.refer_minutes.to_bits();
    for (field, value, zero_allowed) in amounts
        .into_iter()
        .filter(|a| callback_set || a.0 != "callback-minutes")
    {
        if !(value.is_finite() && (value > 0.0 || (zero_allowed && value >= 0.0))) {
            let help = if zero_allowed {
                "write a number from 0 up"
            } else {
                "write a number above 0"
            };
            setting(found, &[field], format!("{value} is no number for `{field}`"), help);
        }
    }
    for (field, value) in [
        ("kill", s.stop_at.kill),
        ("maim", s.stop_at.maim),
        ("hurt", s.stop_at.hurt),
    ] {
        if !(value > 0.0 && value <= 1.0) {
            let message = format!("{value} is no threshold");
            setting(found, &["stop-at", field], message, "write a chance above 0, 1 at most");
        }
    }
}

fn setting(found: &mut Found<'_>, rest: &[&str], message: String, help: &str) {
    let path: Vec<&str> = ["pack", "settings"].iter().chain(rest).copied().collect();
    let location = found.top_level(&path);
    found.located(Code::BadNumber, location, message, help);
}
