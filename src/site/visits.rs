//! Earlier calls at a site, from the folder of calls.

use std::io::{BufRead as _, BufReader, Read as _};
use std::path::{Path, PathBuf};

use super::store::file_name;
use crate::call::{Call, Earlier, Engine, Entry, Event, Journal};
use crate::knowledge::schema::Ending;
use crate::report::{ServiceRecord, plain_text};

/// Longest first line of a journal that is looked at, in bytes.
const FIRST_LINE: u64 = 1 << 16;

/// A call at a site.
#[derive(Debug, Clone)]
pub struct Visit {
    /// Its id.
    pub id: String,
    /// When it was opened, RFC 3339.
    pub opened: String,
    /// When and how it ended; `None` while it is open.
    pub ended: Option<(String, Ending)>,
    /// What the caller said.
    pub words: String,
    /// What was reported: symptom ids.
    pub symptoms: Vec<String>,
    /// Titles of the repairs that were done.
    pub repairs: Vec<String>,
    /// The call of which it was a callback.
    pub callback: Option<String>,
    /// Its events.
    entries: Vec<Entry>,
}

impl Visit {
    /// The likeliest cause, and whether it was settled; it takes as long as believing the call anew.
    #[must_use]
    pub fn cause(&self, engine: &Engine) -> Option<String> {
        let record = ServiceRecord::of(&Call::in_memory(engine, self.entries.clone()));
        let first = record.causes.first()?;
        Some(if record.settled {
            first.cause.clone()
        } else {
            format!("not settled, likeliest: {}", first.cause)
        })
    }
}

/// Calls at a site, oldest first, without drills and without the call `but`. A file that can't be read is left out: `pintle calls` names it.
#[must_use]
pub fn visits(engine: &Engine, calls: &Path, site: &str, but: Option<&str>) -> Vec<Visit> {
    let Some(slug) = file_name(site) else {
        return Vec::new();
    };
    let entries = std::fs::read_dir(calls).map(|d| d.flatten().map(|e| e.path()).collect());
    let mut paths: Vec<PathBuf> = entries.unwrap_or_default();
    paths.retain(|p| p.extension().is_some_and(|e| e == "jsonl"));
    let mut visits: Vec<Visit> = paths
        .iter()
        .filter(|p| but.is_none_or(|but| p.file_stem().is_none_or(|stem| stem != but)))
        .filter(|p| opened_at(p).is_some_and(|name| file_name(&name).as_deref() == Some(&slug)))
        .filter_map(|p| visit(engine, p))
        .collect();
    visits.sort_by(|a, b| (&a.opened, &a.id).cmp(&(&b.opened, &b.id)));
    visits
}

/// The site in the first line of a journal: most calls are elsewhere, and reading them whole would take long.
fn opened_at(path: &Path) -> Option<String> {
    let file = std::fs::File::open(path).ok()?;
    let mut line = String::new();
    BufReader::new(file.take(FIRST_LINE)).read_line(&mut line).ok()?;
    let entry: Entry = serde_json::from_str(&line).ok()?;
    match entry.event {
        Event::Opened { site, .. } => site,
        _ => None,
    }
}

fn visit(engine: &Engine, path: &Path) -> Option<Visit> {
    let entries = Journal::load(path).ok()?.entries;
    if entries.iter().any(|e| matches!(e.event, Event::Drill { .. })) {
        return None;
    }
    let call = Call::folded(engine, entries);
    let repairs = call.repairs().iter().map(|done| {
        let title = engine.knowledge.repairs.get(&done.repair).map(|r| r.title.as_str());
        plain_text(title.unwrap_or(&done.repair))
    });
    let ended = call.ending().and_then(|(ending, _)| {
        let at = call.entries.iter().rfind(|e| matches!(e.event, Event::Ended { .. }))?;
        Some((at.time.clone(), *ending))
    });
    Some(Visit {
        id: plain_text(&path.file_stem()?.to_string_lossy()),
        opened: call.entries.first()?.time.clone(),
        ended,
        words: plain_text(call.words()),
        symptoms: call.symptoms().to_vec(),
        repairs: repairs.collect(),
        callback: call.callback().map(|(of, _)| plain_text(of)),
        entries: call.entries,
    })
}

/// The calls that a complaint of today can be a callback of.
#[must_use]
pub fn earlier(visits: &[Visit]) -> Vec<Earlier> {
    let of = |v: &Visit| {
        let (ended, ending) = v.ended.clone()?;
        let done = match v.repairs.as_slice() {
            [] => String::new(),
            repairs => format!("repair: {}", repairs.join("; ")),
        };
        Some(Earlier {
            id: v.id.clone(),
            ended,
            ending,
            symptoms: v.symptoms.clone(),
            done,
        })
    };
    visits.iter().filter_map(of).collect()
}
