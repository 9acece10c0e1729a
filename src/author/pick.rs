//! Picking from a long list: type a word, then a number. No arrow keys.

use std::cell::RefCell;

use super::interview::{Interview, Question, Stop};
use crate::explain::{Candidate, all, search};

/// Most that are shown at a time.
const MOST: usize = 9;

/// What came of picking.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Picked {
    /// This one.
    One(Candidate),
    /// None, or no more.
    None,
    /// One that is not there yet.
    New,
}

impl Interview<'_> {
    /// Entries of a section, written or being written.
    pub(super) fn candidates(&self, section: &'static str) -> Vec<Candidate> {
        let mut found: Vec<Candidate> = all(self.knowledge)
            .into_iter()
            .filter(|c| c.section == section)
            .collect();
        if section == "tests" {
            found.extend(self.new_tests.iter().map(|t| Candidate {
                section,
                id: t.id.clone(),
                title: t.title.clone(),
            }));
        }
        found
    }

    /// One entry of a section by a word and a number; `may_end` allows Enter for none, `may_write` allows + for a new one.
    pub(super) fn pick(
        &mut self,
        what: &str,
        among: &[Candidate],
        may_end: bool,
        may_write: bool,
    ) -> Result<Picked, Stop> {
        // The list that the numbers mean: at the start all of it, if it is short.
        let shown: RefCell<Vec<Candidate>> = RefCell::new(Vec::new());
        if among.len() <= MOST {
            *shown.borrow_mut() = among.to_vec();
        }
        let mut ways = String::from("a word of it");
        if may_write {
            ways += ", + to write a new one";
        }
        if may_end {
            ways += ", Enter for none";
        }
        let prompt = format!("{what} ({ways}):");
        loop {
            self.list(&shown.borrow());
            let numbered = !shown.borrow().is_empty();
            let again = format!(
                "{what} (number or word{}):",
                if may_end { ", Enter for none" } else { "" }
            );
            let help = "Type part of its name or id; what fits is listed with numbers. A typing mistake does no harm.";
            let question = Question::new(if numbered { &again } else { &prompt }, help);
            let step = self.answer(question, &|text| read(text, &shown.borrow(), among, may_end, may_write))?;
            match step {
                Step::Done(picked) => return Ok(picked),
                Step::Narrowed(found) => *shown.borrow_mut() = found,
            }
        }
    }

    fn list(&mut self, shown: &[Candidate]) {
        for (i, c) in shown.iter().take(MOST).enumerate() {
            self.choice(i + 1, &format!("{}  ({})", c.title, c.id));
        }
        if shown.len() > MOST {
            self.say(&format!(
                "and {} more: type another word to narrow it",
                shown.len() - MOST
            ));
        }
    }
}

enum Step {
    Done(Picked),
    Narrowed(Vec<Candidate>),
}

fn read(text: &str, shown: &[Candidate], among: &[Candidate], may_end: bool, may_write: bool) -> Result<Step, String> {
    let text = text.trim();
    if text == "+" && may_write {
        return Ok(Step::Done(Picked::New));
    }
    if text.is_empty() || text == "0" {
        return if may_end {
            Ok(Step::Done(Picked::None))
        } else {
            Err("One is needed here: type a word of it.".to_owned())
        };
    }
    if let Ok(n) = text.parse::<usize>()
        && !shown.is_empty()
    {
        let most = shown.len().min(MOST);
        let one = shown.get(n.wrapping_sub(1)).filter(|_| n <= most);
        return one
            .map(|c| Step::Done(Picked::One(c.clone())))
            .ok_or_else(|| format!("{n} is not one of the numbers 1 to {most}."));
    }
    if let Some(exact) = among.iter().find(|c| c.id == text) {
        return Ok(Step::Done(Picked::One(exact.clone())));
    }
    let found: Vec<Candidate> = search(text, among).into_iter().cloned().collect();
    if found.is_empty() {
        return Err(format!("Nothing has \"{text}\" in its name. Try another word."));
    }
    Ok(Step::Narrowed(found))
}
