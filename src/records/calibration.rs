//! Were the percentages honest?
//!
//! One prediction a call: the leading cause right before the first repair, with the percentage it had then. Each call has many causes, but their percentages add up, so they would not
//! be independent; one a call is.
//!
//! **Which calls.** Those in which a proven repair confirmed something, and those in which a repair of the leading cause was proven *not* to help, whatever
//! their ending: leaving these misses out would make every percentage look too low.
//!
//! **Conditional on a listed cause.** Neither *not listed* nor *nothing wrong* is ever confirmed by a repair, so p = P(c) / (1 − P(not listed) − P(nothing
//! wrong)): of the calls in which something listed is wrong, how often is it this?
//!
//! **What came true.** Mostly the repairs say it. What they leave open (which of two causes one cured, a second fault behind the first, a fault that comes and
//! goes and only seemed cured) is settled by one draw from the belief given everything, seeded by the call's own text, so that it is the same whoever
//! looks, whenever. If the belief is honest, so is the draw. (Multiple imputation with one imputation; a share between 0 and 1 could not be scored
//! as a hit or a miss.) Where the draw says *not listed* or *nothing wrong*, the call is not scored.
//!
//! **Called back.** Where the same symptom came back at the same site within 60 days, the proof is taken back ([`super::Window`]): the call is not scored, whatever its repairs seemed to show. A call that
//! nobody could have called back yet is scored like any other: a half miss is no miss, and half a call would only widen the intervals.
//!
//! **What remains.** Calls that were never repaired are not seen, and what is left to the draw confirms the belief by itself. Callbacks that are
//! left out were misses more often than not, so the percentages look a little too honest.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng as _;

use super::outcome::{Closed, Kinds, Reader, Told};
use super::{Halves, Scores, Strange, Window};
use crate::belief::Belief;
use crate::call::{Call, Engine, Entry, Event, Seen};
use crate::lot::unit;
use crate::model::CauseId;

/// Below this chance, what came true is left open, and the lot matters.
const CERTAIN: f64 = 0.95;

/// What one thread has gathered: 16 bytes a scored call.
pub struct Predictions<'a> {
    engine: &'a Engine,
    window: &'a Window,
    reader: Reader<'a>,
    kinds: Kinds,
    scored: Vec<(f64, bool)>,
    asides: Asides,
}

/// Calls with a repair, beside the plain ones.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Asides {
    /// Scored although no cause was confirmed: a repair of the leading cause was proven not to help.
    pub refuted: u64,
    /// Left open by more than 5 % what it was, so that the draw mattered.
    pub drawn: u64,
    /// Not scored: the draw says that nothing listed was wrong.
    pub nothing_listed: u64,
    /// Not scored: neither was a cause confirmed nor a repair of the leading cause proven.
    pub not_tested: u64,
    /// Not scored: called back.
    pub called_back: u64,
    /// Not scored: there was no percentage before the first repair, for nothing was reported yet or the answers excluded everything.
    pub without_prediction: u64,
}

impl<'a> Predictions<'a> {
    /// Nothing gathered yet; `window` has seen every call that is going to be scored.
    #[must_use]
    pub fn new(engine: &'a Engine, window: &'a Window) -> Self {
        Self {
            engine,
            window,
            reader: Reader::new(engine),
            kinds: Kinds::default(),
            scored: Vec::new(),
            asides: Asides::default(),
        }
    }

    /// Adds a call.
    ///
    /// # Errors
    /// When it is a call of quite other knowledge.
    pub fn add(&mut self, entries: Vec<Entry>) -> Result<(), Strange> {
        let Closed { call, told } = self.reader.read(entries)?;
        let (told, halves) = self.window.judged(told, &call);
        self.kinds.add(&told);
        if call.ending().is_none() || call.repairs().is_empty() {
            return Ok(());
        }
        if halves == Halves::None {
            self.asides.called_back += 1;
            return Ok(());
        }
        let after = match told {
            Told::Confirmed(confirmed) => confirmed.belief,
            _ => self.reader.belief(&call),
        };
        let Some((cause, p)) = self.prediction(&call).filter(|_| after.total > 0.0) else {
            self.asides.without_prediction += 1;
            return Ok(());
        };
        let confirmed = call.repairs().last().is_some_and(|r| r.all_gone(call.symptoms()));
        if !confirmed && !self.put_to_the_test(&call, cause) {
            self.asides.not_tested += 1;
            return Ok(());
        }
        let (came_true, by_lot) = came_true(&after, cause, lot(&call.entries));
        self.asides.drawn += u64::from(by_lot);
        match came_true {
            Some(came_true) => {
                self.asides.refuted += u64::from(!confirmed);
                self.scored.push((p, came_true));
            }
            None => self.asides.nothing_listed += 1,
        }
        Ok(())
    }

