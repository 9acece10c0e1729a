//! The calls of a folder as a list: read without knowledge, so that thousands take a moment.

use std::path::{Path, PathBuf};

use jiff::Timestamp;
use jiff::civil::Date;

use crate::call::{Entry, Event, Journal, tighten};
use crate::knowledge::Knowledge;
use crate::knowledge::schema::Ending;
use crate::report::plain_text;

/// One call in the list.
#[derive(Debug, Clone, PartialEq)]
pub struct Listed {
    /// The name of its file.
    pub id: String,
    /// Its file.
    pub path: PathBuf,
    /// When it was opened, as the journal says it; empty where it does not.
    pub opened: String,
    /// When it ended; empty while it is open.
    pub closed: String,
    /// Name of the site; empty where nobody gave one.
    pub site: String,
    /// The complaint in the caller's words.
    pub words: String,
    /// How it ended; `None` while it is open.
    pub ending: Option<Ending>,
    /// Ids of the reported symptoms.
    symptoms: Vec<String>,
    /// Ids of the repairs that were done.
    repairs: Vec<String>,
    /// Notes and remarks.
    notes: Vec<String>,
}

/// Which calls are meant; what is empty asks nothing.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Wanted {
    /// One of these states: `None` stands for open.
    pub states: Vec<Option<Ending>>,
    /// A part of the site's name, in any case.
    pub site: Option<String>,
    /// Opened on this day or later, by the clock of the place.
    pub since: Option<Date>,
    /// Opened on this day or before.
    pub until: Option<Date>,
    /// All of these words, or parts of them, in any case.
    pub words: Vec<String>,
}

/// What a folder holds.
#[derive(Debug, Default)]
pub struct Listing {
    /// Calls, newest last.
    pub calls: Vec<Listed>,
    /// Files that can't be read as calls, and why.
    pub damaged: Vec<String>,
    /// Files that others could read until now.
    pub tightened: usize,
}

/// Files of calls in a folder, not in folders inside it.
#[must_use]
pub fn call_files(folder: &Path) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder);
    let mut paths: Vec<PathBuf> = entries
        .map(|d| d.flatten().map(|e| e.path()).collect())
        .unwrap_or_default();
    paths.retain(|p| p.extension().is_some_and(|e| e == "jsonl"));
    paths.sort();
    paths
}

/// Reads a folder, on every core. Files that others could read are taken away from them.
#[must_use]
pub fn list_folder(folder: &Path) -> Listing {
    let paths = call_files(folder);
    let read = |path: &PathBuf| {
        let tightened = tighten(path).unwrap_or(false);
        let listed = Journal::load(path).map(|stored| Listed::of(path, &stored.entries));
        Some((listed.map_err(|error| error.to_string()), tightened))
    };
    let mut listing = Listing::default();
    for (listed, tightened) in crate::spread::spread(&paths, read) {
        listing.tightened += usize::from(tightened);
        match listed {
            Ok(call) => listing.calls.push(call),
            Err(reason) => listing.damaged.push(reason),
        }
    }
    listing
        .calls
        .sort_by_cached_key(|call| (call.instant(), call.id.len(), call.id.clone()));
    listing
}

impl Listed {
    /// Reads what a list shows out of a call's entries.
    #[must_use]
    pub fn of(path: &Path, entries: &[Entry]) -> Self {
        let mut call = Self {
            id: path.file_stem().unwrap_or_default().to_string_lossy().into_owned(),
            path: path.to_owned(),
            opened: String::new(),
            closed: String::new(),
            site: String::new(),
            words: String::new(),
            ending: None,
            symptoms: Vec::new(),
            repairs: Vec::new(),
            notes: Vec::new(),
        };
        let taken_back: Vec<usize> = entries
            .iter()
            .filter_map(|e| match e.event {
                Event::Retracted { entry } => Some(entry),
                _ => None,
            })
            .collect();
        for (i, entry) in entries.iter().enumerate() {
            if !taken_back.contains(&i) {
                call.take(entry);
            }
        }
        call
    }

    fn take(&mut self, entry: &Entry) {
        match &entry.event {
            Event::Opened { site, .. } => {
                self.opened = plain_text(&entry.time);
                self.site = site.as_deref().map(plain_text).unwrap_or_default();
            }
            Event::Complaint { words, symptoms } => {
                self.words = plain_text(words);
                self.symptoms.clone_from(symptoms);
            }
            Event::Repaired { repair, note } => {
                self.repairs.push(repair.clone());
                self.notes.push(note.clone());
            }
            Event::Note { text } => self.notes.push(text.clone()),
            Event::Retest { note, .. } => self.notes.push(note.clone()),
            Event::Ended { ending, text } => {
                self.ending = Some(*ending);
                self.closed = plain_text(&entry.time);
                self.notes.push(text.clone());
            }
            _ => {}
        }
    }

    /// When it was opened; calls that don't say come first.
    fn instant(&self) -> Option<Timestamp> {
        self.opened.parse().ok()
    }

    /// The day on which it was opened, by the clock of the place.
    fn day(&self) -> Option<Date> {
        self.opened.get(..10)?.parse().ok()
    }

    /// Its state in a word or two.
    #[must_use]
    pub fn state(&self) -> &'static str {
        self.ending.map_or("open", Ending::say)
    }

    /// Whether it is one of those that are meant. Words are looked for in the complaint, the site, notes and remarks, and, by the
    /// knowledge, in the titles of symptoms, repairs and the causes that they put right.
    #[must_use]
    pub fn is(&self, wanted: &Wanted, knowledge: Option<&Knowledge>) -> bool {
        let holds = |text: &str, part: &str| text.to_lowercase().contains(&part.to_lowercase());
        let day = self.day();
        (wanted.states.is_empty() || wanted.states.contains(&self.ending))
            && wanted.site.as_ref().is_none_or(|site| holds(&self.site, site))
            && wanted.since.is_none_or(|since| day.is_some_and(|d| d >= since))
            && wanted.until.is_none_or(|until| day.is_some_and(|d| d <= until))
            && (wanted.words.is_empty() || {
                let text = self.searched(knowledge);
                wanted.words.iter().all(|word| holds(&text, word))
            })
    }

    fn searched(&self, knowledge: Option<&Knowledge>) -> String {
        let mut text = [self.site.as_str(), &self.words].join("\n");
        let mut add = |more: &str| {
            text.push('\n');
            text.push_str(more);
        };
        self.notes.iter().for_each(|note| add(note));
        let Some(knowledge) = knowledge else {
            return text;
        };
        for symptom in self.symptoms.iter().filter_map(|id| knowledge.symptoms.get(id)) {
            add(&symptom.title);
        }
        for repair in self.repairs.iter().filter_map(|id| knowledge.repairs.get(id)) {
            add(&repair.title);
            for cause in repair.cures.keys().filter_map(|id| knowledge.causes.get(id)) {
                add(&cause.title);
            }
        }
        text
    }
}
