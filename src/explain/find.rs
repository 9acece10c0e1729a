//! Entries by what somebody remembers of them: an id, part of it, words of the title, with a typing mistake.

use crate::knowledge::Knowledge;
use crate::knowledge::schema::{Codes, Entries};

/// An entry that can be named.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Candidate {
    /// Its section.
    pub section: &'static str,
    /// Its id.
    pub id: String,
    /// Its title, or what stands for one.
    pub title: String,
}

/// Every entry of the knowledge.
#[must_use]
pub fn all(k: &Knowledge) -> Vec<Candidate> {
    let mut found = Vec::new();
    let mut add = |section, id: &String, title: &str| {
        found.push(Candidate {
            section,
            id: id.clone(),
            title: title.to_owned(),
        });
    };
    k.symptoms.iter().for_each(|(id, e)| add("symptoms", id, &e.title));
    k.causes.iter().for_each(|(id, e)| add("causes", id, &e.title));
    k.tests.iter().for_each(|(id, e)| add("tests", id, &e.title));
    k.repairs.iter().for_each(|(id, e)| add("repairs", id, &e.title));
    k.facts.iter().for_each(|(id, e)| add("facts", id, &e.ask));
    k.places.iter().for_each(|(id, e)| add("places", id, &e.title));
    k.covers.iter().for_each(|(id, e)| add("covers", id, &e.title));
    k.conditions.iter().for_each(|(id, e)| add("conditions", id, &e.title));
    k.signs.iter().for_each(|(id, e)| add("signs", id, &e.ask));
    k.standing.iter().for_each(|(id, e)| add("standing", id, &e.text));
    k.retest.iter().for_each(|(id, e)| add("retest", id, &e.title));
    k.ideas.iter().for_each(|(id, _)| add("ideas", id, id));
    k.ambiguity.iter().for_each(|(id, e)| add("ambiguity", id, &e.reason));
    k.kit.iter().for_each(|(id, e)| add("kit", id, &e.title));
    k.shortcuts.iter().for_each(|(id, e)| add("shortcuts", id, &e.title));
    for (_, codes) in codes(k) {
        codes.entries.iter().for_each(|(id, e)| add("codes", id, &e.say));
    }
    found
}

/// The tables of codes, with the file each is in. They are not kept apart once they are outcomes of their test.
pub(super) fn codes(k: &Knowledge) -> Vec<(usize, Codes)> {
    let files = k.sources.files.iter().enumerate();
    let with_codes = files.filter(|(_, f)| f.text.lines().any(|l| l.starts_with("codes:")));
    with_codes
        .filter_map(|(at, f)| {
            let mut sections = serde_yaml::from_str::<Entries<serde_yaml::Value>>(&f.text).ok()?;
            let codes = serde_yaml::from_value(sections.shift_remove("codes")?).ok()?;
            Some((at, codes))
        })
        .collect()
}

/// The candidates that fit, best first.
#[must_use]
pub fn search<'c>(query: &str, among: &'c [Candidate]) -> Vec<&'c Candidate> {
    let query = query.trim().to_lowercase();
    let ranked = among.iter().filter_map(|c| rank(&query, c).map(|rank| (rank, c)));
    let mut ranked: Vec<(usize, &Candidate)> = ranked.collect();
    ranked.sort_by_key(|(rank, _)| *rank);
    ranked.into_iter().map(|(_, c)| c).collect()
}

/// How well it fits, 0 best; `None` not at all.
fn rank(query: &str, c: &Candidate) -> Option<usize> {
    if c.id == query {
        return Some(0);
    }
    if c.id.starts_with(query) {
        return Some(1);
    }
    let text = format!("{} {}", c.id, c.title.to_lowercase());
    let asked: Vec<&str> = words(query).collect();
    if asked.iter().all(|word| text.contains(word)) {
        return Some(2);
    }
    let distance = strsim::damerau_levenshtein(query, &c.id);
    if distance <= 2.max(c.id.len() / 4) {
        return Some(3 + distance);
    }
    let near = |asked: &&str| {
        let allowed = match asked.chars().count() {
            0..=3 => 0,
            4..=6 => 1,
            _ => 2,
        };
        words(&text).any(|word| word.starts_with(*asked) || strsim::damerau_levenshtein(asked, word) <= allowed)
    };
    let matched = asked.iter().filter(|word| near(word)).count();
    (matched * 2 > asked.len()).then(|| 40 + 10 * (asked.len() - matched))
}

fn words(text: &str) -> impl Iterator<Item = &str> {
    text.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(query: &str) -> Vec<String> {
        let one = |id: &str, title: &str| Candidate {
            section: "tests",
            id: id.to_owned(),
            title: title.to_owned(),
        };
        let among = [
            one("rest-volts", "Battery volts at rest"),
            one("eye-look", "Look at the eyes"),
            one("battery-look", "Look at the battery"),
        ];
        search(query, &among).into_iter().map(|c| c.id.clone()).collect()
    }

    #[test]
    fn by_id_by_words_and_with_a_typing_mistake() {
        assert_eq!(found("eye"), ["eye-look"]);
        assert_eq!(found("battery look"), ["battery-look"]);
        assert_eq!(found("rest-vlots"), ["rest-volts"]);
        assert_eq!(found("batery volts"), ["rest-volts"]);
        assert!(found("gearbox").is_empty());
    }

    #[test]
    fn nothing_typed_is_everything() {
        assert_eq!(found("").len(), 3);
    }
}
