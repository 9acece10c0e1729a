//! Filling a site file by question and answer. Digits pick, Enter leaves a thing as it is, `0` takes it out.

use super::file::{SiteFile, Typed};
use super::set::apply;
use crate::author::{Ask, Show, Stop};
use crate::knowledge::Knowledge;
use crate::knowledge::schema::Fact;

/// Texts and lists that are asked after the facts: word of `set`, question, and whether there may be several.
const TEXTS: [(&str, &str, bool); 10] = [
    ("operator", "What does the operator's label say?", false),
    ("board", "What does the board's label say?", false),
    ("battery", "A battery set, as \"24 V, 7 Ah, lead-acid, 2024-05\"", true),
    (
        "loop",
        "A loop and what it is for, as \"exit: free exit on the drive\"",
        true,
    ),
    ("eye", "A photo eye: where, of what kind", true),
    ("edge", "A contact edge: where, of what kind", true),
    (
        "protection",
        "What protects a place, as \"closing, between the leading edges: edge\"",
        true,
    ),
    (
        "limit",
        "A limit of the manual, as \"leaf weight: 250 kg, page 14\"",
        true,
    ),
    (
        "emergency-access",
        "How do emergency services get in? The way, never the code",
        false,
    ),
    ("remark", "A remark", true),
];

/// Asks for everything that a site file holds but baselines; what was there before stands as it is unless it is answered.
///
/// # Errors
/// [`Stop`] when whoever answers leaves; what was said until then is in `site`.
pub fn ask(ask: &mut dyn Ask, knowledge: &Knowledge, site: &mut SiteFile) -> Result<(), Stop> {
    ask.show(Show::Title(&format!(
        "The site: {}",
        crate::report::plain_text(&site.name)
    )));
    ask.show(Show::Text(
        "Enter: not known, or as it was. 0: take it out. q: no more of these. Esc: one back.",
    ));
    let facts: Vec<(&String, &Fact)> = knowledge.facts.iter().filter(|(_, f)| !f.of_the_moment).collect();
    let mut at = 0;
    while let Some((id, fact)) = facts.get(at) {
        match one_fact(ask, site, id, fact)? {
            Next::On => at += 1,
            Next::Back => at = at.saturating_sub(1),
            Next::Enough => break,
        }
    }
    let mut at = 0;
    while let Some((word, question, several)) = TEXTS.get(at) {
        match one_text(ask, knowledge, site, word, question, *several)? {
            Next::On => at += 1,
            Next::Back => at = at.saturating_sub(1),
            Next::Enough => break,
        }
    }
    Ok(())
}

enum Next {
    On,
    Back,
    Enough,
}

fn one_fact(ask: &mut dyn Ask, site: &mut SiteFile, id: &str, fact: &Fact) -> Result<Next, Stop> {
    ask.show(Show::Text(&format!("\n{}", fact.ask)));
    for (i, value) in fact.values.values().enumerate() {
        ask.show(Show::Choice(i + 1, &value.say));
    }
    if let Some(old) = site.facts.get(id) {
        let say = fact.values.get(&old.0).map_or(old.0.as_str(), |v| &v.say);
        ask.show(Show::Text(&format!("So far: {}", crate::report::plain_text(say))));
    }
    let prompt = match &fact.number {
        Some(number) => format!("{}:", number.unit.symbol()),
        None => format!("1-{}:", fact.values.len()),
    };
    let mut typed = String::new();
    loop {
        let Some(text) = ask.line(&prompt, &typed)? else {
            return Ok(Next::Back);
        };
        let picked = match (text.as_str(), &fact.number) {
            ("", _) => return Ok(Next::On),
            ("q" | "Q", _) => return Ok(Next::Enough),
            ("0", _) => {
                site.facts.shift_remove(id);
                return Ok(Next::On);
            }
            (text, Some(_)) => super::value_of(fact, text).map_err(|(message, help)| format!("{message}; {help}")),
            (text, None) => {
                let n = text.parse::<usize>().unwrap_or(0);
                let found = fact.values.get_index(n.wrapping_sub(1));
                found
                    .map(|(value, _)| value.clone())
                    .ok_or_else(|| format!("\"{text}\" is not one of the numbers 1 to {}", fact.values.len()))
            }
        };
        match picked {
            Ok(value) => {
                site.facts.insert(id.to_owned(), Typed(value));
                return Ok(Next::On);
            }
            Err(problem) => {
                ask.show(Show::Problem(&problem));
                typed = text;
            }
        }
    }
}

fn one_text(
    ask: &mut dyn Ask,
    knowledge: &Knowledge,
    site: &mut SiteFile,
    word: &str,
    question: &str,
    several: bool,
) -> Result<Next, Stop> {
    ask.show(Show::Text(&format!("\n{question}")));
    let prompt = if several { "one (Enter: no more):" } else { "text:" };
    let mut typed = String::new();
    loop {
        let Some(text) = ask.line(prompt, &typed)? else {
            return Ok(Next::Back);
        };
        let value = match text.as_str() {
            "" => return Ok(Next::On),
            "q" | "Q" => return Ok(Next::Enough),
            "0" => "",
            text => text,
        };
        match apply(site, knowledge, &format!("{word}={value}")) {
            Ok(()) if several && !value.is_empty() => typed.clear(),
            Ok(()) => return Ok(Next::On),
            Err(problem) => {
                ask.show(Show::Problem(&problem));
                typed = text;
            }
        }
    }
}
