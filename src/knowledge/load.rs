//! Files → entries → [`Knowledge`], with every finding on the way and not just the first.
//!
//! A file is parsed once into an untyped value; packs are laid over each other entry by entry and field by field
//! there; then each entry is decoded on its own, so that one wrong line costs one entry.

use std::path::{Path, PathBuf};

use indexmap::IndexMap;
use serde::de::DeserializeOwned;
use serde_yaml::{Mapping, Value};

use super::frequency::Frequency;
use super::schema::{
    Ambiguity, Case, Cause, Codes, ConditionHow, Cover, Entries, Fact, Idea, Kit, OutOfUse, Outcome, PackHeader, Place,
    Repair, RetestLine, Settings, Shortcut, Sign, Standing, StopAt, Symptom, Test, Who,
};
use super::source::{SourceFile, Sources};
use super::{Knowledge, Origins, sections};
use crate::finding::{Code, Finding, Location};
use crate::spread::spread;

/// Largest file that is read.
const MAX_BYTES: u64 = 4 << 20;
/// Most files in one pack.
const MAX_FILES: usize = 5_000;

/// A pack as text: file names and contents in reading order.
#[derive(Debug, Clone, Default)]
pub struct PackText {
    /// (name, contents)
    pub files: Vec<(String, String)>,
    /// Files that could not be read: name and reason.
    pub unreadable: Vec<(String, String)>,
}

/// Section → id → the entry as it was written, packs laid over each other; the codes of an operator's table are a section of their own.
///
/// What can't be read is left out: [`load`] says what that is.
#[must_use]
pub fn entries(packs: &[PackText]) -> IndexMap<String, IndexMap<String, Value>> {
    let mut loader = Loader::default();
    let mut rest: IndexMap<String, IndexMap<String, Value>> = IndexMap::new();
    for (pack, (name, text)) in (0..).zip(packs).flat_map(|(n, p)| p.files.iter().map(move |f| (n, f))) {
        let is_case = Path::new(name).components().any(|c| c.as_os_str() == "cases");
        let Ok(Value::Mapping(map)) = parse(text) else { continue };
        if is_case {
            continue;
        }
        let file = loader.add_file(SourceFile {
            name: name.clone(),
            text: String::new(),
            pack,
        });
        for (section, value) in map {
            let Some(section) = section.as_str() else { continue };
            if let Some(section) = sections::ENTRIES.iter().find(|s| **s == section) {
                loader.entries(file, pack, section, value);
            } else if section == "codes" {
                let codes = value
                    .get("entries")
                    .and_then(Value::as_mapping)
                    .cloned()
                    .unwrap_or_default();
                let into = rest.entry(section.to_owned()).or_default();
                into.extend(codes.into_iter().filter_map(|(k, v)| Some((k.as_str()?.to_owned(), v))));
            } else if section != "pack" {
                let into = rest.entry(section.to_owned()).or_default();
                add_up(into.entry("all".to_owned()).or_insert(Value::Null), value);
            }
        }
    }
    let sections = loader.gathered.sections.into_iter();
    let mut all: IndexMap<String, IndexMap<String, Value>> = sections
        .map(|(section, raw)| {
            let entries = raw.into_iter().map(|(id, entry)| (id, entry.fields));
            (section.to_owned(), entries.collect())
        })
        .collect();
    all.extend(rest);
    all
}

/// Lists of several packs, such as `movement`, one after the other.
fn add_up(sum: &mut Value, more: Value) {
    match (sum, more) {
        (Value::Sequence(sum), Value::Sequence(more)) => sum.extend(more),
        (Value::Mapping(sum), Value::Mapping(more)) => {
            for (key, value) in more {
                add_up(sum.entry(key).or_insert(Value::Null), value);
            }
        }
        (sum, more) => *sum = more,
    }
}

/// Whether cases are decoded too.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WithCases {
    /// Entries and cases.
    Yes,
    /// Entries only: what a call needs.
    No,
}

impl PackText {
    /// The id that the pack gives itself.
    #[must_use]
    pub fn id(&self) -> Option<String> {
        self.files
            .iter()
            .filter(|(_, text)| text.contains("pack:"))
            .find_map(|(_, text)| {
                let value = parse(text).ok()?;
                Some(value.get("pack")?.get("id")?.as_str()?.to_owned())
            })
    }

