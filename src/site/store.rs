//! Where site files live, and how they are read and written.
//!
//! A file is named after its site, never by it: letters, digits and dashes only, so that no name leads out of the folder. It is written to a new file
//! beside the old one, flushed to disk and renamed, so a crash leaves the old or the new one whole. On Unix only the owner may read files and folder.

use std::io::Write as _;
use std::path::{Path, PathBuf};

use super::file::SiteFile;
use crate::finding::{Finding, Level};
use crate::knowledge::{Sources, read_as};

/// Largest site file that is read, in bytes.
const MAX_BYTES: u64 = 1 << 20;
/// Longest file name, in bytes, without its ending.
const LONGEST: usize = 80;

/// A folder of site files.
#[derive(Debug, Clone)]
pub struct Store {
    folder: PathBuf,
}

/// A site file as it was read.
#[derive(Debug)]
pub struct Read {
    /// What it holds; `None` where that can't be read.
    pub site: Option<SiteFile>,
    /// Its text, for showing places.
    pub sources: Sources,
    /// What is wrong with it as a file.
    pub findings: Vec<Finding>,
}

/// Why a site file can't be used.
#[derive(Debug, thiserror::Error)]
pub enum SiteError {
    /// The name has nothing to make a file name of.
    #[error("\"{0}\" is no name for a site: it has neither a letter nor a digit")]
    Nameless(String),
    /// There is no such site.
    #[error("there is no site file for \"{0}\"")]
    Missing(String),
    /// There is one already.
    #[error("there is a site file for \"{name}\" already: {path}")]
    There {
        /// The name.
        name: String,
        /// Its file.
        path: PathBuf,
    },
    /// It can't be understood.
    #[error("{place}: {message}")]
    Damaged {
        /// `file:line:column`.
        place: String,
        /// What is wrong.
        message: String,
        /// What to do.
        help: String,
    },
    /// Somebody wrote comments into it, which writing it anew would lose.
    #[error("{path}, line {line}: a comment would be lost by writing the file anew")]
    Commented {
        /// The file.
        path: PathBuf,
        /// The first comment's line.
        line: usize,
    },
    /// The file system says no.
    #[error("{path}: {source}")]
    Io {
        /// Which file.
        path: PathBuf,
        /// What it says.
        source: std::io::Error,
    },
}

impl Store {
    /// The site files of a folder; it need not exist yet.
    #[must_use]
    pub fn new(folder: PathBuf) -> Self {
        Self { folder }
    }

    /// The folder.
    #[must_use]
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// The file of a site.
    ///
    /// # Errors
    /// When the name has neither a letter nor a digit.
    pub fn path(&self, name: &str) -> Result<PathBuf, SiteError> {
        let slug = file_name(name).ok_or_else(|| SiteError::Nameless(visible(name)))?;
        Ok(self.folder.join(format!("{slug}.yaml")))
    }

    /// Whether there is a file for a site.
    #[must_use]
    pub fn has(&self, name: &str) -> bool {
        self.path(name).is_ok_and(|path| path.is_file())
    }

    /// Reads a site's file with every finding about it as a file.
    ///
    /// # Errors
    /// When there is none, or it can't be read at all.
    pub fn read(&self, name: &str) -> Result<Read, SiteError> {
        let path = self.path(name)?;
        let text = text_of(&path).map_err(|source| match source.kind() {
            std::io::ErrorKind::NotFound => SiteError::Missing(visible(name)),
            _ => SiteError::Io {
                path: path.clone(),
                source,
            },
        })?;
        let (site, sources, findings) = read_as::<SiteFile>(&path.display().to_string(), &text);
        Ok(Read {
            site,
            sources,
            findings,
        })
    }

    /// Reads a site's file for use.
    ///
    /// # Errors
    /// When there is none or it is damaged: the first place that is wrong.
    pub fn load(&self, name: &str) -> Result<SiteFile, SiteError> {
        let read = self.read(name)?;
        match (read.site, read.findings.iter().find(|f| f.level() == Level::Error)) {
            (Some(site), None) => Ok(site),
            (_, finding) => {
                let place = finding.map(|f| {
                    let at = read.sources.position(&f.location);
                    format!("{}:{}:{}", read.sources.files[0].name, at.line, at.column)
                });
                Err(SiteError::Damaged {
                    place: place.unwrap_or_default(),
                    message: finding.map_or_else(|| "it holds no site".to_owned(), |f| f.message.clone()),
                    help: finding.map_or_else(String::new, |f| help(&f.help)),
                })
            }
        }
    }

    /// File names of all sites, without their ending, in order.
    #[must_use]
    pub fn names(&self) -> Vec<String> {
        let entries = std::fs::read_dir(&self.folder).map(|d| d.flatten().map(|e| e.path()).collect());
        let mut paths: Vec<PathBuf> = entries.unwrap_or_default();
        paths.retain(|p| p.is_file() && p.extension().is_some_and(|e| e == "yaml"));
        let mut names: Vec<String> = paths
            .iter()
            .filter_map(|p| Some(p.file_stem()?.to_string_lossy().into_owned()))
            .collect();
        names.sort();
        names
    }

