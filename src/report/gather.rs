//! Reads a call into a record.

use std::collections::BTreeSet;

use super::privacy::{looks_like_code, plain_text};
use super::record::{
    BookedVisit, Complaint, DoneRepair, Labelled, LoadedLine, NoteLine, OutOfUseLine, Reference, RetestLine,
    RetestResult, RetestedLine, ServiceRecord, SignAnswer, SignsAsked, Timed, VERSION,
};
use super::{ending, phrases, ranking, reading_lines, reasoning, recommend};
use crate::call::{Call, DANGER, Entry, Event, RepairDone, Target, minutes};
use crate::knowledge::schema::{At, Moves, Severity, Standing, Task, Touch, Wipe};
use crate::visit::{LoadLine, LoadThing};

impl ServiceRecord {
    /// The record of a call, ended or not.
    #[must_use]
    pub fn of(call: &Call<'_>) -> Self {
        let retest = retest(call);
        let (settled, causes) = reasoning::causes(call);
        // What a caller tells makes a cause likely, never found.
        let settled = settled && !only_on_the_phone(call);
        let opened = call.entries.first().filter(|e| matches!(e.event, Event::Opened { .. }));
        let ended = standing(call)
            .filter(|(_, e)| matches!(e.event, Event::Ended { .. }))
            .last();
        let mut record = Self {
            version: VERSION,
            site: opened.and_then(site_name),
            callback: callback(call),
            ending: ending::block(call),
            deficiencies: deficiencies(call, &retest),
            opened: opened.map(|e| plain_text(&e.time)),
            closed: ended.map(|(_, e)| plain_text(&e.time)),
            visits: timed(call, |event| match event {
                Event::Opened { at, .. } => Some(format!("opened {}", phrases::place(*at))),
                Event::Resumed { at, .. } => Some(format!("taken up again {}", phrases::place(*at))),
                Event::Paused => Some("left for later".to_owned()),
                Event::Caller { at_gate, others } => Some(phrases::caller(*at_gate, others)),
                _ => None,
            }),
            technician: technician(call),
            entitlement: call.entitlement().map(plain_text),
            facts: facts(call),
            complaint: complaint(call),
            signs: signs(call),
            out_of_use: out_of_use(call),
            visit: visit(call),
            doing_it: timed(call, |event| match event {
                Event::Now { now, under } => Some(phrases::now(*now, under)),
                Event::Watched { shown: true } => Some("run and watched: it did it".to_owned()),
                Event::Watched { shown: false } => Some("run and watched: it did not do it".to_owned()),
                _ => None,
            }),
            readings: reading_lines::lines(call),
            ranking: ranking::moved(call),
            settled,
            causes,
            ruled_out: reasoning::ruled_out(call),
            repairs: call.repairs().iter().map(|r| repair(call, r)).collect(),
            retest,
            given_back: given_back(call),
            still_to_give_back: still_to_give_back(call),
            left_as: ending::left_as(call, device_off(call).as_deref(), all_given_back(call)),
            cautions: cautions(call),
            not_tested: not_tested(call),
            not_checked: reasoning::not_checked(call),
            recommendations: Vec::new(),
            told_in_writing: Vec::new(),
            minutes: minutes(call.engine, call),
            notes: notes(call),
            retracted: retracted(call),
            knowledge: reference(call),
        };
        record.recommendations = recommend::left_to_do(&record, device_off(call).as_deref());
        record.told_in_writing = recommend::told_in_writing(&record);
        record
    }
}