    /// Reads a folder: every `.yaml` file, in name order, subfolders included.
    #[must_use]
    pub fn read(folder: &Path) -> Self {
        let mut pack = Self::default();
        let mut paths = Vec::new();
        if folder.is_file() {
            paths.push(folder.to_owned());
        } else {
            collect(folder, 0, &mut paths, &mut pack.unreadable);
        }
        paths.sort();
        for path in paths {
            let name = path.display().to_string();
            let size = std::fs::metadata(&path).map_or(0, |m| m.len());
            if size > MAX_BYTES {
                pack.unreadable
                    .push((name, format!("{size} bytes; a pack file may have {MAX_BYTES}")));
                continue;
            }
            match std::fs::read_to_string(&path) {
                Ok(text) => pack.files.push((name, text)),
                Err(error) => pack.unreadable.push((name, error.to_string())),
            }
        }
        pack
    }
}

fn collect(folder: &Path, depth: usize, paths: &mut Vec<PathBuf>, unreadable: &mut Vec<(String, String)>) {
    if depth > 8 || paths.len() > MAX_FILES {
        unreadable.push((folder.display().to_string(), "too deep or too many files".to_owned()));
        return;
    }
    let entries = match std::fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) => {
            unreadable.push((folder.display().to_string(), error.to_string()));
            return;
        }
    };
    for entry in entries.flatten() {
        let path = entry.path();
        if path.is_dir() {
            collect(&path, depth + 1, paths, unreadable);
        } else if path.extension().is_some_and(|e| e == "yaml" || e == "yml") {
            paths.push(path);
        }
    }
}

/// An entry before it is decoded: its merged fields and the files they came from.
struct RawEntry {
    fields: Value,
    files: Vec<usize>,
}

/// Everything that was gathered before decoding.
#[derive(Default)]
struct Gathered {
    sections: IndexMap<&'static str, IndexMap<String, RawEntry>>,
    headers: Vec<(usize, PackHeader)>,
    movement: Vec<String>,
    out_of_use: OutOfUse,
    codes: Vec<(usize, Codes)>,
    cases: Vec<(usize, Case)>,
}

/// Loads packs, first to last, each laid over the ones before it.
#[must_use]
pub fn load(packs: Vec<PackText>, with_cases: WithCases) -> (Knowledge, Vec<Finding>) {
    let mut loader = Loader::default();
    let mut files: Vec<(usize, bool)> = Vec::new();
    for (pack, text) in packs.into_iter().enumerate() {
        for (name, reason) in text.unreadable {
            let file = loader.add_file(SourceFile {
                name,
                text: String::new(),
                pack,
            });
            let help = "see that the file exists, is text and is not too large";
            loader.find(
                Code::UnreadableFile,
                at(file, &[]),
                format!("this file can't be read: {reason}"),
                help,
            );
        }
        for (name, contents) in text.files {
            let is_case = Path::new(&name).components().any(|c| c.as_os_str() == "cases");
            if is_case && with_cases == WithCases::No {
                continue;
            }
            let file = loader.add_file(SourceFile {
                name,
                text: contents,
                pack,
            });
            files.push((file, is_case));
        }
    }
    // That is most of the time to the first question, and each file stands for itself.
    let values = spread(&files, |&(file, _)| Some(parse(&loader.sources.files[file].text)));
    for (&(file, is_case), parsed) in files.iter().zip(values) {
        if let Some(value) = loader.parsed(file, parsed) {
            if is_case {
                loader.case(file, value);
            } else {
                loader.sections(file, loader.sources.files[file].pack, value);
            }
        }
    }
    loader.finish()
}

type Parsed = Result<Value, serde_yaml::Error>;

/// A file as an untyped value, without control characters.
fn parse(text: &str) -> Parsed {
    let mut value = serde_yaml::from_str::<Value>(text)?;
    // Only an escape can put a control character into a YAML string.
    if text.contains('\\') || text.contains(|c: char| c.is_control() && c != '\n' && c != '\r' && c != '\t') {
        clean(&mut value);
    }
    Ok(value)
}

/// Reads one case from its text.
#[must_use]
pub fn read_case(name: &str, text: &str) -> (Option<Case>, Sources, Vec<Finding>) {
    let mut loader = Loader::default();
    let file = loader.add_file(SourceFile {
        name: name.to_owned(),
        text: text.to_owned(),
        pack: 0,
    });
    if let Some(value) = loader.parse(file) {
        loader.case(file, value);
    }
    loader.into_case()
}

