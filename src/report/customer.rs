//! The page for the owner, in plain words: made from the record alone, so that it can't say more than the record does.
//!
//! Only a call that ended as *fixed*, and whose journal bears that out, may read as if the gate could be used.

use serde::Serialize;

use super::record::{RetestLine, RetestResult, ServiceRecord};
use crate::knowledge::schema::Ending;

/// So many suspects are named where the cause is not settled.
const SUSPECTS: usize = 3;

/// What the page says, as plain data.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is one thing that the page says or does not say"
)]
pub(super) struct CustomerPage {
    /// The biggest words.
    headline: &'static str,
    /// What they mean.
    means: Vec<String>,
    out_of_use: bool,
    fixed: bool,
    /// Why it is out of use.
    reasons: Vec<String>,
    /// Has to be done, or is allowed, now.
    now: Vec<&'static str>,
    /// Must not be done.
    never: Vec<&'static str>,
    next: Vec<String>,
    /// A line for what the technician says about using it until then.
    until_then: bool,
    told: Vec<String>,
    found: Vec<String>,
    done: Vec<String>,
    passed: Vec<String>,
    not_passed: Vec<(String, String)>,
    /// No line of the retest has a result.
    nothing_tested: bool,
    left_as: Vec<String>,
}

impl CustomerPage {
    /// The page of a record.
    pub(super) fn of(record: &ServiceRecord) -> Self {
        let ending = &record.ending;
        let (fixed, out_of_use) = (ending.fixed(), ending.out_of_use);
        let tested = |l: &&RetestLine| l.result == RetestResult::Passed;
        let nothing_tested = record
            .retest
            .iter()
            .all(|l| l.result == RetestResult::NotDone && l.remark.is_empty());
        let not_passed = record.retest.iter().filter(|l| !tested(l) && !nothing_tested);
        Self {
            headline: headline(record),
            means: means(record),
            out_of_use,
            fixed,
            reasons: reasons(record),
            now: now(fixed, out_of_use).to_vec(),
            never: never(record).to_vec(),
            next: next(record),
            until_then: !fixed && !out_of_use && ending.kind != Some(Ending::DeficiencyRefused),
            told: record.complaint.symptoms.clone(),
            found: found(record),
            done: done(record),
            passed: record.retest.iter().filter(tested).map(|l| l.plain.clone()).collect(),
            not_passed: not_passed.map(not_passed_line).collect(),
            nothing_tested,
            left_as: if fixed { Vec::new() } else { record.left_as.clone() },
        }
    }
}

fn headline(record: &ServiceRecord) -> &'static str {
    let ending = &record.ending;
    match ending.kind {
        _ if ending.out_of_use => "OUT OF USE",
        _ if ending.fixed() => "Repaired and tested",
        Some(Ending::Explained) if ending.borne_out => "It works as it is set",
        Some(Ending::NoFaultFound) if ending.borne_out => "No fault found",
        Some(Ending::Fixed | Ending::Explained | Ending::NoFaultFound | Ending::OutOfUse) => "Not shown to be safe",
        Some(Ending::Waiting) => "Not finished",
        Some(Ending::Referred) => "Not finished: somebody else is needed",
        Some(Ending::DeficiencyRefused) => "Not put right",
        Some(Ending::Withdrawn) => "Stopped before the end",
        None => "Still being worked on",
    }
}

fn means(record: &ServiceRecord) -> Vec<String> {
    let ending = &record.ending;
    let not_safe = "This page does not say that the gate is safe.";
    let says: &[&str] = match ending.kind {
        _ if ending.out_of_use => &["Nobody may run this gate. It is not safe."],
        _ if ending.fixed() => {
            &["What you told us of is gone, and the gate passed every safety test that applies to it on that day."]
        }
        Some(Ending::Explained) if ending.borne_out => &[
            "Nothing was repaired or changed. We told you how it works.",
            "Its safety devices were not tested.",
            not_safe,
        ],
        Some(Ending::NoFaultFound) if ending.borne_out => &[
            "We found nothing wrong. That is no proof that nothing is wrong.",
            "Its safety devices were not tested.",
            not_safe,
        ],
        Some(Ending::DeficiencyRefused) => &[
            "Something is missing that protects people, and you do not want it put right.",
            "The gate should not be run.",
            not_safe,
        ],
        _ => &[not_safe],
    };
    says.iter().map(|s| (*s).to_owned()).collect()
}

