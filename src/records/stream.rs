//! Walks files and folders of call journals, one call in memory a thread.

use std::collections::BTreeSet;
use std::fs::ReadDir;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

use super::outcome::Strange;
use crate::call::{Entry, Event, Journal, JournalError};

/// Largest file that is read as a call.
const MAX_BYTES: u64 = 16 << 20;
/// Deepest folder in a folder.
const DEEPEST: usize = 16;
/// Skipped files that are named; the rest is counted.
const NAMED: usize = 20;

/// Files that were passed over, and why.
#[derive(Debug, Clone, Default, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Skips {
    /// How many.
    pub count: u64,
    /// The first of them in order of their names: `file:line`, reason.
    pub named: BTreeSet<(String, String)>,
}

impl Skips {
    fn add(&mut self, place: String, reason: String) {
        self.count += 1;
        self.named.insert((place, reason));
        self.trim();
    }

    fn join(&mut self, other: Self) {
        self.count += other.count;
        self.named.extend(other.named);
        self.trim();
    }

    fn trim(&mut self) {
        while self.named.len() > NAMED {
            self.named.pop_last();
        }
    }
}

/// Reads every call once. `take` gets a thread's own `A` and the entries of a call; it may refuse a call with the line that is strange. `tick` is called
/// after each file.
///
/// The order of the calls is not fixed: what `take` adds up must not depend on it.
pub fn each_call<A: Send>(
    paths: &[PathBuf],
    start: impl Fn() -> A + Sync,
    take: impl Fn(&mut A, Vec<Entry>) -> Result<(), Strange> + Sync,
    tick: &(dyn Fn() + Sync),
) -> (Vec<A>, Skips) {
    let walker = Mutex::new(Walker::new(paths));
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    let work = || {
        let (mut gathered, mut skips) = (start(), Skips::default());
        loop {
            let next = walker.lock().unwrap_or_else(PoisonError::into_inner).next();
            let Some(found) = next else { break };
            match found.and_then(|path| read(&path).map(|entries| (path, entries))) {
                Ok((path, entries)) => {
                    if let Err(strange) = take(&mut gathered, entries) {
                        skips.add(format!("{}:{}", path.display(), strange.line), strange.reason);
                    }
                }
                Err((place, reason)) => skips.add(place, reason),
            }
            tick();
        }
        (gathered, skips)
    };
    std::thread::scope(|scope| {
        let workers: Vec<_> = (0..threads).map(|_| scope.spawn(work)).collect();
        let (mut all, mut skips) = (Vec::new(), Skips::default());
        for worker in workers {
            match worker.join() {
                Ok((gathered, skipped)) => {
                    all.push(gathered);
                    skips.join(skipped);
                }
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        (all, skips)
    })
}

/// How many files [`each_call`] will look at.
#[must_use]
pub fn count_files(paths: &[PathBuf]) -> u64 {
    Walker::new(paths).count() as u64
}

type Problem = (String, String);

fn read(path: &Path) -> Result<Vec<Entry>, Problem> {
    let place = || path.display().to_string();
    let size = std::fs::metadata(path).map_err(|e| (place(), e.to_string()))?.len();
    if size > MAX_BYTES {
        return Err((
            place(),
            format!("{size} bytes; the file of a call may have {MAX_BYTES}"),
        ));
    }
    let stored = Journal::load(path).map_err(|error| match error {
        JournalError::Damaged { line, reason, .. } => (
            format!("{}:{line}", path.display()),
            format!("not an event of a call ({reason})"),
        ),
        JournalError::Io { source, .. } => (place(), source.to_string()),
        JournalError::Missing(_) => (place(), "the file is gone".to_owned()),
    })?;
    let is_drill = |e: &Entry| matches!(e.event, Event::Drill { .. });
    if let Some(at) = stored.entries.iter().position(is_drill) {
        let reason = "a drill, not a call: its gate was made up".to_owned();
        return Err((format!("{}:{}", path.display(), at + 1), reason));
    }
    match stored.entries.first().map(|e| &e.event) {
        Some(Event::Opened { .. }) => Ok(stored.entries),
        Some(_) => Err((
            format!("{}:1", path.display()),
            "not the beginning of a call: its first event is not `opened`".to_owned(),
        )),
        None => Err((place(), "there is no whole event in it".to_owned())),
    }
}

/// Call files under some paths, found as they are asked for.
struct Walker {
    given: Vec<PathBuf>,
    open: Vec<ReadDir>,
}

impl Walker {
    /// A path inside another given one is left out, so that no call counts twice.
    fn new(paths: &[PathBuf]) -> Self {
        let real: Vec<PathBuf> = paths
            .iter()
            .map(|p| std::fs::canonicalize(p).unwrap_or_else(|_| p.clone()))
            .collect();
        let mut given = Vec::new();
        for (i, path) in real.iter().enumerate() {
            let twice = real[..i].contains(path);
            let inside = real.iter().any(|other| other != path && path.starts_with(other));
            if !twice && !inside {
                given.push(paths[i].clone());
            }
        }
        given.reverse();
        Self {
            given,
            open: Vec::new(),
        }
    }

    fn enter(&mut self, folder: &Path) -> Option<Problem> {
        if self.open.len() >= DEEPEST {
            return Some((
                folder.display().to_string(),
                "folders lie too deep in each other".to_owned(),
            ));
        }
        match std::fs::read_dir(folder) {
            Ok(entries) => {
                self.open.push(entries);
                None
            }
            Err(error) => Some((folder.display().to_string(), error.to_string())),
        }
    }
}

impl Iterator for Walker {
    type Item = Result<PathBuf, Problem>;

    fn next(&mut self) -> Option<Self::Item> {
        loop {
            let Some(folder) = self.open.last_mut() else {
                let path = self.given.pop()?;
                if path.is_dir() {
                    if let Some(problem) = self.enter(&path) {
                        return Some(Err(problem));
                    }
                    continue;
                }
                return Some(Ok(path));
            };
            match folder.next() {
                None => {
                    self.open.pop();
                }
                Some(Err(error)) => return Some(Err(("a folder".to_owned(), error.to_string()))),
                Some(Ok(entry)) => {
                    let path = entry.path();
                    // A link to a folder could lead in a circle: only real folders are entered.
                    if entry.file_type().is_ok_and(|kind| kind.is_dir()) {
                        if let Some(problem) = self.enter(&path) {
                            return Some(Err(problem));
                        }
                    } else if path.extension().is_some_and(|e| e == "jsonl") {
                        return Some(Ok(path));
                    }
                }
            }
        }
    }
}