/// The last visit that was booked on the phone.
fn visit(call: &Call<'_>) -> Option<BookedVisit> {
    let booked = |(_, entry): (usize, &Entry)| match &entry.event {
        Event::Visit { plan } => Some((plain_text(&entry.time), plan.clone())),
        _ => None,
    };
    let (time, plan) = standing(call).filter_map(booked).last()?;
    let line = |line: &LoadLine| {
        let name = |t: &LoadThing| {
            if t.tool {
                format!("{} (tool)", t.name)
            } else {
                t.name.clone()
            }
        };
        let fits = |t: &LoadThing| t.read.clone();
        LoadedLine {
            things: plain_text(&line.things.iter().map(name).collect::<Vec<_>>().join(" + ")),
            fits: plain_text(&line.things.iter().filter_map(fits).collect::<Vec<_>>().join("; ")),
            causes: plain_text(&line.causes.join("; ")),
            rate: line.rate,
        }
    };
    Some(BookedVisit {
        time,
        who: plan.who_goes(),
        minutes: plan.minutes,
        booked: plan.hours(),
        remarks: plan.remarks.iter().map(|r| plain_text(r)).collect(),
        asked: plan.asked,
        promised: plan.promised,
        bare: plan.bare,
        load: plan.load.iter().map(line).collect(),
        kit: plan.kit.iter().map(|k| plain_text(k)).collect(),
    })
}

/// Entries that count, with their positions.
fn standing<'c>(call: &'c Call<'_>) -> impl Iterator<Item = (usize, &'c Entry)> {
    call.entries
        .iter()
        .enumerate()
        .filter(|(i, _)| !call.retracted().contains(i))
}

fn timed(call: &Call<'_>, say: impl Fn(&Event) -> Option<String>) -> Vec<Timed> {
    let line = |(_, entry): (usize, &Entry)| {
        say(&entry.event).map(|text| Timed {
            time: plain_text(&entry.time),
            text,
        })
    };
    standing(call).filter_map(line).collect()
}

fn callback(call: &Call<'_>) -> Option<String> {
    let (of, text) = call.callback()?;
    Some(if text.is_empty() {
        format!("of call {}", plain_text(of))
    } else {
        plain_text(text)
    })
}

fn site_name(opened: &Entry) -> Option<String> {
    let Event::Opened { site, .. } = &opened.event else {
        return None;
    };
    site.as_deref().map(plain_text).filter(|s| !s.is_empty())
}

/// Nobody was at the gate yet.
fn only_on_the_phone(call: &Call<'_>) -> bool {
    phrases::places(call).iter().all(|at| *at == At::Phone)
}

fn technician(call: &Call<'_>) -> String {
    if only_on_the_phone(call) {
        return "nobody yet: taken on the phone".to_owned();
    }
    phrases::who(call.situation().who).to_owned()
}

fn facts(call: &Call<'_>) -> Vec<Labelled> {
    let knowledge = &call.engine.knowledge;
    let known = |id: &String| {
        let value = call.situation().site.get(id)?;
        // Nobody was asked at this call: it says so.
        let last = standing(call).filter_map(|(_, e)| match &e.event {
            Event::Fact { fact, from, .. } if fact == id => Some(from.as_deref()),
            _ => None,
        });
        let from = last.last().flatten().map(|from| format!(" ({})", plain_text(from)));
        Some(Labelled {
            label: phrases::fact(knowledge, id),
            text: phrases::fact_value(knowledge, id, value) + &from.unwrap_or_default(),
        })
    };
    let mut facts: Vec<Labelled> = knowledge.facts.keys().filter_map(known).collect();
    facts.extend(call.situation().unknowable.iter().map(|id| Labelled {
        label: phrases::fact(knowledge, id),
        text: "nobody could tell".to_owned(),
    }));
    facts
}

fn complaint(call: &Call<'_>) -> Complaint {
    let knowledge = &call.engine.knowledge;
    let denied = standing(call).filter_map(|(_, e)| match &e.event {
        Event::Denied { symptom } => Some(phrases::symptom(knowledge, symptom)),
        _ => None,
    });
    Complaint {
        words: plain_text(call.words()),
        symptoms: call.symptoms().iter().map(|s| phrases::symptom(knowledge, s)).collect(),
        denied: denied.collect(),
    }
}

