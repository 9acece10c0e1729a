//! What is left to do and what the owner has to read: read off the record, never advice of its own.

use super::record::{Labelled, Recommendation, RetestResult, ServiceRecord};
use crate::knowledge::schema::Ending;

/// What is left, most urgent first. A line stands here only because the call holds something unfinished.
pub(super) fn left_to_do(record: &ServiceRecord, device_off: Option<&str>) -> Vec<Recommendation> {
    let mut left = Vec::new();
    let mut add = |kind: &str, text: String| {
        left.push(Recommendation {
            kind: kind.to_owned(),
            text,
        });
    };
    if record.ending.out_of_use {
        let text = "nobody runs the gate until the danger is put right and every line of the safety retest is passed";
        add("out of use", text.to_owned());
        if !record.ending.made_safe {
            let text = "isolate every supply, secure the leaf, sign both sides, tell the owner in writing";
            add("not made safe", text.to_owned());
        }
    }
    if let Some(device) = device_off {
        add("protection device off", format!("put it back and test it: {device}"));
    }
    for line in &record.deficiencies {
        add("deficiency", format!("put right and retest: {}", labelled(line)));
    }
    if !retested(record) && record.repairs.iter().any(|r| !r.explained) {
        let text = "work was done on the gate and no line of the safety retest counts after it";
        add("safety retest not done", text.to_owned());
    }
    let proven = |text: &str| text == "gone";
    if let Some(last) = record.repairs.last()
        && !last.proof.iter().all(|p| proven(&p.text))
    {
        let open = last.proof.iter().filter(|p| !proven(&p.text)).map(labelled);
        add(
            "not proven",
            format!("{} - {}", last.repair, open.collect::<Vec<_>>().join("; ")),
        );
    }
    for done in record.repairs.iter().filter_map(|r| Some((r, r.noted.as_deref()?))) {
        if done.1.starts_with("NOT NOTED") {
            add("not noted", format!("settings before and after: {}", done.0.repair));
        }
    }
    for what in &record.still_to_give_back {
        add("still to be given back", what.clone());
    }
    for line in &record.not_checked {
        add("not checked", labelled(line));
    }
    for line in &record.not_tested {
        add("not tested", labelled(line));
    }
    left
}

/// What the owner has to be told in writing.
pub(super) fn told_in_writing(record: &ServiceRecord) -> Vec<String> {
    let mut told = Vec::new();
    if record.ending.out_of_use {
        told.push("This gate is out of use and not safe. Nobody runs it, by any control.".to_owned());
    }
    if record.ending.kind == Some(Ending::DeficiencyRefused) {
        told.push("A deficiency is not put right because the owner refuses it. The gate should not be run.".to_owned());
    }
    told.extend(
        record
            .deficiencies
            .iter()
            .map(|d| format!("Deficiency: {}", labelled(d))),
    );
    told
}

/// Whether any line of the retest has a result that counts.
fn retested(record: &ServiceRecord) -> bool {
    record.retest.iter().any(|l| l.result != RetestResult::NotDone)
}

fn labelled(line: &Labelled) -> String {
    let mark = if line.label.ends_with('?') { "" } else { ":" };
    format!("{}{mark} {}", line.label, line.text)
}
