//! One entry of the knowledge as a sheet: what it says, what follows from it in numbers, where it is written.
//!
//! A sheet is data; [`crate::terminal`] lays it out, `--json` writes it.

mod cause;
mod find;
mod origin;
mod repair;
mod safety;
mod site;
mod step;
mod symptom;
mod test;

use serde::Serialize;

pub use find::{Candidate, all, search};
pub use origin::Part;

use crate::call::Engine;
use crate::knowledge::Knowledge;
use crate::knowledge::sections;

/// One entry.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Sheet {
    /// Section of the pack file.
    pub section: &'static str,
    /// Id in that section.
    pub id: String,
    /// One line.
    pub title: String,
    /// The files that have a part in it, first to last.
    pub from: Vec<Part>,
    /// What it says, in the order in which it is read.
    pub blocks: Vec<Block>,
}

/// A part of a sheet.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case", rename_all_fields = "kebab-case", tag = "kind")]
pub enum Block {
    /// A labelled paragraph.
    Text {
        /// What it is.
        label: &'static str,
        /// The paragraph.
        text: String,
    },
    /// A caution: shown as one.
    Caution {
        /// The caution.
        text: String,
    },
    /// Steps, in order.
    Steps {
        /// What to do.
        steps: Vec<String>,
    },
    /// Other entries, each with a figure.
    Refs {
        /// What they are to this one.
        label: &'static str,
        /// The entries.
        refs: Vec<Ref>,
    },
    /// What a cause shows on one test.
    Shows {
        /// The test.
        test: Ref,
        /// Every outcome of it, in the author's order.
        outcomes: Vec<Shown>,
        /// What the written chances add to, where they were divided by it.
        rescaled_from: Option<f64>,
    },
    /// What one outcome of a test speaks for and against.
    Speaks {
        /// The outcome's id.
        outcome: String,
        /// What is shown for it.
        say: String,
        /// Chance of it on a gate with nothing wrong that bears on the test.
        healthy: f64,
        /// Whether it means "nothing here".
        normal: bool,
        /// Causes that it makes likelier than healthy, the strongest first; the figure is the likelihood ratio.
        speaks_for: Vec<Ref>,
        /// Causes that it makes less likely, the strongest first.
        speaks_against: Vec<Ref>,
    },
}

/// Another entry.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Ref {
    /// Its section; empty where it is no entry (a value of a fact, a case).
    pub section: &'static str,
    /// Its id.
    pub id: String,
    /// Its title.
    pub title: String,
    /// The figure as a person reads it; empty for none.
    pub figure: String,
    /// The figure.
    pub value: Option<f64>,
    /// A remark.
    pub note: String,
}

/// One outcome under a cause.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Shown {
    /// The outcome's id.
    pub id: String,
    /// What is shown for it.
    pub say: String,
    /// Chance with the cause there.
    pub chance: f64,
    /// Chance with nothing wrong that bears on the test.
    pub healthy: f64,
    /// What the author wrote: a word of the scale or a number; empty where it is worked out from what is left.
    pub written: String,
}

/// Nothing has that id.
#[derive(Debug, Clone, PartialEq)]
pub struct Unknown {
    /// What is near: `section/id` with the title.
    pub near: Vec<Candidate>,
}

/// The sheets of an id, or of one `section/id`; several where more than one section has the id.
///
/// # Errors
/// [`Unknown`] with what is near.
pub fn explain(engine: &Engine, query: &str) -> Result<Vec<Sheet>, Unknown> {
    let all = all(&engine.knowledge);
    let wanted = query.trim();
    let (section, id) = match wanted.split_once('/') {
        Some((section, id)) => (Some(section), id),
        None => (None, wanted),
    };
    let of_section = |c: &&Candidate| section.is_none_or(|s| c.section == s || sections::one_of(c.section) == s);
    let found = all.iter().filter(of_section).filter(|c| c.id == id);
    let sheets: Vec<Sheet> = found.map(|c| sheet(engine, c)).collect();
    if sheets.is_empty() {
        let in_section: Vec<Candidate> = all.iter().filter(of_section).cloned().collect();
        let pool = if in_section.is_empty() { &all } else { &in_section };
        let near = search(id, pool).into_iter().take(6).cloned().collect();
        return Err(Unknown { near });
    }
    Ok(sheets)
}

