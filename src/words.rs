//! Symptoms by the caller's own words.
//!
//! Naive Bayes of each symptom against all the others together: every trait of what was said adds the log of how much likelier it is in this
//! symptom's phrasings than in the rest (complement estimates: Rennie, Shih, Teevan & Karger, "Tackling the poor assumptions of naive Bayes
//! text classifiers", ICML 2003). Traits are words without their endings, neighbouring words, runs of four letters (which forgive slips of
//! typing), and the ideas that words stand for (`ideas:`), so that *crawls* finds *slow*. Deterministic, and says which words matched.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use crate::knowledge::Knowledge;
use crate::knowledge::schema::{Entries, Idea};

/// Added to every count, so that what was never seen is unlikely, not impossible.
const SMOOTHING: f64 = 0.3;
/// Letters in a run.
const RUN: usize = 4;
/// Words that say nothing about what is wrong when they stand alone.
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
    /// Log odds against the other symptoms; only the order means anything.
    pub score: f64,
    /// The words that matched.
    pub words: Vec<String>,
}

/// Phrasings, counted.
#[derive(Debug)]
pub struct SymptomIndex {
    /// Symptom ids, in the knowledge's order.
    symptoms: Vec<String>,
    /// Trait → how often each symptom's phrasings have it.
    counts: HashMap<Trait, Vec<f64>>,
    /// Traits counted, by symptom.
    totals: Vec<f64>,
    ideas: Ideas,
}

/// What a phrase is known by.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
enum Trait {
    Word(String),
    Idea(String),
    Neighbours(String, String),
    Letters(String),
}

/// Word without its ending → the ideas it stands for.
#[derive(Debug)]
struct Ideas(BTreeMap<String, BTreeSet<String>>);

impl Ideas {
    fn new(known: &Entries<Idea>) -> Self {
        let mut ideas: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
        for (id, idea) in known {
            for word in &idea.words {
                ideas.entry(stem(&word.to_lowercase())).or_default().insert(id.clone());
            }
        }
        Self(ideas)
    }

    /// Every trait of a phrase, as often as it has it.
    fn traits(&self, phrase: &str) -> Vec<Trait> {
        let words = words(phrase);
        let stems: Vec<String> = words.iter().map(|w| stem(w)).collect();
        let pairs = stems.windows(2).map(|w| Trait::Neighbours(w[0].clone(), w[1].clone()));
        let mut traits: Vec<Trait> = pairs.collect();
        for stem in stems {
            traits.extend(self.0.get(&stem).into_iter().flatten().cloned().map(Trait::Idea));
            traits.push(Trait::Word(stem));
        }
        traits.extend(words.iter().flat_map(|w| runs(w)).map(Trait::Letters));
        traits
    }
}

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
        let ideas = Ideas::new(known);
        let said: Vec<(&str, Vec<&str>)> = symptoms.collect();
        let mut counts: HashMap<Trait, Vec<f64>> = HashMap::new();
        let mut totals = vec![0.0; said.len()];
        for (at, (_, phrases)) in said.iter().enumerate() {
            for of_phrase in phrases.iter().flat_map(|p| ideas.traits(p)) {
                counts.entry(of_phrase).or_insert_with(|| vec![0.0; said.len()])[at] += 1.0;
                totals[at] += 1.0;
            }
        }
        Self {
            symptoms: said.into_iter().map(|(id, _)| id.to_owned()).collect(),
            counts,
            totals,
            ideas,
        }
    }

    /// Symptoms that fit, best first.
    #[must_use]
    pub fn find(&self, text: &str) -> Vec<Match> {
        let asked = self.ideas.traits(text);
        let known: Vec<(&Trait, &Vec<f64>)> = asked.iter().filter_map(|t| Some((t, self.counts.get(t)?))).collect();
        let mut found: Vec<Match> = (0..self.symptoms.len())
            .map(|at| Match {
                symptom: self.symptoms[at].clone(),
                score: known.iter().map(|(_, counts)| self.weight(counts, at)).sum(),
                words: matched(known.iter().filter(|(_, counts)| counts[at] > 0.0).map(|(t, _)| *t)),
            })
            .filter(|m| !m.words.is_empty())
            .collect();
        found.sort_by(|a, b| b.score.total_cmp(&a.score).then_with(|| a.symptom.cmp(&b.symptom)));
        found
    }

    /// How much likelier a trait is in one symptom's phrasings than in all the others: a log.
    fn weight(&self, counts: &[f64], at: usize) -> f64 {
        let kinds = SMOOTHING * self.counts.len() as f64;
        let chance = |count: f64, total: f64| (count + SMOOTHING) / (total + kinds);
        let (count, total) = (counts.iter().sum::<f64>(), self.totals.iter().sum::<f64>());
        let (here, elsewhere) = (counts[at], count - counts[at]);
        (chance(here, self.totals[at]) / chance(elsewhere, total - self.totals[at])).ln()
    }
}

/// The words among traits that say something; ideas by their name, neighbours and runs of letters unsaid.
fn matched<'a>(traits: impl Iterator<Item = &'a Trait>) -> Vec<String> {
    let words: BTreeSet<&str> = traits
        .filter_map(|t| match t {
            Trait::Word(word) if SILENT.contains(&word.as_str()) => None,
            Trait::Word(said) | Trait::Idea(said) => Some(said.as_str()),
            Trait::Neighbours(..) | Trait::Letters(_) => None,
        })
        .collect();
    words.into_iter().map(str::to_owned).collect()
}

/// Words in small letters, apostrophes dropped.
fn words(text: &str) -> Vec<String> {
    let plain = text.to_lowercase().replace(['\'', '’'], "");
    let split = plain.split(|c: char| !c.is_alphanumeric());
    split.filter(|w| !w.is_empty()).map(str::to_owned).collect()
}

/// Runs of letters in a word, its two ends marked.
fn runs(word: &str) -> Vec<String> {
    let letters: Vec<char> = format!("^{word}$").chars().collect();
    letters
        .windows(RUN.min(letters.len()))
        .map(|run| run.iter().collect())
        .collect()
}

/// A word without its ending; what would then read as another word is left whole.
fn stem(word: &str) -> String {
    if ["evening", "leaving", "notes"].contains(&word) {
        return word.to_owned();
    }
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
