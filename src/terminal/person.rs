//! A person at a terminal. Every question is one line of typing: digits pick, letters do what is always possible.

use std::cell::OnceCell;
use std::collections::BTreeMap;
use std::io::Write;

use inquire::ui::{RenderConfig, Styled};
use inquire::{InquireError, Text};

use super::page::{ENTITLED, Page, action_title, ranking, render_step, symptom_titles};
use super::style::Style;
use crate::belief::{Conflict, conflict};
use crate::call::{
    Answerer, BASELINE, Call, DANGER, Event, Rank, ReadingProblem, Reply, Seen, Step, Target, asked, evaluate_with,
    judging,
};
use crate::knowledge::schema::{At, Ending, Moves, Now, Provocation, Test};
use crate::model::TestId;
use crate::plan::Action;
use crate::report::looks_like_code;
use crate::visit::Wishes;
use crate::words::SymptomIndex;

/// Why a person can't be asked.
#[derive(Debug, thiserror::Error)]
pub enum TerminalError {
    /// There is no terminal to ask on.
    #[error("there is no terminal to ask questions on")]
    NoTerminal,
    /// Ctrl-C: the call is left for later.
    #[error("left for later")]
    Interrupted,
    /// The terminal is gone.
    #[error("the terminal does not answer: {0}")]
    Gone(String),
}

/// What came of one line.
pub(super) enum Line {
    Typed(String),
    Back,
}

/// One line of typing at the process's terminal; `typed` is put there for mending.
pub(super) fn read_line(prompt: &str, typed: &str) -> Result<Line, TerminalError> {
    let answer = Text::new(prompt)
        .with_initial_value(typed)
        .with_render_config(
            RenderConfig::empty()
                .with_prompt_prefix(Styled::new(">"))
                .with_answered_prompt_prefix(Styled::new(">")),
        )
        .prompt();
    match answer {
        Ok(text) => Ok(Line::Typed(
            text.chars()
                .filter(|c| !c.is_control())
                .collect::<String>()
                .trim()
                .to_owned(),
        )),
        Err(InquireError::OperationCanceled) => Ok(Line::Back),
        Err(InquireError::OperationInterrupted) => Err(TerminalError::Interrupted),
        Err(InquireError::NotTTY) => Err(TerminalError::NoTerminal),
        Err(other) => Err(TerminalError::Gone(other.to_string())),
    }
}

/// One of a few choices before there is a call; `None` where the person leaves.
///
/// # Errors
/// When there is no terminal.
pub fn pick_one(
    question: &str,
    choices: &[&str],
    style: &Style,
    out: &mut dyn Write,
) -> Result<Option<usize>, TerminalError> {
    let mut page = Page::new(style);
    page.line(question);
    choices
        .iter()
        .enumerate()
        .for_each(|(i, text)| page.option(i + 1, text));
    let gone = |e: std::io::Error| TerminalError::Gone(e.to_string());
    out.write_all(page.finish().as_bytes())
        .and_then(|()| out.flush())
        .map_err(gone)?;
    let mut typed = String::new();
    loop {
        let text = match read_line(&format!("1-{}:", choices.len()), &typed) {
            Ok(Line::Typed(text)) => text,
            Ok(Line::Back) | Err(TerminalError::Interrupted) => return Ok(None),
            Err(other) => return Err(other),
        };
        match text.parse::<usize>() {
            Ok(n) if (1..=choices.len()).contains(&n) => return Ok(Some(n - 1)),
            _ => {
                let remark = format!("\"{text}\" is not one of the numbers 1 to {}.\n", choices.len());
                out.write_all(remark.as_bytes())
                    .and_then(|()| out.flush())
                    .map_err(gone)?;
                typed = to_mend(text);
            }
        }
    }
}

/// What of a refused line is put back for mending: a digit or a letter is sooner typed anew than wiped.
pub(super) fn to_mend(text: String) -> String {
    if text.chars().count() > 2 { text } else { String::new() }
}

/// A person.
pub struct Person<'a> {
    pub(super) style: Style,
    out: Box<dyn Write + 'a>,
    /// Made when the first complaint is typed.
    index: OnceCell<SymptomIndex>,
    clock: Box<dyn Fn() -> String + 'a>,
    /// Ranking was shown for this many events.
    shown_at: Option<usize>,
    /// What visits are planned with.
    pub(super) wishes: Wishes,
    /// The callback that was told.
    told_callback: Option<String>,
}

/// Letters that are always understood; a caller has no lid open.
fn always(at: At) -> String {
    let lid = match at {
        At::Gate => "l same lid, ",
        At::Phone => "",
    };
    format!("c can't, w why, t other tests, {lid}a answers, m complaint, b back, r remark, p pause, e end")
}
const HELP: [(&str, &str); 11] = [
    (
        "c",
        "can't do it or can't tell: no evidence, not asked again unless you pick it",
    ),
    ("s", "skip it for now"),
    ("w", "why this one, and where the ranking stands"),
    ("t", "other tests and repairs: find one by a word and do it instead"),
    ("l", "with this lid open: further readings worth taking here"),
    ("a", "answers so far: take one back, or choose which of two counts"),
    ("m", "the complaint: add a symptom, deny one, or change it"),
    ("b", "back: take the last answer back (Esc does the same)"),
    ("r", "a remark for the record"),
    (
        "p",
        "pause: everything is kept, `pintle resume` goes on (Ctrl-C does the same)",
    ),
    ("e", "end the call, or put the gate out of use"),
];

impl<'a> Person<'a> {
    /// A person before this output; `clock` tells the time for the journal.
    #[must_use]
    pub fn new(style: Style, out: Box<dyn Write + 'a>, clock: Box<dyn Fn() -> String + 'a>) -> Self {
        Self {
            style,
            out,
            index: OnceCell::new(),
            clock,
            shown_at: None,
            wishes: Wishes::default(),
            told_callback: None,
        }
    }

    /// The same person, planning visits with other wishes.
    #[must_use]
    pub fn wishing(mut self, wishes: Wishes) -> Self {
        self.wishes = wishes;
        self
    }

    pub(super) fn say(&mut self, text: &str) {
        // A closed output is noticed at the next prompt.
        let _ = self.out.write_all(text.as_bytes());
        let _ = self.out.flush();
    }

    pub(super) fn note(&mut self, text: &str) {
        let mut page = Page::new(&self.style);
        page.line(text);
        let text = page.finish();
        self.say(&text);
    }

    /// One line of typing; `typed` is put back for mending.
    #[expect(clippy::unused_self, reason = "a person is asked; the terminal is the process's own")]
    pub(super) fn line(&mut self, prompt: &str, typed: &str) -> Result<Line, TerminalError> {
        read_line(prompt, typed)
    }