fn signs(call: &Call<'_>) -> Vec<SignsAsked> {
    let places = phrases::places(call);
    let asked = standing(call).filter_map(|(i, entry)| match &entry.event {
        Event::Signs { yes, unsure } => Some(SignsAsked {
            time: plain_text(&entry.time),
            place: phrases::place(places[i]).to_owned(),
            answers: sign_answers(call, yes, unsure),
        }),
        _ => None,
    });
    asked.collect()
}

fn sign_answers(call: &Call<'_>, yes: &[String], unsure: &[String]) -> Vec<SignAnswer> {
    let signs = &call.engine.knowledge.signs;
    let answer = |id: &String| {
        if yes.contains(id) {
            "YES"
        } else if unsure.contains(id) {
            "CAN'T TELL (counts as yes until looked at)"
        } else {
            "no"
        }
    };
    let gone = yes.iter().chain(unsure).filter(|id| !signs.contains_key(*id));
    signs
        .keys()
        .chain(gone)
        .map(|id| SignAnswer {
            question: sign(call, id),
            answer: answer(id).to_owned(),
        })
        .collect()
}

fn sign(call: &Call<'_>, id: &str) -> String {
    plain_text(call.engine.knowledge.signs.get(id).map_or(id, |s| &s.ask))
}

/// A reason for putting a gate out of use: a sign by its id, a danger by its worst, else a sentence.
fn reason(call: &Call<'_>, why: &str) -> String {
    if call.engine.knowledge.signs.contains_key(why) {
        return format!("yes or can't tell: {}", sign(call, why));
    }
    let worst = [Severity::Kill, Severity::Maim, Severity::Hurt]
        .into_iter()
        .find(|s| why == format!("{DANGER}{s:?}").to_lowercase());
    worst.map_or_else(|| plain_text(why), |s| phrases::worst(s).to_owned())
}

fn out_of_use(call: &Call<'_>) -> Vec<OutOfUseLine> {
    let places = phrases::places(call);
    let line = |(i, entry): (usize, &Entry)| {
        let (text, reasons) = match &entry.event {
            Event::OutOfUse { why, made_safe } => {
                let text = match (made_safe, places[i]) {
                    (true, At::Gate) => "put out of use and made safe",
                    (true, At::Phone) => "put out of use by telling the caller how to keep everybody away",
                    (false, _) => "put out of use; NOT yet made safe",
                };
                let given: Vec<String> = why.iter().map(|w| reason(call, w)).collect();
                (text, if given.is_empty() { reasons_then(call, i) } else { given })
            }
            Event::SignsCleared { signs, how } => {
                let mut reasons: Vec<String> = signs.iter().map(|s| sign(call, s)).collect();
                reasons.push(format!("how: {}", plain_text(how)));
                ("danger put right and looked at", reasons)
            }
            _ => return None,
        };
        Some(OutOfUseLine {
            time: Some(plain_text(&entry.time)),
            text: text.to_owned(),
            reasons,
        })
    };
    let mut lines: Vec<OutOfUseLine> = standing(call).filter_map(line).collect();
    if let Some(stop) = call.stop() {
        lines.push(OutOfUseLine {
            time: None,
            text: "still out of use when this record was made".to_owned(),
            reasons: stop_reasons(call),
        });
        if !stop.made_safe {
            lines.extend(lines.last().cloned().map(|last| OutOfUseLine {
                text: "MAKING SAFE IS NOT RECORDED".to_owned(),
                reasons: Vec::new(),
                ..last
            }));
        }
    }
    lines
}

/// Why the gate had to be out of use at that point of the journal.
fn reasons_then(call: &Call<'_>, event: usize) -> Vec<String> {
    stop_reasons(&Call::in_memory(call.engine, call.entries[..event].to_vec()))
}

fn stop_reasons(call: &Call<'_>) -> Vec<String> {
    let Some(stop) = call.stop() else {
        return Vec::new();
    };
    let signs = stop
        .signs
        .iter()
        .map(|s| format!("yes or can't tell: {}", sign(call, s)));
    signs.chain(stop.danger.map(|d| phrases::worst(d).to_owned())).collect()
}

