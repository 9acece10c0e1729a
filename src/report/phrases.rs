//! Words for numbers and events, shared by the record and the *why* page.

use crate::call::{Call, Counted, Event, Rank, Seen, Target};
use crate::knowledge::Knowledge;
use crate::knowledge::schema::{At, Now, Provocation, Severity, Who};

use super::privacy::plain_text;

/// A probability in words.
///
/// Limits by common practice; the figure stands beside the word wherever there is room.
pub(super) fn likely(p: f64) -> &'static str {
    match p {
        p if p >= 0.99 => "as good as certain",
        p if p >= 0.90 => "very likely",
        p if p >= 0.66 => "likely",
        p if p >= 0.50 => "more likely than not",
        p if p >= 0.20 => "possible",
        p if p >= 0.05 => "not likely",
        _ => "very unlikely",
    }
}

/// A probability in figures: `62 %`, `< 1 %`, `> 99 %`.
pub(super) fn percent(p: f64) -> String {
    match p {
        p if p < 0.01 => "< 1 %".to_owned(),
        p if p > 0.99 => "> 99 %".to_owned(),
        p => format!("{:.0} %", p * 100.0),
    }
}

/// Where the caller stood, and who else was there.
pub(super) fn caller(at_gate: bool, others: &str) -> String {
    let stood = if at_gate {
        "the caller stood clear of the gate"
    } else {
        "the caller was not at the gate"
    };
    if others.is_empty() {
        stood.to_owned()
    } else {
        format!("{stood}; also there: {}", plain_text(others))
    }
}

/// Where a call is taken.
pub(super) fn place(at: At) -> &'static str {
    match at {
        At::Gate => "at the gate",
        At::Phone => "on the phone",
    }
}

/// Where the call was at each entry.
pub(super) fn places(call: &Call<'_>) -> Vec<At> {
    let mut at = At::Gate;
    let places = call.entries.iter().map(|entry| {
        if let Event::Opened { at: place, .. } | Event::Resumed { at: place, .. } = &entry.event {
            at = *place;
        }
        at
    });
    places.collect()
}

/// `2026-01-01 08:00 UTC`, out of RFC 3339; anything else as it is.
pub(super) fn clock(time: &str) -> String {
    let parts = time.split_once('T').and_then(|(day, clock)| {
        let minutes = clock.get(..5)?;
        let zone = clock.rfind(['Z', '+', '-']).map_or("", |at| &clock[at..]);
        Some(format!("{day} {minutes} {}", if zone == "Z" { "UTC" } else { zone }))
    });
    parts.unwrap_or_else(|| time.trim_end().to_owned())
}

/// Who the person at the gate is.
pub(super) fn who(who: Who) -> &'static str {
    match who {
        Who::Anyone => "untrained person: looks and listens only",
        Who::Technician => "gate technician",
        Who::Electrician => "licensed electrician",
    }
}

/// Where an answer comes from.
pub(super) fn rank(rank: Rank) -> &'static str {
    match rank {
        Rank::Told => "told",
        Rank::Seen => "seen",
        Rank::Measured => "measured",
    }
}

/// What a proof run showed.
pub(super) fn seen(seen: Seen) -> &'static str {
    match seen {
        Seen::Gone => "gone",
        Seen::StillThere => "STILL THERE",
        Seen::CantTell => "can't tell",
    }
}

/// Is it doing it, under what?
pub(super) fn now(now: Now, under: &[Provocation]) -> String {
    let says = match now {
        Now::Present => "yes, it was doing it",
        Now::Away => "no, not at that moment",
        Now::Unknown => "nobody could tell",
    };
    if under.is_empty() {
        return says.to_owned();
    }
    let under: Vec<&str> = under.iter().map(|p| p.say()).collect();
    format!("{says}; under: {}", under.join(", "))
}

/// The worst that a danger can do.
pub(super) fn worst(severity: Severity) -> &'static str {
    match severity {
        Severity::Kill => "a cause that may kill is too likely to run the gate",
        Severity::Maim => "a cause that may maim is too likely to run the gate",
        Severity::Hurt => "a cause that may hurt is too likely to run the gate",
        Severity::None => "a cause is not settled",
    }
}

/// A symptom's title.
pub(super) fn symptom(knowledge: &Knowledge, id: &str) -> String {
    plain_text(knowledge.symptoms.get(id).map_or(id, |s| &s.title))
}

/// A test's title.
pub(super) fn test(knowledge: &Knowledge, id: &str) -> String {
    plain_text(knowledge.tests.get(id).map_or(id, |t| &t.title))
}

/// A repair's title.
pub(super) fn repair(knowledge: &Knowledge, id: &str) -> String {
    plain_text(knowledge.repairs.get(id).map_or(id, |r| &r.title))
}

/// The title of a cause by its place in the tables.
pub(super) fn cause(knowledge: &Knowledge, index: usize) -> String {
    plain_text(knowledge.causes.get_index(index).map_or("", |(_, c)| &c.title))
}

/// The question of a fact.
pub(super) fn fact(knowledge: &Knowledge, id: &str) -> String {
    plain_text(knowledge.facts.get(id).map_or(id, |f| &f.ask))
}

/// What a fact's value says.
pub(super) fn fact_value(knowledge: &Knowledge, id: &str, value: &str) -> String {
    let fact = knowledge.facts.get(id);
    let said = fact.and_then(|f| f.values.get(value)).map_or(value, |v| &v.say);
    plain_text(said)
}

