//! From what was written to what it means, the same for a file, a variable and a flag.

use std::path::PathBuf;

use super::name::Form;
use super::{Name, Origin, Set, Settings};
use crate::knowledge::schema::At;
use crate::quantity::{MeterClass, Meters, System, Unit};

/// Longest text of a value, in characters.
const LONGEST: usize = 200;

/// A value as it was written.
#[derive(Debug, Clone, PartialEq)]
pub enum Raw {
    /// One text.
    One(String),
    /// Several.
    List(Vec<String>),
    /// Names, each with what belongs to it.
    Pairs(Vec<(String, Vec<String>)>),
}

/// Own names of tools, each with what tests call it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ToolNames(Vec<(String, Vec<String>)>);

impl ToolNames {
    /// What tests call this tool; nothing where it has no other name.
    #[must_use]
    pub fn called(&self, tool: &str) -> &[String] {
        let named = self.0.iter().find(|(own, _)| own.eq_ignore_ascii_case(tool));
        named.map_or(&[], |(_, names)| names)
    }

    /// Own names, each with the others, as they were written.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &[String])> {
        self.0.iter().map(|(own, names)| (own.as_str(), names.as_slice()))
    }
}

impl Raw {
    /// A value written in one line, as variables and flags are.
    #[must_use]
    pub fn of_line(name: Name, text: &str) -> Self {
        let list = |text: &str| -> Vec<String> {
            let parts = text.split(',').map(str::trim).filter(|t| !t.is_empty());
            parts.map(str::to_owned).collect()
        };
        match name.form() {
            Form::One => Self::One(text.trim().to_owned()),
            Form::List => Self::List(list(text)),
            Form::Folders => Self::List(
                std::env::split_paths(text)
                    .filter(|p| !p.as_os_str().is_empty())
                    .map(|p| p.display().to_string())
                    .collect(),
            ),
            Form::Pairs => {
                let pair = |text: &str| match text.split_once(':') {
                    // An accuracy is one text, also with a decimal comma in it.
                    Some((own, what)) if name == Name::Meter => (own.trim().to_owned(), vec![what.trim().to_owned()]),
                    Some((own, what)) => (own.trim().to_owned(), list(what)),
                    None => (text.trim().to_owned(), Vec::new()),
                };
                let pairs = text.split(';').filter(|t| !t.trim().is_empty());
                Self::Pairs(pairs.map(pair).collect())
            }
        }
    }
}

fn one(raw: &Raw) -> Result<&str, String> {
    match raw {
        Raw::One(text) if text.is_empty() => Err("there is no value".to_owned()),
        Raw::One(text) => Ok(text),
        Raw::List(_) | Raw::Pairs(_) => Err("one value is meant, not several".to_owned()),
    }
}

fn several(raw: &Raw) -> Result<Vec<String>, String> {
    match raw {
        Raw::One(text) => Ok(vec![text.clone()]),
        Raw::List(texts) => Ok(texts.clone()),
        Raw::Pairs(_) => Err("a list is meant, without names before a colon".to_owned()),
    }
}

fn pairs(raw: &Raw) -> Result<&[(String, Vec<String>)], String> {
    match raw {
        Raw::Pairs(pairs) => match pairs.iter().find(|(own, what)| own.is_empty() || what.is_empty()) {
            None => Ok(pairs),
            Some((own, _)) => Err(format!("`{own}` has nothing behind it: a name, a colon and what it is")),
        },
        Raw::One(_) | Raw::List(_) => Err("names are meant, each with a colon and what it is".to_owned()),
    }
}

fn number(text: &str, low: f64, high: f64) -> Result<f64, String> {
    let plain = text.replace(',', ".");
    let read = plain.trim().parse::<f64>().ok().filter(|n| n.is_finite());
    let number = read.ok_or_else(|| format!("`{text}` is not a number"))?;
    if (low..=high).contains(&number) {
        Ok(number)
    } else {
        Err(format!("{number} is outside {low} to {high}"))
    }
}

/// A text of a person, short enough to be meant as one.
fn short(text: &str, longest: usize) -> Result<String, String> {
    if text.chars().count() > longest {
        return Err(format!("the text is longer than {longest} characters"));
    }
    Ok(text.to_owned())
}

fn currency(text: &str) -> Result<String, String> {
    if text.chars().any(|c| c.is_numeric() || c.is_whitespace()) {
        return Err(format!("`{text}` is no currency: a code or a sign, such as USD"));
    }
    short(text, 8)
}