    /// A number from 1 to `most` (0 too where `zero`), or `None` for back.
    pub(super) fn number(&mut self, prompt: &str, zero: bool, most: usize) -> Result<Option<usize>, TerminalError> {
        let mut typed = String::new();
        loop {
            let Line::Typed(text) = self.line(prompt, &typed)? else {
                return Ok(None);
            };
            match text.parse::<usize>() {
                Ok(n) if n <= most && (n > 0 || zero) => return Ok(Some(n)),
                _ => {
                    let first = i32::from(!zero);
                    self.note(&format!("\"{text}\" is not one of the numbers {first} to {most}."));
                    typed = to_mend(text);
                }
            }
        }
    }

    /// Asks a step's question until the line is an answer; letters are handled here.
    pub(super) fn ask(
        &mut self,
        call: &Call<'_>,
        step: &Step,
        prompt: &str,
        read: &Reader<'_>,
    ) -> Result<Reply, TerminalError> {
        let mut typed = String::new();
        loop {
            let text = match self.line(prompt, &typed)? {
                Line::Typed(text) => text,
                Line::Back => return Ok(self.back(call)),
            };
            match self.command(call, step, &text)? {
                Command::Reply(reply) => return Ok(reply),
                Command::AskAgain => {
                    typed.clear();
                    continue;
                }
                Command::NotOne => {}
            }
            match read(&text) {
                Ok(events) => return Ok(Reply::Events(events)),
                Err(problem) => {
                    self.note(&problem);
                    typed = to_mend(text);
                }
            }
        }
    }

    pub(super) fn back(&mut self, call: &Call<'_>) -> Reply {
        if let Some(entry) = call.last_answer() {
            let what = describe(call, entry);
            self.note(&format!("Taken back: {what}"));
            Reply::Back
        } else {
            self.note("There is nothing to take back yet.");
            Reply::Back
        }
    }

    /// The letters that are always possible.
    pub(super) fn command(&mut self, call: &Call<'_>, step: &Step, text: &str) -> Result<Command, TerminalError> {
        Ok(match text.to_lowercase().as_str() {
            "b" | "back" => Command::Reply(self.back(call)),
            "p" | "pause" => Command::Reply(Reply::Pause),
            "?" | "h" | "help" if !matches!(step, Step::Signs) => {
                self.help();
                Command::AskAgain
            }
            "c" | "can't" | "cant" if target(step).is_some() => self.cannot(call, step)?,
            "s" | "skip" => match target(step) {
                Some(target) => Command::Reply(Reply::Events(vec![Event::Skipped { target }])),
                None => self.not_here(),
            },
            "w" | "why" => {
                self.why(call, step);
                Command::AskAgain
            }
            "t" | "tests" => self.pick(call, false)?,
            "l" | "lid" => self.pick(call, true)?,
            "a" | "answers" => self.answers(call)?,
            "m" => self.complaint_menu(call)?,
            "r" | "remark" | "note" => match self.line("remark:", "")? {
                Line::Typed(text) if !text.is_empty() => self.remark(text),
                _ => Command::AskAgain,
            },
            "e" | "end" => self.end(call)?,
            _ => Command::NotOne,
        })
    }

    fn not_here(&mut self) -> Command {
        self.note("That can't be passed over here; p pauses the call, e ends it.");
        Command::AskAgain
    }

    /// Says once that this call is a callback.
    fn tell_callback(&mut self, call: &Call<'_>) {
        let told = call.callback().map(|(of, _)| of.to_owned());
        if let Some((of, text)) = call.callback()
            && self.told_callback.as_deref() != Some(of)
        {
            let text = if text.is_empty() { of } else { text };
            let mut page = Page::new(&self.style);
            page.painted("callback", text, Style::caution);
            page.field(
                "",
                "What that repair was meant for is ranked as at any other call: it is said, not counted.",
            );
            let text = page.finish();
            self.say(&text);
        }
        self.told_callback = told;
    }

    fn help(&mut self) {
        let mut page = Page::new(&self.style);
        page.title("What you can type at any question");
        HELP.iter()
            .for_each(|(letter, text)| page.field(&format!("  {letter}"), text));
        page.line(
            "Readings as you read them: 12.4, 12,4, 820 mV, OL, 1.2k, 5 ft 6 in, 27 1/2 in; ? if you can't tell.",
        );
        let text = page.finish();
        self.say(&text);
    }

    /// A remark; one that looks like a code is questioned.
    fn remark(&mut self, text: String) -> Command {
        if looks_like_code(&text) {
            self.note(
                "That looks like a code or PIN. Codes are never written down: leave it out and type the remark again.",
            );
            return Command::AskAgain;
        }
        Command::Reply(Reply::Events(vec![Event::Note { text }]))
    }

    fn cannot(&mut self, call: &Call<'_>, step: &Step) -> Result<Command, TerminalError> {
        let Some(target) = target(step) else {
            return Ok(Command::AskAgain);
        };
        let tools: Vec<String> = match &target {
            Target::Test(id) => call.engine.knowledge.tests.get(id).map(|t| t.tools.clone()),
            Target::Repair(id) => call.engine.knowledge.repairs.get(id).map(|r| r.tools.clone()),
            Target::Fact(_) => None,
        }
        .unwrap_or_default();
        let cannot = Event::Cannot { target };
        if tools.is_empty() {
            return Ok(Command::Reply(Reply::Events(vec![cannot])));
        }
        let mut page = Page::new(&self.style);
        page.option(1, "It can't be done or told here");
        tools
            .iter()
            .enumerate()
            .for_each(|(i, tool)| page.option(i + 2, &format!("No {tool} at hand")));
        let text = page.finish();
        self.say(&text);
        let Some(picked) = self.number("which:", false, tools.len() + 1)? else {
            return Ok(Command::AskAgain);
        };
        let event = match picked {
            1 => cannot,
            n => Event::Tool {
                tool: tools[n - 2].clone(),
                at_hand: false,
            },
        };
        Ok(Command::Reply(Reply::Events(vec![event])))
    }