/// Reads a file of another kind by the same rules: unknown fields are errors, findings have their place, no control character gets in.
#[must_use]
pub fn read_as<T: DeserializeOwned>(name: &str, text: &str) -> (Option<T>, Sources, Vec<Finding>) {
    let mut loader = Loader::default();
    let file = loader.add_file(SourceFile {
        name: name.to_owned(),
        text: text.to_owned(),
        pack: 0,
    });
    let value = loader.parse(file);
    let read = value.and_then(|value| loader.decode::<T>(file, &[], value));
    (read, loader.sources, loader.findings)
}

/// Loads one case from a file that stands anywhere.
#[must_use]
pub fn load_case(path: &Path) -> (Option<Case>, Sources, Vec<Finding>) {
    let name = path.display().to_string();
    let error = match std::fs::read_to_string(path) {
        Ok(text) => return read_case(&name, &text),
        Err(error) => error,
    };
    let mut loader = Loader::default();
    let file = loader.add_file(SourceFile {
        name,
        text: String::new(),
        pack: 0,
    });
    let help = "name a case file, such as one of those under examples/";
    loader.find(
        Code::UnreadableFile,
        at(file, &[]),
        format!("this file can't be read: {error}"),
        help,
    );
    loader.into_case()
}

/// A location without a known position.
#[must_use]
pub fn at(file: usize, path: &[&str]) -> Location {
    Location::new(file, path.iter().map(|p| (*p).to_owned()).collect())
}

#[derive(Default)]
struct Loader {
    sources: Sources,
    findings: Vec<Finding>,
    gathered: Gathered,
}

impl Loader {
    fn into_case(mut self) -> (Option<Case>, Sources, Vec<Finding>) {
        let case = self.gathered.cases.pop().map(|(_, case)| case);
        (case, self.sources, self.findings)
    }

    fn add_file(&mut self, file: SourceFile) -> usize {
        self.sources.files.push(file);
        self.sources.files.len() - 1
    }

    fn find(&mut self, code: Code, location: Location, message: String, help: &str) {
        self.findings.push(Finding {
            code,
            location,
            message,
            help: help.to_owned(),
        });
    }

    fn parse(&mut self, file: usize) -> Option<Value> {
        let parsed = parse(&self.sources.files[file].text);
        self.parsed(file, parsed)
    }

    fn parsed(&mut self, file: usize, parsed: Parsed) -> Option<Value> {
        match parsed {
            Ok(value) => Some(value),
            Err(error) => {
                let known = error.location().map(|l| (l.line(), l.column()));
                let message = plain_message(&error.to_string());
                let location = Location {
                    known: known.or(Some((1, 1))),
                    ..at(file, &[])
                };
                let help = "mend the YAML here: indentation by spaces, a space after each colon, quotes round text with a colon in it, each key once";
                self.find(Code::BadYaml, location, message, help);
                None
            }
        }
    }

    fn case(&mut self, file: usize, value: Value) {
        if let Some(case) = self.decode::<Case>(file, &[], value) {
            self.gathered.cases.push((file, case));
        }
    }

    fn sections(&mut self, file: usize, pack: usize, value: Value) {
        let map = match value {
            Value::Mapping(map) => map,
            Value::Null => return,
            _ => {
                let help = "start with a section such as `tests:` or `causes:`";
                self.find(
                    Code::BadEntry,
                    at(file, &[]),
                    "a pack file is a map of sections".to_owned(),
                    help,
                );
                return;
            }
        };
        for (key, value) in map {
            let Value::String(name) = key else {
                let help = "sections are words";
                self.find(
                    Code::UnknownSection,
                    at(file, &[]),
                    format!("{key:?} is not a section"),
                    help,
                );
                continue;
            };
            match name.as_str() {
                "pack" => {
                    if let Some(header) = self.decode::<PackHeader>(file, &["pack"], value) {
                        self.gathered.headers.push((file, header));
                    }
                }
                "movement" => {
                    if let Some(lines) = self.decode::<Vec<String>>(file, &["movement"], value) {
                        self.gathered.movement.extend(lines);
                    }
                }
                "out-of-use" => {
                    if let Some(how) = self.decode::<OutOfUse>(file, &["out-of-use"], value) {
                        self.gathered.out_of_use.technician.extend(how.technician);
                        self.gathered.out_of_use.caller.extend(how.caller);
                    }
                }
                "codes" => {
                    if let Some(codes) = self.decode::<Codes>(file, &["codes"], value) {
                        self.gathered.codes.push((file, codes));
                    }
                }
                _ => {
                    if let Some(section) = sections::named(&name) {
                        self.entries(file, pack, section, value);
                    } else {
                        let known = sections::ENTRIES.iter().chain(sections::WHOLE);
                        let help = super::nearest(&name, known.copied()).map_or_else(
                            || "see LANGUAGE.md for the sections".to_owned(),
                            |n| format!("did you mean `{n}`?"),
                        );
                        self.find(
                            Code::UnknownSection,
                            at(file, &[&name]).on_key(),
                            format!("there is no section `{name}`"),
                            &help,
                        );
                    }
                }
            }
        }
    }