    /// Writes the file of a new site.
    ///
    /// # Errors
    /// When there is one already, or the disk says no.
    pub fn create(&self, site: &SiteFile) -> Result<PathBuf, SiteError> {
        let path = self.path(&site.name)?;
        self.write(site, &path, true)?;
        Ok(path)
    }

    /// Writes a site's file anew.
    ///
    /// # Errors
    /// When somebody wrote comments into the old one, or the disk says no.
    pub fn replace(&self, site: &SiteFile) -> Result<PathBuf, SiteError> {
        let path = self.path(&site.name)?;
        if let Ok(text) = text_of(&path)
            && let Some(line) = text.lines().position(has_comment)
        {
            return Err(SiteError::Commented { path, line: line + 1 });
        }
        self.write(site, &path, false)?;
        Ok(path)
    }

    fn write(&self, site: &SiteFile, path: &Path, new: bool) -> Result<(), SiteError> {
        let io = |source| SiteError::Io {
            path: path.to_owned(),
            source,
        };
        let text = serde_yaml::to_string(site).map_err(|e| io(std::io::Error::other(e)))?;
        private_folder(&self.folder).map_err(io)?;
        // A temporary file is the owner's alone from its first byte on.
        let mut file = tempfile::NamedTempFile::new_in(&self.folder).map_err(io)?;
        file.write_all(text.as_bytes()).map_err(io)?;
        file.as_file().sync_all().map_err(io)?;
        let persisted = if new {
            file.persist_noclobber(path)
        } else {
            file.persist(path)
        };
        if let Err(error) = persisted {
            return Err(match error.error.kind() {
                std::io::ErrorKind::AlreadyExists => SiteError::There {
                    name: visible(&site.name),
                    path: path.to_owned(),
                },
                _ => io(error.error),
            });
        }
        sync_folder(&self.folder).map_err(io)
    }
}

/// Whether a line has a comment: a `#` at its start or behind a blank, not in quotes.
fn has_comment(line: &str) -> bool {
    let (mut before, mut quote) = (' ', None);
    for c in line.chars() {
        match (c, quote) {
            ('#', None) if before == ' ' => return true,
            ('"' | '\'', None) if " [{,:-".contains(before) => quote = Some(c),
            (c, Some(open)) if c == open && before != '\\' => quote = None,
            _ => {}
        }
        before = c;
    }
    false
}

fn text_of(path: &Path) -> std::io::Result<String> {
    let size = std::fs::metadata(path)?.len();
    if size > MAX_BYTES {
        let reason = format!("{size} bytes; a site file may have {MAX_BYTES}");
        return Err(std::io::Error::other(reason));
    }
    std::fs::read_to_string(path)
}

/// What to do about a finding of a site file.
pub(super) fn help(help: &str) -> String {
    if help.contains("LANGUAGE.md") {
        "`pintle site --help` shows what a site file holds".to_owned()
    } else {
        help.to_owned()
    }
}

/// A name on one line without control characters.
fn visible(name: &str) -> String {
    crate::report::plain_text(name)
}

/// File name of a site, without its ending: lower-case letters and digits, one dash for anything between them. `None` if nothing is left.
///
/// Two names that differ in case or marks only are one site.
#[must_use]
pub fn file_name(name: &str) -> Option<String> {
    let mut slug = String::new();
    for c in name.chars().flat_map(char::to_lowercase) {
        if slug.len() + c.len_utf8() > LONGEST {
            break;
        }
        if c.is_alphanumeric() {
            slug.push(c);
        } else if !slug.is_empty() && !slug.ends_with('-') {
            slug.push('-');
        }
    }
    let slug = slug.trim_end_matches('-');
    // Names that one system keeps for its devices.
    let device = ["con", "prn", "aux", "nul"].contains(&slug)
        || slug
            .strip_prefix("com")
            .or_else(|| slug.strip_prefix("lpt"))
            .is_some_and(|n| n.chars().count() == 1 && n.chars().all(char::is_numeric));
    match slug {
        "" => None,
        slug if device => Some(format!("{slug}-site")),
        slug => Some(slug.to_owned()),
    }
}

#[cfg(unix)]
fn private_folder(folder: &Path) -> std::io::Result<()> {
    use std::os::unix::fs::DirBuilderExt as _;
    std::fs::DirBuilder::new().recursive(true).mode(0o700).create(folder)
}

#[cfg(not(unix))]
fn private_folder(folder: &Path) -> std::io::Result<()> {
    std::fs::create_dir_all(folder)
}

/// The new name is on disk too.
#[cfg(unix)]
fn sync_folder(folder: &Path) -> std::io::Result<()> {
    std::fs::File::open(folder)?.sync_all()
}

#[cfg(not(unix))]
fn sync_folder(_: &Path) -> std::io::Result<()> {
    Ok(())
}