    fn why(&mut self, call: &Call<'_>, step: &Step) {
        let mut text = String::new();
        if !call.symptoms().is_empty() {
            text += &ranking(call, &self.style, 10);
            text += "Lines may add to more than 100 %: two faults can be there at once.\n";
        }
        let mut page = Page::new(&self.style);
        if let Step::Test {
            purpose: crate::call::Purpose::Plan(choice),
            ..
        }
        | Step::Repair {
            purpose: crate::call::Purpose::Plan(choice),
            ..
        } = step
        {
            page.field(
                "chosen",
                &format!(
                    "{}: {:.1} min expected from here",
                    action_title(call, choice.action),
                    choice.cost
                ),
            );
            for other in choice.others.iter().take(4) {
                page.field(
                    "instead",
                    &format!("{}: {:.1} min", action_title(call, other.action), other.cost),
                );
            }
            page.field(
                "bound",
                &format!("no way can cost less than {:.1} min", choice.lower_bound),
            );
        } else {
            page.line(
                "This comes before the plan: safety, or something that was begun and has to be brought to its end.",
            );
        }
        text += &page.finish();
        self.say(&text);
    }

    /// Other tests and repairs by a word, or those behind the lid that is open.
    fn pick(&mut self, call: &Call<'_>, same_lid: bool) -> Result<Command, TerminalError> {
        let offered = if same_lid { behind_lid(call) } else { offered(call) };
        if offered.is_empty() {
            self.note("Nothing further is on offer here.");
            return Ok(Command::AskAgain);
        }
        let mut found = offered.clone();
        if !same_lid && offered.len() > 9 {
            let Line::Typed(word) = self.line("a word of it (Enter for the best nine):", "")? else {
                return Ok(Command::AskAgain);
            };
            let word = word.to_lowercase();
            found.retain(|(_, title)| title.to_lowercase().contains(&word));
        }
        found.truncate(if same_lid { 5 } else { 9 });
        if found.is_empty() {
            self.note("None has that word in its name.");
            return Ok(Command::AskAgain);
        }
        let mut page = Page::new(&self.style);
        if same_lid {
            page.line("With this lid open, in this order:");
        }
        found
            .iter()
            .enumerate()
            .for_each(|(i, (_, title))| page.option(i + 1, title));
        let text = page.finish();
        self.say(&text);
        let Some(n) = self.number("which (0 none):", true, found.len())? else {
            return Ok(Command::AskAgain);
        };
        if n == 0 {
            return Ok(Command::AskAgain);
        }
        let target = found[n - 1].0.clone();
        Ok(Command::Reply(Reply::Events(vec![Event::Picked { target }])))
    }

    fn answers(&mut self, call: &Call<'_>) -> Result<Command, TerminalError> {
        let live: Vec<usize> = (0..call.entries.len())
            .filter(|i| !call.retracted().contains(i) && is_about_gate(&call.entries[*i].event))
            .collect();
        if live.is_empty() {
            self.note("There are no answers yet.");
            return Ok(Command::AskAgain);
        }
        let mut page = Page::new(&self.style);
        for (i, &entry) in live.iter().enumerate() {
            let counts = call
                .answers()
                .iter()
                .find(|a| a.event == entry)
                .is_none_or(|a| a.counts);
            let remark = if counts {
                ""
            } else {
                "  (does not count: another answer about the same thing does)"
            };
            page.option(i + 1, &format!("{}{remark}", describe(call, entry)));
        }
        let text = page.finish();
        self.say(&text);
        let Some(n) = self.number("take back which (0 none):", true, live.len())? else {
            return Ok(Command::AskAgain);
        };
        if n == 0 {
            return Ok(Command::AskAgain);
        }
        let entry = live[n - 1];
        let superseded = call.answers().iter().any(|a| a.event == entry && !a.counts);
        if superseded && self.yes("Let this one count instead of the other? (y/n)")? {
            return Ok(Command::Reply(Reply::Events(vec![Event::Prefer { answer: entry }])));
        }
        Ok(Command::Reply(Reply::Events(vec![Event::Retracted { entry }])))
    }

    fn yes(&mut self, prompt: &str) -> Result<bool, TerminalError> {
        let mut typed = String::new();
        loop {
            let Line::Typed(text) = self.line(prompt, &typed)? else {
                return Ok(false);
            };
            match text.to_lowercase().as_str() {
                "y" | "yes" | "1" => return Ok(true),
                "n" | "no" | "2" => return Ok(false),
                _ => {
                    self.note("Type y or n.");
                    typed = to_mend(text);
                }
            }
        }
    }

    fn complaint_menu(&mut self, call: &Call<'_>) -> Result<Command, TerminalError> {
        let mut page = Page::new(&self.style);
        page.field("now", &symptom_titles(call).join("; "));
        for (i, text) in [
            "It does something else too",
            "It does not do something that might go with it",
            "It was taken wrongly: start the complaint again",
        ]
        .iter()
        .enumerate()
        {
            page.option(i + 1, text);
        }
        let text = page.finish();
        self.say(&text);
        let Some(n) = self.number("which (0 none):", true, 3)? else {
            return Ok(Command::AskAgain);
        };
        if n == 0 {
            return Ok(Command::AskAgain);
        }
        let Some((words, found)) = self.symptoms(call)? else {
            return Ok(Command::AskAgain);
        };
        let events = match n {
            1 => {
                let mut symptoms = call.symptoms().to_vec();
                symptoms.extend(found.into_iter().filter(|s| !call.symptoms().contains(s)));
                vec![Event::Complaint {
                    words: format!("{}; {words}", call.words()),
                    symptoms,
                }]
            }
            2 => found.into_iter().map(|symptom| Event::Denied { symptom }).collect(),
            _ => vec![Event::Complaint { words, symptoms: found }],
        };
        Ok(Command::Reply(Reply::Events(events)))
    }

    /// The caller's words and the symptoms they are taken for; `None` for back.
    fn symptoms(&mut self, call: &Call<'_>) -> Result<Option<(String, Vec<String>)>, TerminalError> {
        let knowledge = &call.engine.knowledge;
        let mut said = String::new();
        loop {
            let Line::Typed(words) = self.line("in the caller's words:", "")? else {
                return Ok(None);
            };
            if words.is_empty() && said.is_empty() {
                self.note("Type what the caller says, such as: it goes halfway and quits");
                continue;
            }
            // Enter after words that led nowhere: the whole list, and those words for the record.
            let index = self.index.get_or_init(|| SymptomIndex::new(knowledge));
            let mut found: Vec<String> = index.find(&words).into_iter().take(5).map(|m| m.symptom).collect();
            if found.is_empty() {
                if !words.is_empty() {
                    self.note("None of those words is known. These are all the symptoms:");
                }
                found = knowledge.symptoms.keys().cloned().collect();
            }
            if !words.is_empty() {
                said = words;
            }
            let mut page = Page::new(&self.style);
            for (i, id) in found.iter().enumerate() {
                page.option(i + 1, &knowledge.symptoms[id].title);
            }
            page.option(0, "None of these: other words, or Enter there for the whole list");
            let text = page.finish();
            self.say(&text);
            let Line::Typed(numbers) = self.line("which, one or more numbers:", "")? else {
                return Ok(None);
            };
            match picked(&numbers, found.len()) {
                Ok(list) if !list.is_empty() => {
                    return Ok(Some((said, list.into_iter().map(|n| found[n - 1].clone()).collect())));
                }
                Ok(_) => {}
                Err(problem) => self.note(&problem),
            }
        }
    }

