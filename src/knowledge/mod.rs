//! What authors write: the schema, packs and how they layer, positions, checks.
//!
//! Loading never fails: it returns what could be read and every finding.

pub mod check;
pub mod frequency;
pub mod json_schema;
pub mod load;
pub mod schema;
pub mod sections;
pub mod source;

use std::collections::HashMap;
use std::path::PathBuf;

use include_dir::{Dir, include_dir};

pub use load::{PackText, WithCases, load, load_case, read_as, read_case};
pub use source::{Position, Sources};

use crate::finding::{Finding, Location};
use schema::{
    Ambiguity, Case, Cause, ConditionHow, Cover, Entries, Fact, Idea, Kit, OutOfUse, Part, Place, Repair, RetestLine,
    Settings, Shortcut, Sign, Standing, Symptom, Test, When,
};

static BUILT_IN: Dir<'static> = include_dir!("$CARGO_MANIFEST_DIR/knowledge");

/// Everything the packs say, laid over each other.
#[derive(Debug, Clone)]
pub struct Knowledge {
    /// Titles of the packs, first to last.
    pub titles: Vec<String>,
    /// Settings in force.
    pub settings: Settings,
    /// Facts about a site.
    pub facts: Entries<Fact>,
    /// Places.
    pub places: Entries<Place>,
    /// Covers.
    pub covers: Entries<Cover>,
    /// How conditions are brought about.
    pub conditions: Entries<ConditionHow>,
    /// What must be true before any commanded movement.
    pub movement: Vec<String>,
    /// Hazard signs.
    pub signs: Entries<Sign>,
    /// How a gate is put out of use.
    pub out_of_use: OutOfUse,
    /// Standing cautions.
    pub standing: Entries<Standing>,
    /// Lines of the safety retest.
    pub retest: Entries<RetestLine>,
    /// Tests.
    pub tests: Entries<Test>,
    /// Causes.
    pub causes: Entries<Cause>,
    /// Repairs.
    pub repairs: Entries<Repair>,
    /// Symptoms.
    pub symptoms: Entries<Symptom>,
    /// What is on the truck at every visit.
    pub kit: Entries<Kit>,
    /// What a trainee may be tempted to.
    pub shortcuts: Entries<Shortcut>,
    /// Words for one idea.
    pub ideas: Entries<Idea>,
    /// Causes that no practical test tells apart.
    pub ambiguity: Entries<Ambiguity>,
    /// Cases with the file each is in; empty when loaded without them.
    pub cases: Vec<(usize, Case)>,
    /// The files.
    pub sources: Sources,
    /// Which files an entry came from.
    pub origins: Origins,
    /// Changes whenever the text of an entry changes; written into every call.
    pub fingerprint: String,
}

