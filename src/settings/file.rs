//! The settings file: YAML, one setting a line, read into what was written and findings with their lines.

use std::path::{Path, PathBuf};

use serde_yaml::Value;

use super::value::{Beside, Raw};
use super::{Name, Origin, Settings};
use crate::finding::{Code, Finding, Location};
use crate::knowledge::Sources;
use crate::knowledge::source::SourceFile;

/// A settings file as it was read.
#[derive(Debug, Clone, Default)]
pub struct SettingsFile {
    /// What it sets.
    pub set: Vec<(Name, Raw, Origin)>,
    /// What is wrong with it.
    pub findings: Vec<Finding>,
    /// Its text, for the places of the findings.
    pub sources: Sources,
    pub(super) beside: Option<Beside>,
}

/// Reads the text of a settings file. `path` is where it lies: folders that it names and that are not absolute lie beside it; `home`
/// stands for `~`.
#[must_use]
pub fn read(path: &Path, home: Option<PathBuf>, text: &str) -> SettingsFile {
    let mut file = SettingsFile {
        sources: Sources {
            files: vec![SourceFile {
                name: path.display().to_string(),
                text: text.to_owned(),
                pack: 0,
            }],
        },
        beside: Some(Beside {
            folder: path.parent().map(Path::to_owned).unwrap_or_default(),
            home,
        }),
        ..SettingsFile::default()
    };
    match serde_yaml::from_str::<Value>(text) {
        Ok(Value::Null) => {}
        Ok(Value::Mapping(entries)) => {
            for (key, value) in &entries {
                file.entry(key, value);
            }
        }
        Ok(_) => file.find(
            Code::BadYaml,
            Location::new(0, Vec::new()),
            "a settings file is lines of a name, a colon and a value".to_owned(),
            format!("such as `labour-rate: {}`", Name::LabourRate.example()),
        ),
        Err(error) => {
            let known = error.location().map(|l| (l.line(), l.column()));
            let location = Location {
                known,
                ..Location::new(0, Vec::new())
            };
            let message = format!("this is not YAML: {}", clean(&error.to_string()));
            let help = "a value with `: ` or ` #` in it needs quotes around it".to_owned();
            file.find(Code::BadYaml, location, message, help);
        }
    }
    file
}

impl SettingsFile {
    fn find(&mut self, code: Code, location: Location, message: String, help: String) {
        self.findings.push(Finding {
            code,
            location,
            message,
            help,
        });
    }

    fn entry(&mut self, key: &Value, value: &Value) {
        let id = scalar(key).unwrap_or_default();
        let location = Location::new(0, vec![id.clone()]);
        let Some(name) = Name::of(&id) else {
            let known: Vec<&str> = Name::all().map(Name::id).collect();
            let help = Name::nearest(&id).map_or_else(
                || format!("the settings are {}", known.join(", ")),
                |near| format!("did you mean `{near}`?"),
            );
            let message = format!("there is no setting `{id}`");
            self.find(Code::BadEntry, location.on_key(), message, help);
            return;
        };
        let at = self.sources.position(&location);
        let origin = Origin::File {
            line: at.line,
            column: at.column,
        };
        let Some(raw) = raw(value) else {
            let message = format!("`{id}` has no value that can be read");
            let help = format!("write one, such as `{id}: {}`, or take the line out", name.example());
            self.find(Code::BadEntry, location, message, help);
            return;
        };
        // Read once to see whether it can be meant; it is read again when everything is put together.
        let tried = Settings::unset().take(name, &raw, origin.clone(), self.beside.as_ref());
        match tried {
            Ok(()) => self.set.push((name, raw, origin)),
            Err(problem) => {
                let help = format!("{}; for example: {}", name.about(), name.example());
                self.find(Code::BadEntry, location, format!("`{id}`: {problem}"), help);
            }
        }
    }
}

/// No control character of a file reaches a screen.
fn clean(text: &str) -> String {
    text.chars().filter(|c| !c.is_control()).collect()
}

fn scalar(value: &Value) -> Option<String> {
    match value {
        Value::String(text) => Some(clean(text.trim())),
        Value::Number(number) => Some(number.to_string()),
        Value::Bool(truth) => Some(truth.to_string()),
        _ => None,
    }
}

fn raw(value: &Value) -> Option<Raw> {
    let list = |value: &Value| match value {
        Value::Sequence(items) => items.iter().map(scalar).collect::<Option<Vec<_>>>(),
        other => scalar(other).map(|text| vec![text]),
    };
    match value {
        Value::Sequence(_) => list(value).map(Raw::List),
        Value::Mapping(entries) => {
            let pairs = entries.iter().map(|(k, v)| Some((scalar(k)?, list(v)?)));
            pairs.collect::<Option<Vec<_>>>().map(Raw::Pairs)
        }
        other => scalar(other).filter(|t| !t.is_empty()).map(Raw::One),
    }
}