    fn end(&mut self, call: &Call<'_>) -> Result<Command, TerminalError> {
        let all = [
            Ending::Waiting,
            Ending::Referred,
            Ending::OutOfUse,
            Ending::DeficiencyRefused,
            Ending::NoFaultFound,
            Ending::Withdrawn,
        ];
        let open: Vec<Ending> = all.into_iter().filter(|e| call.may_end(*e)).collect();
        self.choose_ending(call, &open, None)
    }

    pub(super) fn choose_ending(
        &mut self,
        call: &Call<'_>,
        open: &[Ending],
        why: Option<&str>,
    ) -> Result<Command, TerminalError> {
        let mut page = Page::new(&self.style);
        open.iter()
            .enumerate()
            .for_each(|(i, e)| page.option(i + 1, ending_text(*e)));
        let text = page.finish();
        self.say(&text);
        let Some(n) = self.number("how does it end (0 not yet):", true, open.len())? else {
            return Ok(Command::AskAgain);
        };
        if n == 0 {
            return Ok(Command::AskAgain);
        }
        let ending = open[n - 1];
        if ending == Ending::OutOfUse && call.stop().is_none_or(|s| !s.made_safe) {
            let how = call.engine.knowledge.out_of_use.technician.join(" ");
            self.note(&how);
            let made_safe = self.yes("Isolated, secured, signed, owner told in writing? (y/n)")?;
            if !made_safe && !self.yes("End it without? The record will say that it was not made safe. (y/n)")? {
                return Ok(Command::AskAgain);
            }
            let why = vec![why.unwrap_or("put out of use by the technician").to_owned()];
            let text = if made_safe {
                "made safe, owner told in writing"
            } else {
                "NOT made safe"
            };
            return Ok(Command::Reply(Reply::Events(vec![
                Event::OutOfUse { why, made_safe },
                Event::Ended {
                    ending,
                    text: text.to_owned(),
                },
            ])));
        }
        let proposed = why.unwrap_or_default();
        let Line::Typed(text) = self.line("in a sentence, for the record (Enter keeps it):", proposed)? else {
            return Ok(Command::AskAgain);
        };
        Ok(Command::Reply(Reply::Events(vec![Event::Ended { ending, text }])))
    }

    fn signs(&mut self, call: &Call<'_>, step: &Step) -> Result<Reply, TerminalError> {
        let ids: Vec<String> = call.engine.knowledge.signs.keys().cloned().collect();
        let read = move |text: &str| {
            let (mut yes, mut unsure) = (Vec::new(), Vec::new());
            if text.is_empty() {
                return Err("Type 0 if none of it is so.".to_owned());
            }
            let none = ["0", "none", "no", "n"].contains(&text.to_lowercase().as_str());
            for word in text.split([' ', ',']).filter(|w| !w.is_empty() && !none) {
                let (digits, list) = word.strip_suffix('?').map_or((word, &mut yes), |d| (d, &mut unsure));
                match digits.parse::<usize>() {
                    Ok(n) if (1..=ids.len()).contains(&n) => list.push(ids[n - 1].clone()),
                    _ => {
                        return Err(format!(
                            "\"{word}\" is not one of the numbers 1 to {}; 0 if none of it is so.",
                            ids.len()
                        ));
                    }
                }
            }
            Ok(vec![Event::Signs { yes, unsure }])
        };
        self.note("Numbers of all that is so, with a ? behind one that nobody can tell (it counts as yes until looked at); 0 for none.");
        self.ask(call, step, "signs:", &read)
    }

    /// Which baseline of the site file judges the reading. One that is of a way of travel, a loop or a leaf is asked for.
    fn baseline(&mut self, call: &Call<'_>, id: &str, test: &Test) -> Result<Judge, TerminalError> {
        let Some(by) = &test.baseline else {
            return Ok(Judge::AsWritten);
        };
        let known: Vec<_> = call.baselines(id).filter(|b| b.reading == by.reading).collect();
        match known.as_slice() {
            [] => return Ok(Judge::AsWritten),
            [one] if one.of.is_none() => return Ok(Judge::ByBaseline(one.value.clone())),
            _ => {}
        }
        let mut page = Page::new(&self.style);
        page.line("The site file knows what it read when all was well. Which of these is it?");
        for (i, before) in known.iter().enumerate() {
            page.option(i + 1, &before.say());
        }
        let text = page.finish();
        self.say(&text);
        Ok(match self.number("which (0 none of these):", true, known.len())? {
            Some(0) => Judge::AsWritten,
            Some(n) => Judge::ByBaseline(known[n - 1].value.clone()),
            None => Judge::Back,
        })
    }

    fn numeric(&mut self, call: &Call<'_>, step: &Step, id: &str, test: &Test) -> Result<Reply, TerminalError> {
        let mut readings: BTreeMap<String, String> = BTreeMap::new();
        match self.baseline(call, id, test)? {
            Judge::ByBaseline(before) => {
                readings.insert(BASELINE.to_owned(), before);
            }
            Judge::AsWritten => {}
            Judge::Back => return Ok(self.back(call)),
        }
        let names: Vec<String> = asked(test, readings.contains_key(BASELINE))
            .into_iter()
            .map(str::to_owned)
            .collect();
        let mut at = 0;
        let mut typed = String::new();
        while at < names.len() {
            let spec = &test.readings[&names[at]];
            let what = spec.ask.clone().unwrap_or_else(|| "reading".to_owned());
            let prompt = format!("{what} ({}):", spec.unit.symbol());
            let text = match self.line(&prompt, &typed)? {
                Line::Typed(text) => text,
                Line::Back if at > 0 => {
                    at -= 1;
                    typed = readings.remove(&names[at]).unwrap_or_default();
                    continue;
                }
                Line::Back => return Ok(self.back(call)),
            };
            let command = if text == "?" {
                Command::NotOne
            } else {
                self.command(call, step, &text)?
            };
            match command {
                Command::Reply(reply) => return Ok(reply),
                Command::AskAgain => {
                    typed.clear();
                    continue;
                }
                Command::NotOne => {}
            }
            readings.insert(names[at].clone(), text.clone());
            match self.judge(call, test, &readings, &names[at])? {
                Judged::Fine => {
                    typed.clear();
                    at += 1;
                }
                Judged::Again => typed = text,
                Judged::CantTell => {
                    return Ok(Reply::Events(vec![Event::Cannot {
                        target: Target::Test(id.to_owned()),
                    }]));
                }
            }
        }
        let (knowledge, meters) = (&call.engine.knowledge, &call.terms().meters);
        if let Ok(evaluated) = evaluate_with(knowledge, meters, test, &readings, &call.situation().site, true)
            && let Some((_, band)) = test.bands.get_index(evaluated.outcome)
        {
            let value = evaluated
                .value
                .map_or_else(String::new, |v| format!("{} ", (v * 1000.0).round() / 1000.0));
            let sure = evaluated.likelihood[evaluated.outcome];
            let near = if sure < 0.9 {
                ", near its limit: the meter can't tell them apart for sure"
            } else {
                ""
            };
            let by = readings.get(BASELINE).map_or_else(String::new, |before| {
                format!(
                    " (by the baseline of {before}: {})",
                    judging(test, &readings).unwrap_or_default()
                )
            });
            self.note(&format!("= {value}{}{near}{by}", band.say));
        }
        let event = Event::Answer {
            test: id.to_owned(),
            outcome: None,
            readings,
            said: None,
            by: Rank::Measured,
        };
        Ok(Reply::Events(vec![event]))
    }

