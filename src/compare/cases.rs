//! Cases that come out differently.

use indexmap::IndexMap;
use serde::Serialize;

use super::{Play, Side};
use crate::call::{CaseResult, Suite};
use crate::knowledge::schema::{Case, Ending};

/// A share of the leading cause that moved by no more than this is no change.
const MOVED: f64 = 0.02;

/// A case that comes out differently, is new or is gone.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct CaseChange {
    /// Its file, within its pack.
    pub file: String,
    /// Its title.
    pub title: String,
    /// Whether the case itself was written differently.
    pub rewritten: bool,
    /// How it came out; nothing where it is new.
    pub before: Option<Brief>,
    /// How it comes out; nothing where it is gone.
    pub after: Option<Brief>,
}

/// How a case comes out.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Brief {
    /// Why it failed; empty: passed.
    pub failures: Vec<String>,
    /// How the call ended.
    pub ending: Option<Ending>,
    /// Tests and repairs.
    pub steps: usize,
    /// Minutes.
    pub minutes: f64,
    /// What leads at the end, with its share.
    pub leads: Option<(String, f64)>,
}

impl Brief {
    fn new(result: &CaseResult) -> Self {
        Self {
            failures: result.failures.clone(),
            ending: result.ending,
            steps: result.steps,
            minutes: result.minutes,
            leads: result.ranking.first().cloned(),
        }
    }

    /// Whether nothing failed.
    #[must_use]
    pub fn passed(&self) -> bool {
        self.failures.is_empty()
    }

    fn same(&self, other: &Self) -> bool {
        let lead = match (&self.leads, &other.leads) {
            (Some((a, p)), Some((b, q))) => a == b && (p - q).abs() <= MOVED,
            (None, None) => true,
            _ => false,
        };
        let minutes = (self.minutes - other.minutes).abs() < 0.5;
        lead && minutes && (&self.failures, self.ending, self.steps) == (&other.failures, other.ending, other.steps)
    }
}

impl CaseChange {
    /// It passed and now fails.
    #[must_use]
    pub fn breaks(&self) -> bool {
        self.before.as_ref().is_some_and(Brief::passed) && self.after.as_ref().is_some_and(|a| !a.passed())
    }

    /// It failed and now passes.
    #[must_use]
    pub fn mends(&self) -> bool {
        self.before.as_ref().is_some_and(|b| !b.passed()) && self.after.as_ref().is_some_and(Brief::passed)
    }

    /// Worst first.
    fn rank(&self) -> u8 {
        let new_fails = self.before.is_none() && self.after.as_ref().is_some_and(|a| !a.passed());
        match self {
            _ if self.breaks() => 0,
            _ if new_fails => 1,
            _ if self.after.is_none() => 2,
            _ if self.mends() => 3,
            _ => 4,
        }
    }
}

/// Plays the cases of both sides and compares. With the same knowledge on both sides only cases that were rewritten are played.
pub(super) fn changes(
    old: &Side,
    new: &Side,
    play: &Play,
    same_knowledge: bool,
    told: &(dyn Fn(&str) + Sync),
) -> (usize, Vec<CaseChange>) {
    let (before, after) = (chosen(old, play), chosen(new, play));
    let rewritten = |name: &String| match (before.get(name), after.get(name)) {
        (Some(a), Some(b)) => format!("{a:?}") != format!("{b:?}"),
        _ => true,
    };
    let worth = |cases: &IndexMap<String, &Case>| cases.keys().any(|name| !same_knowledge || rewritten(name));
    if !worth(&before) && !worth(&after) {
        return (0, Vec::new());
    }
    let results = |side: &Side, cases: &IndexMap<String, &Case>, which: &str| -> IndexMap<String, CaseResult> {
        let of_side = cases.iter().filter(|(name, _)| !same_knowledge || rewritten(name));
        let named: Vec<(String, &Case)> = of_side.map(|(name, case)| (name.clone(), *case)).collect();
        let done = std::sync::atomic::AtomicUsize::new(0);
        let all = named.len();
        let played = || {
            let done = done.fetch_add(1, std::sync::atomic::Ordering::Relaxed) + 1;
            told(&format!("{which} cases: {done} of {all}"));
        };
        Suite::play(&side.engine, &named, &played).results.into_iter().collect()
    };
    let (was, is) = (results(old, &before, "old"), results(new, &after, "new"));
    let mut names: Vec<&String> = was.keys().chain(is.keys()).collect();
    names.sort();
    names.dedup();
    let mut found: Vec<CaseChange> = names
        .into_iter()
        .filter_map(|name| {
            let (before, after) = (was.get(name), is.get(name));
            let change = CaseChange {
                file: name.clone(),
                title: after.or(before)?.title.clone(),
                rewritten: before.is_some() && after.is_some() && rewritten(name),
                before: before.map(Brief::new),
                after: after.map(Brief::new),
            };
            let same = matches!((&change.before, &change.after), (Some(b), Some(a)) if b.same(a));
            (!same).then_some(change)
        })
        .collect();
    found.sort_by(|a, b| a.rank().cmp(&b.rank()).then(a.file.cmp(&b.file)));
    (was.len() + is.len(), found)
}

/// Whether a case was added, removed or written differently.
pub(super) fn differ(old: &Side, new: &Side) -> bool {
    let text = |side: &Side| -> Vec<String> {
        let cases = chosen(side, &Play::All);
        let mut all: Vec<String> = cases.iter().map(|(name, case)| format!("{name}{case:?}")).collect();
        all.sort();
        all
    };
    text(old) != text(new)
}

/// The cases of a side by the names they have within their packs.
fn chosen<'a>(side: &'a Side, play: &Play) -> IndexMap<String, &'a Case> {
    let fits = |name: &String| match play {
        Play::All => true,
        Play::Named(word) => name.contains(word.as_str()),
        Play::None => false,
    };
    let cases = side.engine.knowledge.cases.iter();
    cases
        .map(|(file, case)| (side.short_name(*file), case))
        .filter(|(name, _)| fits(name))
        .collect()
}
