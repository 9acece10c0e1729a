//! A case: a call as it was, which the knowledge must solve.

use super::draft::At;
use super::interview::{Interview, Question, Stop};
use super::pick::Picked;
use super::questions::words_of;
use super::yaml::{Field, Node};
use crate::knowledge::schema::{Fact, Test};
use crate::quantity::{Reading, Unit, parse_reading};

const ENDINGS: [(&str, &str); 7] = [
    ("Fixed: repaired, proven, retested", "fixed"),
    ("Explained: working as set", "explained"),
    ("No fault found", "no-fault-found"),
    ("Referred: somebody else takes it over", "referred"),
    ("Out of use", "out-of-use"),
    ("Waiting for parts or a return", "waiting"),
    ("Not said", ""),
];

pub(super) fn ask(iv: &mut Interview<'_>) -> Result<(), Stop> {
    iv.title("A new case: a call as it was");
    iv.say(
        "No names, no addresses. Esc goes back one question; ? says what is meant; Ctrl-C leaves and writes nothing.",
    );
    let title = iv.text(Question::new(
        "in one line:",
        "Such as: Bell rings all night, relay stuck",
    ))?;
    let id = iv.id("cases", &title)?;
    let at = iv.draft.begin("cases", &id);
    iv.put_text(at, "title", &title);
    site(iv, at)?;
    let places = ["At the gate", "On the phone"];
    let phone = iv.one_of(
        Question::new(
            "where is the call taken, 1 or 2:",
            "At the gate everything can be tested.",
        ),
        &places,
    )? == 1;
    iv.draft.put(
        at,
        Field::new("at", Node::Word(if phone { "phone" } else { "gate" }.to_owned())),
    );
    let says = iv.lines(Question::new("what the caller says", "In their own words."), 1)?;
    iv.put_lines(at, "says", says);
    iv.title("What it is taken for");
    let symptoms = several(iv, "symptom", "symptoms", true)?;
    iv.draft.put(at, Field::new("symptoms", list(&symptoms)));
    iv.title("What is really wrong");
    iv.say("Nothing at all, if you name no cause.");
    let causes = several(iv, "cause", "causes", false)?;
    let comment = "what is really wrong; [] is nothing";
    iv.draft.put(at, Field::new("causes", list(&causes)).saying(comment));
    readings(iv, at, &causes)?;
    iv.title("How it ends");
    let ending = iv.one_of(
        Question::new("1-7:", "The case fails if the walk ends otherwise."),
        &ENDINGS.map(|e| e.0),
    )?;
    if !ENDINGS[ending].1.is_empty() {
        let expect = vec![("ending".to_owned(), Node::Word(ENDINGS[ending].1.to_owned()))];
        iv.draft.put(at, Field::new("expect", Node::Short(expect)));
    }
    let source = iv.source()?;
    iv.put_text(at, "source", &source);
    Ok(())
}

fn list(ids: &[String]) -> Node {
    words_of(&ids.iter().map(String::as_str).collect::<Vec<_>>())
}

fn several(iv: &mut Interview<'_>, what: &str, section: &'static str, needed: bool) -> Result<Vec<String>, Stop> {
    let mut among = iv.candidates(section);
    let mut ids: Vec<String> = Vec::new();
    while let Picked::One(one) = iv.pick(what, &among, !(needed && ids.is_empty()), false)? {
        among.retain(|c| c.id != one.id);
        ids.push(one.id);
    }
    Ok(ids)
}

/// What is known of the site.
fn site(iv: &mut Interview<'_>, at: At) -> Result<(), Stop> {
    iv.title("What is known of the site");
    let knowledge = iv.knowledge;
    let mut facts = iv.candidates("facts");
    let mut site = Vec::new();
    while let Picked::One(fact) = iv.pick("fact", &facts, true, false)? {
        facts.retain(|f| f.id != fact.id);
        let entry: &Fact = &knowledge.facts[&fact.id];
        iv.say(&entry.ask);
        let value = if let Some(number) = &entry.number {
            reading(iv, "its value:", number.unit)?.unwrap_or_default()
        } else {
            let says: Vec<&str> = entry.values.values().map(|v| v.say.as_str()).collect();
            let n = iv.one_of(Question::new("number:", "As it was at that site."), &says)?;
            let value = entry.values.get_index(n);
            value.map(|(id, _)| id.clone()).unwrap_or_default()
        };
        if !value.is_empty() {
            site.push((fact.id, Node::Text(value)));
        }
    }
    if !site.is_empty() {
        iv.draft.put(at, Field::new("site", Node::Short(site)));
    }
    Ok(())
}

