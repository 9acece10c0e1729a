//! What is wrong with knowledge that could be read: one file a kind of check.
//!
//! Invariants: a check never changes knowledge, never stops at the first finding and never panics on anything that
//! [`super::load()`] lets through. Checks of cases need readings worked out and live in [`crate::call`], which this
//! module does not know.

mod bands;
mod chances;
mod formulas;
mod graph;
mod ids;
mod numbers;
mod parts;
mod safety;
mod sources;
mod usefulness;
mod words;

pub(crate) use sources::{HELP as SOURCE_HELP, is_missing};

use super::{Knowledge, nearest};
use crate::finding::{Code, Finding, Location};
use crate::knowledge::schema::{Condition, Moves, Repair, Test, Touch, When, Who};

/// Every finding, in the order of the checks; [`sorted`] puts them in the order of the files.
#[must_use]
pub fn check(knowledge: &Knowledge) -> Vec<Finding> {
    let mut found = Found {
        knowledge,
        list: Vec::new(),
    };
    ids::check(&mut found);
    numbers::check(&mut found);
    chances::check(&mut found);
    bands::check(&mut found);
    formulas::check(&mut found);
    graph::check(&mut found);
    safety::check(&mut found);
    words::check(&mut found);
    parts::check(&mut found);
    sources::check(&mut found);
    usefulness::check(&mut found);
    found.list
}

/// Puts findings in the order in which somebody mends them: by file, line and column.
///
/// While a file can't be read at all, ids that it should have brought are missing everywhere else. Findings that may be
/// nothing but such echoes are left out until it can; [`has_echoes`] says when.
#[must_use]
pub fn sorted(knowledge: &Knowledge, mut findings: Vec<Finding>) -> Vec<Finding> {
    if has_echoes(&findings) {
        findings.retain(|f| !is_echo(f.code));
    }
    findings.sort_by_cached_key(|f| (f.location.file, knowledge.sources.position(&f.location), f.code));
    findings.dedup();
    findings
}

/// Whether a file can't be read, so that findings about ids would be its echoes.
#[must_use]
pub fn has_echoes(findings: &[Finding]) -> bool {
    findings
        .iter()
        .any(|f| matches!(f.code, Code::UnreadableFile | Code::BadYaml))
}

fn is_echo(code: Code) -> bool {
    matches!(
        code,
        Code::UnknownId
            | Code::BadCase
            | Code::NoRetest
            | Code::UnusedTest
            | Code::UntestedCause
            | Code::SilentCause
            | Code::UnreachableSymptom
            | Code::NoRepair
            | Code::CuresNothing
            | Code::SplitQuantity
    )
}

/// An entry: its section and its id.
type Entry<'e> = (&'static str, &'e str);

/// What has been found so far.
struct Found<'k> {
    knowledge: &'k Knowledge,
    list: Vec<Finding>,
}

impl Found<'_> {
    /// A finding at a place inside an entry.
    fn at(&mut self, code: Code, entry: Entry<'_>, rest: &[&str], message: String, help: impl Into<String>) {
        let location = self.knowledge.locate(entry.0, entry.1, rest);
        self.located(code, location, message, help);
    }

    /// A finding about a key inside an entry: the key itself is wrong.
    fn at_key(&mut self, code: Code, entry: Entry<'_>, rest: &[&str], message: String, help: impl Into<String>) {
        let location = self.knowledge.locate(entry.0, entry.1, rest).on_key();
        self.located(code, location, message, help);
    }

    fn located(&mut self, code: Code, location: Location, message: String, help: impl Into<String>) {
        self.list.push(Finding {
            code,
            location,
            message,
            help: help.into(),
        });
    }

    /// A path outside the sections of entries: in the last file that has most of it.
    fn top_level(&self, path: &[&str]) -> Location {
        let path: Vec<String> = path.iter().map(|p| (*p).to_owned()).collect();
        let sources = &self.knowledge.sources;
        let file = (0..sources.files.len())
            .max_by_key(|&f| sources.depth(f, &path))
            .unwrap_or(0);
        Location::new(file, path)
    }

    /// Whether a section has an entry of that id, if only one that can't be decoded (which is a finding already).
    fn has(&self, section: &'static str, id: &str) -> bool {
        !self.knowledge.origins.files(section, id).is_empty() || self.ids(section).contains(&id)
    }

    /// Ids of a section that can be referred to.
    fn ids(&self, section: &str) -> Vec<&str> {
        let k = self.knowledge;
        let keys: Vec<&String> = match section {
            "facts" => k.facts.keys().collect(),
            "places" => k.places.keys().collect(),
            "covers" => k.covers.keys().collect(),
            "tests" => k.tests.keys().collect(),
            "causes" => k.causes.keys().collect(),
            "repairs" => k.repairs.keys().collect(),
            "symptoms" => k.symptoms.keys().collect(),
            "retest" => k.retest.keys().collect(),
            _ => Vec::new(),
        };
        keys.into_iter().map(String::as_str).collect()
    }
}

/// "did you mean …?", or what there is to choose from.
pub(crate) fn suggestion<'a>(wrong: &str, known: impl Iterator<Item = &'a str> + Clone, kind: &str) -> String {
    if let Some(near) = nearest(wrong, known.clone()) {
        return format!("did you mean `{near}`?");
    }
    let all: Vec<&str> = known.collect();
    match all.len() {
        0 => format!("no pack has a {kind} yet: write one, or take this out"),
        1..=8 => format!("choose from: {}", all.join(", ")),
        _ => format!("write the id of a {kind} that some pack has, or add that {kind}"),
    }
}

/// What tests and repairs have in common for the checks.
struct StepView<'k> {
    entry: Entry<'k>,
    who: Who,
    moves: Moves,
    needs: &'k [Condition],
    place: Option<&'k str>,
    inside: Option<&'k str>,
    after: &'k [String],
    not_with: &'k [String],
    when: &'k When,
    touches: &'k [Touch],
    minutes: f64,
}

fn test_view<'k>((id, test): (&'k String, &'k Test)) -> StepView<'k> {
    StepView {
        entry: ("tests", id),
        who: test.who,
        moves: test.moves,
        needs: &test.needs,
        place: test.place.as_deref(),
        inside: test.inside.as_deref(),
        after: &test.after,
        not_with: &test.not_with,
        when: &test.when,
        touches: &[],
        minutes: test.minutes,
    }
}

fn repair_view<'k>((id, repair): (&'k String, &'k Repair)) -> StepView<'k> {
    StepView {
        entry: ("repairs", id),
        who: repair.who,
        moves: repair.moves,
        needs: &repair.needs,
        place: repair.place.as_deref(),
        inside: repair.inside.as_deref(),
        after: &repair.after,
        not_with: &repair.not_with,
        when: &repair.when,
        touches: &repair.touches,
        minutes: repair.minutes,
    }
}

/// Tests, then repairs.
fn steps(knowledge: &Knowledge) -> Vec<StepView<'_>> {
    let tests = knowledge.tests.iter().map(test_view);
    tests.chain(knowledge.repairs.iter().map(repair_view)).collect()
}
