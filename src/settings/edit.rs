//! Changes one setting in the text of the file and leaves every other line, comments too, as it is.

use std::path::Path;

use super::file::{SettingsFile, read};
use super::value::Raw;
use super::{Name, Settings};
use crate::finding::Location;
use crate::knowledge::Sources;
use crate::knowledge::source::SourceFile;

/// Why a value was not written.
#[derive(Debug, Clone, PartialEq)]
pub enum EditError {
    /// The value can't be meant.
    Value(String),
    /// The file would have errors, or another setting would change: it is left as it is.
    File(Box<SettingsFileProblem>),
}

/// What would be wrong with the file.
#[derive(Debug, Clone, PartialEq)]
pub struct SettingsFileProblem {
    /// Line, from 1, to mend by hand.
    pub line: usize,
    /// What is wrong there.
    pub message: String,
}

/// The text with a setting at a new value.
///
/// # Errors
/// When the value can't be meant, or the file has to be mended by hand first.
pub fn set(path: &Path, text: &str, name: Name, value: &str) -> Result<String, EditError> {
    let raw = Raw::of_line(name, value);
    let origin = super::Origin::Default;
    Settings::unset()
        .take(name, &raw, origin, None)
        .map_err(EditError::Value)?;
    let line = format!("{}: {}", name.id(), written(&raw));
    let new = if let Some((from, to)) = block(text, name) {
        replaced(text, from, to, &line)
    } else {
        let gap = if text.is_empty() || text.ends_with('\n') {
            ""
        } else {
            "\n"
        };
        format!("{text}{gap}{line}\n")
    };
    proven(path, text, new, name)
}

/// The text without a setting; `None` if it does not set it.
///
/// # Errors
/// When the file has to be mended by hand first.
pub fn unset(path: &Path, text: &str, name: Name) -> Result<Option<String>, EditError> {
    let Some((from, to)) = block(text, name) else {
        return Ok(None);
    };
    let mut kept = String::new();
    for (_, line) in text.lines().enumerate().filter(|(i, _)| !(from..to).contains(i)) {
        kept.push_str(line);
        kept.push('\n');
    }
    proven(path, text, kept, name).map(Some)
}

/// A value as YAML in one line. JSON is YAML, so every text is safe in its quotes.
fn written(raw: &Raw) -> String {
    let quoted = |text: &String| serde_json::Value::from(text.as_str()).to_string();
    let list = |texts: &[String]| format!("[{}]", texts.iter().map(quoted).collect::<Vec<_>>().join(", "));
    let bare = |text: &str| text.parse::<f64>().is_ok_and(f64::is_finite);
    match raw {
        Raw::One(text) if bare(text) => text.clone(),
        Raw::One(text) => quoted(text),
        Raw::List(texts) => list(texts),
        Raw::Pairs(pairs) => {
            let pair = |(own, what): &(String, Vec<String>)| match what.as_slice() {
                [one] => format!("{}: {}", quoted(own), quoted(one)),
                several => format!("{}: {}", quoted(own), list(several)),
            };
            format!("{{{}}}", pairs.iter().map(pair).collect::<Vec<_>>().join(", "))
        }
    }
}

/// The lines of a setting, from 0, the second not included: its own and those that are indented under it.
fn block(text: &str, name: Name) -> Option<(usize, usize)> {
    let path = vec![name.id().to_owned()];
    let sources = Sources {
        files: vec![SourceFile {
            name: String::new(),
            text: text.to_owned(),
            pack: 0,
        }],
    };
    if sources.depth(0, &path) == 0 {
        return None;
    }
    let first = sources.position(&Location::new(0, path).on_key()).line - 1;
    let under = |line: &&str| line.starts_with([' ', '\t']) || line.starts_with("- ");
    let more = text.lines().skip(first + 1).take_while(under).count();
    Some((first, first + 1 + more))
}