    /// Whether the reading just typed can be taken.
    fn judge(
        &mut self,
        call: &Call<'_>,
        test: &Test,
        readings: &BTreeMap<String, String>,
        now: &str,
    ) -> Result<Judged, TerminalError> {
        let site = &call.situation().site;
        match evaluate_with(
            &call.engine.knowledge,
            &call.terms().meters,
            test,
            readings,
            site,
            false,
        ) {
            Ok(_) | Err(ReadingProblem::Missing(_)) => Ok(Judged::Fine),
            Err(ReadingProblem::CantTell) => Ok(Judged::CantTell),
            Err(problem @ ReadingProblem::OutOfRange { .. }) => {
                let about_this = matches!(&problem, ReadingProblem::OutOfRange { reading, .. } if reading == now);
                if !about_this {
                    return Ok(Judged::Fine);
                }
                self.note(&problem.to_string());
                Ok(if self.yes("Is that really what it shows? (y/n)")? {
                    Judged::Fine
                } else {
                    Judged::Again
                })
            }
            Err(problem) => {
                self.note(&problem.to_string());
                Ok(Judged::Again)
            }
        }
    }

    fn now_page(&mut self, call: &Call<'_>, step: &Step) -> Result<Reply, TerminalError> {
        let conditional = provocations(call);
        let reply = self.ask(call, step, "1-3:", &|text| {
            let now = match text {
                "1" | "y" | "yes" => Now::Present,
                "2" | "n" | "no" => Now::Away,
                "3" => Now::Unknown,
                _ => return Err(format!("\"{text}\" is not one of the numbers 1 to 3.")),
            };
            Ok(vec![Event::Now { now, under: Vec::new() }])
        })?;
        let Reply::Events(mut events) = reply else {
            return Ok(reply);
        };
        if let Some(Event::Now { under, .. }) = events.last_mut()
            && !conditional.is_empty()
        {
            let mut page = Page::new(&self.style);
            page.line("Which of these is the case at the moment?");
            conditional
                .iter()
                .enumerate()
                .for_each(|(i, p)| page.option(i + 1, p.say()));
            let text = page.finish();
            self.say(&text);
            let mut typed = String::new();
            loop {
                match self.line("numbers, 0 for none:", &typed)? {
                    Line::Typed(text) => match picked(&text, conditional.len()) {
                        Ok(list) => {
                            *under = list.into_iter().map(|n| conditional[n - 1]).collect();
                            break;
                        }
                        Err(problem) => {
                            self.note(&problem);
                            typed = to_mend(text);
                        }
                    },
                    Line::Back => return self.answer_step(call, step),
                }
            }
        }
        Ok(Reply::Events(events))
    }

    fn repair(&mut self, call: &Call<'_>, step: &Step, id: &str) -> Result<Reply, TerminalError> {
        let target = Target::Repair(id.to_owned());
        let reply = self.ask(call, step, "1-2:", &|text| match text {
            "1" | "y" | "yes" | "done" => Ok(vec![Event::Repaired {
                repair: id.to_owned(),
                note: String::new(),
            }]),
            "2" | "n" | "no" => Ok(vec![Event::Cannot { target: target.clone() }]),
            _ => Err(format!("\"{text}\" is not 1 or 2; ? shows what else you can type.")),
        })?;
        let Reply::Events(mut events) = reply else {
            return Ok(reply);
        };
        let changes = call.engine.knowledge.repairs.get(id).is_some_and(|r| !r.explains);
        if let Some(Event::Repaired { note, .. }) = events.last_mut()
            && changes
        {
            match self.line("old and new settings, sizes, remarks (Enter for none):", "")? {
                Line::Typed(text) if looks_like_code(&text) => self.note("That looks like a code: it was left out."),
                Line::Typed(text) => *note = text,
                Line::Back => return self.answer_step(call, step),
            }
        }
        Ok(Reply::Events(events))
    }

    /// A numbered choice.
    pub(super) fn choice(
        &mut self,
        call: &Call<'_>,
        step: &Step,
        most: usize,
        event: &dyn Fn(usize) -> Event,
    ) -> Result<Reply, TerminalError> {
        let read = |text: &str| {
            let n = match text.to_lowercase().as_str() {
                "y" | "yes" if most <= 3 => 1,
                "n" | "no" if most <= 3 => 2,
                other => other.parse().unwrap_or(0),
            };
            if (1..=most).contains(&n) {
                Ok(vec![event(n)])
            } else {
                Err(format!(
                    "\"{text}\" is not one of the numbers 1 to {most}; ? shows what else you can type."
                ))
            }
        };
        self.ask(call, step, &format!("1-{most}:"), &read)
    }

