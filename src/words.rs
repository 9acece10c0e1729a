//! Symptoms by the caller's own words.
//!
//! Okapi BM25 (Robertson & Zaragoza, "The Probabilistic Relevance Framework: BM25 and Beyond", Foundations and Trends in Information
//! Retrieval 3(4), 2009) over the phrasings of each symptom; a word nobody used before is read as the nearest one within a typing
//! mistake or two. Words that the knowledge calls one idea (`ideas:`) count as that idea too, so that *crawls* finds *slow*.
//! Deterministic, and says which words matched.

use std::collections::{BTreeMap, BTreeSet};

use crate::knowledge::Knowledge;
use crate::knowledge::schema::{Entries, Idea};

/// Saturation of repeated words; the usual value.
const K1: f64 = 1.2;
/// How much long entries are discounted; the usual value.
const B: f64 = 0.75;
/// Words that say nothing about what is wrong.
const SILENT: [&str; 44] = [
    "a", "am", "an", "and", "are", "as", "at", "be", "been", "but", "can", "do", "for", "from", "gate", "gates", "had",
    "has", "have", "he", "i", "in", "is", "it", "its", "me", "my", "of", "our", "she", "so", "that", "the", "then",
    "there", "they", "this", "to", "us", "was", "we", "what", "with", "you",
];

/// One symptom that fits the words.
#[derive(Debug, Clone, PartialEq)]
pub struct Match {
    /// Symptom id.
    pub symptom: String,
    /// BM25 score; only the order means anything.
    pub score: f64,
    /// The words that matched.
    pub words: Vec<String>,
}

/// Phrasings, counted.
#[derive(Debug)]
pub struct SymptomIndex {
    /// Symptom id, its words with counts, its length in words.
    entries: Vec<(String, BTreeMap<String, f64>, f64)>,
    /// Word → how many symptoms use it.
    spread: BTreeMap<String, f64>,
    mean_length: f64,
    /// Word without its ending → the ideas it stands for.
    ideas: BTreeMap<String, Vec<String>>,
}

/// Marks a term as an idea rather than a word.
const IDEA: char = '#';

impl SymptomIndex {
    /// Indexes every symptom by its title and phrasings.
    #[must_use]
    pub fn new(knowledge: &Knowledge) -> Self {
        let phrases = knowledge
            .symptoms
            .iter()
            .map(|(id, s)| (id.as_str(), std::iter::once(&s.title).chain(&s.says)));
        let says = phrases.map(|(id, says)| (id, says.map(String::as_str).collect()));
        Self::of(says, &knowledge.ideas)
    }