/// A reading as a meter shows it; `None` where it was not taken.
fn reading(iv: &mut Interview<'_>, prompt: &str, unit: Unit) -> Result<Option<String>, Stop> {
    let help = "As the meter showed it, with its unit, such as 12.4 V or OL. Enter if it was not taken.";
    iv.answer(Question::new(prompt, help), &|text| {
        let text = text.trim();
        if text.is_empty() {
            return Ok(None);
        }
        match parse_reading(text, unit) {
            Ok(Reading::CantTell) => Ok(None),
            Ok(Reading::Value(_)) if text.ends_with(|c: char| c.is_ascii_digit()) => {
                Ok(Some(format!("{text}{}", unit.suffix())))
            }
            Ok(Reading::Value(_) | Reading::OverLoad) => Ok(Some(text.to_owned())),
            Err(problem) => Err(problem.to_string()),
        }
    })
}

/// What tests show: first those on which the causes show something, then any other.
fn readings(iv: &mut Interview<'_>, at: At, causes: &[String]) -> Result<(), Stop> {
    iv.title("What the tests show");
    iv.say("Tests on which the cause shows something come first. Enter passes one over: it is then answered with \"can't\".");
    let knowledge = iv.knowledge;
    let shown = causes
        .iter()
        .filter_map(|c| knowledge.causes.get(c))
        .flat_map(|c| c.shows.keys().cloned());
    let mut first: Vec<String> = Vec::new();
    shown.for_each(|id| {
        if !first.contains(&id) {
            first.push(id);
        }
    });
    let mut readings = Vec::new();
    for id in &first {
        if let Some(test) = knowledge.tests.get(id)
            && let Some(node) = answer(iv, test)?
        {
            readings.push(Field::new(id.clone(), node));
        }
    }
    let mut among = iv.candidates("tests");
    among.retain(|t| !first.contains(&t.id));
    while let Picked::One(picked) = iv.pick("another test", &among, true, false)? {
        among.retain(|t| t.id != picked.id);
        if let Some(node) = answer(iv, &knowledge.tests[&picked.id])? {
            readings.push(Field::new(picked.id, node));
        }
    }
    if !readings.is_empty() {
        iv.draft.put(at, Field::new("readings", Node::Map(readings)));
    }
    Ok(())
}

fn answer(iv: &mut Interview<'_>, test: &Test) -> Result<Option<Node>, Stop> {
    iv.say(&format!("{}: {}", test.title, test.ask));
    if test.outcomes.is_empty() {
        let mut taken = Vec::new();
        for (id, spec) in &test.readings {
            let prompt = format!("{id} in {} (Enter: not taken):", spec.unit.symbol());
            match reading(iv, &prompt, spec.unit)? {
                Some(text) => taken.push((id.clone(), Node::Text(text))),
                None => return Ok(None),
            }
        }
        return Ok(Some(Node::Short(taken)));
    }
    let says: Vec<&str> = test.outcomes.values().map(|o| o.say.as_str()).collect();
    iv.choices(says.iter().copied());
    let most = says.len();
    let question = Question::new("number (Enter: not looked at):", "What was seen there.");
    let picked = iv.answer(question, &|text| match text.trim() {
        "" => Ok(None),
        text => match text.parse::<usize>() {
            Ok(n) if (1..=most).contains(&n) => Ok(Some(n - 1)),
            _ => Err(format!("\"{text}\" is not one of the numbers 1 to {most}.")),
        },
    })?;
    let outcome = picked.and_then(|n| test.outcomes.get_index(n));
    Ok(outcome.map(|(id, _)| Node::Text(id.clone())))
}
