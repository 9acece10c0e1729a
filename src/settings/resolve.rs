//! Flag over variable over file over default.

use std::path::PathBuf;

use super::value::Raw;
use super::{Name, Origin, Settings, SettingsFile};
use crate::finding::Finding;

/// Values that were given as flags of the command line.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Flags(Vec<(Name, Raw)>);

impl Flags {
    /// A flag with its text, if it was given.
    #[must_use]
    pub fn with(mut self, name: Name, text: Option<&String>) -> Self {
        self.0.extend(text.map(|t| (name, Raw::of_line(name, &clean(t)))));
        self
    }

    /// A flag that was given several times; none: it was not given.
    #[must_use]
    pub fn with_each(mut self, name: Name, texts: &[PathBuf]) -> Self {
        if !texts.is_empty() {
            let texts = texts.iter().map(|p| p.display().to_string()).collect();
            self.0.push((name, Raw::List(texts)));
        }
        self
    }
}

/// Why the settings can't be used.
#[derive(Debug, Clone, PartialEq)]
pub enum Problem {
    /// In the file.
    File(Finding),
    /// In a variable or a flag.
    Given {
        /// Its name: `PINTLE_UNITS`, `--units`.
        place: String,
        /// What is wrong.
        message: String,
        /// What to write instead.
        help: String,
    },
}

/// Puts the settings together. `variable` looks a name up in the environment; an empty one counts as not there.
///
/// # Errors
/// Everything that is wrong, in the file, a variable or a flag.
pub fn resolve(
    file: &SettingsFile,
    variable: &dyn Fn(&str) -> Option<String>,
    flags: &Flags,
) -> Result<Settings, Vec<Problem>> {
    let mut settings = Settings::unset();
    let mut problems: Vec<Problem> = file.findings.iter().cloned().map(Problem::File).collect();
    for (name, raw, origin) in &file.set {
        // What can't be read is among the findings of the file.
        let _ = settings.take(*name, raw, origin.clone(), file.beside.as_ref());
    }
    for name in Name::all() {
        let id = name.variable();
        if let Some(text) = variable(&id).filter(|t| !t.trim().is_empty()) {
            let raw = Raw::of_line(name, &clean(&text));
            let taken = settings.take(name, &raw, Origin::Variable(id.clone()), None);
            problems.extend(taken.err().map(|message| given(name, id, message)));
        }
    }
    for (name, raw) in &flags.0 {
        let taken = settings.take(*name, raw, Origin::Flag(name.flag()), None);
        problems.extend(taken.err().map(|message| given(*name, name.flag().to_owned(), message)));
    }
    if problems.is_empty() {
        Ok(settings)
    } else {
        Err(problems)
    }
}

fn given(name: Name, place: String, message: String) -> Problem {
    Problem::Given {
        place,
        message,
        help: format!("{}; for example: {}", name.about(), name.example()),
    }
}

/// No control character reaches a screen or a journal.
fn clean(text: &str) -> String {
    text.chars().filter(|c| !c.is_control()).collect()
}