    /// Indexes given phrasings, with words that stand for ideas.
    #[must_use]
    pub fn of<'a>(symptoms: impl Iterator<Item = (&'a str, Vec<&'a str>)>, known: &Entries<Idea>) -> Self {
        let mut ideas: BTreeMap<String, Vec<String>> = BTreeMap::new();
        for (id, idea) in known {
            for word in &idea.words {
                let of_word = ideas.entry(stem(&word.to_lowercase())).or_default();
                let id = format!("{IDEA}{id}");
                if !of_word.contains(&id) {
                    of_word.push(id);
                }
            }
        }
        let mut entries = Vec::new();
        let mut spread: BTreeMap<String, f64> = BTreeMap::new();
        for (id, phrases) in symptoms {
            let mut counts: BTreeMap<String, f64> = BTreeMap::new();
            phrases
                .iter()
                .flat_map(|p| terms(p))
                .flat_map(|t| with_ideas(&ideas, t))
                .for_each(|t| *counts.entry(t).or_default() += 1.0);
            counts.keys().for_each(|t| *spread.entry(t.clone()).or_default() += 1.0);
            let length = counts.values().sum();
            entries.push((id.to_owned(), counts, length));
        }
        let mean_length = entries.iter().map(|e| e.2).sum::<f64>() / (entries.len().max(1) as f64);
        Self {
            entries,
            spread,
            mean_length,
            ideas,
        }
    }

    /// Symptoms that fit, best first.
    #[must_use]
    pub fn find(&self, text: &str) -> Vec<Match> {
        let known = terms(text).into_iter().filter_map(|t| self.known(&t));
        let asked: BTreeSet<String> = known.flat_map(|t| with_ideas(&self.ideas, t)).collect();
        let mut found: Vec<Match> = self
            .entries
            .iter()
            .map(|(id, counts, length)| {
                let words: Vec<String> = asked.iter().filter(|t| counts.contains_key(*t)).cloned().collect();
                Match {
                    symptom: id.clone(),
                    score: words.iter().map(|t| self.weight(t, counts[t], *length)).sum(),
                    words: words.iter().map(|t| t.trim_start_matches(IDEA).to_owned()).collect(),
                }
            })
            .filter(|m| !m.words.is_empty())
            .collect();
        found.sort_by(|a, b| b.score.total_cmp(&a.score).then_with(|| a.symptom.cmp(&b.symptom)));
        found
    }

    fn weight(&self, term: &str, count: f64, length: f64) -> f64 {
        let n = self.entries.len() as f64;
        let df = self.spread.get(term).copied().unwrap_or(0.0);
        let idf = (1.0 + (n - df + 0.5) / (df + 0.5)).ln();
        idf * count * (K1 + 1.0) / (count + K1 * (1.0 - B + B * length / self.mean_length))
    }

    /// The word itself, or the nearest known one within a typing mistake (two in long words).
    fn known(&self, term: &str) -> Option<String> {
        if self.spread.contains_key(term) || self.ideas.contains_key(term) {
            return Some(term.to_owned());
        }
        let allowed = match term.len() {
            0..=3 => return None,
            4..=6 => 1,
            _ => 2,
        };
        self.spread
            .keys()
            .chain(self.ideas.keys())
            .filter(|known| !known.starts_with(IDEA))
            .map(|known| (strsim::damerau_levenshtein(term, known), known))
            .filter(|(distance, _)| *distance <= allowed)
            .min()
            .map(|(_, known)| known.clone())
    }
}

/// A word, and the ideas it stands for.
fn with_ideas(ideas: &BTreeMap<String, Vec<String>>, term: String) -> Vec<String> {
    let mut all = ideas.get(&term).cloned().unwrap_or_default();
    all.push(term);
    all
}

/// Words that say something, without their endings.
fn terms(text: &str) -> Vec<String> {
    text.to_lowercase()
        .replace(['\'', '’'], "")
        .split(|c: char| !c.is_alphanumeric())
        .filter(|w| !w.is_empty() && !SILENT.contains(w))
        .map(stem)
        .collect()
}

fn stem(word: &str) -> String {
    for ending in ["ing", "ed", "es", "s"] {
        if let Some(root) = word.strip_suffix(ending)
            && root.len() >= 3
            && !word.ends_with("ss")
        {
            return root.to_owned();
        }
    }
    word.to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn index() -> SymptomIndex {
        let symptoms = [
            ("stops", vec!["it goes halfway and quits", "stops mid swing"]),
            ("slow", vec!["runs like it is dying", "really slow"]),
        ];
        SymptomIndex::of(symptoms.into_iter(), &Entries::new())
    }

    #[test]
    fn found_by_words_in_any_order_and_with_a_typing_mistake() {
        assert_eq!(index().find("quits halfwy")[0].symptom, "stops");
        assert_eq!(index().find("swinging mid")[0].words, ["mid", "swing"]);
    }

    #[test]
    fn found_by_what_is_meant() {
        let crawl = Idea {
            words: vec!["slow".to_owned(), "crawls".to_owned()],
            source: "made up".to_owned(),
        };
        let symptoms = [("slow", vec!["really slow"]), ("dead", vec!["nothing at all"])];
        let index = SymptomIndex::of(symptoms.into_iter(), &Entries::from([("speed".to_owned(), crawl)]));
        let found = index.find("crawling along");
        assert_eq!(
            (found[0].symptom.as_str(), &found[0].words[..]),
            ("slow", &["speed".to_owned()][..])
        );
    }

    #[test]
    fn nothing_is_found_for_words_that_say_nothing() {
        assert!(index().find("the gate is it").is_empty());
    }
}