    pub(super) fn answer_step(&mut self, call: &Call<'_>, step: &Step) -> Result<Reply, TerminalError> {
        let knowledge = &call.engine.knowledge;
        match step {
            Step::Caller => self.caller(call, step),
            Step::Signs => self.signs(call, step),
            Step::PutOutOfUse => self.out_of_use(call, step),
            Step::Complaint => match self.symptoms(call)? {
                Some((words, symptoms)) => Ok(Reply::Events(vec![Event::Complaint { words, symptoms }])),
                None => Ok(self.back(call)),
            },
            Step::Fact { fact, .. } => self.fact(call, step, fact),
            Step::Now => self.now_page(call, step),
            Step::Condition { condition, .. } => self.choice(call, step, 2, &|n| Event::Condition {
                condition: *condition,
                done: n == 1,
            }),
            Step::Clearance { .. } => self.choice(call, step, 2, &|n| Event::Clearance { confirmed: n == 1 }),
            Step::Entitlement => self.entitlement(call, step),
            Step::Test { test, .. } => {
                let entry = &knowledge.tests[test];
                if entry.outcomes.is_empty() {
                    return self.numeric(call, step, test, entry);
                }
                if call.at() == At::Phone {
                    return self.told(call, step, test, entry);
                }
                self.choice(call, step, entry.outcomes.len(), &|n| Event::Answer {
                    test: test.clone(),
                    outcome: entry.outcomes.get_index(n - 1).map(|(id, _)| id.clone()),
                    readings: BTreeMap::new(),
                    said: None,
                    by: Rank::Seen,
                })
            }
            Step::DeviceBack { device } => {
                let read = |text: &str| match text {
                    "1" | "y" | "yes" => Ok(vec![Event::DeviceBack { device: device.clone() }]),
                    _ => Err("Put it back and test it first; p pauses the call.".to_owned()),
                };
                self.ask(call, step, "1-2:", &read)
            }
            Step::Repair { repair, .. } => self.repair(call, step, repair),
            Step::Proof { symptom, .. } => self.choice(call, step, 3, &|n| Event::Proof {
                symptom: symptom.clone(),
                seen: [Seen::Gone, Seen::StillThere, Seen::CantTell][n - 1],
            }),
            Step::ClearSigns { signs } => {
                let reply = self.choice(call, step, 2, &|n| match n {
                    1 => Event::SignsCleared {
                        signs: signs.clone(),
                        how: "put right and looked at".to_owned(),
                    },
                    _ => Event::Ended {
                        ending: Ending::OutOfUse,
                        text: "the danger is not put right".to_owned(),
                    },
                })?;
                Ok(reply)
            }
            Step::Watch => self.choice(call, step, 2, &|n| Event::Watched { shown: n == 1 }),
            Step::Retest { line } => self.retest(call, step, line),
            Step::GiveBack { what } => self.choice(call, step, 2, &|n| Event::GivenBack {
                what: if n == 1 {
                    what.clone()
                } else {
                    vec!["NOT all given back".to_owned()]
                },
            }),
            Step::Send { .. } => self.send(call, step),
            Step::Booked => Ok(Reply::Pause),
            Step::Finish { proposed, open, why } => self.finish(call, step, *proposed, open, why),
            Step::Ended => Ok(Reply::Events(Vec::new())),
        }
    }

    fn finish(
        &mut self,
        call: &Call<'_>,
        step: &Step,
        proposed: Ending,
        open: &[Ending],
        why: &str,
    ) -> Result<Reply, TerminalError> {
        let open: Vec<Ending> = open
            .iter()
            .copied()
            .filter(|e| call.may_end(*e) || *e == proposed)
            .collect();
        loop {
            if let Command::Reply(reply) = self.choose_ending(call, &open, Some(why))? {
                return Ok(reply);
            }
            let line = self.line("not ended. Enter for the endings again, or a letter (? for help):", "")?;
            let text = match line {
                Line::Typed(text) => text,
                Line::Back => return Ok(self.back(call)),
            };
            if let Command::Reply(reply) = self.command(call, step, &text)? {
                return Ok(reply);
            }
        }
    }

    fn fact(&mut self, call: &Call<'_>, step: &Step, fact: &str) -> Result<Reply, TerminalError> {
        let entry = &call.engine.knowledge.facts[fact];
        let values: Vec<String> = entry.values.keys().cloned().collect();
        let number = entry.number.clone();
        let read = |text: &str| {
            let value = match &number {
                Some(number) => match crate::quantity::parse_reading(text, number.unit) {
                    Ok(crate::quantity::Reading::Value(given)) => {
                        let [low, high] = number.range;
                        let v = given.quantity.value;
                        if !(low..=high).contains(&v) {
                            let unit = number.unit.symbol();
                            return Err(format!(
                                "{v} {unit} is hardly possible: {low} to {high} {unit} was expected."
                            ));
                        }
                        Some(format!("{v} {}", number.unit.symbol()))
                    }
                    Ok(_) => None,
                    Err(error) => return Err(error.to_string()),
                },
                None => match text.parse::<usize>() {
                    Ok(n) if (1..=values.len()).contains(&n) => Some(values[n - 1].clone()),
                    _ => {
                        return Err(format!(
                            "\"{text}\" is not one of the numbers 1 to {}; c if nobody can tell.",
                            values.len()
                        ));
                    }
                },
            };
            Ok(vec![Event::Fact {
                fact: fact.to_owned(),
                value,
                from: None,
            }])
        };
        let prompt = if number.is_some() {
            "value (c can't tell):".to_owned()
        } else {
            format!("1-{} (c can't tell):", values.len())
        };
        let reply = self.ask(call, step, &prompt, &read)?;
        if let Reply::Events(events) = &reply
            && let [
                Event::Cannot {
                    target: Target::Fact(id),
                },
            ] = events.as_slice()
        {
            return Ok(Reply::Events(vec![Event::Fact {
                fact: id.clone(),
                value: None,
                from: None,
            }]));
        }
        Ok(reply)
    }

    fn entitlement(&mut self, call: &Call<'_>, step: &Step) -> Result<Reply, TerminalError> {
        let verified = ENTITLED.len() - 1;
        self.ask(call, step, "1-4:", &|text| match text.parse::<usize>() {
            Ok(n) if (1..=verified).contains(&n) => Ok(vec![Event::Entitled {
                how: ENTITLED[n - 1].to_owned(),
            }]),
            Ok(4) => Err(
                "Then this step is not for now: s is not offered for it; t picks another, e ends the call.".to_owned(),
            ),
            _ => Err(format!("\"{text}\" is not one of the numbers 1 to 4.")),
        })
    }

