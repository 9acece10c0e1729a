//! The kinds of question that every dialogue is made of.

use super::draft::At;
use super::interview::{Interview, Question, Show, Stop};
use super::yaml::{Field, Node};
use crate::knowledge::frequency::{Frequency, WORDS};
use crate::knowledge::load::is_id;

impl Interview<'_> {
    /// A line that must say something.
    pub(super) fn text(&mut self, question: Question<'_>) -> Result<String, Stop> {
        self.answer(question, &|text| match text.trim() {
            "" => Err("This can't be left out: type it, or ? for what is meant.".to_owned()),
            text => Ok(text.to_owned()),
        })
    }

    /// A line that may be left out with Enter.
    pub(super) fn maybe(&mut self, question: Question<'_>) -> Result<Option<String>, Stop> {
        self.answer(question, &|text| {
            Ok(Some(text.trim().to_owned()).filter(|t| !t.is_empty()))
        })
    }

    /// Lines until an empty one; at least so many.
    pub(super) fn lines(&mut self, question: Question<'_>, least: usize) -> Result<Vec<String>, Stop> {
        let mut lines: Vec<String> = Vec::new();
        loop {
            let enough = lines.len() >= least;
            let ends = if enough { " (Enter ends)" } else { "" };
            let prompt = format!("{} {}{ends}:", question.prompt, lines.len() + 1);
            let asked = Question {
                prompt: &prompt,
                ..question
            };
            let line = self.answer(asked, &|text| match text.trim() {
                "" if !enough => Err(format!("{least} at least; an empty line ends the list after that.")),
                text => Ok(text.to_owned()),
            })?;
            if line.is_empty() {
                return Ok(lines);
            }
            lines.push(line);
        }
    }

    /// An id that no entry of the section has, proposed from the title.
    pub(super) fn id(&mut self, section: &'static str, title: &str) -> Result<String, Stop> {
        let taken: Vec<String> = self.ids(section);
        let knowledge = self.knowledge;
        let proposed = kebab(title);
        let question = Question::new(
            "its id (Enter keeps it):",
            "The short name by which other entries mean this one: lower-case letters, digits and dashes. It stays, so \
             choose one that will still fit.",
        );
        self.answer(question.typed(&proposed), &|text| {
            let id = text.trim();
            if !is_id(id) {
                let near = kebab(id);
                let hint = if near.is_empty() {
                    String::new()
                } else {
                    format!(", such as {near}")
                };
                Err(format!(
                    "An id is lower-case letters, digits and dashes, 60 at most{hint}."
                ))
            } else if taken.iter().any(|t| t == id) || !knowledge.origins.files(section, id).is_empty() {
                let seen = match section {
                    "cases" => String::new(),
                    _ => format!(": `pintle explain {section}/{id}` shows what it is"),
                };
                Err(format!("`{id}` is taken{seen}. Choose another."))
            } else {
                Ok(id.to_owned())
            }
        })
    }

    /// Ids of a section, written or being written.
    pub(super) fn ids(&self, section: &'static str) -> Vec<String> {
        let all = crate::explain::all(self.knowledge);
        let known = all.into_iter().filter(|c| c.section == section).map(|c| c.id);
        let mut ids: Vec<String> = known.collect();
        if section == "cases" {
            let names = self
                .knowledge
                .cases
                .iter()
                .map(|(file, _)| &self.knowledge.sources.files[*file].name);
            ids.extend(names.filter_map(|n| std::path::Path::new(n).file_stem()?.to_str().map(str::to_owned)));
        }
        if section == "tests" {
            ids.extend(self.new_tests.iter().map(|t| t.id.clone()));
        }
        ids
    }

    /// One of a few, by its number.
    pub(super) fn one_of(&mut self, question: Question<'_>, choices: &[&str]) -> Result<usize, Stop> {
        self.choices(choices.iter().copied());
        let most = choices.len();
        self.answer(question, &|text| number_in(text, 1, most).map(|n| n - 1))
    }

    /// Any of a few, by their numbers; 0 or Enter for none. `judge` may refuse a set.
    pub(super) fn any_of(
        &mut self,
        question: Question<'_>,
        choices: &[&str],
        judge: &dyn Fn(&[usize]) -> Result<(), String>,
    ) -> Result<Vec<usize>, Stop> {
        self.choices(choices.iter().copied());
        let most = choices.len();
        self.answer(question, &|text| {
            let mut picked = Vec::new();
            for word in text.split([' ', ',']).filter(|w| !w.is_empty() && *w != "0") {
                let n = number_in(word, 1, most)? - 1;
                if !picked.contains(&n) {
                    picked.push(n);
                }
            }
            picked.sort_unstable();
            judge(&picked).map(|()| picked)
        })
    }

    /// Yes or no.
    pub(super) fn yes(&mut self, question: Question<'_>) -> Result<bool, Stop> {
        self.answer(question, &|text| match text.trim().to_lowercase().as_str() {
            "y" | "yes" | "1" => Ok(true),
            "n" | "no" | "0" | "2" => Ok(false),
            _ => Err("Type y or n.".to_owned()),
        })
    }

    /// A number in a range, a decimal comma taken.
    pub(super) fn number(&mut self, question: Question<'_>, low: f64, high: f64) -> Result<f64, Stop> {
        self.answer(question, &|text| plain_number(text, low, high))
    }

    /// How often: a word of the scale or a chance.
    pub(super) fn frequency(&mut self, question: Question<'_>) -> Result<(Frequency, Node), Stop> {
        self.scale();
        self.answer(question, &read_frequency)
    }

    /// Shows the scale.
    pub(super) fn scale(&mut self) {
        let words = WORDS.iter().enumerate();
        let scale: Vec<String> = words
            .map(|(i, (word, _))| format!("{} {}", i + 1, word.replace('-', " ")))
            .collect();
        // Two lines that fit, so that no number is parted from its word.
        let (first, second) = scale.split_at(scale.len().min(6));
        self.say(&format!("{},", first.join(", ")));
        self.say(&format!("{}; or a share such as 0.35 or 35 %", second.join(", ")));
    }

    /// Where it is known from.
    pub(super) fn source(&mut self) -> Result<String, Stop> {
        self.title("Where you know it from");
        let choices = [
            "Common practice in the trade",
            "A standard, handbook or manual",
            "From memory of one",
        ];
        let help = "Who reads it later must be able to judge how far to trust it.";
        let picked = self.one_of(Question::new("1-3:", help), &choices)?;
        let which = Question::new(
            "which, with its section:",
            "Such as: operator's manual of the type, fault table",
        );
        Ok(match picked {
            0 => "common practice".to_owned(),
            1 => self.text(which)?,
            _ => format!("from memory: {}", self.text(which)?),
        })
    }

    /// Puts a text into the draft.
    pub(super) fn put_text(&mut self, at: At, key: &str, text: &str) {
        self.draft.put(at, Field::new(key, Node::Text(text.to_owned())));
    }

    /// Puts lines into the draft, unless there are none.
    pub(super) fn put_lines(&mut self, at: At, key: &str, lines: Vec<String>) {
        if !lines.is_empty() {
            self.draft.put(at, Field::new(key, Node::Lines(lines)));
        }
    }

    /// Puts words into the draft, on one line, unless there are none.
    pub(super) fn put_words(&mut self, at: At, key: &str, words: &[&str]) {
        if !words.is_empty() {
            self.draft.put(at, Field::new(key, words_of(words)));
        }
    }

    /// A remark that is no problem and no question.
    pub(super) fn choice(&mut self, number: usize, text: &str) {
        self.show(Show::Choice(number, text));
    }
}

