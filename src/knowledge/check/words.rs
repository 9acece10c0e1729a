//! Words that sound like defeating a protection device, in every text that a person is told.
//!
//! A sentence is suspect if it has one of the words and a safety input, and nothing in it forbids. That is all it
//! takes, so it is a warning: "bridge rectifier beside the loop input" is harmless, and an author can word it otherwise.

use super::{Entry, Found};
use crate::finding::Code;

/// Beginnings of words.
const ACTS: [&str; 4] = ["jumper", "bypass", "defeat", "bridg"];
/// Whole words: tape as a verb or as a thing.
const TAPE: [&str; 4] = ["tape", "taped", "tapes", "taping"];
/// What comes before or after a tape that only measures or insulates.
const HARMLESS_TAPE: [&str; 8] = [
    "measure",
    "measuring",
    "steel",
    "insulating",
    "insulation",
    "vulcanising",
    "amalgamating",
    "electrical",
];
/// Whole words before "in" that hold something in.
const HOLD: [&str; 3] = ["hold", "held", "holding"];
/// Beginnings of the names of safety inputs.
const INPUTS: [&str; 9] = [
    "eye", "edge", "loop", "sensor", "photo", "safety", "stop", "detector", "device",
];
/// Words that forbid.
const FORBIDS: [&str; 10] = [
    "never", "don't", "don’t", "not", "no", "nobody", "nothing", "without", "instead", "mustn't",
];

pub(super) fn check(found: &mut Found<'_>) {
    let k = found.knowledge;
    for (id, t) in &k.tests {
        let entry = ("tests", id.as_str());
        text(found, entry, &["title"], &t.title);
        text(found, entry, &["ask"], &t.ask);
        text(found, entry, &["caller"], t.caller.as_deref().unwrap_or(""));
        text(found, entry, &["why"], t.why.as_deref().unwrap_or(""));
        lines(found, entry, "steps", &t.steps);
        lines(found, entry, "cautions", &t.cautions);
    }
    for (id, r) in &k.repairs {
        let entry = ("repairs", id.as_str());
        text(found, entry, &["title"], &r.title);
        text(found, entry, &["proof"], &r.proof);
        lines(found, entry, "steps", &r.steps);
        lines(found, entry, "cautions", &r.cautions);
    }
    for (id, condition) in &k.conditions {
        lines(found, ("conditions", id), "steps", &condition.steps);
    }
    for (id, line) in &k.retest {
        text(found, ("retest", id), &["ask"], &line.ask);
        lines(found, ("retest", id), "steps", &line.steps);
    }
    for (id, sign) in &k.signs {
        lines(found, ("signs", id), "do", &sign.act);
    }
    for (id, standing) in &k.standing {
        text(found, ("standing", id), &["text"], &standing.text);
    }
}

fn lines(found: &mut Found<'_>, entry: Entry<'_>, field: &str, lines: &[String]) {
    for (i, line) in lines.iter().enumerate() {
        text(found, entry, &[field, &i.to_string()], line);
    }
}

fn text(found: &mut Found<'_>, entry: Entry<'_>, rest: &[&str], text: &str) {
    for sentence in text.split(['.', '!', '?', ';', '\n']) {
        if let Some(word) = suspect(sentence) {
            let message = format!("\"{word}\" near a protection device");
            let help = "no device is ever jumpered, taped, blinded or left off so that the gate runs: measure it, fit a \
                        known-good one, or unplug it to prove that the gate then refuses; if it says that, word it otherwise";
            found.at(Code::ForbiddenWord, entry, rest, message, help);
        }
    }
}

/// The word that makes a sentence suspect.
fn suspect(sentence: &str) -> Option<String> {
    let lower = sentence.to_lowercase();
    let words: Vec<&str> = lower
        .split(|c: char| !c.is_alphanumeric() && c != '\'' && c != '’')
        .filter(|w| !w.is_empty())
        .collect();
    if words.iter().any(|w| FORBIDS.contains(w)) {
        return None;
    }
    let act = (0..words.len()).find(|&i| is_act(&words, i))?;
    let near = words
        .iter()
        .enumerate()
        .any(|(i, w)| i != act && INPUTS.iter().any(|input| w.starts_with(input)));
    near.then(|| words[act].to_owned())
}

fn is_act(words: &[&str], i: usize) -> bool {
    let word = words[i];
    let next = words.get(i + 1).copied().unwrap_or("");
    let before = if i == 0 { "" } else { words[i - 1] };
    ACTS.iter().any(|act| word.starts_with(act))
        || (TAPE.contains(&word) && !HARMLESS_TAPE.contains(&next) && !HARMLESS_TAPE.contains(&before))
        || (HOLD.contains(&word) && next == "in")
}

#[cfg(test)]
mod tests {
    use super::suspect;

    #[test]
    fn acts_near_inputs_are_suspect() {
        for sentence in [
            "Jumper the photo eye input to common",
            "Put a strip of tape over the sensor",
            "With the stop button held in, run it",
            "Bypassing the edge shows the board",
        ] {
            assert!(suspect(sentence).is_some(), "{sentence}");
        }
    }

    #[test]
    fn what_forbids_or_measures_is_not() {
        for sentence in [
            "Never jumper the photo eye",
            "Nobody bridges, tapes or blinds the device",
            "Lay a tape measure from eye to eye",
            "Bridge of the amplifier",
            "Hold the release in the open position at the eye",
        ] {
            assert_eq!(suspect(sentence), None, "{sentence}");
        }
    }
}
