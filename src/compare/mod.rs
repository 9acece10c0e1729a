//! Two versions of the knowledge, side by side: what was written differently, and what comes of it in walks.
//!
//! Everything is worked out from both versions afresh and compared as a person would see it: what would be shown alike is no change.

mod cases;
mod entries;
mod figures;
mod openings;
mod side;

use serde::Serialize;

pub use cases::{Brief, CaseChange};
pub use entries::{EntryChange, FieldChange, Kind};
pub use figures::FigureChange;
pub use openings::{FirstStepChange, RankingChange};
pub use side::{BUILT_IN, Side};

/// Which cases are played.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Play {
    /// All of them.
    All,
    /// Those whose file name contains this.
    Named(String),
    /// None.
    None,
}

/// Everything that differs. Lists are empty where nothing does.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Comparison {
    /// Version of this format.
    pub version: u32,
    /// Cases with another result, worst first.
    pub cases: Vec<CaseChange>,
    /// How many cases were played in both versions together.
    pub played: usize,
    /// Symptoms with another first step.
    pub first_steps: Vec<FirstStepChange>,
    /// Symptoms with another ranking at the start.
    pub rankings: Vec<RankingChange>,
    /// Figures of coverage that moved.
    pub figures: Vec<FigureChange>,
    /// Settings that moved.
    pub settings: Vec<FieldChange>,
    /// Entries that were added, removed or changed.
    pub entries: Vec<EntryChange>,
}

impl Comparison {
    /// Compares. `told` is told what is worked on before each part.
    #[must_use]
    pub fn new(old: &Side, new: &Side, play: &Play, every_site: bool, told: &(dyn Fn(&str) + Sync)) -> Self {
        let entries = entries::changes(old, new);
        let settings = entries::settings(&old.engine.knowledge.settings, &new.engine.knowledge.settings);
        let same = entries.is_empty() && settings.is_empty();
        let (played, cases) = cases::changes(old, new, play, same, told);
        let mut comparison = Self {
            version: 1,
            cases,
            played,
            first_steps: Vec::new(),
            rankings: Vec::new(),
            figures: Vec::new(),
            settings,
            entries,
        };
        if !same {
            told("first steps");
            comparison.first_steps = openings::first_steps(old, new, every_site);
            comparison.rankings = openings::rankings(old, new);
        }
        if !same || cases::differ(old, new) {
            told("figures");
            comparison.figures = figures::changes(old, new);
        }
        comparison
    }

    /// Whether nothing differs.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.cases.is_empty()
            && self.first_steps.is_empty()
            && self.rankings.is_empty()
            && self.figures.is_empty()
            && self.settings.is_empty()
            && self.entries.is_empty()
    }

    /// Whether a case that passed now fails.
    #[must_use]
    pub fn breaks(&self) -> bool {
        self.cases.iter().any(CaseChange::breaks)
    }
}

/// Works something out for both versions at once.
fn both<T: Send>(old: &Side, new: &Side, work: impl Fn(&Side) -> T + Sync) -> (T, T) {
    std::thread::scope(|scope| {
        let before = scope.spawn(|| work(old));
        let after = work(new);
        match before.join() {
            Ok(before) => (before, after),
            Err(panic) => std::panic::resume_unwind(panic),
        }
    })
}
