//! One file a call, append only, on disk before the next question.

use std::fs::{File, OpenOptions};
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};

use super::event::Entry;
use super::private::{create_private, create_private_folder, tighten};

/// Longest line that is read.
const MAX_LINE: usize = 1 << 20;

/// A call's file.
#[derive(Debug)]
pub struct Journal {
    file: File,
    path: PathBuf,
}

/// What a file holds.
#[derive(Debug)]
pub struct Stored {
    /// Entries in order.
    pub entries: Vec<Entry>,
    /// The last line was cut off (power, kill) and is left out.
    pub torn: bool,
    /// Others could read the file until it was opened to go on; now they can't.
    pub tightened: bool,
}

impl Stored {
    fn whole(entries: Vec<Entry>, torn: bool) -> Self {
        Self {
            entries,
            torn,
            tightened: false,
        }
    }
}

/// Why a journal can't be used.
#[derive(Debug, thiserror::Error)]
pub enum JournalError {
    /// The file system says no.
    #[error("{path}: {source}")]
    Io {
        /// Which file.
        path: PathBuf,
        /// What it says.
        source: std::io::Error,
    },
    /// A line in the middle is not an event.
    #[error("{path}, line {line}: not an event of a call ({reason})")]
    Damaged {
        /// Which file.
        path: PathBuf,
        /// Line, from 1.
        line: usize,
        /// Why.
        reason: String,
    },
    /// There is no such call.
    #[error("there is no call {0}")]
    Missing(String),
}

impl Journal {
    /// Starts a new file that only its owner can read; refuses to touch one that exists.
    ///
    /// # Errors
    /// When the file can't be made.
    pub fn create(path: &Path) -> Result<Self, JournalError> {
        let io = |source| JournalError::Io {
            path: path.to_owned(),
            source,
        };
        if let Some(folder) = path.parent() {
            create_private_folder(folder).map_err(io)?;
        }
        Ok(Self {
            file: create_private(path).map_err(io)?,
            path: path.to_owned(),
        })
    }

    /// Opens an existing file to go on, and takes it away from everybody but its owner. A torn last line is cut off first.
    ///
    /// # Errors
    /// When the file can't be read or written, or is damaged in the middle.
    pub fn open(path: &Path) -> Result<(Self, Stored), JournalError> {
        let io = |source| JournalError::Io {
            path: path.to_owned(),
            source,
        };
        let (mut stored, good) = read(path)?;
        // Somebody else's file can't be tightened; it can still be gone on with.
        stored.tightened = tighten(path).unwrap_or(false);
        let file = OpenOptions::new().append(true).open(path).map_err(io)?;
        if stored.torn {
            file.set_len(good).map_err(io)?;
        }
        Ok((
            Self {
                file,
                path: path.to_owned(),
            },
            stored,
        ))
    }

    /// Reads a file without opening it for writing.
    ///
    /// # Errors
    /// When it can't be read or is damaged in the middle.
    pub fn load(path: &Path) -> Result<Stored, JournalError> {
        read(path).map(|(stored, _)| stored)
    }

    /// Writes one entry and waits until it is on disk.
    ///
    /// # Errors
    /// When the disk says no; nothing is lost that was written before.
    pub fn append(&mut self, entry: &Entry) -> Result<(), JournalError> {
        let io = |source| JournalError::Io {
            path: self.path.clone(),
            source,
        };
        let mut line = serde_json::to_string(entry).map_err(|e| io(e.into()))?;
        line.push('\n');
        self.file.write_all(line.as_bytes()).map_err(io)?;
        self.file.sync_data().map_err(io)
    }

    /// The file.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }
}

/// Entries, and how many bytes of the file are whole lines.
fn read(path: &Path) -> Result<(Stored, u64), JournalError> {
    let file = File::open(path).map_err(|source| {
        if source.kind() == std::io::ErrorKind::NotFound {
            JournalError::Missing(path.file_stem().unwrap_or_default().to_string_lossy().into_owned())
        } else {
            JournalError::Io {
                path: path.to_owned(),
                source,
            }
        }
    })?;
    let mut reader = BufReader::new(file);
    let (mut entries, mut good, mut number) = (Vec::new(), 0, 0);
    let mut line = Vec::new();
    loop {
        line.clear();
        let n = reader.read_until(b'\n', &mut line).map_err(|source| JournalError::Io {
            path: path.to_owned(),
            source,
        })?;
        if n == 0 {
            return Ok((Stored::whole(entries, false), good));
        }
        number += 1;
        if line.last() != Some(&b'\n') {
            // Only the last line can be without its end: it was being written when everything stopped.
            return Ok((Stored::whole(entries, true), good));
        }
        let damaged = |reason: String| JournalError::Damaged {
            path: path.to_owned(),
            line: number,
            reason,
        };
        if n > MAX_LINE {
            return Err(damaged("the line is too long".to_owned()));
        }
        let text = String::from_utf8_lossy(&line);
        let clean: String = text.chars().filter(|c| !c.is_control()).collect();
        entries.push(serde_json::from_str(&clean).map_err(|e| damaged(short(&e.to_string())))?);
        good += n as u64;
    }
}

/// A reason without the list of everything that would have been right.
fn short(reason: &str) -> String {
    let end = reason.find(", expected one of").unwrap_or(reason.len());
    reason[..end].to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::call::event::Event;

    fn note(text: &str) -> Entry {
        Entry {
            time: "2026-01-01T00:00:00Z".to_owned(),
            event: Event::Note { text: text.to_owned() },
        }
    }

    #[test]
    fn a_torn_last_line_is_left_out_and_cut_off() {
        let folder = tempfile::tempdir().expect("temp dir");
        let path = folder.path().join("a.jsonl");
        let mut journal = Journal::create(&path).expect("new");
        journal.append(&note("one")).expect("append");
        journal.append(&note("two")).expect("append");
        let whole = std::fs::read(&path).expect("read");
        for cut in 1..whole.len() {
            std::fs::write(&path, &whole[..cut]).expect("write");
            let (mut journal, stored) = Journal::open(&path).expect("open");
            let lines = String::from_utf8_lossy(&whole[..cut]).matches('\n').count();
            assert_eq!(stored.entries.len(), lines, "cut at {cut}");
            journal.append(&note("three")).expect("append");
            assert_eq!(Journal::load(&path).expect("load").entries.len(), lines + 1);
        }
    }
}
