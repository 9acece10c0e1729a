//! Pages of a drill. Pure, like those of a call.

use std::collections::BTreeMap;

use super::page::{Page, percent};
use super::style::Style;
use crate::call::{Call, Event, Seen, evaluate};
use crate::drill::{Debrief, Doable, Level, Refusal, UnsafeAct};
use crate::knowledge::schema::{Case, Condition, Now, Severity};

/// What a trainee can type, beside a word to look for.
pub(super) const LETTERS: [(&str, &str); 15] = [
    ("d", "look round for danger, before anything is touched"),
    ("q", "ask about the site, or look it up on a label"),
    ("n", "is it doing it now? bring it back, or come back another time"),
    ("s", "power it, isolate it, hold other commands off, secure the leaf"),
    ("c", "see that its whole travel is clear, a stop within reach"),
    ("v", "find out who is entitled to have it opened or reprogrammed"),
    ("g", "run it: is the trouble gone?"),
    ("u", "put back what was unplugged"),
    ("o", "out of use: isolate, secure, sign, tell the owner in writing"),
    ("t", "the safety retest"),
    ("b", "give back what was held off, set again what was wiped"),
    ("e", "leave: how does the call end?"),
    ("a", "what was seen so far"),
    ("k", "the ranking (guided only)"),
    ("p", "pause; Ctrl-C does the same; `pintle drill resume` goes on"),
];

/// How a drill opens: what the caller says, and nothing else.
#[must_use]
pub fn drill_opening(case: &Case, level: Level, minutes: Option<f64>, style: &Style) -> String {
    let mut page = Page::new(style);
    let title = minutes.map_or_else(
        || format!("Drill, {}", level.say()),
        |m| format!("Drill, {}: {m:.0} min of work", level.say()),
    );
    page.title(&title);
    page.field("caller", &case.says.join("; "));
    page.field(
        "you",
        "stand at the gate, with your meter and your tools, nothing touched yet",
    );
    page.line("");
    page.line("Type a word of what you want to test or repair (battery, eye, hinge), then its number. Or a letter; ? shows them.");
    page.finish()
}

/// The letters.
#[must_use]
pub fn drill_help(style: &Style) -> String {
    let mut page = Page::new(style);
    page.title("What you can do");
    page.line("A word looks for tests and repairs by what they are called and where they are; a number picks one.");
    LETTERS
        .iter()
        .for_each(|(letter, text)| page.field(&format!("  {letter}"), text));
    page.finish()
}

/// A numbered list, by place.
#[must_use]
pub fn drill_list(found: &[Doable], style: &Style) -> String {
    let mut page = Page::new(style);
    let mut place = None;
    for (i, doable) in found.iter().enumerate() {
        if place != Some(&doable.place) && !doable.place.is_empty() {
            page.line(&style.faint(&format!("{}:", doable.place)));
        }
        place = Some(&doable.place);
        page.option(i + 1, &format!("{} ({:.0} min)", doable.title, doable.minutes));
    }
    page.finish()
}

/// What came of an act.
#[must_use]
pub fn drill_told(call: &Call<'_>, events: &[Event], level: Level, style: &Style) -> String {
    let mut page = Page::new(style);
    for event in events {
        told(&mut page, call, event, level);
    }
    page.finish()
}