/// What an outcome of a test says, by its place in the tables.
pub(super) fn outcome(knowledge: &Knowledge, test: usize, outcome: usize) -> String {
    let Some((_, test)) = knowledge.tests.get_index(test) else {
        return String::new();
    };
    let band = test.bands.get_index(outcome).map(|(_, b)| b.say.as_str());
    let seen = outcome
        .checked_sub(test.bands.len())
        .and_then(|o| test.outcomes.get_index(o));
    plain_text(band.or(seen.map(|(_, o)| o.say.as_str())).unwrap_or_default())
}

/// What a person can pick or pass over.
pub(super) fn target(knowledge: &Knowledge, target: &Target) -> String {
    match target {
        Target::Test(id) => test(knowledge, id),
        Target::Repair(id) => repair(knowledge, id),
        Target::Fact(id) => fact(knowledge, id),
    }
}

/// What a counted answer says: test and outcome.
pub(super) fn answer(knowledge: &Knowledge, counted: &Counted) -> String {
    let title = knowledge
        .tests
        .get_index(counted.test.index())
        .map_or("", |(_, t)| &t.title);
    format!(
        "{}: {}",
        plain_text(title),
        outcome(knowledge, counted.test.index(), counted.outcome)
    )
}

/// What the event at a position says, for an answer or a proof.
pub(super) fn evidence(call: &Call<'_>, event: usize) -> String {
    let knowledge = &call.engine.knowledge;
    if let Some(counted) = call.answers().iter().find(|c| c.event == event) {
        return answer(knowledge, counted);
    }
    match call.entries.get(event).map(|e| &e.event) {
        Some(Event::Proof {
            symptom: id,
            seen: what,
        }) => {
            let after = call.repairs().iter().rev().find(|r| r.event < event);
            let after = after.map_or_else(String::new, |r| format!(" after \"{}\"", repair(knowledge, &r.repair)));
            format!("Proof run{after}: {}: {}", symptom(knowledge, id), seen(*what))
        }
        Some(other) => taken_back(knowledge, other),
        None => String::new(),
    }
}

/// An event in a line, for the list of what was taken back.
pub(super) fn taken_back(knowledge: &Knowledge, event: &Event) -> String {
    match event {
        Event::Caller { .. } => "where the caller stands".to_owned(),
        Event::Visit { .. } => "the visit that was booked".to_owned(),
        Event::Signs { .. } => "the answers to the hazard signs".to_owned(),
        Event::SignsCleared { .. } => "hazard signs put right".to_owned(),
        Event::Complaint { .. } => "the complaint".to_owned(),
        Event::Denied { symptom: id } => format!("not there: {}", symptom(knowledge, id)),
        Event::Fact { fact: id, value, .. } => {
            let value = value
                .as_deref()
                .map_or_else(|| "nobody can tell".to_owned(), |v| fact_value(knowledge, id, v));
            format!("{} {value}", fact(knowledge, id))
        }
        Event::Now { now: what, under } => format!("Is it doing it now? {}", now(*what, under)),
        Event::Condition { condition, done } => {
            let title = knowledge
                .conditions
                .get(condition.id())
                .map_or(condition.id(), |c| &c.title);
            format!(
                "{}: {}",
                plain_text(title),
                if *done { "done" } else { "can't be done" }
            )
        }
        Event::Clearance { .. } => "clearance to move the gate".to_owned(),
        Event::Entitled { .. } => "how the person asking was verified".to_owned(),
        Event::Answer {
            test: id,
            outcome,
            readings,
            ..
        } => {
            let said = match (outcome, knowledge.tests.get(id)) {
                (Some(o), Some(t)) => t.outcomes.get(o).map_or_else(|| o.clone(), |o| o.say.clone()),
                (Some(o), None) => o.clone(),
                (None, _) => readings.values().cloned().collect::<Vec<_>>().join("; "),
            };
            format!("{}: {}", test(knowledge, id), plain_text(&said))
        }
        Event::Cannot { target: what } => format!("can't be done: {}", target(knowledge, what)),
        Event::Skipped { target: what } => format!("passed over: {}", target(knowledge, what)),
        Event::Picked { target: what } => format!("picked: {}", target(knowledge, what)),
        Event::Prefer { .. } => "which of several answers counts".to_owned(),
        Event::DeviceBack { device } => format!("back in place: {}", fact(knowledge, device)),
        Event::Tool { tool, .. } => format!("tool at hand: {}", plain_text(tool)),
        Event::Repaired { repair: id, .. } => format!("repair: {}", repair(knowledge, id)),
        Event::Proof {
            symptom: id,
            seen: what,
        } => format!("proof: {}: {}", symptom(knowledge, id), seen(*what)),
        Event::Watched { .. } => "run and watched".to_owned(),
        Event::OutOfUse { .. } => "put out of use".to_owned(),
        Event::Retest { line, .. } => {
            let title = knowledge.retest.get(line).map_or(line.as_str(), |l| &l.title);
            format!("retest: {}", plain_text(title))
        }
        Event::GivenBack { .. } => "what was given back".to_owned(),
        Event::Note { .. } => "a note".to_owned(),
        Event::Ended { ending, .. } => format!("the ending: {}", ending.say()),
        Event::Opened { .. } => "the opening".to_owned(),
        Event::Resumed { .. } => "the call taken up again".to_owned(),
        Event::Shortcut { shortcut } => {
            let title = knowledge
                .shortcuts
                .get(shortcut)
                .map_or(shortcut.as_str(), |s| &s.title);
            format!("not allowed, done in a drill: {}", plain_text(title))
        }
        Event::Remembered { .. } | Event::Baseline { .. } | Event::Fitted { .. } => {
            "something that the site file says".to_owned()
        }
        Event::Callback { of, .. } => format!("a callback of call {}", plain_text(of)),
        Event::Terms(_) => "labour rate, meters and tools".to_owned(),
        Event::Retracted { .. } | Event::Paused | Event::Drill { .. } => "a step of the journal".to_owned(),
    }
}
