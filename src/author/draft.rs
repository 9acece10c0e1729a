//! What has been said so far, entry by entry, and the files it becomes.

use std::fmt::Write as _;
use std::io::Write as _;
use std::path::{Path, PathBuf};

use super::yaml::{Field, Node, write_map};
use crate::knowledge::sections;

/// Entries under construction, each a file of its own.
#[derive(Debug, Clone, Default)]
pub struct Draft {
    entries: Vec<Entry>,
}

#[derive(Debug, Clone)]
struct Entry {
    /// Section of the pack file; `cases` for a case, whose file has no section.
    section: &'static str,
    id: String,
    fields: Vec<Field>,
}

/// Where a field goes.
#[derive(Debug, Clone, Copy)]
pub(super) struct At {
    entry: usize,
    in_block: bool,
}

/// Why a draft was not written.
#[derive(Debug, thiserror::Error)]
pub enum WriteError {
    /// The file is there already. Nothing that exists is ever changed.
    #[error("{0} exists already, and nothing that exists is changed")]
    Exists(PathBuf),
    /// The file can't be written.
    #[error("{path} can't be written: {source}")]
    Io {
        /// Which.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
}

impl Draft {
    /// Begins an entry.
    pub(super) fn begin(&mut self, section: &'static str, id: &str) -> At {
        self.entries.push(Entry {
            section,
            id: id.to_owned(),
            fields: Vec::new(),
        });
        At {
            entry: self.entries.len() - 1,
            in_block: false,
        }
    }

    /// Opens a block inside an entry.
    pub(super) fn open(&mut self, at: At, field: &str, comment: &'static str) -> At {
        self.put(at, Field::new(field, Node::Map(Vec::new())).saying(comment));
        At { in_block: true, ..at }
    }

    /// Adds a field to an entry, or to the block that was opened in it last.
    pub(super) fn put(&mut self, at: At, field: Field) {
        let fields = &mut self.entries[at.entry].fields;
        if at.in_block
            && let Some(Field {
                value: Node::Map(block),
                ..
            }) = fields.last_mut()
        {
            block.push(field);
        } else {
            fields.push(field);
        }
    }

    /// Whether nothing was said yet.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.entries.is_empty()
    }

    /// Path inside the pack and text of every file.
    #[must_use]
    pub fn files(&self) -> Vec<(PathBuf, String)> {
        let file = |e: &Entry| (Path::new(e.section).join(format!("{}.yaml", e.id)), e.text());
        self.entries.iter().map(file).collect()
    }

    /// The text as far as it goes, with the name of each file above it.
    #[must_use]
    pub fn so_far(&self) -> String {
        let mut text = String::new();
        for (path, file) in self.files() {
            let _ = write!(text, "# ---- {}\n{file}", path.display());
        }
        text
    }

    /// Writes every file below the pack's folder; none where one of them exists.
    ///
    /// # Errors
    /// [`WriteError`]; files written before it broke off are taken away again.
    pub fn write(&self, pack: &Path) -> Result<Vec<PathBuf>, WriteError> {
        let files = self.files();
        if let Some((path, _)) = files.iter().find(|(path, _)| pack.join(path).exists()) {
            return Err(WriteError::Exists(pack.join(path)));
        }
        let mut written = Vec::new();
        for (path, text) in files {
            let path = pack.join(path);
            match write_new(&path, &text) {
                Ok(()) => written.push(path),
                Err(source) => {
                    for path in &written {
                        let _ = std::fs::remove_file(path);
                    }
                    return Err(WriteError::Io { path, source });
                }
            }
        }
        Ok(written)
    }
}

/// Writes a file that must not be there yet, with the folders above it.
pub(super) fn write_new(path: &Path, text: &str) -> std::io::Result<()> {
    if let Some(folder) = path.parent() {
        std::fs::create_dir_all(folder)?;
    }
    let mut file = std::fs::File::create_new(path)?;
    file.write_all(text.as_bytes())?;
    file.sync_all()
}

impl Entry {
    fn text(&self) -> String {
        let one_of = if self.section == "cases" {
            "case"
        } else {
            sections::one_of(self.section)
        };
        let head = format!(
            "# Written by `pintle add {one_of}`. Yours to change: LANGUAGE.md says what each\n# line may hold, `pintle check` what is wrong.\n"
        );
        if self.section == "cases" {
            return head + &write_map(&self.fields, 0);
        }
        let entry = Field::new(self.id.clone(), Node::Map(self.fields.clone()));
        head + &write_map(&[Field::new(self.section, Node::Map(vec![entry]))], 0)
    }
}
