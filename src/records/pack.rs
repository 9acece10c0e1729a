//! What was learnt as the text of a pack that layers, every changed number with its evidence.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;

use super::learn::{Change, Learned, LearnedOutcomes};
use crate::knowledge::Knowledge;
use crate::knowledge::frequency::{Frequency, WORDS};
use crate::knowledge::schema::{Cause, Test};
use crate::model::Model;

/// Name and text of each file.
#[must_use]
pub fn pack_files(knowledge: &Knowledge, model: &Model, learned: &Learned) -> Vec<(&'static str, String)> {
    vec![
        ("pack.yaml", header(knowledge, learned)),
        ("learned.yaml", entries(knowledge, model, learned)),
    ]
}

/// Tests whose outcomes come from a table of codes: the table is put in after all layers, so a layer can't change them.
pub(crate) fn code_tests(knowledge: &Knowledge) -> BTreeSet<String> {
    let with_codes = knowledge.sources.files.iter().filter(|f| f.text.contains("codes:"));
    with_codes
        .filter_map(|file| serde_yaml::from_str::<serde_yaml::Value>(&file.text).ok())
        .filter_map(|value| Some(value.get("codes")?.get("test")?.as_str()?.to_owned()))
        .collect()
}

fn header(knowledge: &Knowledge, learned: &Learned) -> String {
    let kinds = &learned.kinds;
    let days = learned.days.as_ref().map_or_else(String::new, |(first, last)| {
        if first == last {
            format!(" of {first}")
        } else {
            format!(" of {first} to {last}")
        }
    });
    let mut text = format!(
        "# Written by `pintle learn`. Lay it over the packs it was learnt with ({}), after them:
#   pintle diagnose --pack THIS-FOLDER
# {} of {} calls confirmed a cause. The author's rates were worth {} calls, the author's outcome frequencies {} answers.
pack:
  id: learned
  title: \"Learnt from {} calls{days}\"
",
        knowledge
            .titles
            .iter()
            .map(|t| t.replace(char::is_control, " "))
            .collect::<Vec<_>>()
            .join(", "),
        kinds.confirmed,
        kinds.calls,
        learned.weights.rates,
        learned.weights.tests,
        kinds.confirmed,
    );
    if learned.at_half > 0 {
        let line = format!(
            "# {} of them count half: their site has no name, or 60 days had not passed, so a callback could not be seen.\n",
            learned.at_half
        );
        text = text.replacen("pack:\n", &format!("{line}pack:\n"), 1);
    }
    if let Some(change) = learned.nothing_wrong.filter(|c| differs(c.was, c.now)) {
        let _ = writeln!(text, "  settings:");
        let _ = writeln!(
            text,
            "    nothing-wrong: {}  # was {}; no fault found in {} of {} calls; 95 % {} to {}",
            number(change.now),
            number(change.was),
            number(change.seen),
            number(change.of),
            number(change.interval[0]),
            number(change.interval[1])
        );
    }
    text
}

fn entries(knowledge: &Knowledge, model: &Model, learned: &Learned) -> String {
    let rates: BTreeMap<&str, &Change> = learned
        .rates
        .iter()
        .filter(|r| !r.held && differs(r.change.was, r.change.now))
        .map(|r| (r.cause.as_str(), &r.change))
        .collect();
    let mut shows: BTreeMap<&str, BTreeMap<&str, &LearnedOutcomes>> = BTreeMap::new();
    let mut healthy: BTreeMap<&str, &LearnedOutcomes> = BTreeMap::new();
    for outcomes in &learned.outcomes {
        match &outcomes.cause {
            Some(cause) => {
                shows.entry(cause).or_default().insert(&outcomes.test, outcomes);
            }
            None => {
                healthy.insert(&outcomes.test, outcomes);
            }
        }
    }
    let mut text = String::from(
        "# Rates are calls in a thousand; \"31 of 620 calls\" are the confirmed calls in which the cause could occur.\n",
    );
    let mut section = String::new();
    for (id, cause) in &knowledge.causes {
        let (rate, shown) = (rates.get(id.as_str()), shows.get(id.as_str()));
        if rate.is_none() && shown.is_none() {
            continue;
        }
        let _ = writeln!(section, "  {id}:");
        if let Some(change) = rate {
            let _ = writeln!(
                section,
                "    rate: {}  # {}",
                number(change.now),
                evidence(change, "calls")
            );
        }
        if let Some(shown) = shown {
            write_shows(&mut section, cause, shown);
        }
    }
    if !section.is_empty() {
        let _ = write!(text, "causes:\n{section}");
    }
    section = String::new();
    for (id, test) in &knowledge.tests {
        if let Some(outcomes) = healthy.get(id.as_str()) {
            write_healthy(&mut section, id, test, model, outcomes);
        }
    }
    if !section.is_empty() {
        let _ = write!(text, "tests:\n{section}");
    }
    text
}

/// `shows` is one field, so all of it is written: what was learnt, and the rest as it was.
fn write_shows(text: &mut String, cause: &Cause, learned: &BTreeMap<&str, &LearnedOutcomes>) {
    let _ = writeln!(text, "    shows:");
    for (test, frequencies) in &cause.shows {
        let _ = writeln!(text, "      {test}:");
        if let Some(outcomes) = learned.get(test.as_str()) {
            write_outcomes(text, "        ", outcomes);
        } else {
            for (outcome, frequency) in frequencies {
                let _ = writeln!(text, "        {}: {}", key(outcome), word(*frequency));
            }
        }
    }
}