    fn entries(&mut self, file: usize, pack: usize, section: &'static str, value: Value) {
        let map = match value {
            Value::Mapping(map) => map,
            Value::Null => return,
            _ => {
                let message = format!("`{section}` is a map from id to entry");
                self.find(
                    Code::BadEntry,
                    at(file, &[section]),
                    message,
                    "write `an-id:` and its fields indented below it",
                );
                return;
            }
        };
        for (key, fields) in map {
            let id = match key {
                Value::String(id) => id,
                Value::Bool(b) => if b { "yes" } else { "no" }.to_owned(),
                other => {
                    self.find(
                        Code::BadEntry,
                        at(file, &[section]),
                        format!("{other:?} is not an id"),
                        "ids are kebab-case words",
                    );
                    continue;
                }
            };
            self.entry(file, pack, section, id, fields);
        }
    }

    fn entry(&mut self, file: usize, pack: usize, section: &'static str, id: String, fields: Value) {
        let path = [section, id.as_str()];
        if !is_id(&id) {
            let message = format!("`{id}` is not an id");
            self.find(
                Code::BadEntry,
                at(file, &path).on_key(),
                message,
                "ids are lower-case letters, digits and dashes",
            );
            return;
        }
        let Some(earlier) = self.gathered.sections.entry(section).or_default().get_mut(&id) else {
            let entry = RawEntry {
                fields,
                files: vec![file],
            };
            self.gathered.sections.entry(section).or_default().insert(id, entry);
            return;
        };
        let last = earlier.files.last().copied().unwrap_or(file);
        if self.sources.files[last].pack == pack {
            let first = self.sources.files[last].name.clone();
            let message = format!("`{id}` is written twice in one pack; first in {first}");
            self.find(
                Code::DuplicateId,
                at(file, &path).on_key(),
                message,
                "rename one, or put both into one entry",
            );
            return;
        }
        earlier.files.push(file);
        let refused = layer(&mut earlier.fields, fields);
        for (code, field, message) in refused {
            let location = at(file, &[section, &id, field]);
            self.find(
                code,
                location,
                message,
                "a later pack may add cautions and narrow who may do a step, never the reverse",
            );
        }
    }

    fn decode<T: DeserializeOwned>(&mut self, file: usize, prefix: &[&str], value: Value) -> Option<T> {
        match serde_path_to_error::deserialize::<_, T>(value) {
            Ok(entry) => Some(entry),
            Err(error) => {
                let mut path: Vec<String> = prefix.iter().map(|p| (*p).to_owned()).collect();
                for segment in error.path() {
                    match segment {
                        serde_path_to_error::Segment::Map { key } => path.push(key.clone()),
                        serde_path_to_error::Segment::Seq { index } => path.push(index.to_string()),
                        _ => {}
                    }
                }
                let raw = plain_message(&error.into_inner().to_string());
                let (message, help) = explain_decode(&raw);
                let mut location = Location::new(file, path);
                if let Some(field) = unknown_field(&raw) {
                    if location.path.last().is_none_or(|last| last != field) {
                        location.path.push(field.to_owned());
                    }
                    location = location.on_key();
                }
                self.find(Code::BadEntry, location, message, &help);
                None
            }
        }
    }

