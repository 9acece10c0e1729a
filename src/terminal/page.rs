//! Pages: a step of a call as text. Nothing here reads or writes.

use std::fmt::Write as _;

use super::style::Style;
use crate::belief::Hypothesis;
use crate::call::{Call, Purpose, Step};
use crate::knowledge::Knowledge;
use crate::knowledge::schema::{At, Condition, Repair, Severity, Task, Test, tasks_of};
use crate::model::{CauseId, TestId};
use crate::plan::{Action, Choice};

/// Text under construction, wrapped to the width.
#[derive(Debug)]
pub struct Page<'s> {
    style: &'s Style,
    text: String,
}

/// Columns of the labels on the left.
const LABEL: usize = 10;

impl<'s> Page<'s> {
    /// An empty page.
    #[must_use]
    pub fn new(style: &'s Style) -> Self {
        Self {
            style,
            text: String::new(),
        }
    }

    /// A rule with a title.
    pub fn title(&mut self, title: &str) {
        let dash = if self.style.unicode { "─" } else { "-" };
        let width = self.style.width;
        let shown = shorten(title, width.saturating_sub(6));
        let rest = width.saturating_sub(shown.chars().count() + 4);
        let line = format!("{dash}{dash} {} {}", self.style.strong(&shown), dash.repeat(rest));
        let _ = writeln!(self.text, "\n{line}");
    }

    /// A labelled paragraph; further lines are indented under the first.
    pub fn field(&mut self, label: &str, text: &str) {
        self.painted(label, text, |_, t| t.to_owned());
    }

    /// A labelled paragraph, every line of it painted.
    pub fn painted(&mut self, label: &str, text: &str, paint: impl Fn(&Style, &str) -> String) {
        let width = self.style.width.saturating_sub(LABEL + 1).max(20);
        for (i, line) in textwrap::wrap(text, width).iter().enumerate() {
            let label = if i == 0 { label } else { "" };
            let padded = format!("{label:LABEL$}");
            let _ = writeln!(self.text, "{}{}", self.style.faint(&padded), paint(self.style, line));
        }
    }

    /// A labelled line with a figure of `lead` columns before its text; further lines stand under the text.
    pub fn entry(&mut self, label: &str, lead: usize, figure: &str, text: &str) {
        let before = if lead == 0 { 0 } else { lead + 2 };
        let width = self.style.width.saturating_sub(LABEL + before).max(20);
        // A number stays with its percent sign.
        let text = text.replace(" %", "\u{a0}%");
        let options = textwrap::Options::new(width)
            .word_separator(textwrap::WordSeparator::AsciiSpace)
            .word_splitter(textwrap::WordSplitter::NoHyphenation);
        for (i, line) in textwrap::wrap(&text, options).iter().enumerate() {
            let line = line.replace('\u{a0}', " ");
            let (label, figure) = if i == 0 { (label, figure) } else { ("", "") };
            let label = self.style.faint(&format!("{label:LABEL$}"));
            let figure = if lead == 0 {
                String::new()
            } else {
                format!("{figure:>lead$}  ")
            };
            let _ = writeln!(self.text, "{}", format!("{label}{figure}{line}").trim_end());
        }
    }

    /// A plain paragraph.
    pub fn line(&mut self, text: &str) {
        for line in textwrap::wrap(text, self.style.width) {
            let _ = writeln!(self.text, "{line}");
        }
    }

    /// Lines as they are, however long.
    pub fn as_it_is(&mut self, text: &str) {
        self.text.push_str(text);
    }

    /// A numbered line: what a person types to pick it.
    pub fn option(&mut self, number: usize, text: &str) {
        let width = self.style.width.saturating_sub(6).max(20);
        for (i, line) in textwrap::wrap(text, width).iter().enumerate() {
            let number = if i == 0 {
                format!("{number:>3}  ")
            } else {
                "     ".to_owned()
            };
            let _ = writeln!(self.text, "{}{line}", self.style.action(&number));
        }
    }

    /// How it is painted.
    #[must_use]
    pub fn style(&self) -> &Style {
        self.style
    }

    /// The text.
    #[must_use]
    pub fn finish(self) -> String {
        self.text
    }
}

fn shorten(text: &str, most: usize) -> String {
    if text.chars().count() <= most {
        return text.to_owned();
    }
    let cut: String = text.chars().take(most.saturating_sub(3)).collect();
    format!("{cut}...")
}