/// A list of words on one line.
pub(super) fn words_of(words: &[&str]) -> Node {
    Node::List(words.iter().map(|w| Node::Text((*w).to_owned())).collect())
}

fn number_in(text: &str, least: usize, most: usize) -> Result<usize, String> {
    let text = text.trim();
    match text.parse::<usize>() {
        Ok(n) if (least..=most).contains(&n) => Ok(n),
        _ => Err(format!("\"{text}\" is not one of the numbers {least} to {most}.")),
    }
}

pub(super) fn plain_number(text: &str, low: f64, high: f64) -> Result<f64, String> {
    let text = text.trim();
    match text.replace(',', ".").parse::<f64>() {
        Ok(n) if n.is_finite() && (low..=high).contains(&n) => Ok(n),
        Ok(n) if n.is_finite() => Err(format!("{text} is outside {low} to {high}.")),
        _ => Err(format!("\"{text}\" is no number. Type digits, such as 2.5.")),
    }
}

pub(super) fn read_frequency(text: &str) -> Result<(Frequency, Node), String> {
    let text = text.trim().to_lowercase();
    let by_number = text
        .parse::<usize>()
        .ok()
        .filter(|n| *n >= 1)
        .and_then(|n| WORDS.get(n - 1));
    let as_word = text.replace(' ', "-");
    if let Some((word, chance)) = by_number.or_else(|| WORDS.iter().find(|(word, _)| *word == as_word)) {
        let frequency = Frequency {
            chance: *chance,
            is_word: true,
        };
        return Ok((frequency, Node::Word((*word).to_owned())));
    }
    let (digits, per) = match text.strip_suffix('%') {
        Some(digits) => (digits.trim().to_owned(), 100.0),
        None => (text.clone(), 1.0),
    };
    match digits.replace(',', ".").parse::<f64>() {
        // A chance of 0 or 1 could never be taken back by any later answer.
        Ok(n) if n.abs() < 1e-9 || (n - per).abs() < 1e-9 => Err(
            "Nothing is that sure: say 10 (never: one in a hundred) or 1 (always: all but two in a hundred)."
                .to_owned(),
        ),
        Ok(n) if (0.0..=per).contains(&n) => {
            let chance = n / per;
            Ok((Frequency::number(chance), Node::Word(chance.to_string())))
        }
        Ok(_) => Err(format!(
            "{text} is no share: 0 to 1, or 0 to 100 %, or a number of the scale."
        )),
        Err(_) => Err(format!(
            "\"{text}\" is not on the scale. Type its number, its word or a share."
        )),
    }
}