fn write_healthy(text: &mut String, id: &str, test: &Test, model: &Model, outcomes: &LearnedOutcomes) {
    let _ = writeln!(text, "  {id}:\n    healthy:");
    write_outcomes(text, "      ", outcomes);
    // Left out, the likeliest would count as normal, and that may have become another.
    if test.normal.is_empty()
        && let Some(table) = model.test(id).map(|t| &model.tests[t.index()])
    {
        let normal = table.outcomes.iter().zip(&table.normal).filter(|(_, n)| **n);
        let normal: Vec<String> = normal.map(|(o, _)| key(o)).collect();
        let _ = writeln!(text, "    normal: [{}]", normal.join(", "));
    }
}

fn write_outcomes(text: &mut String, indent: &str, outcomes: &LearnedOutcomes) {
    let exact: Vec<f64> = outcomes.outcomes.iter().map(|(_, c)| c.now).collect();
    for ((outcome, change), written) in outcomes.outcomes.iter().zip(to_one(&exact)) {
        let _ = writeln!(
            text,
            "{indent}{}: {written}  # {}",
            key(outcome),
            evidence(change, "answers")
        );
    }
}

fn evidence(change: &Change, what: &str) -> String {
    format!(
        "was {}; {} of {} {what}; 95 % {} to {}",
        number(change.was),
        number(change.seen),
        number(change.of),
        number(change.interval[0]),
        number(change.interval[1])
    )
}

/// Chances in ten-thousandths that add to exactly 1: what rounding leaves goes to the largest remainders. What can happen never becomes 0, for
/// 0 says that it excludes the cause.
fn to_one(chances: &[f64]) -> Vec<String> {
    let scaled: Vec<f64> = chances.iter().map(|c| c * 10_000.0).collect();
    let least = |s: f64| if s > 0.0 { 1.0 } else { 0.0 };
    let mut whole: Vec<f64> = scaled.iter().map(|&s| s.floor().max(least(s))).collect();
    let mut order: Vec<usize> = (0..chances.len()).collect();
    order.sort_by(|&a, &b| (scaled[b] - whole[b]).total_cmp(&(scaled[a] - whole[a])));
    let mut left = 10_000.0 - whole.iter().sum::<f64>();
    for at in order {
        if left >= 0.5 {
            whole[at] += 1.0;
            left -= 1.0;
        }
    }
    if left <= -0.5
        && let Some(largest) = whole.iter_mut().max_by(|a, b| a.total_cmp(b))
    {
        *largest += left;
    }
    whole.into_iter().map(|w| format!("{}", w / 10_000.0)).collect()
}

/// Whether a number changes in the digits that are written.
fn differs(was: f64, now: f64) -> bool {
    number(was) != number(now)
}

/// Three digits, as short as they can be written.
#[must_use]
pub(crate) fn number(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return "0".to_owned();
    }
    let magnitude = value.abs().log10().floor();
    let decimals = (2.0 - magnitude).clamp(0.0, 6.0);
    let scale = 10_f64.powf(decimals);
    format!("{}", (value * scale).round() / scale)
}

/// An authored frequency as it was written: its word, or the number.
fn word(frequency: Frequency) -> String {
    let word = WORDS
        .iter()
        .find(|(_, chance)| chance.to_bits() == frequency.chance.to_bits());
    match word.filter(|_| frequency.is_word) {
        Some((word, _)) => (*word).to_owned(),
        None => format!("{}", frequency.chance),
    }
}

/// An outcome's id as a YAML key: those that YAML takes for something else in quotes.
fn key(id: &str) -> String {
    let plain = id.starts_with(|c: char| c.is_ascii_lowercase())
        && id
            .chars()
            .all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-')
        && !["yes", "no", "y", "n", "on", "off", "true", "false", "null"].contains(&id);
    if plain {
        id.to_owned()
    } else {
        format!("\"{}\"", id.replace(['"', '\\'], ""))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rounded_chances_still_add_to_one() {
        let thirds = to_one(&[1.0 / 3.0; 3]);
        assert_eq!(thirds, ["0.3334", "0.3333", "0.3333"]);
        let sum: f64 = thirds.iter().filter_map(|t| t.parse::<f64>().ok()).sum();
        assert!((sum - 1.0).abs() < 1e-9);
        assert_eq!(to_one(&[0.999_97, 0.000_03, 0.0]), ["0.9999", "0.0001", "0"]);
    }

    #[test]
    fn three_digits() {
        let shown: Vec<String> = [45.0, 47.234, 0.034_56, 620.0, 0.0, 1234.4]
            .into_iter()
            .map(number)
            .collect();
        assert_eq!(shown, ["45", "47.2", "0.0346", "620", "0", "1234"]);
    }

    #[test]
    fn words_of_yaml_are_quoted() {
        assert_eq!(
            [key("low"), key("no"), key("3-flashes")],
            ["low", "\"no\"", "\"3-flashes\""]
        );
    }
}