/// A share as a person reads it.
#[must_use]
pub(super) fn percent(p: f64) -> String {
    if p > 0.0 && p < 0.005 {
        "<1 %".to_owned()
    } else {
        format!("{:.0} %", p * 100.0)
    }
}

/// The ranking: likeliest causes with a bar each, *not listed* and *nothing wrong*, a likely pair by name.
#[must_use]
pub fn ranking(call: &Call<'_>, style: &Style, most: usize) -> String {
    let knowledge = &call.engine.knowledge;
    let belief = call.belief();
    let mut p: Vec<(usize, f64)> = belief.causes(&call.engine.model).into_iter().enumerate().collect();
    p.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    let mut page = Page::new(style);
    let mut label = "likely";
    for (cause, p) in p.iter().take(most).filter(|(_, p)| *p >= 0.01) {
        let full = (p * 11.0).ceil();
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to 11")]
        let bar = (if style.unicode { "■" } else { "#" }).repeat(full as usize);
        let title = &knowledge.causes[*cause].title;
        let line = format!("{:>5}  {bar:12}{title}", percent(*p));
        page.field(label, &line);
        label = "";
    }
    for branch_pair in likely_pairs(call) {
        page.field(label, &branch_pair);
        label = "";
    }
    let cured = belief.cured();
    let mut rest = vec![
        format!("{} something nobody wrote down", percent(belief.not_listed())),
        format!("{} nothing wrong now", percent(belief.nothing())),
    ];
    if cured >= 0.005 {
        rest.push(format!("{} cured already", percent(cured)));
    }
    page.painted(label, &rest.join(", "), Style::faint);
    page.finish()
}

/// Pairs with more than 10 %.
fn likely_pairs(call: &Call<'_>) -> Vec<String> {
    let belief = call.belief();
    let title = |c: CauseId| call.engine.knowledge.causes[c.index()].title.clone();
    let mut pairs: Vec<(f64, String)> = belief
        .branches
        .iter()
        .filter(|b| b.left == 3 && b.weight > 0.10 * belief.total)
        .filter_map(|b| match b.hypothesis {
            Hypothesis::Pair(c, d) => {
                let p = b.weight / belief.total;
                Some((
                    p,
                    format!(
                        "{:>5}              both: {} + {} (counted in their lines too)",
                        percent(p),
                        title(c),
                        title(d)
                    ),
                ))
            }
            _ => None,
        })
        .collect();
    pairs.sort_by(|a, b| b.0.total_cmp(&a.0));
    pairs.into_iter().map(|(_, line)| line).collect()
}