fn system(text: &str) -> Result<System, String> {
    let named = System::ALL.into_iter().find(|s| s.word().eq_ignore_ascii_case(text));
    named.ok_or_else(|| {
        let words = System::ALL.map(System::word).join(", ");
        format!("`{text}` is none of {words}")
    })
}

fn place(text: &str) -> Result<At, String> {
    match text.to_lowercase().as_str() {
        "gate" => Ok(At::Gate),
        "phone" => Ok(At::Phone),
        _ => Err(format!("`{text}` is neither gate nor phone")),
    }
}

/// Percent, because a share of 0.9 and 0.9 in a hundred are too easily mixed up.
fn percent(text: &str) -> Result<f64, String> {
    let read = number(text.trim_end_matches('%').trim(), 1.0, 100.0);
    read.map(|n| n / 100.0)
        .map_err(|problem| format!("{problem}; it is counted in a hundred, such as 90 %"))
}

fn tools(raw: &Raw) -> Result<Vec<String>, String> {
    several(raw)?.iter().map(|t| short(t, LONGEST)).collect()
}

fn meters(raw: &Raw) -> Result<Meters, String> {
    let mut meters = Meters::default();
    for (unit, class) in pairs(raw)? {
        let unit: Unit = unit.parse().map_err(|e: crate::quantity::UnknownUnit| e.to_string())?;
        meters.set(unit, MeterClass::from_data_sheet(&class.join(","), unit)?);
    }
    Ok(meters)
}

/// A folder as it was written in the file: `~` is the home folder, and what is not absolute lies beside the file.
fn folder(text: &str, beside: Option<&Beside>) -> PathBuf {
    let Some(beside) = beside else {
        return PathBuf::from(text);
    };
    match (text.strip_prefix("~/"), &beside.home) {
        (Some(rest), Some(home)) => home.join(rest),
        _ => beside.folder.join(text),
    }
}

/// Where a settings file lies, for the folders that it names.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Beside {
    pub(super) folder: PathBuf,
    pub(super) home: Option<PathBuf>,
}

impl Settings {
    /// Takes a value up, in place of whatever was there.
    ///
    /// # Errors
    /// What is wrong with it, in a sentence.
    pub(super) fn take(
        &mut self,
        name: Name,
        raw: &Raw,
        origin: Origin,
        beside: Option<&Beside>,
    ) -> Result<(), String> {
        fn put<T>(field: &mut Set<T>, value: T, origin: Origin) {
            *field = Set { value, origin };
        }
        match name {
            Name::LabourRate => put(&mut self.labour_rate, Some(number(one(raw)?, 1.0, 1e6)?), origin),
            Name::Currency => put(&mut self.currency, Some(currency(one(raw)?)?), origin),
            Name::Units => put(&mut self.units, system(one(raw)?)?, origin),
            Name::Tools => put(&mut self.tools, tools(raw)?, origin),
            Name::ToolNames => put(&mut self.tool_names, ToolNames(pairs(raw)?.to_vec()), origin),
            Name::Meter => put(&mut self.meter, meters(raw)?, origin),
            Name::Company => put(&mut self.company, Some(short(one(raw)?, LONGEST)?), origin),
            Name::Packs => {
                let folders = several(raw)?.iter().map(|p| folder(p, beside)).collect();
                put(&mut self.packs, folders, origin);
            }
            Name::Data => put(&mut self.data, Some(folder(one(raw)?, beside)), origin),
            Name::At => put(&mut self.at, Some(place(one(raw)?)?), origin),
            Name::FirstVisitFix => put(&mut self.first_visit_fix, percent(one(raw)?)?, origin),
            Name::TravelMinutes => put(&mut self.travel_minutes, Some(number(one(raw)?, 0.0, 1440.0)?), origin),
        }
        Ok(())
    }

    /// Where the value of a setting comes from.
    #[must_use]
    pub fn origin(&self, name: Name) -> &Origin {
        match name {
            Name::LabourRate => &self.labour_rate.origin,
            Name::Currency => &self.currency.origin,
            Name::Units => &self.units.origin,
            Name::Tools => &self.tools.origin,
            Name::ToolNames => &self.tool_names.origin,
            Name::Meter => &self.meter.origin,
            Name::Company => &self.company.origin,
            Name::Packs => &self.packs.origin,
            Name::Data => &self.data.origin,
            Name::At => &self.at.origin,
            Name::FirstVisitFix => &self.first_visit_fix.origin,
            Name::TravelMinutes => &self.travel_minutes.origin,
        }
    }
}