    /// Decodes a section; an entry's finding points into the file that has the field.
    fn section<T: DeserializeOwned>(&mut self, section: &'static str, origins: &mut Origins) -> Entries<T> {
        let mut decoded = Entries::new();
        for (id, raw) in self.gathered.sections.shift_remove(section).unwrap_or_default() {
            let before = self.findings.len();
            let entry = self.decode::<T>(raw.files[0], &[section, &id], raw.fields);
            for finding in &mut self.findings[before..] {
                let deepest = raw
                    .files
                    .iter()
                    .rev()
                    .copied()
                    .max_by_key(|&f| self.sources.depth(f, &finding.location.path));
                finding.location.file = deepest.unwrap_or(raw.files[0]);
            }
            origins.insert((section, id.clone()), raw.files);
            if let Some(entry) = entry {
                decoded.insert(id, entry);
            }
        }
        decoded
    }

    fn finish(mut self) -> (Knowledge, Vec<Finding>) {
        let mut origins = Origins::default();
        let mut causes: Entries<Cause> = self.section("causes", &mut origins);
        let mut repairs: Entries<Repair> = self.section("repairs", &mut origins);
        let mut tests: Entries<Test> = self.section("tests", &mut origins);
        let places: Entries<Place> = self.section("places", &mut origins);
        let conditions: Entries<ConditionHow> = self.section("conditions", &mut origins);
        let facts: Entries<Fact> = self.section("facts", &mut origins);
        let covers: Entries<Cover> = self.section("covers", &mut origins);
        let signs: Entries<Sign> = self.section("signs", &mut origins);
        let standing: Entries<Standing> = self.section("standing", &mut origins);
        let retest: Entries<RetestLine> = self.section("retest", &mut origins);
        let symptoms: Entries<Symptom> = self.section("symptoms", &mut origins);
        let kit: Entries<Kit> = self.section("kit", &mut origins);
        let shortcuts: Entries<Shortcut> = self.section("shortcuts", &mut origins);
        let ideas: Entries<Idea> = self.section("ideas", &mut origins);
        let ambiguity: Entries<Ambiguity> = self.section("ambiguity", &mut origins);
        lift_repairs(&mut causes, &mut repairs, &mut origins);
        for (file, codes) in std::mem::take(&mut self.gathered.codes) {
            self.expand_codes(file, codes, &mut tests, &mut causes);
        }
        self.thresholds();
        let settings = Settings::layered(self.gathered.headers.iter().map(|(_, h)| &h.settings));
        let fingerprint = super::fingerprint(&self.sources);
        let knowledge = Knowledge {
            titles: self.gathered.headers.iter().map(|(_, h)| h.title.clone()).collect(),
            settings,
            facts,
            places,
            covers,
            conditions,
            movement: self.gathered.movement,
            signs,
            out_of_use: self.gathered.out_of_use,
            standing,
            retest,
            tests,
            causes,
            repairs,
            symptoms,
            kit,
            shortcuts,
            ideas,
            ambiguity,
            cases: self.gathered.cases,
            sources: self.sources,
            origins,
            fingerprint,
        };
        (knowledge, self.findings)
    }

    /// Makes an operator's codes outcomes of its test and findings of its causes.
    fn expand_codes(&mut self, file: usize, codes: Codes, tests: &mut Entries<Test>, causes: &mut Entries<Cause>) {
        let Some(test) = tests.get_mut(&codes.test) else {
            let help = super::nearest(&codes.test, tests.keys().map(String::as_str)).map_or_else(
                || "name an observation test".to_owned(),
                |n| format!("did you mean `{n}`?"),
            );
            self.find(
                Code::UnknownId,
                at(file, &["codes", "test"]),
                format!("there is no test `{}`", codes.test),
                &help,
            );
            return;
        };
        for (code, entry) in codes.entries {
            test.outcomes.insert(
                code.clone(),
                Outcome {
                    say: entry.say,
                    heard: Vec::new(),
                },
            );
            // Named, so that what a cause leaves over does not go to codes it never shows.
            test.healthy.entry(code.clone()).or_insert(Frequency::number(0.0));
            for (cause, chance) in entry.causes {
                if let Some(found) = causes.get_mut(&cause) {
                    found
                        .shows
                        .entry(codes.test.clone())
                        .or_default()
                        .insert(code.clone(), chance);
                } else {
                    let help = super::nearest(&cause, causes.keys().map(String::as_str))
                        .map_or_else(|| "name a cause".to_owned(), |n| format!("did you mean `{n}`?"));
                    let location = at(file, &["codes", "entries", &code, "causes", &cause]).on_key();
                    self.find(Code::UnknownId, location, format!("there is no cause `{cause}`"), &help);
                }
            }
        }
    }