/// The page of one step, without its prompt.
#[must_use]
pub fn render_step(call: &Call<'_>, step: &Step, style: &Style) -> String {
    let knowledge = &call.engine.knowledge;
    let mut page = Page::new(style);
    match step {
        Step::Caller => caller_page(&mut page),
        Step::Signs => signs(&mut page, call),
        Step::PutOutOfUse => out_of_use(&mut page, call),
        Step::Complaint => {
            page.title("The complaint");
            page.line("What does the caller say it does, or doesn't do? In their own words.");
        }
        Step::Fact { fact, purpose } => fact_page(&mut page, call, fact, purpose.as_ref()),
        Step::Now => now_page(&mut page, call),
        Step::Condition { condition, before } => condition_page(&mut page, knowledge, *condition, *before),
        Step::Clearance { before } => {
            page.title("Before the gate moves");
            comes_before(&mut page, knowledge, *before);
            page.painted(
                "caution",
                "The gate will move. All of this, now, by whoever gives the command:",
                Style::caution,
            );
            knowledge
                .movement
                .iter()
                .enumerate()
                .for_each(|(i, line)| page.field(&format!("  {}.", i + 1), line));
            options(&mut page, ["All of it is so", "Not all of it: the gate is not moved"]);
        }
        Step::Entitlement => {
            page.title("Who is asking");
            page.line("The next step opens, holds, releases or reprograms the gate. How was the person verified? Never ask for a code.");
            options(&mut page, ENTITLED);
        }
        Step::Test { test, purpose } => test_page(&mut page, call, test, purpose),
        Step::DeviceBack { device } => {
            page.title("Put it back");
            let what = format!(
                "The {device} were unplugged for the test. Nothing moves until they are back and seen to work."
            );
            page.painted("caution", &what, Style::caution);
            options(&mut page, ["Back, tested and working", "Not yet"]);
        }
        Step::Repair { repair, purpose } => repair_page(&mut page, call, repair, purpose),
        Step::Proof { symptom, repair } => {
            page.title("Proof");
            if let Some(entry) = knowledge.repairs.get(repair).filter(|r| !r.proof.is_empty()) {
                page.field("watch", &entry.proof);
            }
            page.line(knowledge.symptoms.get(symptom).map_or("Is it gone?", |s| &s.gone));
            options(&mut page, ["Yes: it is gone", "No: it is still there", "Can't tell"]);
        }
        Step::ClearSigns { signs } => {
            page.title("Before the gate is run");
            let sign = |id: &String| knowledge.signs.get(id).map_or(id.clone(), |s| s.ask.clone());
            signs
                .iter()
                .for_each(|id| page.painted("danger", &sign(id), Style::danger));
            page.line("Is each of these put right, and did you look at it yourself?");
            options(
                &mut page,
                ["Yes: put right and looked at", "No: the gate stays out of use"],
            );
        }
        Step::Watch => {
            page.title("Run and watch");
            page.line("Nothing found so far explains it. Run it as the owner does, three whole cycles, and watch.");
            options(&mut page, ["It did it", "It did not do it"]);
        }
        Step::Retest { line } => retest_page(&mut page, knowledge, line),
        Step::GiveBack { what } => {
            page.title("Give back");
            what.iter().for_each(|line| page.field("  -", line));
            options(&mut page, ["Done, all of it", "Not all of it"]);
        }
        Step::Finish { why, .. } => {
            page.title("The call can end");
            page.line(&format!("{}.", sentence(why)));
        }
        Step::Send { why, choice } => send_page(&mut page, call, why, choice.as_deref()),
        Step::Booked | Step::Ended => {}
    }
    page.finish()
}

/// Ways in which a person may have been verified; kinds, never content.
pub(super) const ENTITLED: [&str; 4] = [
    "Owner or manager, known to the company, in person",
    "Named in the service contract, called back on the number on file",
    "Written order from the owner",
    "Not verified",
];

fn options<const N: usize>(page: &mut Page<'_>, texts: [&str; N]) {
    texts.iter().enumerate().for_each(|(i, text)| page.option(i + 1, text));
}

fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    chars
        .next()
        .map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}

/// Titles of the reported symptoms.
#[must_use]
pub(super) fn symptom_titles(call: &Call<'_>) -> Vec<String> {
    let symptoms = &call.engine.knowledge.symptoms;
    call.symptoms()
        .iter()
        .map(|id| symptoms.get(id).map_or(id.clone(), |s| s.title.clone()))
        .collect()
}

fn now_page(page: &mut Page<'_>, call: &Call<'_>) {
    page.title("Right now");
    let doing = symptom_titles(call).join("; ");
    let question = format!("Is it doing it now: {doing}? Don't make it move to find out.");
    match call.at() {
        At::Gate => page.line(&question),
        At::Phone => page.field("say", &question),
    }
    options(page, ["Yes, as you look at it", "Not at the moment", "Can't tell"]);
}

fn caller_page(page: &mut Page<'_>) {
    page.title("On the phone");
    page.field(
        "say",
        "Are you at the gate? Stand where it can't reach you, open or shut, and stay there. Who else is there?",
    );
    let answers = [
        "At the gate, standing clear of it",
        "Not at the gate: they answer from memory or from a camera",
        "In its reach, or they won't stand clear",
    ];
    options(page, answers);
}

fn send_page(page: &mut Page<'_>, call: &Call<'_>, why: &str, choice: Option<&Choice>) {
    page.title("Send somebody");
    page.field("why", &format!("{}.", sentence(why)));
    let Some(choice) = choice else { return };
    let travel = call.engine.model.settings.travel_minutes;
    page.field(
        "cost",
        &format!(
            "going now: {} expected from here, {} of them travel and call-out",
            minutes(choice.repairs_only),
            minutes(travel)
        ),
    );
    let question = |a: &&crate::plan::Priced| matches!(a.action, Action::Test(_) | Action::Fact(_));
    if let Some(best) = choice.others.iter().find(question) {
        let net = best.cost - choice.cost;
        let worth = if net < 0.0 {
            "would save next to nothing".to_owned()
        } else {
            format!("would cost {} more than it saves", minutes(net))
        };
        page.field(
            "left",
            &format!(
                "the best question left (\"{}\") {worth}",
                action_title(call, best.action)
            ),
        );
    }
}

