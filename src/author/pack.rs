//! A pack of one's own: the folder and its first file.

use std::path::{Path, PathBuf};

use super::draft::write_new;
use super::yaml::scalar;
use crate::knowledge::load::is_id;

/// A pack that is to be made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewPack {
    folder: PathBuf,
    id: String,
    title: String,
}

/// Why a pack was not made, or not found.
#[derive(Debug, thiserror::Error)]
pub enum PackError {
    /// The name is no id.
    #[error("`{0}` can't be the name of a pack: lower-case letters, digits and dashes, 60 at most")]
    Name(String),
    /// Something is there already.
    #[error("{0} exists already, and nothing that exists is changed")]
    Exists(PathBuf),
    /// No pack is there.
    #[error("{0} is no pack: it has no pack.yaml")]
    Missing(PathBuf),
    /// The folder can't be written.
    #[error("{path} can't be written: {source}")]
    Io {
        /// Which.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
}

impl NewPack {
    /// A pack in a folder, called by the folder's name; its title is made of that where none is given.
    ///
    /// # Errors
    /// When the name is no id or the folder has something in it.
    pub fn new(folder: &Path, title: Option<&str>) -> Result<Self, PackError> {
        let id = folder
            .file_name()
            .and_then(|n| n.to_str())
            .unwrap_or_default()
            .to_owned();
        if !is_id(&id) {
            return Err(PackError::Name(id));
        }
        let occupied = folder.exists() && std::fs::read_dir(folder).map_or(true, |mut files| files.next().is_some());
        if occupied {
            return Err(PackError::Exists(folder.to_owned()));
        }
        let words = id.replace('-', " ");
        let title = title.map_or_else(|| words[..1].to_uppercase() + &words[1..], str::to_owned);
        Ok(Self {
            folder: folder.to_owned(),
            id,
            title,
        })
    }

    /// The text of its first file.
    #[must_use]
    pub fn text(&self) -> String {
        format!(
            "# A pack of our own. It is laid over the built-in knowledge with `--pack`: what stands here is added, or changes single\n\
             # fields of what is there. It may add cautions and narrow who does a step, never the reverse.\n\
             pack:\n  id: {}\n  title: {}\n\
             \x20 # What it costs us, where that differs from the built-in pack:\n\
             \x20 # settings:\n\
             \x20 #   refer-minutes: 240        # sending for somebody else\n\
             \x20 #   labour-per-hour: 120      # turns the price of parts into minutes\n",
            scalar(&self.id),
            scalar(&self.title)
        )
    }

    /// Makes the folder and its file.
    ///
    /// # Errors
    /// When it can't be written.
    pub fn make(&self) -> Result<PathBuf, PackError> {
        let path = self.folder.join("pack.yaml");
        write_new(&path, &self.text()).map_err(|source| PackError::Io {
            path: path.clone(),
            source,
        })?;
        Ok(path)
    }
}

/// The pack to write to: the one named last, or the folder one stands in if it is a pack.
///
/// # Errors
/// When there is no pack.
pub fn folder_of(named: &[PathBuf]) -> Result<PathBuf, PackError> {
    let folder = named.last().cloned().unwrap_or_else(|| PathBuf::from("."));
    if folder.join("pack.yaml").is_file() {
        Ok(folder)
    } else {
        Err(PackError::Missing(folder))
    }
}