fn repair(call: &Call<'_>, done: &RepairDone) -> DoneRepair {
    let knowledge = &call.engine.knowledge;
    let entry = knowledge.repairs.get(&done.repair);
    let noted = plain_text(&done.note);
    let set = [Touch::Force, Touch::Limits, Touch::Speed];
    let settings = entry.is_some_and(|r| r.touches.iter().any(|t| set.contains(t)));
    let noted = match (noted.is_empty(), settings) {
        (false, _) => Some(noted),
        (true, true) => Some("NOT NOTED: settings before and after".to_owned()),
        (true, false) => None,
    };
    let part = |p: &crate::knowledge::schema::Part| match &p.read {
        Some(read) => plain_text(&format!("{} (to be read off the old one: {read})", p.name)),
        None => plain_text(&p.name),
    };
    let proof = call.symptoms().iter().map(|s| Labelled {
        label: phrases::symptom(knowledge, s),
        text: done
            .proof
            .get(s)
            .map_or("not asked", |seen| phrases::seen(*seen))
            .to_owned(),
    });
    DoneRepair {
        time: call
            .entries
            .get(done.event)
            .map_or_else(String::new, |e| plain_text(&e.time)),
        repair: phrases::repair(knowledge, &done.repair),
        explained: entry.is_some_and(|r| r.explains),
        minutes: entry.map_or(0.0, |r| r.minutes),
        parts: entry.map_or_else(Vec::new, |r| r.parts.iter().map(part).collect()),
        noted,
        touched: entry.map_or_else(Vec::new, |r| r.touches.iter().map(|t| touched(*t).to_owned()).collect()),
        wiped: entry.map_or_else(Vec::new, |r| r.wipes.iter().map(|w| wiped(*w).to_owned()).collect()),
        proof: proof.collect(),
    }
}

fn touched(touch: Touch) -> &'static str {
    match touch {
        Touch::Board => "board",
        Touch::Force => "force",
        Touch::Limits => "limits",
        Touch::Speed => "speed",
        Touch::Arm => "arm",
        Touch::Leaf => "leaf",
        Touch::Eye => "photo eye",
        Touch::Edge => "contact edge",
        Touch::Wiring => "wiring",
        Touch::Battery => "battery",
        Touch::Charger => "charger",
        Touch::Radio => "radio",
        Touch::Keypad => "keypad",
        Touch::Loop => "loop",
        Touch::Mains => "mains",
    }
}

fn wiped(wipe: Wipe) -> &'static str {
    match wipe {
        Wipe::Settings => "settings",
        Wipe::Limits => "limits",
        Wipe::Codes => "keypad users",
        Wipe::Remotes => "learned remotes",
        Wipe::Timers => "timers",
        Wipe::Force => "force",
    }
}

fn retest(call: &Call<'_>) -> Vec<RetestLine> {
    let lines = call.engine.knowledge.retest.iter();
    lines
        .filter(|(id, line)| call.retest().contains_key(*id) || call.situation().site.holds(&line.when) != Some(false))
        .map(|(id, line)| {
            let (result, remark) = match call.retest().get(id) {
                Some((Some(true), note)) => (RetestResult::Passed, plain_text(note)),
                Some((Some(false), note)) => (RetestResult::NotPassed, plain_text(note)),
                Some((None, note)) => (RetestResult::NotDone, plain_text(note)),
                None if voided(call, id) => (
                    RetestResult::NotDone,
                    "an earlier result is void: work was done after it".to_owned(),
                ),
                None => (RetestResult::NotDone, String::new()),
            };
            let counts = call.retest().contains_key(id);
            let each = call.retested(id).iter().map(|one| RetestedLine {
                what: plain_text(&one.what),
                result: if one.passed {
                    RetestResult::Passed
                } else {
                    RetestResult::NotPassed
                },
            });
            RetestLine {
                title: plain_text(&line.title),
                plain: plain_text(line.plain.as_ref().unwrap_or(&line.title)),
                time: retested(call, id).filter(|_| counts),
                result,
                remark,
                each: each.collect(),
            }
        })
        .collect()
}