fn signs(page: &mut Page<'_>, call: &Call<'_>) {
    page.title("Before anything else");
    let place = match call.at() {
        At::Gate => "Look from outside its reach, open or shut. Is any of this so?",
        At::Phone => "Read each one out. Is any of this so?",
    };
    page.line(place);
    for (i, sign) in call.engine.knowledge.signs.values().enumerate() {
        page.option(i + 1, &sign.ask);
    }
}

fn out_of_use(page: &mut Page<'_>, call: &Call<'_>) {
    let knowledge = &call.engine.knowledge;
    page.title("STOP: out of use for everybody");
    let stop = call.stop();
    for id in stop.map_or(&[][..], |s| &s.signs) {
        if let Some(sign) = knowledge.signs.get(id) {
            page.painted("because", &sign.ask, Style::danger);
            sign.act.iter().for_each(|line| page.painted("", line, Style::danger));
        }
    }
    if let Some(danger) = stop.and_then(|s| s.danger) {
        let p = call.belief().danger(&call.engine.model, danger);
        let worst = match danger {
            Severity::Kill => "kill",
            Severity::Maim => "maim",
            Severity::Hurt | Severity::None => "hurt",
        };
        let names = dangerous_titles(call, danger).join("; ");
        page.painted(
            "because",
            &format!("a fault that may {worst} is {} likely: {names}", percent(p)),
            Style::danger,
        );
    }
    if stop.is_none() {
        let failed = call.retest().iter().filter(|(_, (passed, _))| *passed != Some(true));
        for (id, _) in failed {
            let title = knowledge.retest.get(id).map_or(id.as_str(), |line| &line.title);
            page.painted("because", &format!("not passed: {title}"), Style::danger);
        }
    }
    let how = match call.at() {
        At::Gate => &knowledge.out_of_use.technician,
        At::Phone => &knowledge.out_of_use.caller,
    };
    how.iter()
        .enumerate()
        .for_each(|(i, line)| page.field(&format!("  {}.", i + 1), line));
    page.line("Local codes, the operator's manual and licensed people win over this list.");
    let of_sign = stop.is_some_and(|s| !s.signs.is_empty());
    let answers = match call.at() {
        At::Gate => [
            "Done: safe, signed, owner told in writing",
            if of_sign {
                "Looked at: it is not so"
            } else {
                "An answer that led here was wrong"
            },
            "It can't be made safe now",
        ],
        At::Phone => [
            "Caller told; people are kept away",
            "Asked again: it is not so",
            "People can't be kept away: the emergency number is the way",
        ],
    };
    options(page, answers);
}

fn dangerous_titles(call: &Call<'_>, at_least: Severity) -> Vec<String> {
    let p = call.belief().causes(&call.engine.model);
    let causes = call.engine.knowledge.causes.values().zip(&p);
    let mut found: Vec<(f64, String)> = causes
        .filter(|(c, p)| c.severity >= at_least && **p > 0.002)
        .map(|(c, p)| (*p, c.title.clone()))
        .collect();
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    found.into_iter().take(3).map(|(_, title)| title).collect()
}

fn fact_page(page: &mut Page<'_>, call: &Call<'_>, fact: &str, purpose: Option<&Purpose>) {
    let Some(entry) = call.engine.knowledge.facts.get(fact) else {
        return;
    };
    page.title("The site");
    if let Some(Purpose::Plan(choice)) = purpose {
        page.field("why", &reason(choice));
    }
    match (&entry.caller, call.at()) {
        (Some(words), At::Phone) => page.field("say", words),
        _ => page.line(&entry.ask),
    }
    entry
        .values
        .values()
        .enumerate()
        .for_each(|(i, value)| page.option(i + 1, &value.say));
    if let Some(number) = &entry.number {
        page.line(&format!("A number in {}.", number.unit.symbol()));
    }
    if let Some((value, from)) = call.remembered(fact) {
        let at = entry.values.get_full(value);
        let said = at.map_or_else(|| value.to_owned(), |(i, _, v)| format!("{}, {}", i + 1, v.say));
        page.field("before", &format!("{said} ({from}); it may have changed since."));
    }
}