fn told(page: &mut Page<'_>, call: &Call<'_>, event: &Event, level: Level) {
    let knowledge = &call.engine.knowledge;
    match event {
        Event::Signs { yes, .. } if yes.is_empty() => page.field("you see", "no sign of danger"),
        Event::Signs { yes, .. } => {
            for id in yes {
                let ask = knowledge.signs.get(id).map_or(id.as_str(), |s| &s.ask);
                page.painted("you see", ask, Style::danger);
            }
        }
        Event::Fact { fact, value, .. } => {
            let entry = knowledge.facts.get(fact);
            let said = value.as_deref().unwrap_or("nobody can tell");
            let said = entry.and_then(|f| f.values.get(said)).map_or(said, |v| &v.say);
            page.field("site", &format!("{} {said}", entry.map_or(fact.as_str(), |f| &f.ask)));
        }
        Event::Now { now, under } => {
            let text = match now {
                Now::Present => "It does it, as you look.",
                Now::Away | Now::Unknown => "It does not do it at the moment.",
            };
            let under: Vec<&str> = under.iter().map(|p| p.say()).collect();
            let under = if under.is_empty() {
                String::new()
            } else {
                format!(" ({})", under.join(", "))
            };
            page.field("now", &format!("{text}{under}"));
        }
        Event::Answer {
            test,
            outcome,
            readings,
            ..
        } => shows(page, call, test, outcome.as_deref(), readings, level),
        Event::Cannot { .. } => page.field("no", "It can't be done or told here."),
        Event::Condition { condition, .. } => {
            let text = match condition {
                Condition::Powered => "Powered as it normally is.",
                Condition::Isolated => "Mains, battery and solar off at every leaf; one command, and nothing moves.",
                Condition::HeldOff => "Timers, app, exit loop and other people's remotes are held off.",
                Condition::LeafSecured => "The leaf is chained: wind, slope and hands don't move it.",
            };
            page.field("done", text);
        }
        Event::Clearance { .. } => page.field("you see", "the whole travel, and nobody in it; a stop is within reach"),
        Event::Entitled { .. } => page.field(
            "asked",
            "named in the service contract, and called back on the number on file",
        ),
        Event::DeviceBack { .. } => page.field("done", "It is back in its place, tested, and works."),
        Event::Repaired { repair, .. } => {
            let title = knowledge.repairs.get(repair).map_or(repair.as_str(), |r| &r.title);
            page.field("done", &format!("{title}."));
        }
        Event::Proof { symptom, seen } => {
            let title = knowledge.symptoms.get(symptom).map_or(symptom.as_str(), |s| &s.title);
            let text = match seen {
                Seen::Gone => "not to be seen in this run",
                Seen::StillThere => "still there",
                Seen::CantTell => "can't tell",
            };
            page.field("it ran", &format!("{title}: {text}"));
        }
        Event::Watched { shown } => page.field(
            "it ran",
            if *shown {
                "It did it."
            } else {
                "It did not do it, three whole cycles."
            },
        ),
        Event::OutOfUse { .. } => page.field(
            "done",
            "Isolated, secured, signed on both sides, the owner told in writing.",
        ),
        Event::Retest { line, passed, .. } => {
            let title = knowledge.retest.get(line).map_or(line.as_str(), |l| &l.title);
            let text = match passed {
                Some(true) => "passed",
                Some(false) => "FAILED",
                None => "not done",
            };
            page.field("retest", &format!("{title}: {text}"));
        }
        Event::GivenBack { what } if what.is_empty() => page.field("done", "There was nothing to give back."),
        Event::GivenBack { what } => what.iter().for_each(|line| page.field("done", line)),
        Event::Shortcut { shortcut } => {
            let title = knowledge
                .shortcuts
                .get(shortcut)
                .map_or(shortcut.as_str(), |s| &s.title);
            page.field("done", &format!("{title}."));
        }
        _ => {}
    }
}

/// What a test shows: digits and units; what they mean only where the trainee is guided.
fn shows(
    page: &mut Page<'_>,
    call: &Call<'_>,
    test: &str,
    outcome: Option<&str>,
    readings: &BTreeMap<String, String>,
    level: Level,
) {
    let knowledge = &call.engine.knowledge;
    let Some(entry) = knowledge.tests.get(test) else { return };
    page.field("you did", &entry.title);
    if let Some(outcome) = outcome {
        let said = entry.outcomes.get(outcome).map_or(outcome, |o| &o.say);
        page.field("it shows", &page.style().strong(said));
        return;
    }
    for (id, text) in readings {
        let what = entry.readings.get(id).and_then(|r| r.ask.clone());
        let what = what.map_or_else(String::new, |w| format!("{w} "));
        page.field("it shows", &format!("{what}{}", page.style().strong(text)));
    }
    if level == Level::Guided
        && let Ok(e) = evaluate(knowledge, entry, readings, &call.situation().site, true)
        && let Some((_, band)) = entry.bands.get_index(e.outcome)
    {
        page.field("meaning", &band.say);
    }
}

/// Why nothing came of it.
#[must_use]
pub fn drill_refusal(refusal: &Refusal) -> String {
    match refusal {
        Refusal::NoPower => "It is isolated: without power that can't be done or read. s powers it again.".to_owned(),
        Refusal::NotHere => "There is no such thing on this gate.".to_owned(),
        Refusal::NothingOff => "Nothing was unplugged.".to_owned(),
        Refusal::Unknown(id) => format!("There is no {id}."),
    }
}