/// When a line was done last.
fn retested(call: &Call<'_>, line: &str) -> Option<String> {
    let done = standing(call).filter(|(_, e)| matches!(&e.event, Event::Retest { line: l, .. } if l == line));
    done.last().map(|(_, e)| plain_text(&e.time))
}

fn voided(call: &Call<'_>, line: &str) -> bool {
    standing(call).any(|(_, e)| matches!(&e.event, Event::Retest { line: l, .. } if l == line))
}

/// Once a retest was begun every line that is not passed is a deficiency.
fn deficiencies(call: &Call<'_>, retest: &[RetestLine]) -> Vec<Labelled> {
    let begun = standing(call).any(|(_, e)| matches!(e.event, Event::Retest { .. }));
    let failed = retest.iter().filter(|l| begun && l.result != RetestResult::Passed);
    failed
        .map(|l| {
            let devices = l.each.iter().filter(|one| one.result == RetestResult::NotPassed);
            let found = std::iter::once(l.remark.as_str()).filter(|remark| !remark.is_empty());
            let found: Vec<&str> = found.chain(devices.map(|one| one.what.as_str())).collect();
            let text = if found.is_empty() {
                l.result.say().to_owned()
            } else {
                format!("{}: {}", l.result.say(), found.join("; "))
            };
            Labelled {
                label: l.title.clone(),
                text,
            }
        })
        .collect()
}

fn given_back(call: &Call<'_>) -> Vec<Timed> {
    let given = standing(call).filter_map(|(_, e)| match &e.event {
        Event::GivenBack { what } => Some((e, what)),
        _ => None,
    });
    given
        .flat_map(|(entry, what)| {
            what.iter().map(|text| Timed {
                time: plain_text(&entry.time),
                text: plain_text(text),
            })
        })
        .collect()
}

/// Whether things were given back after the last repair.
fn all_given_back(call: &Call<'_>) -> bool {
    let since = call.repairs().last().map_or(0, |r| r.event);
    standing(call).any(|(i, e)| i >= since && matches!(e.event, Event::GivenBack { .. }))
}

/// What was held off or wiped and not given back since the last repair.
fn still_to_give_back(call: &Call<'_>) -> Vec<String> {
    let knowledge = &call.engine.knowledge;
    if all_given_back(call) {
        return Vec::new();
    }
    let conditions = call.situation().standing.conditions.iter();
    let restore = conditions.filter_map(|c| knowledge.conditions.get(c.id())?.restore.as_deref().map(plain_text));
    let wipes = call
        .repairs()
        .iter()
        .filter_map(|r| knowledge.repairs.get(&r.repair))
        .flat_map(|r| &r.wipes);
    let mut what: Vec<String> = Vec::new();
    for line in restore.chain(wipes.map(|w| format!("Set again what the repair wiped: {}", wiped(*w)))) {
        if !what.contains(&line) {
            what.push(line);
        }
    }
    what
}

/// The protection device that was unplugged last and is not back.
fn device_off(call: &Call<'_>) -> Option<String> {
    let mut off = None;
    for (_, entry) in standing(call) {
        match &entry.event {
            Event::Answer { test, .. } => {
                let unplugs = call.engine.knowledge.tests.get(test).and_then(|t| t.unplugs.as_ref());
                off = unplugs.or(off);
            }
            Event::DeviceBack { device } if off == Some(device) => off = None,
            _ => {}
        }
    }
    off.filter(|_| call.situation().device_off)
        .map(|id| plain_text(id).replace('-', " "))
}

/// What a step was, for the cautions that attach to it.
struct Done<'a> {
    own: &'a [String],
    place: Option<&'a String>,
    tasks: Vec<Task>,
}