    fn thresholds(&mut self) {
        let mut lowest = StopAt {
            kill: 0.02,
            maim: 0.05,
            hurt: 0.20,
        };
        let mut raised = Vec::new();
        for (file, header) in &self.gathered.headers {
            let Some(stop) = header.settings.stop_at else {
                continue;
            };
            for (field, new, old) in [
                ("kill", stop.kill, &mut lowest.kill),
                ("maim", stop.maim, &mut lowest.maim),
                ("hurt", stop.hurt, &mut lowest.hurt),
            ] {
                if new > *old {
                    raised.push((*file, field, new, *old));
                } else {
                    *old = new;
                }
            }
        }
        for (file, field, new, old) in raised {
            let location = at(file, &["pack", "settings", "stop-at", field]);
            let message = format!("this raises the threshold from {old} to {new}");
            self.find(
                Code::RaisedThreshold,
                location,
                message,
                "a pack may lower it, never raise it",
            );
        }
    }
}

/// Lays `over` on `base`, field by field; cautions add up. Returns what safety does not allow.
fn layer(base: &mut Value, over: Value) -> Vec<(Code, &'static str, String)> {
    let mut refused = Vec::new();
    let (Value::Mapping(base), Value::Mapping(over)) = (base, over) else {
        return refused;
    };
    for (key, value) in over {
        let field = key.as_str().unwrap_or_default().to_owned();
        match field.as_str() {
            "cautions" => match (base.get_mut(&key), value) {
                (Some(Value::Sequence(old)), Value::Sequence(new)) => {
                    let added: Vec<Value> = new.into_iter().filter(|line| !old.contains(line)).collect();
                    old.extend(added);
                }
                (_, value) => {
                    base.insert(key, value);
                }
            },
            "who" if who(&value) < who(base.get("who").unwrap_or(&Value::Null)) => {
                refused.push((
                    Code::WidenedWho,
                    "who",
                    "this lets more people do the step than the pack before it".to_owned(),
                ));
            }
            "needs" | "touches" if !contains_all(&value, base.get(&field)) => {
                let name = if field == "needs" { "needs" } else { "touches" };
                refused.push((
                    Code::RemovedCaution,
                    name,
                    format!("this takes something out of `{name}`"),
                ));
            }
            "moves"
                if base
                    .get("moves")
                    .is_some_and(|old| *old != value && old.as_str() != Some("no")) =>
            {
                refused.push((
                    Code::RemovedCaution,
                    "moves",
                    "this says that a step that moves the gate does not".to_owned(),
                ));
            }
            "severity" if severity(&value) < severity(base.get("severity").unwrap_or(&Value::Null)) => {
                refused.push((
                    Code::RemovedCaution,
                    "severity",
                    "this makes a danger less severe".to_owned(),
                ));
            }
            "entitled" if base.get("entitled") == Some(&Value::Bool(true)) && value != Value::Bool(true) => {
                refused.push((
                    Code::RemovedCaution,
                    "entitled",
                    "this drops the check of who is asking".to_owned(),
                ));
            }
            _ => {
                base.insert(key, value);
            }
        }
    }
    refused
}

fn who(value: &Value) -> Who {
    match value.as_str() {
        Some("anyone") => Who::Anyone,
        Some("electrician") => Who::Electrician,
        _ => Who::Technician,
    }
}

fn severity(value: &Value) -> usize {
    ["none", "hurt", "maim", "kill"]
        .iter()
        .position(|s| value.as_str() == Some(s))
        .unwrap_or(0)
}

fn contains_all(new: &Value, old: Option<&Value>) -> bool {
    let (Value::Sequence(new), Some(Value::Sequence(old))) = (new, old) else {
        return true;
    };
    old.iter().all(|item| new.contains(item))
}

/// `repair:` inside a cause becomes the repair `fix-<cause>`.
fn lift_repairs(causes: &mut Entries<Cause>, repairs: &mut Entries<Repair>, origins: &mut Origins) {
    for (id, cause) in causes.iter_mut() {
        if let Some(mut repair) = cause.repair.take() {
            let chance = repair.chance.unwrap_or(Frequency::number(1.0));
            repair.cures.insert(id.clone(), chance);
            if repair.source.is_empty() {
                repair.source.clone_from(&cause.source);
            }
            let files = origins.files("causes", id).to_vec();
            origins.insert(("repairs", format!("fix-{id}")), files);
            repairs.insert(format!("fix-{id}"), repair);
        }
    }
}

