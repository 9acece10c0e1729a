//! What only a call on the phone asks: where the caller stands, what an answer in the caller's words means, whether to send somebody.

use std::collections::BTreeMap;

use super::page::Page;
use super::person::{Command, Line, Person, TerminalError, to_mend};
use super::visit_page::render_visit;
use crate::call::{Call, Event, Rank, Reply, Step};
use crate::knowledge::schema::{Ending, Test};
use crate::report::looks_like_code;
use crate::visit::{Wishes, plan};
use crate::words::SymptomIndex;

/// Said where a text looks like a code.
const NO_CODES: &str = "That looks like a code or PIN. Codes are never taken down: leave it out.";

/// So many outcomes are shown for words that may mean several.
const SHOWN: usize = 4;

impl Person<'_> {
    /// Where the caller stands and who else is there; nothing is asked before they stand clear.
    pub(super) fn caller(&mut self, call: &Call<'_>, step: &Step) -> Result<Reply, TerminalError> {
        let reply = self.ask(call, step, "1-3:", &|text| {
            let at_gate = match text {
                "1" | "y" | "yes" => true,
                "2" | "n" | "no" => false,
                "3" => {
                    return Err(
                        "Ask them to step away from it first. Nothing is asked before they stand clear.".to_owned(),
                    );
                }
                _ => return Err(format!("\"{text}\" is not one of the numbers 1 to 3.")),
            };
            Ok(vec![Event::Caller {
                at_gate,
                others: String::new(),
            }])
        })?;
        let Reply::Events(mut events) = reply else {
            return Ok(reply);
        };
        if let Some(Event::Caller { others, .. }) = events.last_mut() {
            loop {
                match self.line("who else is there, children, animals (Enter: nobody):", "")? {
                    Line::Typed(text) if looks_like_code(&text) => self.note(NO_CODES),
                    Line::Typed(text) => {
                        if !text.is_empty() {
                            self.note("Say it: all of them stay clear of it too, children by the hand and animals tied or shut in.");
                        }
                        *others = text;
                        break;
                    }
                    Line::Back => return self.answer_step(call, step),
                }
            }
        }
        Ok(Reply::Events(events))
    }

    /// An observation that a caller makes: a number, or the caller's own words.
    pub(super) fn told(&mut self, call: &Call<'_>, step: &Step, id: &str, test: &Test) -> Result<Reply, TerminalError> {
        let ids: Vec<&String> = test.outcomes.keys().collect();
        let prompt = format!("1-{}, or what they say (c not sure):", ids.len());
        let answer = |outcome: usize, said: Option<String>| Event::Answer {
            test: id.to_owned(),
            outcome: Some(ids[outcome].clone()),
            readings: BTreeMap::new(),
            said,
            by: Rank::Told,
        };
        let mut typed = String::new();
        loop {
            let text = match self.line(&prompt, &typed)? {
                Line::Typed(text) => text,
                Line::Back => return Ok(self.back(call)),
            };
            if not_sure(&text) {
                return Ok(Reply::Events(vec![Event::Cannot {
                    target: crate::call::Target::Test(id.to_owned()),
                }]));
            }
            match self.command(call, step, &text)? {
                Command::Reply(reply) => return Ok(reply),
                Command::AskAgain => {
                    typed.clear();
                    continue;
                }
                Command::NotOne => {}
            }
            match text.parse::<usize>() {
                Ok(n) if (1..=ids.len()).contains(&n) => return Ok(Reply::Events(vec![answer(n - 1, None)])),
                Ok(_) => {
                    self.note(&format!("\"{text}\" is not one of the numbers 1 to {}.", ids.len()));
                    typed = to_mend(text);
                    continue;
                }
                Err(_) => {}
            }
            if looks_like_code(&text) {
                self.note(NO_CODES);
                continue;
            }
            let meant = meant(test, &text);
            if meant.is_empty() {
                self.note(
                    "None of the answers sounds like that. Ask again in other words, or c: not sure is no evidence.",
                );
                typed.clear();
                continue;
            }
            if let Some(outcome) = self.which(test, &meant)? {
                return Ok(Reply::Events(vec![answer(outcome, Some(text))]));
            }
            typed.clear();
        }
    }

    /// Which outcome the words mean: said back to the caller, never guessed.
    fn which(&mut self, test: &Test, meant: &[usize]) -> Result<Option<usize>, TerminalError> {
        let mut page = Page::new(&self.style);
        page.line("Say it back. Do they mean:");
        for (i, outcome) in meant.iter().enumerate() {
            page.option(i + 1, &test.outcomes[*outcome].say);
        }
        page.option(0, "None of these");
        let text = page.finish();
        self.say(&text);
        let picked = self.number("which (0 none):", true, meant.len())?;
        Ok(picked.filter(|n| *n > 0).map(|n| meant[n - 1]))
    }

    /// The visit: planned, shown, booked; or the call ends without one.
    pub(super) fn send(&mut self, call: &Call<'_>, step: &Step) -> Result<Reply, TerminalError> {
        let mut wishes = self.wishes.clone();
        loop {
            let visit = plan(call, &wishes);
            let mut page = Page::new(&self.style);
            page.option(1, "Send: this call stays open and goes on at the gate");
            page.option(2, "The same for another chance than asked for, in per cent");
            page.option(3, "Nobody is sent: end the call");
            let text = render_visit(&visit, &self.style) + &page.finish();
            self.say(&text);
            loop {
                let text = match self.line("1-3 (t another question first):", "")? {
                    Line::Typed(text) => text,
                    Line::Back => return Ok(self.back(call)),
                };
                match self.command(call, step, &text)? {
                    Command::Reply(reply) => return Ok(reply),
                    Command::AskAgain => continue,
                    Command::NotOne => {}
                }
                match text.as_str() {
                    "1" => return Ok(Reply::Events(vec![Event::Visit { plan: Box::new(visit) }])),
                    "2" => {
                        if let Some(percent) = self.number("per cent, 1 to 99:", false, 99)? {
                            #[expect(clippy::cast_precision_loss, reason = "1 to 99")]
                            let rate = percent as f64 / 100.0;
                            wishes = Wishes { rate, ..wishes };
                        }
                        break;
                    }
                    "3" => {
                        let open: Vec<Ending> =
                            [Ending::Waiting, Ending::Referred, Ending::OutOfUse, Ending::Withdrawn]
                                .into_iter()
                                .filter(|e| call.may_end(*e))
                                .collect();
                        if let Command::Reply(reply) = self.choose_ending(call, &open, None)? {
                            return Ok(reply);
                        }
                        break;
                    }
                    _ => self.note(&format!(
                        "\"{text}\" is not one of the numbers 1 to 3; ? shows what else you can type."
                    )),
                }
            }
        }
    }
}

/// Ways to say that nobody knows.
fn not_sure(text: &str) -> bool {
    let text = text.to_lowercase();
    let plain = text.trim_matches(|c: char| !c.is_alphanumeric());
    matches!(
        plain,
        "not sure"
            | "isnt sure"
            | "isn't sure"
            | "dont know"
            | "don't know"
            | "dunno"
            | "no idea"
            | "cant tell"
            | "can't tell"
            | "unsure"
    )
}

/// Outcomes whose words fit, best first.
fn meant(test: &Test, text: &str) -> Vec<usize> {
    let phrases = test.outcomes.iter().map(|(id, outcome)| {
        let heard = outcome.heard.iter().map(String::as_str);
        (
            id.as_str(),
            std::iter::once(outcome.say.as_str()).chain(heard).collect(),
        )
    });
    let index = SymptomIndex::of(phrases, &crate::knowledge::schema::Entries::new());
    let found = index.find(text).into_iter();
    found
        .filter_map(|m| test.outcomes.get_index_of(&m.symptom))
        .take(SHOWN)
        .collect()
}