fn cautions(call: &Call<'_>) -> Vec<String> {
    let knowledge = &call.engine.knowledge;
    let mut done: Vec<Done<'_>> = Vec::new();
    let tasks = |tasks: &[Task], moves: Moves, inside: bool| {
        let moving = match moves {
            Moves::No => None,
            Moves::Commanded => Some(Task::Commanded),
            Moves::ByHand => Some(Task::ByHand),
        };
        let opening = inside.then_some(Task::OpensCover);
        tasks.iter().copied().chain(moving).chain(opening).collect::<Vec<_>>()
    };
    for (_, entry) in standing(call) {
        match &entry.event {
            Event::Answer { test, .. } => done.extend(knowledge.tests.get(test).map(|t| Done {
                own: &t.cautions,
                place: t.place.as_ref(),
                tasks: tasks(&t.tasks, t.moves, t.inside.is_some()),
            })),
            Event::Repaired { repair, .. } => done.extend(knowledge.repairs.get(repair).map(|r| Done {
                own: &r.cautions,
                place: r.place.as_ref(),
                tasks: tasks(&r.tasks, r.moves, r.inside.is_some()),
            })),
            _ => {}
        }
    }
    let attaches = |s: &&Standing| {
        done.iter()
            .any(|d| d.place.is_some_and(|p| s.places.contains(p)) || d.tasks.iter().any(|t| s.tasks.contains(t)))
    };
    let general = knowledge.standing.values().filter(attaches).map(|s| s.text.as_str());
    let own = done.iter().flat_map(|d| d.own.iter().map(String::as_str));
    let mut seen = BTreeSet::new();
    general
        .chain(own)
        .map(plain_text)
        .filter(|c| seen.insert(c.clone()))
        .collect()
}

fn not_tested(call: &Call<'_>) -> Vec<Labelled> {
    let knowledge = &call.engine.knowledge;
    let mut left: Vec<(Target, &str)> = Vec::new();
    for (_, entry) in standing(call) {
        let done = match &entry.event {
            Event::Cannot { target } => {
                left.retain(|(t, _)| t != target);
                left.push((target.clone(), "can't be done or told here"));
                continue;
            }
            Event::Skipped { target } => {
                left.retain(|(t, _)| t != target);
                left.push((target.clone(), "passed over"));
                continue;
            }
            Event::Answer { test, .. } => Target::Test(test.clone()),
            Event::Repaired { repair, .. } => Target::Repair(repair.clone()),
            Event::Fact {
                fact, value: Some(_), ..
            } => Target::Fact(fact.clone()),
            _ => continue,
        };
        left.retain(|(t, _)| *t != done);
    }
    left.into_iter()
        .map(|(target, why)| Labelled {
            label: phrases::target(knowledge, &target),
            text: why.to_owned(),
        })
        .collect()
}

fn notes(call: &Call<'_>) -> Vec<NoteLine> {
    let note = |(_, entry): (usize, &Entry)| match &entry.event {
        Event::Note { text } => Some(NoteLine {
            time: plain_text(&entry.time),
            text: (!looks_like_code(text)).then(|| plain_text(text)),
        }),
        _ => None,
    };
    standing(call).filter_map(note).collect()
}

fn retracted(call: &Call<'_>) -> Vec<Timed> {
    call.retracted()
        .iter()
        .filter_map(|&i| call.entries.get(i))
        .map(|entry| Timed {
            time: plain_text(&entry.time),
            text: phrases::taken_back(&call.engine.knowledge, &entry.event),
        })
        .collect()
}

fn reference(call: &Call<'_>) -> Reference {
    let opened = call.entries.iter().find_map(|e| match &e.event {
        Event::Opened { knowledge, packs, .. } => Some((knowledge, packs)),
        _ => None,
    });
    Reference {
        packs: opened.map_or_else(Vec::new, |(_, packs)| packs.iter().map(|p| plain_text(p)).collect()),
        fingerprint: opened.map(|(print, _)| plain_text(print)),
        made_with: call
            .other_knowledge()
            .then(|| call.engine.knowledge.fingerprint.clone()),
        unknown_entries: call.unknown_entries(),
    }
}