    /// Whether a repair that is meant for the cause was done and the gate run after it.
    fn put_to_the_test(&self, call: &Call<'_>, cause: CauseId) -> bool {
        let model = &self.engine.model;
        call.repairs().iter().any(|done| {
            let meant = model
                .repair(&done.repair)
                .is_some_and(|r| model.repairs[r.index()].chance(cause) > 0.0);
            meant && done.proof.values().any(|seen| *seen != Seen::CantTell)
        })
    }

    /// The leading cause and its percentage before the first repair, as the entries up to there say.
    fn prediction(&mut self, call: &Call<'_>) -> Option<(CauseId, f64)> {
        let first = call.repairs().first()?.event;
        let before = Call::folded(self.engine, call.entries[..first].to_vec());
        let belief = self.reader.belief(&before);
        let listed = 1.0 - belief.not_listed() - belief.nothing();
        let causes = belief.causes(&self.engine.model);
        let (cause, p) = causes
            .into_iter()
            .enumerate()
            .fold((0, 0.0), |best, (c, p)| if p > best.1 { (c, p) } else { best });
        (belief.total > 0.0 && listed > 1e-9 && p > 0.0).then(|| (CauseId::at(cause), (p / listed).min(1.0)))
    }
}

/// Whether the cause was there; `None` where the lot says that it was nothing that is listed. And whether it was left to the lot.
fn came_true(belief: &Belief, cause: CauseId, lot: f64) -> (Option<bool>, bool) {
    let there = belief.share(|b| {
        let (causes, n) = b.hypothesis.causes();
        causes[..n].contains(&cause)
    });
    let listed = 1.0 - belief.nothing() - belief.not_listed();
    let came_true = if lot < there {
        Some(true)
    } else if lot < listed {
        Some(false)
    } else {
        None
    };
    (came_true, there.max(listed - there).max(1.0 - listed) < CERTAIN)
}

/// A number from 0 to 1 that belongs to a call: from its text.
fn lot(entries: &[Entry]) -> f64 {
    let mut hash: u64 = 0xcbf2_9ce4_8422_2325;
    for entry in entries {
        let text = serde_json::to_string::<(&str, &Event)>(&(&entry.time, &entry.event)).unwrap_or_default();
        for byte in text.bytes() {
            hash = (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3);
        }
    }
    unit(&mut ChaCha8Rng::seed_from_u64(hash))
}

impl Asides {
    fn join(&mut self, other: Self) {
        self.refuted += other.refuted;
        self.drawn += other.drawn;
        self.nothing_listed += other.nothing_listed;
        self.not_tested += other.not_tested;
        self.called_back += other.called_back;
        self.without_prediction += other.without_prediction;
    }
}

/// Everything about the percentages of many calls.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Calibration {
    /// Version of this format.
    pub version: u32,
    /// How many calls told what.
    pub kinds: Kinds,
    /// What was special about calls with a repair.
    pub asides: Asides,
    /// The scores; `None` without a scored call.
    pub scores: Option<Scores>,
    /// Every prediction and whether it came true, sorted.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub predictions: Option<Vec<(f64, bool)>>,
}

impl Calibration {
    /// Puts all threads together; with `keep`, every prediction stays to be looked at.
    #[must_use]
    pub fn from_threads(threads: Vec<Predictions<'_>>, keep: bool) -> Self {
        let (mut kinds, mut asides, mut all) = (Kinds::default(), Asides::default(), Vec::new());
        for thread in threads {
            kinds.join(&thread.kinds);
            asides.join(thread.asides);
            all.extend(thread.scored);
        }
        all.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        Self {
            version: 1,
            kinds,
            asides,
            scores: Scores::of(&all),
            predictions: keep.then_some(all),
        }
    }
}
