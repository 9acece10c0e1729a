//! A cause: how it comes about, how often, what callers report, what it shows, how it is repaired.

use super::draft::At;
use super::interview::{Interview, Question, Stop};
use super::pick::Picked;
use super::questions::{read_frequency, words_of};
use super::test::KnownTest;
use super::yaml::{Field, Node};
use super::{repair, step, test};
use crate::knowledge::Knowledge;
use crate::knowledge::frequency::{DistributionError, Frequency, distribution};
use crate::knowledge::schema::Provocation;

const SEVERITY: [(&str, &str); 4] = [
    ("Nothing: it is a nuisance", "none"),
    ("It may hurt somebody", "hurt"),
    ("It may maim somebody", "maim"),
    ("It may kill somebody", "kill"),
];

pub(super) fn ask(iv: &mut Interview<'_>) -> Result<(), Stop> {
    iv.title("A new cause: something that can be wrong");
    iv.say("Esc goes back one question; ? says what is meant; Ctrl-C leaves and writes nothing.");
    let title = iv.text(Question::new(
        "in one line, what is wrong:",
        "Such as: Bell's relay stuck",
    ))?;
    let id = iv.id("causes", &title)?;
    let at = iv.draft.begin("causes", &id);
    iv.put_text(at, "title", &title);
    let how = iv.text(Question::new(
        "how does it come about:",
        "As you would tell an apprentice, in a sentence or two.",
    ))?;
    iv.put_text(at, "how", &how);
    iv.title("The worst that it can do while it is there");
    let help = "Judge by the worst that can happen to a person near the gate, not by how likely that is.";
    let severity = iv.one_of(Question::new("1-4:", help), &SEVERITY.map(|s| s.0))?;
    iv.draft
        .put(at, Field::new("severity", Node::Word(SEVERITY[severity].1.to_owned())));
    rate(iv, at)?;
    step::sites(iv, at, "it can occur")?;
    symptoms(iv, at)?;
    comes_and_goes(iv, at)?;
    tests(iv, at)?;
    likeness(iv, at)?;
    let source = iv.source()?;
    iv.put_text(at, "source", &source);
    repair::ask_inside(iv, at)
}

fn rate(iv: &mut Interview<'_>, at: At) -> Result<(), Stop> {
    iv.title("How common it is");
    iv.say(&examples(iv.knowledge));
    let help = "Count only calls in which it came by itself, not those in which another listed fault brought it on.";
    let question = Question::new("of a thousand calls, how many are this:", help);
    let rate = iv.answer(
        question,
        &|text| match super::questions::plain_number(text, 0.0, 1000.0) {
            Ok(rate) if rate > 0.0 => Ok(rate),
            Ok(_) => Err(
                "More than 0: a fault that never occurs need not be written down. 0.1 is one in ten thousand."
                    .to_owned(),
            ),
            Err(problem) => Err(problem),
        },
    )?;
    let comment = "calls in a thousand in which it arose by itself";
    iv.draft
        .put(at, Field::new("rate", Node::Word(rate.to_string())).saying(comment));
    Ok(())
}

/// The commonest, a middling and the rarest cause, to compare with.
fn examples(knowledge: &Knowledge) -> String {
    let mut causes: Vec<(f64, &str)> = knowledge.causes.values().map(|c| (c.rate, c.title.as_str())).collect();
    causes.sort_by(|a, b| b.0.total_cmp(&a.0));
    let picked = [causes.first(), causes.get(causes.len() / 2), causes.last()];
    let words: Vec<String> = picked
        .into_iter()
        .flatten()
        .map(|(rate, title)| format!("{title} {rate}"))
        .collect();
    format!("To compare with, from the knowledge: {}.", words.join("; "))
}

fn symptoms(iv: &mut Interview<'_>, at: At) -> Result<(), Stop> {
    iv.title("What callers report of it");
    let mut among = iv.candidates("symptoms");
    let mut reported = Vec::new();
    loop {
        let may_end = !reported.is_empty();
        let Picked::One(symptom) = iv.pick("symptom", &among, may_end, false)? else {
            break;
        };
        iv.say(&symptom.title);
        let help = "Of a hundred gates with this fault, how many do that?";
        let (_, how_often) = iv.frequency(Question::new("how often does a gate with this fault do that:", help))?;
        among.retain(|s| s.id != symptom.id);
        reported.push((symptom.id, how_often));
    }
    let comment = "how often a gate with this fault does that";
    iv.draft
        .put(at, Field::new("symptoms", Node::Short(reported)).saying(comment));
    Ok(())
}

fn comes_and_goes(iv: &mut Interview<'_>, at: At) -> Result<(), Stop> {
    iv.title("Does it come and go?");
    let choices = [
        "No: while the fault is there, so is what it does",
        "It shows when something provokes it: rain, cold, wind, load …",
        "It shows now and then, without a pattern",
    ];
    let picked = iv.one_of(
        Question::new(
            "1-3:",
            "A loose wire shows now and then; a wet splice shows in the wet.",
        ),
        &choices,
    )?;
    let mut when = Vec::new();
    let tenths = |iv: &mut Interview<'_>, prompt: &str| {
        let help = "Of ten such moments, in how many does it show? 0 to 10.";
        let n = iv.number(Question::new(prompt, help), 0.0, 10.0)?;
        Ok::<Node, Stop>(Node::Word((n / 10.0).to_string()))
    };
    match picked {
        0 => return Ok(()),
        1 => {
            let says = Provocation::ALL.map(Provocation::say);
            let none = |picked: &[usize]| {
                if picked.is_empty() {
                    Err("Name one at least.".to_owned())
                } else {
                    Ok(())
                }
            };
            let provoked = iv.any_of(Question::new("numbers:", "What brings it out."), &says, &none)?;
            let words = provoked
                .iter()
                .filter_map(|&n| serde_json::to_value(Provocation::ALL[n]).ok());
            let words: Vec<String> = words.filter_map(|w| w.as_str().map(str::to_owned)).collect();
            when.push((
                "under".to_owned(),
                words_of(&words.iter().map(String::as_str).collect::<Vec<_>>()),
            ));
            when.push(("share".to_owned(), tenths(iv, "of ten such moments it shows in:")?));
            when.push(("otherwise".to_owned(), tenths(iv, "of ten other moments it shows in:")?));
        }
        _ => when.push(("share".to_owned(), tenths(iv, "of ten moments it shows in:")?)),
    }
    iv.draft.put(at, Field::new("shows-when", Node::Short(when)));
    Ok(())
}

