//! A line of the safety retest: its result, and each device or place by itself.

use super::person::{Line, Person, TerminalError};
use crate::call::{Call, Event, Reply, Retested, Step};
use crate::knowledge::schema::Each;

/// What was typed for the devices or places of a line.
enum Listed {
    All(Vec<Retested>),
    Back,
}

impl Person<'_> {
    /// A line of the retest.
    pub(super) fn retest(&mut self, call: &Call<'_>, step: &Step, id: &str) -> Result<Reply, TerminalError> {
        let reply = self.choice(call, step, 3, &|n| Event::Retest {
            line: id.to_owned(),
            passed: [Some(true), Some(false), None][n - 1],
            note: String::new(),
            each: Vec::new(),
        })?;
        let Reply::Events(mut events) = reply else {
            return Ok(reply);
        };
        let Some(Event::Retest { note, passed, each, .. }) = events.last_mut() else {
            return Ok(Reply::Events(events));
        };
        let by = call.engine.knowledge.retest.get(id).and_then(|line| line.each);
        if let (Some(by), Some(passed)) = (by, *passed) {
            match self.one_by_one(call, by, passed)? {
                Listed::All(listed) => *each = listed,
                Listed::Back => return self.answer_step(call, step),
            }
        } else {
            let prompt = if *passed == Some(true) {
                "reading or remark (Enter for none):"
            } else {
                "what was found, for the record:"
            };
            match self.line(prompt, "")? {
                Line::Typed(text) => *note = text,
                Line::Back => return self.answer_step(call, step),
            }
        }
        Ok(Reply::Events(events))
    }

    /// Every device or place on a line of its own; what the site file lists stands there to be completed.
    fn one_by_one(&mut self, call: &Call<'_>, by: Each, passed: bool) -> Result<Listed, TerminalError> {
        let noun = by.say();
        let such_as = match by {
            Each::Eye => "left post, 18 in: stopped it at three places",
            Each::Edge => "left leaf, leading edge: reversed from fully open",
            Each::Device => "left post eye: refused to run, back and tested",
            Each::ClosingPlace | Each::OpeningPlace => "hinge side: edge on the post",
        };
        self.note(&format!("Each {noun} on its own line, such as \"{such_as}\"."));
        let known: Vec<String> = call.fitted(by).iter().map(|what| format!("{what}: ")).collect();
        let mut listed: Vec<String> = Vec::new();
        loop {
            let prompt = format!("{noun} {} (Enter: no more):", listed.len() + 1);
            let typed = known.get(listed.len()).map_or("", String::as_str);
            match self.line(&prompt, typed)? {
                Line::Typed(text) if text.chars().any(char::is_alphabetic) => listed.push(text),
                Line::Typed(text) if !text.is_empty() => {
                    self.note(&format!("\"{text}\" doesn't say which {noun}: begin with where it is."));
                }
                Line::Typed(_) if listed.is_empty() => {
                    self.note(&format!("Write one {noun} at least; b goes back to the question."));
                }
                Line::Typed(_) => break,
                Line::Back if listed.pop().is_none() => return Ok(Listed::Back),
                Line::Back => {}
            }
        }
        let failed = if passed || listed.len() == 1 {
            vec![!passed; listed.len()]
        } else {
            match self.which_failed(listed.len())? {
                Some(failed) => failed,
                None => return Ok(Listed::Back),
            }
        };
        let each = listed.into_iter().zip(failed);
        Ok(Listed::All(
            each.map(|(what, failed)| Retested { what, passed: !failed }).collect(),
        ))
    }

    /// Which of so many did not pass; `None` for back.
    fn which_failed(&mut self, many: usize) -> Result<Option<Vec<bool>>, TerminalError> {
        loop {
            let Line::Typed(text) = self.line("which did not pass, by number:", "")? else {
                return Ok(None);
            };
            let numbers: Option<Vec<usize>> = text
                .split([' ', ','])
                .filter(|word| !word.is_empty())
                .map(|word| word.parse().ok().filter(|n| (1..=many).contains(n)))
                .collect();
            match numbers {
                Some(numbers) if !numbers.is_empty() => {
                    return Ok(Some((1..=many).map(|n| numbers.contains(&n)).collect()));
                }
                _ => self.note(&format!("\"{text}\": type numbers from 1 to {many}, with commas.")),
            }
        }
    }
}