/// An id from a title: its first words that say something.
pub(super) fn kebab(title: &str) -> String {
    let small = [
        "a", "an", "the", "of", "is", "its", "it", "itself", "at", "to", "and", "or", "in", "on", "when", "for",
        "does", "by", "with", "from", "after", "one",
    ];
    let lower = title.to_lowercase().replace(['\'', '’'], "");
    let words = lower
        .split(|c: char| !c.is_ascii_alphanumeric())
        .filter(|w| !w.is_empty());
    let telling: Vec<&str> = words.clone().filter(|w| !small.contains(w)).take(4).collect();
    let chosen = if telling.is_empty() {
        words.take(4).collect()
    } else {
        telling
    };
    let mut id = chosen.join("-");
    id.truncate(40);
    id.trim_matches('-').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_come_from_what_a_title_says() {
        assert_eq!(kebab("The bell at the gate rings by itself"), "bell-gate-rings");
        assert_eq!(kebab("Charger's lamp is dark"), "chargers-lamp-dark");
        assert_eq!(kebab("…"), "");
    }

    #[test]
    fn how_often_by_number_word_or_share() {
        let chance = |text: &str| read_frequency(text).map(|(f, _)| (f.chance, f.is_word));
        assert_eq!(chance("4"), Ok((0.66, true)));
        assert_eq!(chance("Half the time"), Ok((0.5, true)));
        assert_eq!(chance("35 %"), Ok((0.35, false)));
        assert_eq!(chance("0,2"), Ok((0.2, false)));
        assert!(chance("0").is_err() && chance("100 %").is_err(), "nothing is that sure");
        assert!(chance("11").is_err() && chance("130 %").is_err() && chance("mostly").is_err());
    }
}