    fn out_of_use(&mut self, call: &Call<'_>, step: &Step) -> Result<Reply, TerminalError> {
        let mut why: Vec<String> = call.stop().map(|s| s.signs.clone()).unwrap_or_default();
        if let Some(danger) = call.stop().and_then(|s| s.danger) {
            why.push(format!("{DANGER}{danger:?}").to_lowercase());
        }
        if why.is_empty() {
            why.push(RETEST_FAILED.to_owned());
        }
        let from_signs = call.stop().is_some_and(|s| !s.signs.is_empty());
        self.ask(call, step, "1-3:", &|text| match text {
            "1" => Ok(vec![Event::OutOfUse {
                why: why.clone(),
                made_safe: true,
            }]),
            "2" if from_signs => Ok(vec![Event::Signs {
                yes: Vec::new(),
                unsure: Vec::new(),
            }]),
            "2" => {
                Err("This comes from the answers, not from a sign: a says which; b takes the last one back.".to_owned())
            }
            "3" => Ok(vec![
                Event::OutOfUse {
                    why: why.clone(),
                    made_safe: false,
                },
                Event::Ended {
                    ending: Ending::OutOfUse,
                    text: "NOT made safe: people kept away, owner told".to_owned(),
                },
            ]),
            _ => Err(format!("\"{text}\" is not one of the numbers 1 to 3.")),
        })
    }
}

/// Why the gate goes out of use when neither a sign nor the belief says so.
const RETEST_FAILED: &str = "a line of the safety retest is not passed";

pub(super) type Reader<'r> = dyn Fn(&str) -> Result<Vec<Event>, String> + 'r;

pub(super) enum Command {
    Reply(Reply),
    AskAgain,
    NotOne,
}

/// What a reading is judged by.
enum Judge {
    /// This reading of the same gate when it was well.
    ByBaseline(String),
    /// The test's own formula and limits.
    AsWritten,
    /// Neither: the answer before is taken back.
    Back,
}

enum Judged {
    Fine,
    Again,
    CantTell,
}

/// What *can't* and *skip* are about.
fn target(step: &Step) -> Option<Target> {
    match step {
        Step::Test { test, .. } => Some(Target::Test(test.clone())),
        Step::Repair { repair, .. } => Some(Target::Repair(repair.clone())),
        Step::Fact { fact, .. } => Some(Target::Fact(fact.clone())),
        _ => None,
    }
}

/// Where the call stands: what is reported, the ranking, and whether the answers agree.
#[must_use]
pub fn standing(call: &Call<'_>, style: &Style) -> String {
    let titles = symptom_titles(call).join("; ");
    let counted = call.answers().iter().filter(|a| a.counts).count();
    let mut page = Page::new(style);
    let plural = if counted == 1 { "" } else { "s" };
    page.title(&format!("{titles}  ({counted} answer{plural})"));
    page.finish() + &ranking(call, style, 5) + &conflict_text(call, style)
}

/// Whether the answers agree with each other, if they don't.
fn conflict_text(call: &Call<'_>, style: &Style) -> String {
    let planner = call.engine.planner();
    let found = conflict(
        &call.engine.model,
        &planner.prior(call.situation()),
        &call.situation().evidence,
    );
    let mut page = Page::new(style);
    match found {
        Conflict::None => {}
        Conflict::Rare => page.field(
            "note",
            "These answers are rare together, but something in the list explains them.",
        ),
        Conflict::Contradiction { retake } => {
            let text = format!(
                "The answers contradict each other. Take this one again first: {}",
                describe(call, retake)
            );
            page.painted("conflict", &text, Style::caution);
        }
        Conflict::Impossible { retake } => {
            let text = format!(
                "The answers exclude everything that is written down. Take this one again, or refer it: {}",
                describe(call, retake)
            );
            page.painted("conflict", &text, Style::caution);
        }
    }
    page.finish()
}

/// Numbers typed in one line; none for an empty line or 0.
fn picked(text: &str, most: usize) -> Result<Vec<usize>, String> {
    let mut list = Vec::new();
    for word in text.split([' ', ',']).filter(|w| !w.is_empty() && *w != "0") {
        match word.parse::<usize>() {
            Ok(n) if (1..=most).contains(&n) => list.push(n),
            _ => return Err(format!("\"{word}\" is not one of the numbers 1 to {most}; 0 for none.")),
        }
    }
    Ok(list)
}

/// Provocations that some possible cause of the reported symptoms depends on.
fn provocations(call: &Call<'_>) -> Vec<Provocation> {
    let p = call.belief().causes(&call.engine.model);
    let named = |which: Provocation| {
        call.engine
            .knowledge
            .causes
            .values()
            .zip(&p)
            .any(|(cause, p)| *p > 0.002 && cause.shows_when.as_ref().is_some_and(|w| w.under.contains(&which)))
    };
    Provocation::ALL.into_iter().filter(|which| named(*which)).collect()
}

/// Tests and repairs on offer, best first.
fn offered(call: &Call<'_>) -> Vec<(Target, String)> {
    let planner = call.engine.planner();
    let situation = call.situation();
    let offer = planner.offer(call.belief(), situation, &situation.site);
    let choice = call.choice();
    let mut order: Vec<Action> = choice.others.iter().map(|o| o.action).collect();
    order.insert(0, choice.action);
    let mut found: Vec<(Target, String)> = Vec::new();
    let priced = order.into_iter();
    let tests = (0..offer.tests.len())
        .filter(|&t| offer.tests[t])
        .map(|t| Action::Test(TestId::at(t)));
    let repairs = (0..offer.repairs.len())
        .filter(|&r| offer.repairs[r])
        .map(|r| Action::Repair(crate::model::RepairId::at(r)));
    for action in priced.chain(tests).chain(repairs) {
        let target = match action {
            Action::Test(t) => call
                .engine
                .knowledge
                .tests
                .get_index(t.index())
                .map(|(id, _)| Target::Test(id.clone())),
            Action::Repair(r) => call
                .engine
                .knowledge
                .repairs
                .get_index(r.index())
                .map(|(id, _)| Target::Repair(id.clone())),
            _ => None,
        };
        if let Some(target) = target
            && !found.iter().any(|(t, _)| *t == target)
        {
            let kind = if matches!(target, Target::Repair(_)) {
                "repair: "
            } else {
                ""
            };
            found.push((target, format!("{kind}{}", action_title(call, action))));
        }
    }
    found
}

/// Tests worth taking without going anywhere or opening anything.
fn behind_lid(call: &Call<'_>) -> Vec<(Target, String)> {
    let planner = call.engine.planner();
    let choice = call.choice();
    let standing = &call.situation().standing;
    choice
        .others
        .iter()
        .filter(|o| o.cost < choice.repairs_only)
        .filter_map(|o| match o.action {
            Action::Test(t) => {
                let (id, test) = call.engine.knowledge.tests.get_index(t.index())?;
                let here = planner.costs().access(planner.costs().test(t), standing) <= 0.0 && test.moves == Moves::No;
                let limits = if test.bands.is_empty() {
                    String::new()
                } else {
                    format!(" ({})", test.limits())
                };
                here.then(|| (Target::Test(id.clone()), format!("{}{limits}", test.title)))
            }
            _ => None,
        })
        .collect()
}