/// Section and id → the files that have a part in it, first to last.
#[derive(Debug, Clone, Default)]
pub struct Origins(HashMap<(&'static str, String), Vec<usize>>);

impl Origins {
    fn insert(&mut self, key: (&'static str, String), files: Vec<usize>) {
        self.0.insert(key, files);
    }

    /// Files of an entry; empty if there is no such entry.
    #[must_use]
    pub fn files(&self, section: &'static str, id: &str) -> &[usize] {
        self.0.get(&(section, id.to_owned())).map_or(&[], Vec::as_slice)
    }
}

impl Knowledge {
    /// The pack that travels in the binary, with further packs laid over it.
    #[must_use]
    pub fn built_in(more: &[PathBuf], with_cases: WithCases) -> (Self, Vec<Finding>) {
        Self::built_in_with(more, Vec::new(), with_cases)
    }

    /// The same with packs on top that are not on disk.
    #[must_use]
    pub fn built_in_with(more: &[PathBuf], on_top: Vec<PackText>, with_cases: WithCases) -> (Self, Vec<Finding>) {
        let mut packs = vec![built_in_text(with_cases)];
        packs.extend(more.iter().map(|folder| PackText::read(folder)));
        packs.extend(on_top);
        load(packs, with_cases)
    }

    /// Every part that a repair uses, as often as one does.
    pub fn parts(&self) -> impl Iterator<Item = &Part> {
        self.repairs.values().flat_map(|r| &r.parts)
    }

    /// Every tool that a test or a repair asks for, as often as one does.
    pub fn tools(&self) -> impl Iterator<Item = &String> {
        let tests = self.tests.values().flat_map(|t| &t.tools);
        tests.chain(self.repairs.values().flat_map(|r| &r.tools))
    }

    /// A fact by its name in formulas, where dashes may be written as underscores.
    #[must_use]
    pub fn fact_named(&self, name: &str) -> Option<(&str, &Fact)> {
        let id = name.replace('_', "-");
        self.facts.get_key_value(&id).map(|(id, fact)| (id.as_str(), fact))
    }

    /// Where a path of an entry stands: in the last file that has all of it.
    #[must_use]
    pub fn locate(&self, section: &'static str, id: &str, rest: &[&str]) -> Location {
        let mut path = vec![section.to_owned(), id.to_owned()];
        path.extend(rest.iter().map(|p| (*p).to_owned()));
        let files = self.origins.files(section, id);
        let (files, path) = match id.strip_prefix("fix-") {
            // A repair written inside its cause stands there.
            Some(cause)
                if section == "repairs" && self.sources.depth(files.first().copied().unwrap_or(0), &path) < 2 =>
            {
                let mut inside = vec!["causes".to_owned(), cause.to_owned(), "repair".to_owned()];
                inside.extend(rest.iter().map(|p| (*p).to_owned()));
                (self.origins.files("causes", cause), inside)
            }
            _ => (files, path),
        };
        let file = files
            .iter()
            .copied()
            .max_by_key(|&f| self.sources.depth(f, &path))
            .unwrap_or(0);
        Location::new(file, path)
    }
}

/// The text of the embedded pack.
#[must_use]
pub fn built_in_text(with_cases: WithCases) -> PackText {
    fn gather(dir: &Dir<'static>, with_cases: WithCases, files: &mut Vec<(String, String)>) {
        for entry in dir.files() {
            let name = entry.path().display().to_string();
            if entry.path().extension().is_some_and(|e| e == "yaml")
                && let Some(text) = entry.contents_utf8()
            {
                files.push((format!("knowledge/{name}"), text.to_owned()));
            }
        }
        for inner in dir.dirs() {
            if with_cases == WithCases::Yes || inner.path().file_name().is_none_or(|n| n != "cases") {
                gather(inner, with_cases, files);
            }
        }
    }
    let mut files = Vec::new();
    gather(&BUILT_IN, with_cases, &mut files);
    files.sort();
    PackText {
        files,
        unreadable: Vec::new(),
    }
}

/// Whether `when` holds: `Some(true/false)` if the known facts decide, `None` if an unknown one could.
#[must_use]
pub fn holds(when: &When, known: &dyn Fn(&str) -> Option<String>) -> Option<bool> {
    let mut unknown = false;
    for (fact, values) in when {
        match known(fact) {
            Some(value) if values.contains(&value) => {}
            Some(_) => return Some(false),
            None => unknown = true,
        }
    }
    if unknown { None } else { Some(true) }
}

/// The id nearest to a mistyped one, if any is near.
#[must_use]
pub fn nearest<'a>(wrong: &str, known: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    known
        .map(|id| (strsim::damerau_levenshtein(wrong, id), id))
        .filter(|(distance, id)| *distance <= 2.max(id.len() / 4))
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, id)| id)
}

/// Changes with any file that is no case.
fn fingerprint(sources: &Sources) -> String {
    let files = sources.files.iter().filter(|f| !f.name.contains("cases"));
    format!(
        "{:016x}",
        files.fold(HASH_OF_NOTHING, |hash, f| hashed_on(hash, f.text.as_bytes()))
    )
}

/// 64-bit FNV-1a: small, the same everywhere and always, not a signature.
#[must_use]
pub(crate) fn stable_hash(bytes: &[u8]) -> u64 {
    hashed_on(HASH_OF_NOTHING, bytes)
}

const HASH_OF_NOTHING: u64 = 0xcbf2_9ce4_8422_2325;

fn hashed_on(mut hash: u64, bytes: &[u8]) -> u64 {
    for byte in bytes {
        hash = (hash ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3);
    }
    hash
}
