//! Were the percentages honest?
//!
//! One prediction a call: the leading cause right before the first repair, with the percentage it had then. Each call has many causes, but their percentages add up, so they would not
//! be independent; one a call is.
//!
//! **Conditional on a listed cause.** A call without confirmation can't be scored, and neither *not listed* nor *nothing wrong* is ever confirmed by a repair. So p = P(c) / (1 − P(not
//! listed) − P(nothing wrong)): of the calls in which something listed is wrong, how often is it this?
//!
//! **What came true.** Mostly the repair says it. What it leaves open (which of two causes it cured, a second fault behind the first, a fault that comes and
//! goes and only seemed cured) is settled by one draw from the belief given everything, seeded by the call's own text, so that it is the same whoever
//! looks, whenever. If the belief is honest, so is the draw. (Multiple imputation with one imputation; a share between 0 and 1 could not be scored
//! as a hit or a miss.)
//!
//! **What remains.** Only calls that were repaired and proven are seen. If people give up sooner where the first guess was wrong, hits are seen more often than misses, and
//! the percentages look too low.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng as _;

use super::outcome::{Closed, Confirmed, Kinds, Reader, Told};
use super::{Scores, Strange};
use crate::call::{Call, Engine, Entry, Event, unit};
use crate::model::CauseId;

/// Below this chance, what came true is left open, and the lot matters.
const CERTAIN: f64 = 0.95;

/// What one thread has gathered: 16 bytes a scored call.
pub struct Predictions<'a> {
    engine: &'a Engine,
    reader: Reader<'a>,
    kinds: Kinds,
    scored: Vec<(f64, bool)>,
    drawn: u64,
    excluded: u64,
    nothing_after_all: u64,
}

impl<'a> Predictions<'a> {
    /// Nothing gathered yet.
    #[must_use]
    pub fn new(engine: &'a Engine) -> Self {
        Self {
            engine,
            reader: Reader::new(engine),
            kinds: Kinds::default(),
            scored: Vec::new(),
            drawn: 0,
            excluded: 0,
            nothing_after_all: 0,
        }
    }

    /// Adds a call.
    ///
    /// # Errors
    /// When it is a call of quite other knowledge.
    pub fn add(&mut self, entries: Vec<Entry>) -> Result<(), Strange> {
        let Closed { call, told } = self.reader.read(entries)?;
        self.kinds.add(&told);
        if let Told::Confirmed(confirmed) = told {
            match self.prediction(&call) {
                Some((cause, p)) => {
                    let (came_true, by_lot) = came_true(&confirmed, cause, lot(&call.entries));
                    self.drawn += u64::from(by_lot);
                    match came_true {
                        Some(came_true) => self.scored.push((p, came_true)),
                        None => self.nothing_after_all += 1,
                    }
                }
                None => self.excluded += 1,
            }
        }
        Ok(())
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

/// Whether the cause was there; `None` where the lot says that nothing was wrong after all. And whether it was left to the lot.
fn came_true(confirmed: &Confirmed, cause: CauseId, lot: f64) -> (Option<bool>, bool) {
    let belief = &confirmed.belief;
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
    (came_true, there.max(listed - there) < CERTAIN)
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

/// Everything about the percentages of many calls.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Calibration {
    /// Version of this format.
    pub version: u32,
    /// How many calls told what.
    pub kinds: Kinds,
    /// Confirmed calls in which what came true was left open by more than 5 % and drawn.
    pub drawn: u64,
    /// Confirmed calls in which the draw says that nothing was wrong after all: not scored.
    pub nothing_after_all: u64,
    /// Confirmed calls without a percentage before the first repair: nothing reported yet, or the answers excluded everything.
    pub without_prediction: u64,
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
        let mut kinds = Kinds::default();
        let (mut all, mut drawn, mut without, mut nothing_after_all) = (Vec::new(), 0, 0, 0);
        for thread in threads {
            kinds.join(&thread.kinds);
            all.extend(thread.scored);
            drawn += thread.drawn;
            without += thread.excluded;
            nothing_after_all += thread.nothing_after_all;
        }
        all.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        Self {
            version: 1,
            kinds,
            drawn,
            nothing_after_all,
            without_prediction: without,
            scores: Scores::of(&all),
            predictions: keep.then_some(all),
        }
    }
}