/// What a condition or confirmation is for.
fn comes_before(page: &mut Page<'_>, knowledge: &Knowledge, before: Option<Action>) {
    if let Some(title) = before.and_then(|action| action.entry_title(knowledge)) {
        page.field("before", title);
    }
}

fn condition_page(page: &mut Page<'_>, knowledge: &Knowledge, condition: Condition, before: Option<Action>) {
    let Some(how) = knowledge.conditions.get(condition.id()) else {
        return;
    };
    page.title(&how.title);
    comes_before(page, knowledge, before);
    how.steps
        .iter()
        .enumerate()
        .for_each(|(i, line)| page.field(&format!("  {}.", i + 1), line));
    options(page, ["Done", "Can't be done here"]);
}

/// How a test or repair is done, with its cautions first, without the question: for somebody who is told only afterwards what it shows.
#[must_use]
pub(super) fn render_how(call: &Call<'_>, act: &crate::drill::Act, style: &Style) -> String {
    let mut page = Page::new(style);
    match act {
        crate::drill::Act::Test(id) => test_how(&mut page, call, id, &Purpose::Picked),
        crate::drill::Act::Repair(id) => repair_how(&mut page, call, id, &Purpose::Picked),
        _ => {}
    }
    page.finish()
}

fn test_page(page: &mut Page<'_>, call: &Call<'_>, id: &str, purpose: &Purpose) {
    let Some(test) = call.engine.knowledge.tests.get(id) else {
        return;
    };
    test_how(page, call, id, purpose);
    match (&test.caller, call.at()) {
        (Some(words), At::Phone) => page.field("say", words),
        _ => page.line(&test.ask),
    }
    test.outcomes
        .values()
        .enumerate()
        .for_each(|(i, outcome)| page.option(i + 1, &outcome.say));
}

fn test_how(page: &mut Page<'_>, call: &Call<'_>, id: &str, purpose: &Purpose) {
    let Some((at, _, test)) = call.engine.knowledge.tests.get_full(id) else {
        return;
    };
    page.title(&test.title);
    page.field("why", &purpose_text(call, purpose, at));
    page.field("cost", &cost_text(call, at));
    for caution in cautions(call, test) {
        page.painted("caution", &caution, Style::caution);
    }
    test.steps
        .iter()
        .enumerate()
        .for_each(|(i, line)| page.field(&format!("  {}.", i + 1), line));
    if let Some(why) = &test.why {
        page.field("healthy", why);
    }
    if !test.bands.is_empty() {
        page.field("limits", &test.limits());
    }
    baselines(page, call, id, test);
}

/// What the test read when the gate was well, and what that changes.
fn baselines(page: &mut Page<'_>, call: &Call<'_>, id: &str, test: &Test) {
    let mut label = "baseline";
    for before in call.baselines(id) {
        let what = test.readings.get(&before.reading).and_then(|r| r.ask.as_deref());
        let what = what.unwrap_or(&before.reading);
        page.field(label, &format!("{what}: {}", before.say()));
        label = "";
    }
    if let Some(by) = &test.baseline
        && call.baselines(id).any(|b| b.reading == by.reading)
    {
        page.field(
            "",
            &format!("Today's is judged by it: the limits hold for {}.", by.value),
        );
    }
}

fn repair_page(page: &mut Page<'_>, call: &Call<'_>, id: &str, purpose: &Purpose) {
    if call.engine.knowledge.repairs.contains_key(id) {
        repair_how(page, call, id, purpose);
        options(page, ["Done", "Can't be done here"]);
    }
}