/// Whether an event is an answer about the gate that a person may want to take back.
fn is_about_gate(event: &Event) -> bool {
    matches!(
        event,
        Event::Answer { .. }
            | Event::Fact { .. }
            | Event::Now { .. }
            | Event::Repaired { .. }
            | Event::Proof { .. }
            | Event::Denied { .. }
            | Event::Cannot { .. }
    )
}

/// An event in a line.
#[must_use]
pub(crate) fn describe(call: &Call<'_>, entry: usize) -> String {
    event_text(call, &call.entries[entry].event)
}

/// An event in a line, in the words of the knowledge.
#[must_use]
pub fn event_text(call: &Call<'_>, event: &Event) -> String {
    let knowledge = &call.engine.knowledge;
    match event {
        Event::Answer {
            test,
            outcome,
            readings,
            ..
        } => {
            let entry = knowledge.tests.get(test);
            let title = entry.map_or(test.as_str(), |t| &t.title);
            let said = match outcome {
                Some(o) => entry
                    .and_then(|t| t.outcomes.get(o))
                    .map_or(o.clone(), |o| o.say.clone()),
                None => readings.values().cloned().collect::<Vec<_>>().join(", "),
            };
            format!("{title}: {said}")
        }
        Event::Fact { fact, value, .. } => {
            let entry = knowledge.facts.get(fact);
            let said = match value {
                Some(v) => entry.and_then(|f| f.values.get(v)).map_or(v.clone(), |v| v.say.clone()),
                None => "nobody can tell".to_owned(),
            };
            format!("{} {said}", entry.map_or(fact.as_str(), |f| &f.ask))
        }
        Event::Now { now, .. } => format!("doing it now: {}", format!("{now:?}").to_lowercase()),
        Event::Repaired { repair, .. } => knowledge
            .repairs
            .get(repair)
            .map_or(repair.clone(), |r| format!("repair: {}", r.title)),
        Event::Proof { symptom, seen } => {
            let title = knowledge.symptoms.get(symptom).map_or(symptom.as_str(), |s| &s.title);
            let seen = match seen {
                Seen::Gone => "gone",
                Seen::StillThere => "still there",
                Seen::CantTell => "can't tell",
            };
            format!("{title}: {seen}")
        }
        Event::Denied { symptom } => {
            format!(
                "does not do: {}",
                knowledge.symptoms.get(symptom).map_or(symptom.as_str(), |s| &s.title)
            )
        }
        Event::Remembered { fact, value, from } => {
            let entry = knowledge.facts.get(fact);
            let said = entry.and_then(|f| f.values.get(value)).map_or(value, |v| &v.say);
            format!("{}, {from}: {said}", entry.map_or(fact.as_str(), |f| &f.ask))
        }
        Event::Baseline { test, value, date, .. } => {
            let title = knowledge.tests.get(test).map_or(test.as_str(), |t| &t.title);
            format!("baseline of {date}: {title}: {value}")
        }
        Event::Fitted { what, .. } => format!("site file: {}", what.join("; ")),
        Event::Callback { of, text } if text.is_empty() => format!("callback of call {of}"),
        Event::Callback { text, .. } => format!("callback: {text}"),
        Event::Complaint { words, .. } => format!("complaint: {words}"),
        Event::Caller { at_gate: true, .. } => "the caller stands clear of the gate".to_owned(),
        Event::Caller { at_gate: false, .. } => "the caller is not at the gate".to_owned(),
        Event::Visit { .. } => "a visit is booked".to_owned(),
        Event::Signs { .. } => "hazard signs".to_owned(),
        Event::Condition { condition, .. } => format!("condition: {}", condition.id()),
        Event::Cannot { target } => format!("can't: {}", target_title(call, target)),
        Event::Skipped { target } => format!("skipped: {}", target_title(call, target)),
        Event::Retest { line, .. } => knowledge
            .retest
            .get(line)
            .map_or(line.clone(), |l| format!("retest: {}", l.title)),
        Event::Clearance { .. } => "clear to move".to_owned(),
        Event::OutOfUse { .. } => "put out of use".to_owned(),
        other => format!("{other:?}")
            .split([' ', '{'])
            .next()
            .unwrap_or_default()
            .to_lowercase(),
    }
}

fn target_title(call: &Call<'_>, target: &Target) -> String {
    let knowledge = &call.engine.knowledge;
    match target {
        Target::Test(id) => knowledge.tests.get(id).map_or(id.clone(), |t| t.title.clone()),
        Target::Repair(id) => knowledge.repairs.get(id).map_or(id.clone(), |r| r.title.clone()),
        Target::Fact(id) => knowledge.facts.get(id).map_or(id.clone(), |f| f.ask.clone()),
    }
}

pub(super) fn ending_text(ending: Ending) -> &'static str {
    match ending {
        Ending::Fixed => "Fixed: proven and retested",
        Ending::Explained => "Explained: working as set, devices not retested",
        Ending::NoFaultFound => "No fault found",
        Ending::Waiting => "Waiting: for parts or a return",
        Ending::Referred => "Referred: somebody else takes it over",
        Ending::OutOfUse => "Out of use: made safe and left so",
        Ending::DeficiencyRefused => "Deficiency refused: owner told in writing; not fixed, not safe",
        Ending::Withdrawn => "Withdrawn by the caller",
    }
}

impl Answerer for Person<'_> {
    type Error = TerminalError;

    fn answer(&mut self, call: &Call<'_>, step: &Step) -> Result<Reply, TerminalError> {
        self.tell_callback(call);
        let planned = matches!(
            step,
            Step::Test { .. } | Step::Repair { .. } | Step::Fact { purpose: Some(_), .. }
        );
        if planned && self.shown_at != Some(call.entries.len()) {
            let text = standing(call, &self.style);
            self.say(&text);
            self.shown_at = Some(call.entries.len());
        }
        let page = render_step(call, step, &self.style);
        self.say(&page);
        if matches!(step, Step::Test { .. } | Step::Repair { .. }) {
            let always = self.style.faint(&format!("also: {}", always(call.at())));
            let mut page = Page::new(&self.style);
            page.line(&always);
            let text = page.finish();
            self.say(&text);
        }
        match self.answer_step(call, step) {
            Err(TerminalError::Interrupted) => Ok(Reply::Pause),
            answer => answer,
        }
    }

    fn now(&self) -> String {
        (self.clock)()
    }
}