fn tests(iv: &mut Interview<'_>, at: At) -> Result<(), Stop> {
    iv.title("What it shows on tests");
    iv.say("Only tests on which a gate with this fault differs from a sound one; on all others it behaves as healthy.");
    let mut used: Vec<String> = Vec::new();
    let mut shows = Vec::new();
    loop {
        let mut among = iv.candidates("tests");
        among.retain(|t| !used.contains(&t.id));
        let known = match iv.pick("test", &among, !shows.is_empty(), true)? {
            Picked::None => break,
            Picked::New => test::ask(iv)?,
            Picked::One(test) => {
                let new = iv.new_tests.iter().find(|t| t.id == test.id).cloned();
                let Some(known) = new.or_else(|| KnownTest::of(iv.knowledge, &test.id)) else {
                    iv.say("That test has errors of its own: `pintle check` shows them. Choose another.");
                    used.push(test.id);
                    continue;
                };
                known
            }
        };
        let shown = outcomes(iv, &known)?;
        used.push(known.id.clone());
        shows.push(Field::new(known.id, Node::Short(shown)));
    }
    let comment =
        "what a gate with this fault shows there; what is left over goes to the unnamed answers as on a sound gate";
    iv.draft.put(at, Field::new("shows", Node::Map(shows)).saying(comment));
    Ok(())
}

/// What a gate with the fault shows on one test.
fn outcomes(iv: &mut Interview<'_>, test: &KnownTest) -> Result<Vec<(String, Node)>, Stop> {
    iv.title(&format!("With this fault: {}", test.title));
    let lines: Vec<String> = test
        .outcomes
        .iter()
        .zip(&test.healthy)
        .map(|((_, say), healthy)| format!("{say}  (a sound gate: {:.0} %)", healthy * 100.0))
        .collect();
    let ids: Vec<&str> = test.outcomes.iter().map(|(id, _)| id.as_str()).collect();
    let mut named: Vec<(&str, Frequency)> = Vec::new();
    let mut shown = Vec::new();
    iv.choices(lines.iter().map(String::as_str));
    while shown.len() < ids.len() {
        let prompt = if shown.is_empty() {
            "a gate with this fault shows which, number:"
        } else {
            "and which else, number (Enter when that is all):"
        };
        let help = "Name the answers that are likelier, or less likely, than on a sound gate.";
        let picked = iv.answer(
            Question::new(prompt, help),
            &|text| match text.trim().parse::<usize>() {
                Ok(n) if (1..=ids.len()).contains(&n) && named.iter().all(|(id, _)| *id != ids[n - 1]) => {
                    Ok(Some(n - 1))
                }
                Ok(n) if (1..=ids.len()).contains(&n) => Err(format!("{n} has its share already.")),
                _ if text.trim().is_empty() && !named.is_empty() => Ok(None),
                _ => Err(format!(
                    "\"{}\" is not one of the numbers 1 to {}.",
                    text.trim(),
                    ids.len()
                )),
            },
        )?;
        let Some(n) = picked else { break };
        iv.scale();
        let question = Question::new(
            "how often does a gate with this fault show it:",
            "Of a hundred of them, how many?",
        );
        let (frequency, node) = iv.answer(question, &|text| {
            let (frequency, node) = read_frequency(text)?;
            let all = named.iter().copied().chain([(ids[n], frequency)]);
            match distribution(all, &ids, Some(&test.healthy)) {
                Err(DistributionError::Sum { sum, .. }) => Err(format!(
                    "With what you said before, that is {:.0} of a hundred: choose another share, or Esc to change the one before.",
                    sum * 100.0
                )),
                _ => Ok((frequency, node)),
            }
        })?;
        named.push((ids[n], frequency));
        shown.push((ids[n].to_owned(), node));
    }
    Ok(shown)
}

/// What it is mistaken for, and which lines of the retest it fails.
fn likeness(iv: &mut Interview<'_>, at: At) -> Result<(), Stop> {
    iv.title("What it is mistaken for");
    let mut among = iv.candidates("causes");
    let mut confused = Vec::new();
    while let Picked::One(cause) = iv.pick("cause", &among, true, false)? {
        let help = "What they have alike, and what tells them apart.";
        let how = iv.text(Question::new("what tells them apart:", help))?;
        among.retain(|c| c.id != cause.id);
        confused.push(Field::new(cause.id, Node::Text(how)));
    }
    if !confused.is_empty() {
        iv.draft.put(at, Field::new("confused-with", Node::Map(confused)));
    }
    iv.title("The safety retest");
    iv.say("Does any line of the safety retest fail while this fault is there?");
    let mut lines = iv.candidates("retest");
    let mut fails = Vec::new();
    while let Picked::One(line) = iv.pick("line of the retest", &lines, true, false)? {
        lines.retain(|l| l.id != line.id);
        fails.push(line.id);
    }
    let fails: Vec<&str> = fails.iter().map(String::as_str).collect();
    iv.put_words(at, "fails", &fails);
    Ok(())
}