/// Whether a text is an id: lower-case letters, digits and dashes, 60 at most.
#[must_use]
pub fn is_id(id: &str) -> bool {
    !id.is_empty()
        && id.len() <= 60
        && id
            .chars()
            .all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-')
}

/// Takes control characters out of every string.
fn clean(value: &mut Value) {
    match value {
        Value::String(text) if text.contains(|c: char| c.is_control() && c != '\n') => {
            text.retain(|c| !c.is_control() || c == '\n');
        }
        Value::Sequence(items) => items.iter_mut().for_each(clean),
        Value::Mapping(map) => {
            let mut cleaned = Mapping::new();
            for (mut key, mut value) in std::mem::take(map) {
                clean(&mut key);
                clean(&mut value);
                cleaned.insert(key, value);
            }
            *map = cleaned;
        }
        _ => {}
    }
}

/// The parser's sentence without the position it ends with (the finding carries that).
fn plain_message(message: &str) -> String {
    message.split(" at line ").next().unwrap_or(message).to_owned()
}

fn unknown_field(message: &str) -> Option<&str> {
    message.strip_prefix("unknown field `")?.split('`').next()
}

/// Turns serde's sentence into ours, with what to do.
fn explain_decode(raw: &str) -> (String, String) {
    if let Some(rest) = raw.strip_prefix("unknown field `") {
        let (field, expected) = rest.split_once('`').unwrap_or((rest, ""));
        let known: Vec<&str> = expected.split('`').skip(1).step_by(2).collect();
        let help = super::nearest(field, known.iter().copied()).map_or_else(
            || format!("known fields: {}", known.join(", ")),
            |n| format!("did you mean `{n}`?"),
        );
        return (format!("there is no field `{field}` here"), help);
    }
    if let Some(rest) = raw.strip_prefix("missing field `") {
        let field = rest.trim_end_matches('`');
        let help = match field {
            "source" => {
                "write where it comes from: a standard with its section, `common practice`, or `from memory: …`"
                    .to_owned()
            }
            "severity" => "write the worst that its presence can do: none, hurt, maim or kill".to_owned(),
            _ => format!("add `{field}:`"),
        };
        return (format!("`{field}` is missing"), help);
    }
    (raw.to_owned(), "see LANGUAGE.md for what this field takes".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pack(text: &str) -> PackText {
        PackText {
            files: vec![("a.yaml".to_owned(), text.to_owned())],
            unreadable: Vec::new(),
        }
    }

    #[test]
    fn every_wrong_entry_is_reported() {
        let text = "symptoms:\n  a: {title: A, says: [], gone: g, sourse: x}\n  b: {title: B}\nsymptons: {}\n";
        let (_, findings) = load(vec![pack(text)], WithCases::No);
        let shown: Vec<(&str, &str)> = findings.iter().map(|f| (f.code.name(), f.help.as_str())).collect();
        insta::assert_debug_snapshot!(shown, @r#"
        [
            (
                "unknown-section",
                "did you mean `symptoms`?",
            ),
            (
                "bad-entry",
                "did you mean `source`?",
            ),
            (
                "bad-entry",
                "add `says:`",
            ),
        ]
        "#);
    }

    #[test]
    fn packs_layer_field_by_field_and_cautions_add_up() {
        let base = "tests:\n  t: {title: T, ask: a, minutes: 1, who: electrician, cautions: [one], outcomes: {x: {say: X}}, healthy: {x: 1}, source: s}\n";
        let over = "tests:\n  t: {minutes: 9, cautions: [two], who: anyone}\n";
        let (knowledge, findings) = load(vec![pack(base), pack(over)], WithCases::No);
        let test = &knowledge.tests["t"];
        assert_eq!(
            (test.minutes, test.cautions.len(), test.who),
            (9.0, 2, Who::Electrician)
        );
        assert_eq!(findings.len(), 1);
        assert_eq!(findings[0].code, Code::WidenedWho);
    }

    #[test]
    fn control_characters_never_get_in() {
        let text = "symptoms:\n  a: {title: \"red \\e[31m\", says: [x], gone: g, source: s}\n";
        let (knowledge, _) = load(vec![pack(text)], WithCases::No);
        assert_eq!(knowledge.symptoms["a"].title, "red [31m");
    }
}
