//! How much a call that ended as put right confirms: in halves, for time has to show whether it stays put right.
//!
//! **A callback takes it back.** The same symptom at the same site within [`CALLBACK_DAYS`] of the call's end (the rule of [`called_back`]) says that the repair did not hold, or was for something else:
//! the call then confirms nothing. What *was* wrong nobody knows, so it counts for no other cause either; the later call counts for itself.
//!
//! **Half, where nothing could take it back yet**: the site has no name, so no callback could be seen; or the newest call of all came before the window had passed. "Now" is
//! the newest moment in the calls, not the clock: the same calls teach the same, whenever.
//!
//! Halves of whole-number shares are whole numbers rounded down for each call by itself, so the order of calls still changes no byte. *No fault found* is not weighed: its count is set against the calls that
//! confirm something, whole calls on both sides.

use std::collections::BTreeMap;

use super::Units;
use super::outcome::{Told, Unconfirmed};
use crate::call::{CALLBACK_DAYS, Call, Earlier, Entry, Event, called_back, days_between};
use crate::site::file_name;

/// Complaints by site, and the newest moment: gathered from all calls before the first is counted.
#[derive(Debug, Clone, Default)]
pub struct Window {
    /// File name of the site → time of a complaint and its symptoms.
    complaints: BTreeMap<String, Vec<(String, Vec<String>)>>,
    /// Newest moment of all calls.
    newest: Option<String>,
}

/// What a confirmed call counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Halves {
    /// Nothing: it was called back.
    None,
    /// Half: a callback could not be seen yet.
    One,
    /// All of it.
    Two,
}

impl Halves {
    /// That much of a share.
    #[must_use]
    pub fn of(self, units: Units) -> Units {
        match self {
            Self::None => 0,
            Self::One => units / 2,
            Self::Two => units,
        }
    }
}

impl Window {
    /// Notes the complaint and the newest moment of a call.
    pub fn add(&mut self, entries: &[Entry]) {
        let Some(last) = entries.last() else { return };
        self.seen(&last.time);
        let retracted = |i: usize| {
            let takes_back = |e: &Entry| matches!(e.event, Event::Retracted { entry } if entry == i);
            entries.iter().any(takes_back)
        };
        let complaint = entries.iter().enumerate().rev().find_map(|(i, e)| match &e.event {
            Event::Complaint { symptoms, .. } if !retracted(i) => Some((e.time.clone(), symptoms.clone())),
            _ => None,
        });
        if let (Some(site), Some(complaint)) = (site(entries), complaint) {
            self.complaints.entry(site).or_default().push(complaint);
        }
    }

    /// Puts what another thread has noted to it.
    pub fn join(&mut self, other: Self) {
        for (site, complaints) in other.complaints {
            self.complaints.entry(site).or_default().extend(complaints);
        }
        if let Some(time) = other.newest {
            self.seen(&time);
        }
    }

    /// Something is known until this moment, RFC 3339 or a day.
    pub fn seen(&mut self, time: &str) {
        let later = self
            .newest
            .as_ref()
            .is_none_or(|newest| days_between(newest, time).is_some_and(|d| d > 0.0));
        if later && days_between(time, time).is_some() {
            self.newest = Some(time.to_owned());
        }
    }

    /// What a call that ended as fixed or explained counts.
    #[must_use]
    pub fn halves(&self, call: &Call<'_>) -> Halves {
        let end = call.entries.iter().rfind(|e| matches!(e.event, Event::Ended { .. }));
        let (Some(end), Some((ending, _)), Some(site)) = (end, call.ending(), site(&call.entries)) else {
            return Halves::One;
        };
        let this = [Earlier {
            id: String::new(),
            ended: end.time.clone(),
            ending: *ending,
            symptoms: call.symptoms().to_vec(),
            done: String::new(),
        }];
        let mut complaints = self.complaints.get(&site).into_iter().flatten();
        // A complaint of the very moment of the end is the call's own, noted late.
        let later = |time: &String| days_between(&end.time, time).is_some_and(|d| d > 0.0);
        if complaints.any(|(time, symptoms)| later(time) && called_back(&this, symptoms, time).is_some()) {
            return Halves::None;
        }
        let newest = self.newest.as_deref();
        let passed = newest.and_then(|newest| days_between(&end.time, newest));
        match passed {
            Some(days) if days >= CALLBACK_DAYS => Halves::Two,
            _ => Halves::One,
        }
    }

    /// What a call tells once callbacks are known, with its weight: one that was called back confirms nothing.
    #[must_use]
    pub fn judged(&self, told: Told, call: &Call<'_>) -> (Told, Halves) {
        if !matches!(told, Told::Confirmed(_)) {
            return (told, Halves::Two);
        }
        match self.halves(call) {
            Halves::None => (Told::Nothing(Unconfirmed::CalledBack), Halves::None),
            halves => (told, halves),
        }
    }
}

/// File name of the site of a call.
fn site(entries: &[Entry]) -> Option<String> {
    entries.iter().find_map(|e| match &e.event {
        Event::Opened { site, .. } => file_name(site.as_deref()?),
        _ => None,
    })
}