fn replaced(text: &str, from: usize, to: usize, line: &str) -> String {
    let mut new = String::new();
    for (i, old) in text.lines().enumerate() {
        if i == from {
            new.push_str(line);
            if let Some(remark) = remark(old) {
                new.push(' ');
                new.push_str(remark);
            }
            new.push('\n');
        } else if !(from..to).contains(&i) {
            new.push_str(old);
            new.push('\n');
        }
    }
    new
}

/// A remark behind a value, where no quotes leave a doubt that it is one.
fn remark(line: &str) -> Option<&str> {
    let at = line.find(" #")?;
    (!line[..at].contains(['"', '\''])).then(|| &line[at + 1..])
}

/// The new text, if it says what it is meant to say and nothing else changes by it.
fn proven(path: &Path, old: &str, new: String, name: Name) -> Result<String, EditError> {
    let others = |file: &SettingsFile| -> Vec<(Name, Raw)> {
        let set = file.set.iter().filter(|(n, _, _)| *n != name);
        set.map(|(n, raw, _)| (*n, raw.clone())).collect()
    };
    let (before, after) = (read(path, None, old), read(path, None, &new));
    if let Some(finding) = after.findings.first() {
        return Err(EditError::File(Box::new(SettingsFileProblem {
            line: after.sources.position(&finding.location).line,
            message: finding.message.clone(),
        })));
    }
    if before.findings.is_empty() && others(&before) != others(&after) {
        let line = block(old, name).map_or(1, |(from, _)| from + 1);
        return Err(EditError::File(Box::new(SettingsFileProblem {
            line,
            message: format!("`{}` can't be changed there without changing another line", name.id()),
        })));
    }
    Ok(new)
}

#[cfg(test)]
mod tests {
    use super::*;

    const FILE: &str = "# mine\nlabour-rate: 120 # since spring\n\ntools:\n  - torch\n  # not the old one\n  - multimeter\n# the end\ncompany: 'Example # 1'\n";

    fn at(text: &str, name: Name, value: &str) -> String {
        set(Path::new("settings.yaml"), text, name, value).expect("a new text")
    }

    #[test]
    fn comments_and_other_lines_stay() {
        let text = at(FILE, Name::LabourRate, "140");
        assert_eq!(text, FILE.replace("120", "140"));
        let text = at(&text, Name::Tools, "torch, manual");
        assert!(text.contains("\ntools: [\"torch\", \"manual\"]\n# the end\n"), "{text}");
        let text = at(&text, Name::Company, "Other: Gates");
        assert!(text.ends_with("company: \"Other: Gates\"\n"), "{text}");
        let text = at(&text, Name::Meter, "V: 0.5 % + 2; Ω: 1 %");
        assert!(
            text.ends_with("meter: {\"V\": \"0.5 % + 2\", \"Ω\": \"1 %\"}\n"),
            "{text}"
        );
        let without = unset(Path::new("settings.yaml"), &text, Name::Tools).expect("fine");
        assert!(!without.expect("it was set").contains("torch"));
        assert_eq!(unset(Path::new("settings.yaml"), &text, Name::At), Ok(None));
    }

    #[test]
    fn a_value_that_cannot_be_meant_changes_nothing() {
        for (name, value) in [
            (Name::LabourRate, "much"),
            (Name::LabourRate, "0"),
            (Name::At, "home"),
            (Name::FirstVisitFix, "0.9"),
            (Name::Meter, "V"),
            (Name::Units, "furlongs"),
        ] {
            let told = set(Path::new("settings.yaml"), "", name, value);
            assert!(matches!(told, Err(EditError::Value(_))), "{value}: {told:?}");
        }
    }

    #[test]
    fn a_file_that_is_wrong_elsewhere_is_left_alone() {
        let told = set(Path::new("settings.yaml"), "at: phone\nspeed: 3\n", Name::At, "gate");
        let Err(EditError::File(problem)) = told else {
            panic!("{told:?}");
        };
        assert_eq!(problem.line, 2);
        // But a wrong line can be put right.
        assert_eq!(at("at: moon\n", Name::At, "gate"), "at: \"gate\"\n");
    }
}