/// Why it is out of use, each reason once.
fn reasons(record: &ServiceRecord) -> Vec<String> {
    if !record.ending.out_of_use {
        return Vec::new();
    }
    let mut reasons: Vec<String> = Vec::new();
    let lines = record
        .out_of_use
        .iter()
        .filter(|l| !l.text.starts_with("danger put right"));
    for reason in lines.flat_map(|l| &l.reasons).chain(&record.ending.reason) {
        // A hazard sign is a question.
        let reason = reason.replacen("yes or can't tell: ", "Yes, or nobody can tell: ", 1);
        if !reasons.contains(&reason) {
            reasons.push(reason);
        }
    }
    reasons
}

fn now(fixed: bool, out_of_use: bool) -> &'static [&'static str] {
    if out_of_use {
        &[
            "Keep people, children, animals and vehicles away from it.",
            "If you hold the app or the timetable of the gate: switch opening by app and timetable off.",
        ]
    } else if fixed {
        &[
            "You may use the gate again.",
            "It is for vehicles only. People on foot need a way of their own.",
            "If it does again what you told us of, or anything about it has changed: stop using it and call us.",
        ]
    } else {
        &[
            "Do not take the gate as safe. Keep people, above all children, out of its way.",
            "If it does anything that frightens you: everybody away from it, and call us.",
        ]
    }
}

fn never(record: &ServiceRecord) -> &'static [&'static str] {
    if record.ending.out_of_use {
        &[
            "Do not run it: not by remote, keypad, app, button, timetable or by driving up to it.",
            "Do not push, lift, prop or release it.",
            "Do not take off signs, chain or pin, and do not switch its power on again.",
        ]
    } else if record.ending.kind == Some(Ending::DeficiencyRefused) {
        &[
            "The gate should not be run as it is.",
            "Never unplug, cover or move a light beam or a safety strip.",
        ]
    } else {
        &[
            "Never unplug, cover or move a light beam or a safety strip: it is there for people.",
            "Never open covers or change settings yourself.",
        ]
    }
}

fn next(record: &ServiceRecord) -> Vec<String> {
    let ending = &record.ending;
    let mut next: Vec<String> = Vec::new();
    let says: &[&str] = match ending.kind {
        _ if ending.out_of_use && !ending.made_safe => &[
            "The gate is not yet made safe: a technician has to switch off every supply, hold the gate fast and put up signs.",
            "Then the danger is put right and every safety device is tested. You are told in writing when the gate may be used again.",
        ],
        _ if ending.out_of_use => &[
            "A technician puts the danger right and tests every safety device. You are told in writing when the gate may be used again.",
        ],
        Some(Ending::Waiting) => &["The work waits for parts or another visit. It ends with the safety tests."],
        Some(Ending::Referred) => &["Somebody else has to go on, as written below. It ends with the safety tests."],
        Some(Ending::NoFaultFound | Ending::Explained) if ending.borne_out => {
            &["If it comes again, write down the time, the weather, and who pressed what. Then call us."]
        }
        Some(Ending::DeficiencyRefused) => &["Tell us when it may be put right. It ends with the safety tests."],
        _ if ending.fixed() => &[],
        _ => &["The work is not at its end. It ends with the safety tests."],
    };
    next.extend(says.iter().map(|s| (*s).to_owned()));
    if !ending.out_of_use && !ending.fixed() {
        next.extend(ending.reason.iter().map(|r| format!("Reason written down: {r}")));
    }
    next.extend(
        record
            .still_to_give_back
            .iter()
            .map(|w| format!("Still to be set again: {w}")),
    );
    next
}

fn found(record: &ServiceRecord) -> Vec<String> {
    let names = |many: usize| {
        record
            .causes
            .iter()
            .take(many)
            .map(|c| format!("{} ({})", c.cause, c.words))
    };
    match (record.settled, record.causes.is_empty()) {
        (_, true) => vec!["No cause was found.".to_owned()],
        (true, false) => names(SUSPECTS).collect(),
        (false, false) => {
            let suspects: Vec<String> = names(SUSPECTS).collect();
            vec![format!("Not found for certain. Suspected: {}", suspects.join("; "))]
        }
    }
}

fn done(record: &ServiceRecord) -> Vec<String> {
    record
        .repairs
        .iter()
        .map(|r| {
            if r.explained {
                return format!("Nothing was changed. Told to you: {}", r.repair);
            }
            let gone = !r.proof.is_empty() && r.proof.iter().all(|p| p.text == "gone");
            let proof = if gone {
                "the gate was run afterwards, and what you told us of was gone"
            } else {
                "not shown to have helped"
            };
            format!("{}: {proof}", r.repair)
        })
        .collect()
}

fn not_passed_line(line: &RetestLine) -> (String, String) {
    let result = match line.result {
        RetestResult::NotPassed => "FAILED",
        _ => "not tested",
    };
    let remark = if line.remark.is_empty() {
        String::new()
    } else {
        format!(" ({})", line.remark)
    };
    (result.to_owned(), format!("{}{remark}", line.plain))
}
