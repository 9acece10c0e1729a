//! What counts: answers grouped by what they share.

use crate::knowledge::schema::{Now, Provocation};
use crate::model::{RepairId, SymptomId, TestId};

/// One counting answer: a test and how likely it would be given under each of its outcomes.
///
/// A plain observation is 1 for one outcome. A reading near a limit is spread by the meter's error; a caller's answer by the chance
/// that it is not what it seems (virtual evidence).
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// Which test.
    pub test: TestId,
    /// P(this answer | outcome), outcome by outcome.
    pub likelihood: Vec<f64>,
    /// Who it is for the journal: position of the event it came from.
    pub event: usize,
}

impl Answer {
    /// A plain observation of one outcome out of `outcomes`.
    #[must_use]
    pub fn observed(test: TestId, outcome: usize, outcomes: usize, event: usize) -> Self {
        let likelihood = (0..outcomes).map(|o| f64::from(u8::from(o == outcome))).collect();
        Self {
            test,
            likelihood,
            event,
        }
    }

    /// A caller's word for one outcome, right with chance `reliability`.
    #[must_use]
    pub fn told(test: TestId, outcome: usize, outcomes: usize, reliability: f64, event: usize) -> Self {
        let slip = (1.0 - reliability) / outcomes as f64;
        let likelihood = (0..outcomes)
            .map(|o| slip + if o == outcome { reliability } else { 0.0 })
            .collect();
        Self {
            test,
            likelihood,
            event,
        }
    }
}

/// One visit with the symptom away or present and one set of provocations.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Spell {
    /// Is it doing it now? `None` where nobody was asked.
    pub now: Option<Now>,
    /// What is provoking it.
    pub under: Vec<Provocation>,
    /// Answers given in it.
    pub answers: Vec<Answer>,
}

/// Is a reported symptom still there after a repair?
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Proof {
    /// Which symptom.
    pub symptom: SymptomId,
    /// Seen again (true) or seen gone (false).
    pub still_there: bool,
    /// Position of the event it came from.
    pub event: usize,
}

/// What happened between two repairs.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Epoch {
    /// Spells, in order.
    pub spells: Vec<Spell>,
    /// Proof of the repair before it.
    pub proofs: Vec<Proof>,
}

/// Everything that counts.
#[derive(Debug, Clone, PartialEq)]
pub struct Evidence {
    /// Symptoms that were reported.
    pub symptoms: Vec<SymptomId>,
    /// Symptoms that were asked after and denied.
    pub denied: Vec<SymptomId>,
    /// One more than there are repairs.
    pub epochs: Vec<Epoch>,
    /// `repairs[i]` lies between `epochs[i]` and `epochs[i + 1]`.
    pub repairs: Vec<RepairId>,
}

impl Evidence {
    /// Only the reported symptoms.
    #[must_use]
    pub fn reported(symptoms: Vec<SymptomId>) -> Self {
        Self {
            symptoms,
            denied: Vec::new(),
            epochs: vec![Epoch::default()],
            repairs: Vec::new(),
        }
    }

    /// The spell in which the next answer would be given.
    #[must_use]
    pub fn current_spell(&self) -> Option<&Spell> {
        self.epochs.last().and_then(|e| e.spells.last())
    }

    /// What provokes the fault in that spell.
    #[must_use]
    pub fn under(&self) -> &[Provocation] {
        self.current_spell().map_or(&[], |spell| &spell.under)
    }

    /// Every answer, in order.
    pub fn answers(&self) -> impl Iterator<Item = &Answer> {
        self.epochs
            .iter()
            .flat_map(|e| e.spells.iter().flat_map(|s| s.answers.iter()))
    }

    /// The same evidence with only the answers and proofs that `keep` says, by event.
    #[must_use]
    pub fn filtered(&self, keep: &dyn Fn(usize) -> bool) -> Self {
        let mut kept = self.clone();
        for epoch in &mut kept.epochs {
            epoch.proofs.retain(|p| keep(p.event));
            for spell in &mut epoch.spells {
                spell.answers.retain(|a| keep(a.event));
            }
        }
        kept
    }

    /// One more answer in the current spell.
    #[must_use]
    pub fn with(&self, answer: Answer) -> Self {
        let mut more = self.clone();
        if more.epochs.is_empty() {
            more.epochs.push(Epoch::default());
        }
        let last = more.epochs.len() - 1;
        let spells = &mut more.epochs[last].spells;
        if spells.is_empty() {
            spells.push(Spell::default());
        }
        let open = spells.len() - 1;
        spells[open].answers.push(answer);
        more
    }
}