fn sheet(engine: &Engine, of: &Candidate) -> Sheet {
    let id = of.id.as_str();
    let blocks = match of.section {
        "causes" => cause::blocks(engine, id),
        "tests" => test::blocks(engine, id),
        "repairs" => repair::blocks(engine, id),
        "symptoms" => symptom::blocks(engine, id),
        "facts" => site::fact(engine, id),
        "places" => site::place(engine, id),
        "covers" => site::cover(engine, id),
        "conditions" => site::condition(engine, id),
        "signs" => safety::sign(engine, id),
        "standing" => safety::standing(engine, id),
        "retest" => safety::retest(engine, id),
        "ideas" => symptom::idea(engine, id),
        "ambiguity" => cause::ambiguity(engine, id),
        "kit" => safety::kit(engine, id),
        "shortcuts" => safety::shortcut(engine, id),
        _ => safety::code(engine, id),
    };
    Sheet {
        section: of.section,
        id: of.id.clone(),
        title: of.title.clone(),
        from: origin::parts(&engine.knowledge, of.section, id),
        blocks: blocks.unwrap_or_default(),
    }
}

impl Ref {
    /// An entry without a figure.
    fn plain(section: &'static str, id: &str, title: impl Into<String>) -> Self {
        Self {
            section,
            id: id.to_owned(),
            title: title.into(),
            figure: String::new(),
            value: None,
            note: String::new(),
        }
    }

    fn with(mut self, figure: String, value: f64) -> Self {
        self.figure = figure;
        self.value = value.is_finite().then_some(value);
        self
    }

    fn share(self, chance: f64) -> Self {
        self.with(percent(chance), chance)
    }

    fn noting(mut self, note: impl Into<String>) -> Self {
        self.note = note.into();
        self
    }
}

impl Block {
    fn text(label: &'static str, text: impl Into<String>) -> Self {
        Self::Text {
            label,
            text: text.into(),
        }
    }
}

/// The list, unless it is empty.
fn refs(blocks: &mut Vec<Block>, label: &'static str, refs: Vec<Ref>) {
    if !refs.is_empty() {
        blocks.push(Block::Refs { label, refs });
    }
}

/// The paragraph, unless it is empty.
fn text(blocks: &mut Vec<Block>, label: &'static str, text: &str) {
    if !text.trim().is_empty() {
        blocks.push(Block::text(label, text));
    }
}

fn percent(p: f64) -> String {
    if p > 0.0 && p < 0.005 {
        "<1 %".to_owned()
    } else {
        format!("{:.0} %", p * 100.0)
    }
}

/// The likeliest first.
fn strongest_first(refs: &mut [Ref]) {
    refs.sort_by(|a, b| {
        let value = |r: &Ref| r.value.unwrap_or(f64::INFINITY);
        value(b).total_cmp(&value(a)).then_with(|| a.id.cmp(&b.id))
    });
}

fn cause_ref(knowledge: &Knowledge, id: &str) -> Ref {
    Ref::plain("causes", id, knowledge.causes.get(id).map_or(id, |c| &c.title))
}

fn test_ref(knowledge: &Knowledge, id: &str) -> Ref {
    Ref::plain("tests", id, knowledge.tests.get(id).map_or(id, |t| &t.title))
}

fn repair_ref(knowledge: &Knowledge, id: &str) -> Ref {
    Ref::plain("repairs", id, knowledge.repairs.get(id).map_or(id, |r| &r.title))
}