fn repair_how(page: &mut Page<'_>, call: &Call<'_>, id: &str, purpose: &Purpose) {
    let Some(repair) = call.engine.knowledge.repairs.get(id) else {
        return;
    };
    page.title(&repair.title);
    let cures: Vec<String> = cured_titles(call, repair);
    page.field(
        "why",
        &format!("cures {}. {}", cures.join(", "), purpose_of_repair(call, purpose)),
    );
    let parts: Vec<String> = repair
        .parts
        .iter()
        .map(|p| {
            p.read.as_ref().map_or(p.name.clone(), |read| {
                format!("{} (read off the old one: {read})", p.name)
            })
        })
        .collect();
    if !parts.is_empty() {
        page.field("parts", &parts.join("; "));
    }
    page.field(
        "cost",
        &format!("{:.0} min{}", repair.minutes, place_text(call, repair.place.as_deref())),
    );
    for caution in repair_cautions(call, repair) {
        page.painted("caution", &caution, Style::caution);
    }
    repair
        .steps
        .iter()
        .enumerate()
        .for_each(|(i, line)| page.field(&format!("  {}.", i + 1), line));
    if !repair.wipes.is_empty() {
        let wiped: Vec<String> = repair.wipes.iter().map(|w| format!("{w:?}").to_lowercase()).collect();
        page.painted(
            "first",
            &format!("note before you start, this wipes them: {}", wiped.join(", ")),
            Style::caution,
        );
    }
}

/// Titles of the likelier causes that a repair cures.
fn cured_titles(call: &Call<'_>, repair: &Repair) -> Vec<String> {
    let p = call.belief().causes(&call.engine.model);
    let knowledge = &call.engine.knowledge;
    let mut found: Vec<(f64, &str)> = repair
        .cures
        .keys()
        .filter_map(|id| {
            knowledge
                .causes
                .get_full(id)
                .map(|(at, _, cause)| (p[at], cause.title.as_str()))
        })
        .collect();
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    found
        .iter()
        .take(3)
        .map(|(p, title)| format!("{title} ({})", percent(*p)))
        .collect()
}

fn purpose_of_repair(call: &Call<'_>, purpose: &Purpose) -> String {
    match purpose {
        Purpose::Plan(choice) if choice.early => "The likeliest that may help; giving up is early yet.".to_owned(),
        Purpose::Plan(choice) => format!(
            "From here about {:.0} min in all; no further test is worth its time first.",
            choice.cost
        ),
        Purpose::Settles => "A danger is put right before anything else.".to_owned(),
        Purpose::AlsoCheck { cause } => format!("What was cured was not all: {}.", cause_title(call, cause)),
        Purpose::First | Purpose::Picked => "You picked it.".to_owned(),
    }
}

fn cause_title<'a>(call: &'a Call<'_>, cause: &'a str) -> &'a str {
    call.engine.knowledge.causes.get(cause).map_or(cause, |c| &c.title)
}

fn purpose_text(call: &Call<'_>, purpose: &Purpose, test: usize) -> String {
    match purpose {
        Purpose::Plan(choice) => match choice.serves {
            Some(action) => format!("has to be known before: {}", action_title(call, action)),
            None => format!("{}; {}", tells_apart(call, TestId::at(test)), reason(choice)),
        },
        Purpose::First => {
            format!(
                "before anything is pressed, switched or reset: that would wipe it out; {}",
                tells_apart(call, TestId::at(test))
            )
        }
        Purpose::Settles => "a danger has to be settled before anything else".to_owned(),
        Purpose::AlsoCheck { cause } => format!("what was cured may not be all: {}", cause_title(call, cause)),
        Purpose::Picked => format!("you picked it; {}", tells_apart(call, TestId::at(test))),
    }
}

/// What an action is called.
#[must_use]
pub(crate) fn action_title(call: &Call<'_>, action: Action) -> String {
    let otherwise = match action {
        Action::NoFaultFound => "run, watch, and end with no fault found",
        Action::Visit => "send somebody to the gate",
        _ => "refer it",
    };
    action
        .entry_title(&call.engine.knowledge)
        .unwrap_or(otherwise)
        .to_owned()
}

fn reason(choice: &Choice) -> String {
    if choice.early {
        return "nothing pays for itself at once, but giving up is early yet".to_owned();
    }
    format!(
        "expected to save {} of {}",
        minutes(choice.worth()),
        minutes(choice.repairs_only)
    )
}

fn minutes(m: f64) -> String {
    if m < 0.95 {
        "under 1 min".to_owned()
    } else {
        format!("{m:.0} min")
    }
}

