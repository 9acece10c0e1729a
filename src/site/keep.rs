//! Readings of a call that are worth keeping as baselines of its site.
//!
//! Only what the test's own limits call normal is offered, from a call that ended with a gate that works: a part-flat battery or a dragging leaf must not become
//! what the next visit is measured against. Where several answers are about one test, the one that counts last.

use super::check::is_normal;
use super::file::{Kept, SiteFile, Typed};
use crate::call::{BASELINE, Call, Event, Rank};
use crate::knowledge::schema::{Ending, Test};

/// A reading on offer.
#[derive(Debug, Clone, PartialEq)]
pub struct Offer {
    /// As it would be kept.
    pub kept: Kept,
    /// What was read, in the words of the knowledge.
    pub title: String,
    /// A repair was done after it.
    pub before_repair: bool,
    /// The test is judged by its baseline, so it matters which way, loop or leaf was read.
    pub judges: bool,
}

/// Whether a call left a gate that works, so that its readings may be kept.
#[must_use]
pub fn ended_well(call: &Call<'_>) -> bool {
    let ending = call.ending().map(|(e, _)| *e);
    matches!(ending, Some(Ending::Fixed | Ending::Explained | Ending::NoFaultFound))
}

/// What a call offers, in the order of its answers; `id` is the call's.
#[must_use]
pub fn offers(call: &Call<'_>, id: &str) -> Vec<Offer> {
    if !ended_well(call) {
        return Vec::new();
    }
    let mut offers: Vec<Offer> = Vec::new();
    for counted in call.answers().iter().filter(|a| a.counts && a.by == Rank::Measured) {
        let found = call.engine.knowledge.tests.get_index(counted.test.index());
        let (Some((test_id, test)), Some(entry)) = (found, call.entries.get(counted.event)) else {
            continue;
        };
        let Event::Answer { readings, .. } = &entry.event else {
            continue;
        };
        let normal = test
            .bands
            .get_index(counted.outcome)
            .is_some_and(|(o, _)| is_normal(test, o));
        let value = counted.numbers.as_ref().and_then(|n| n.value);
        let Some(reading) = reading_of(test).filter(|_| normal && value.is_some()) else {
            continue;
        };
        let Some(typed) = readings.get(reading) else { continue };
        let spec = &test.readings[reading];
        let text = super::with_unit(&crate::report::plain_text(typed), spec.unit);
        // Judged by the baseline of one of several, it is of that one.
        let of = readings.get(BASELINE).and_then(|before| {
            let known = call
                .baselines(test_id)
                .find(|b| b.reading == reading && b.value == *before);
            known.and_then(|b| b.of.clone())
        });
        let kept = Kept {
            test: Some(test_id.clone()),
            reading: Some(reading.to_owned()),
            of,
            value: Typed(text),
            date: entry.time.chars().take(10).collect(),
            call: Some(id.to_owned()),
            ..Kept::default()
        };
        let what = spec.ask.as_deref().filter(|ask| *ask != test.title);
        let title = what.map_or_else(|| test.title.clone(), |what| format!("{}: {what}", test.title));
        offers.retain(|o| !o.kept.same_thing(&kept));
        offers.push(Offer {
            kept,
            title,
            before_repair: counted.epoch < call.repairs().len(),
            judges: test.baseline.is_some(),
        });
    }
    offers
}

/// The reading of a test that makes a baseline: the one that its `baseline` names, else its only one.
pub(super) fn reading_of(test: &Test) -> Option<&str> {
    let only = || test.readings.keys().next().filter(|_| test.readings.len() == 1);
    let named = test.baseline.as_ref().map(|b| &b.reading);
    named.or_else(only).map(String::as_str)
}

/// Keeps a baseline: it takes the place of an older one about the same thing.
pub fn keep(site: &mut SiteFile, kept: Kept) {
    site.baselines.retain(|old| !old.same_thing(&kept));
    site.baselines.push(kept);
}