fn worst(severity: Severity) -> &'static str {
    match severity {
        Severity::Kill => "may kill",
        Severity::Maim => "may maim",
        Severity::Hurt | Severity::None => "may hurt",
    }
}

/// The debrief: danger first, then what was found, where time went, the score, one thing to practise.
#[must_use]
pub fn debrief_page(debrief: &Debrief, style: &Style) -> String {
    let mut page = Page::new(style);
    let verdict = if debrief.passed { "passed" } else { "not passed" };
    page.title(&format!("Debrief: {verdict}, {} of 100 points", debrief.score.points));
    danger(&mut page, debrief);
    found(&mut page, debrief);
    page.line("");
    path(&mut page, debrief);
    page.line("");
    page.field("the plan", &debrief.plan.join("; "));
    page.line("");
    page.field("score", "100 to begin with");
    for line in &debrief.score.lines {
        page.field("", &format!("-{:<3} {}", line.points, line.why));
    }
    page.field("", &format!("= {}; 70 is a pass", debrief.score.points));
    if !debrief.lesson.is_empty() {
        page.field("lesson", &debrief.lesson);
    }
    page.field("practise", &debrief.practise);
    page.finish()
}

/// Unsafe acts, worst first.
fn danger(page: &mut Page<'_>, debrief: &Debrief) {
    for act in &debrief.unsafe_acts {
        let grave = if act.is_grave() { "UNSAFE" } else { "unsafe" };
        page.painted(grave, &format!("{} ({})", act.what, worst(act.severity)), Style::danger);
        page.field("", &format!("What could have happened: {}", act.could));
        page.field("", &format!("The rule: {}", act.rule));
    }
    if debrief.unsafe_acts.iter().any(UnsafeAct::is_grave) {
        page.field("", "One grave unsafe act is not passed, whatever the score.");
    }
}

/// What was wrong, what of it was found, how the gate was left, what it took.
fn found(page: &mut Page<'_>, debrief: &Debrief) {
    let truth = if debrief.truth.is_empty() {
        "nothing".to_owned()
    } else {
        debrief.truth.join("; ")
    };
    page.field("was wrong", &truth);
    if !debrief.left.is_empty() {
        page.field("left", &debrief.left.join("; "));
    } else if !debrief.truth.is_empty() {
        page.field("found", "all of it, and put right");
    }
    let ending = debrief.ending.map_or("not closed", |e| e.say());
    let right: Vec<&str> = debrief.right_endings.iter().map(|e| e.say()).collect();
    let judged = if debrief.ended_well() {
        "right".to_owned()
    } else {
        format!("right would have been: {}", right.join(", or "))
    };
    page.field("left as", &format!("{ending}: {judged}"));
    let (done, all) = debrief.retest;
    page.field("retest", &format!("{done} of {all} lines done"));
    let time = format!(
        "{:.0} min of work; the plan takes {:.0} on this gate; {:.0} min lost to steps that were not the best",
        debrief.minutes,
        debrief.plan_minutes,
        debrief.lost()
    );
    page.field("time", &time);
    if let Some(over) = debrief.over_time {
        page.painted("", &format!("{over:.0} min over the time"), Style::caution);
    }
}

/// Step by step, guesses, what was left out.
fn path(page: &mut Page<'_>, debrief: &Debrief) {
    page.line(
        "What you did, and the minutes each step is expected to have cost beyond the best one, by what you knew then:",
    );
    for (i, d) in debrief.decisions.iter().enumerate() {
        let text = if d.regret < 0.5 {
            d.what.clone()
        } else {
            format!("{}  (+{:.0} min; better: {})", d.what, d.regret, d.better)
        };
        page.option(i + 1, &text);
    }
    if debrief.decisions.is_empty() {
        page.line("     nothing");
    }
    for g in &debrief.guesses {
        let parts = if g.parts > 0.0 {
            format!("; parts for {:.0}", g.parts)
        } else {
            String::new()
        };
        let cured = if g.cured {
            "it cured something"
        } else {
            "it changed nothing"
        };
        let likely = percent(g.support);
        let text = format!("{}: {likely} likely to help by what you knew; {cured}{parts}", g.what);
        page.painted("guess", &text, Style::caution);
    }
    if debrief.swapped() >= 2 {
        let text = "Parts were swapped here, not a fault found: the answers pointed at none of them.";
        page.painted("guess", text, Style::caution);
    }
    for s in &debrief.skipped {
        page.field("left out", &s.what);
    }
}