/// The likely causes whose outcomes on this test differ most from the rest.
fn tells_apart(call: &Call<'_>, test: TestId) -> String {
    let model = &call.engine.model;
    let table = &model.tests[test.index()];
    let p = call.belief().causes(model);
    let mean: Vec<f64> = {
        let mut sum = vec![0.0; table.outcomes.len()];
        let total: f64 = p.iter().sum();
        (0..p.len())
            .map(CauseId::at)
            .for_each(|c| table.add_given(&[c], p[c.index()] / total.max(1e-12), &mut sum));
        sum
    };
    let mut bears: Vec<(f64, usize)> = table
        .mentioned_by()
        .filter_map(|c| {
            let shown = table.shown(c)?;
            let apart: f64 = shown.iter().zip(&mean).map(|(a, b)| (a - b).abs()).sum::<f64>() / 2.0;
            Some((apart * p[c.index()], c.index()))
        })
        .filter(|(weight, _)| *weight > 0.002)
        .collect();
    bears.sort_by(|a, b| b.0.total_cmp(&a.0));
    let names: Vec<&str> = bears
        .iter()
        .take(3)
        .map(|(_, c)| call.engine.knowledge.causes[*c].title.as_str())
        .collect();
    if names.is_empty() {
        "rules out little here".to_owned()
    } else {
        format!("tells for or against: {}", names.join("; "))
    }
}

fn cost_text(call: &Call<'_>, test: usize) -> String {
    let knowledge = &call.engine.knowledge;
    let entry = &knowledge.tests[test];
    let planner = call.engine.planner();
    let access = planner
        .costs()
        .access(planner.costs().test(TestId::at(test)), &call.situation().standing);
    let mut text = minutes(entry.minutes);
    if call.at() == At::Phone {
        return text;
    }
    if access >= 0.5 {
        let _ = write!(text, " and {} to get there", minutes(access));
    }
    text += &place_text(call, entry.place.as_deref());
    if let Some(cover) = entry.inside.as_ref().and_then(|c| knowledge.covers.get(c)) {
        let _ = write!(text, ", inside {}", cover.title);
    }
    if !entry.tools.is_empty() {
        let _ = write!(text, "; tools: {}", entry.tools.join(", "));
    }
    text
}

fn place_text(call: &Call<'_>, place: Option<&str>) -> String {
    place
        .and_then(|p| call.engine.knowledge.places.get(p))
        .map_or_else(String::new, |p| format!(", at {}", p.title))
}

/// Cautions of a test: its own first, then the standing ones by place and task. Those of a place are said on arriving there, those of a lid
/// when it is opened; what is said at every step is soon read at none.
fn cautions(call: &Call<'_>, test: &Test) -> Vec<String> {
    let tasks = tasks_of(&test.tasks, test.moves, opens(call, test.inside.as_deref()));
    standing(call, test.place.as_deref(), &tasks, &test.cautions)
}

/// Cautions of a repair.
fn repair_cautions(call: &Call<'_>, repair: &Repair) -> Vec<String> {
    let tasks = tasks_of(&repair.tasks, repair.moves, opens(call, repair.inside.as_deref()));
    standing(call, repair.place.as_deref(), &tasks, &repair.cautions)
}

/// Whether the step opens a lid that is not open yet.
fn opens(call: &Call<'_>, inside: Option<&str>) -> bool {
    let cover = inside.and_then(|id| call.engine.knowledge.covers.get_index_of(id));
    cover.is_some_and(|cover| !call.situation().standing.open.contains(&cover))
}

fn standing(call: &Call<'_>, place: Option<&str>, tasks: &[Task], own: &[String]) -> Vec<String> {
    let knowledge = &call.engine.knowledge;
    let arriving = place.and_then(|p| knowledge.places.get_index_of(p)) != call.situation().standing.at;
    // Those of a place alone are said on arriving there.
    let said = |s: &&crate::knowledge::schema::Standing| s.attaches(place, tasks) && (arriving || !s.tasks.is_empty());
    let mut all: Vec<String> = own.to_vec();
    all.extend(knowledge.standing.values().filter(said).map(|s| s.text.clone()));
    all
}

fn retest_page(page: &mut Page<'_>, knowledge: &Knowledge, id: &str) {
    let Some((at, _, line)) = knowledge.retest.get_full(id) else {
        return;
    };
    page.title(&format!("Safety retest {} of {}", at + 1, knowledge.retest.len()));
    page.field("line", &line.title);
    line.steps
        .iter()
        .enumerate()
        .for_each(|(i, step)| page.field(&format!("  {}.", i + 1), step));
    page.line(&line.ask);
    options(page, ["Yes: passed", "No: failed", "Not done"]);
}
