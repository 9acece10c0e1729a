//! A trainee at a terminal: picks what to do, in any order; nothing is planned for him.

use super::drill_page::{drill_help, drill_list, drill_refusal, drill_told};
use super::page::{Page, ranking, render_how, render_step};
use super::person::{Line, Person, TerminalError, event_text};
use super::style::Style;
use crate::call::{Answerer, Call, Event, JournalError, Purpose, Reply, Step};
use crate::drill::{Act, Doable, Level, Session, provoking_minutes};
use crate::knowledge::schema::{Condition, Ending, Provocation};

/// How a trainee left a drill.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Left {
    /// The call has ended.
    Ended,
    /// To go on later.
    Paused,
}

/// Why a drill broke off.
#[derive(Debug, thiserror::Error)]
pub enum TrainError {
    /// Nobody can be asked.
    #[error(transparent)]
    Terminal(#[from] TerminalError),
    /// The journal can't be written.
    #[error(transparent)]
    Journal(#[from] JournalError),
}

/// A trainee.
pub struct Trainee<'a> {
    style: Style,
    /// Who prompts; on a real gate, the trainer who types what it shows.
    person: Person<'a>,
    level: Level,
    /// Minutes of work allowed.
    allowed: Option<f64>,
    live: bool,
}

/// Most lines of a list.
const MOST: usize = 14;

impl<'a> Trainee<'a> {
    /// A trainee who types at this person's terminal.
    #[must_use]
    pub fn new(style: Style, person: Person<'a>, level: Level, allowed: Option<f64>, live: bool) -> Self {
        Self {
            style,
            person,
            level,
            allowed,
            live,
        }
    }

    /// Asks until the call has ended or is left for later.
    ///
    /// # Errors
    /// When there is no terminal or the journal can't be written. What was done stays done.
    pub fn train(&mut self, session: &mut Session<'_>) -> Result<Left, TrainError> {
        let mut listed: Vec<Doable> = Vec::new();
        loop {
            if session.call.ending().is_some() {
                return Ok(Left::Ended);
            }
            let gone = session.worked();
            let prompt = match self.allowed {
                Some(most) if gone > most => "time is up: o or e:".to_owned(),
                Some(most) => format!("do ({gone:.0} of {most:.0} min):"),
                None => format!("do ({gone:.0} min):"),
            };
            let typed = match self.person.line(&prompt, "") {
                Ok(Line::Typed(text)) => text,
                Ok(Line::Back) => continue,
                Err(TerminalError::Interrupted) => return Ok(Left::Paused),
                Err(other) => return Err(other.into()),
            };
            let over = self.allowed.is_some_and(|most| gone > most);
            if over && !["o", "e", "u", "b", "p", "a", "?"].contains(&typed.to_lowercase().as_str()) {
                self.person
                    .note("The time is up. Leave the gate so that nobody is hurt by it: o, u, b; e ends the call.");
                continue;
            }
            match self.turn(session, &typed, &mut listed) {
                Ok(None) => {}
                Ok(Some(left)) => return Ok(left),
                Err(TrainError::Terminal(TerminalError::Interrupted)) => return Ok(Left::Paused),
                Err(other) => return Err(other),
            }
        }
    }

    /// One line of typing.
    fn turn(
        &mut self,
        session: &mut Session<'_>,
        typed: &str,
        listed: &mut Vec<Doable>,
    ) -> Result<Option<Left>, TrainError> {
        let act = match typed.to_lowercase().as_str() {
            "" => None,
            "?" | "h" | "help" => {
                let text = drill_help(&self.style);
                self.person.say(&text);
                None
            }
            "p" | "pause" => return Ok(Some(Left::Paused)),
            "a" => {
                self.seen_so_far(&session.call);
                None
            }
            "k" => {
                self.rank(&session.call);
                None
            }
            "d" => Some(Act::LookForDanger),
            "c" => Some(Act::SeeClear),
            "v" => Some(Act::Verify),
            "u" => Some(Act::PutBack),
            "g" => Some(Act::Run),
            "o" => Some(Act::OutOfUse),
            "b" => Some(Act::GiveBack),
            "q" => self.fact(session)?,
            "n" => self.now()?,
            "s" => self.condition()?,
            "e" => self.ending(session)?,
            "t" => {
                self.retest(session)?;
                None
            }
            "!" if self.live => self.mark(session)?,
            text => match text.parse::<usize>() {
                Ok(n) if (1..=listed.len()).contains(&n) => self.begin(session, &listed[n - 1].act.clone())?,
                Ok(_) if listed.is_empty() => {
                    self.person
                        .note("Type a word first, such as battery: the list has the numbers.");
                    None
                }
                Ok(_) => {
                    self.person
                        .note(&format!("\"{text}\" is not one of the numbers 1 to {}.", listed.len()));
                    None
                }
                Err(_) => {
                    *listed = self.find(session, text);
                    None
                }
            },
        };
        if let Some(act) = act {
            self.perform(session, &act)?;
        }
        Ok(None)
    }

    fn find(&mut self, session: &Session<'_>, word: &str) -> Vec<Doable> {
        let all = session.doable();
        let mut found: Vec<Doable> = all.into_iter().filter(|d| d.is_meant_by(word)).collect();
        let more = found.len().saturating_sub(MOST);
        // Where there are too many, those go first that are called so.
        found.sort_by_key(|d| !d.is_called(word));
        found.truncate(MOST);
        found.sort_by(|a, b| (&a.place, &a.title).cmp(&(&b.place, &b.title)));
        if found.is_empty() {
            self.person
                .note("Nothing has that word in it. Another word for it, or where it is? ? shows the letters.");
        }
        let text = drill_list(&found, &self.style);
        self.person.say(&text);
        if more > 0 {
            self.person
                .note(&format!("and {more} more: add a word to narrow it down."));
        }
        found
    }

    /// Guided: the page of the step with its cautions, and what it needs, before it is done.
    fn begin(&mut self, session: &Session<'_>, act: &Act) -> Result<Option<Act>, TrainError> {
        let knowledge = &session.call.engine.knowledge;
        let needs = match act {
            Act::Test(id) => knowledge.tests.get(id).map(|t| &t.needs),
            Act::Repair(id) => knowledge.repairs.get(id).map(|r| &r.needs),
            _ => None,
        };
        let (Level::Guided, Some(needs)) = (self.level, needs) else {
            return Ok(Some(act.clone()));
        };
        let mut text = render_how(&session.call, act, &self.style);
        let holds = &session.call.situation().standing.conditions;
        let missing: Vec<&str> = needs.iter().filter(|c| !holds.contains(c)).map(|c| c.id()).collect();
        if !missing.is_empty() {
            let mut page = Page::new(&self.style);
            let what = format!("It needs: {}. s sees to that.", missing.join(", "));
            page.painted("first", &what, Style::caution);
            text += &page.finish();
        }
        self.person.say(&text);
        let Line::Typed(go) = self.person.line("Enter does it, 0 leaves it:", "")? else {
            return Ok(None);
        };
        Ok((go.is_empty() || go == "y").then(|| act.clone()))
    }

    fn perform(&mut self, session: &mut Session<'_>, act: &Act) -> Result<(), TrainError> {
        let time = self.person.now();
        let events = if self.live {
            let Some(events) = self.ask_trainer(session, act)? else {
                return Ok(());
            };
            session.told(events.clone(), &time)?;
            events
        } else {
            match session.act(act, &time)? {
                Ok(events) => events,
                Err(refusal) => {
                    self.person.note(&drill_refusal(&refusal));
                    return Ok(());
                }
            }
        };
        let text = drill_told(&session.call, &events, self.level, &self.style);
        self.person.say(&text);
        let told_more = events
            .iter()
            .any(|e| matches!(e, Event::Answer { .. } | Event::Now { .. } | Event::Proof { .. }));
        if self.level == Level::Guided && told_more {
            self.rank(&session.call);
        }
        Ok(())
    }

    fn rank(&mut self, call: &Call<'_>) {
        if self.level == Level::Guided {
            let text = ranking(call, &self.style, 5);
            self.person.say(&text);
        } else {
            self.person.note("The ranking is shown in guided drills only.");
        }
    }

    /// On a real gate the trainer says what it shows. `None`: not done.
    fn ask_trainer(&mut self, session: &Session<'_>, act: &Act) -> Result<Option<Vec<Event>>, TrainError> {
        match session.plain(act) {
            Ok(Some(events)) => return Ok(Some(events)),
            Ok(None) => {}
            Err(refusal) => {
                self.person.note(&drill_refusal(&refusal));
                return Ok(None);
            }
        }
        let call = &session.call;
        let purpose = Purpose::Picked;
        let steps: Vec<Step> = match act {
            Act::LookForDanger => vec![Step::Signs],
            Act::Ask(fact) => vec![Step::Fact {
                fact: fact.clone(),
                purpose: None,
            }],
            Act::Look | Act::Provoke(_) => vec![Step::Now],
            Act::Test(id) => vec![Step::Test {
                test: id.clone(),
                purpose,
            }],
            Act::Repair(id) => vec![Step::Repair {
                repair: id.clone(),
                purpose,
            }],
            Act::Run if call.repairs().is_empty() => vec![Step::Watch],
            Act::Run => {
                let repair = call.repairs().last().map(|r| r.repair.clone()).unwrap_or_default();
                let proof = |symptom: &String| Step::Proof {
                    symptom: symptom.clone(),
                    repair: repair.clone(),
                };
                call.symptoms().iter().map(proof).collect()
            }
            Act::Retest(line) => vec![Step::Retest { line: line.clone() }],
            _ => Vec::new(),
        };
        self.person.note("Trainer: what does the gate show?");
        let mut events = Vec::new();
        for step in steps {
            let page = render_step(call, &step, &self.style);
            self.person.say(&page);
            match self.person.answer_step(call, &step)? {
                Reply::Events(answer) => events.extend(answer),
                Reply::Back | Reply::Pause => return Ok(None),
            }
        }
        Ok((!events.is_empty()).then_some(events))
    }

    /// One of a list, or nothing.
    fn one_of(&mut self, prompt: &str, texts: &[String]) -> Result<Option<usize>, TrainError> {
        let mut page = Page::new(&self.style);
        texts.iter().enumerate().for_each(|(i, text)| page.option(i + 1, text));
        let text = page.finish();
        self.person.say(&text);
        let picked = self.person.number(prompt, true, texts.len())?;
        Ok(picked.and_then(|n| n.checked_sub(1)))
    }

    fn fact(&mut self, session: &Session<'_>) -> Result<Option<Act>, TrainError> {
        let facts: Vec<(&String, String)> = session
            .call
            .engine
            .knowledge
            .facts
            .iter()
            .filter(|(id, _)| session.call.situation().site.get(id).is_none())
            .map(|(id, f)| (id, f.ask.clone()))
            .collect();
        if facts.is_empty() {
            self.person.note("You have asked it all.");
            return Ok(None);
        }
        let texts: Vec<String> = facts.iter().map(|(_, ask)| ask.clone()).collect();
        let picked = self.one_of("which (0 none):", &texts)?;
        Ok(picked.map(|i| Act::Ask(facts[i].0.clone())))
    }

    fn now(&mut self) -> Result<Option<Act>, TrainError> {
        let mut texts = vec!["Just look, without making it move".to_owned()];
        let with = |p: &Provocation| format!("With {} ({:.0} min)", p.say(), provoking_minutes(*p));
        texts.extend(Provocation::ALL.iter().map(with));
        let picked = self.one_of("which (0 none):", &texts)?;
        Ok(picked.map(|i| {
            i.checked_sub(1)
                .map_or(Act::Look, |p| Act::Provoke(Provocation::ALL[p]))
        }))
    }

    fn condition(&mut self) -> Result<Option<Act>, TrainError> {
        let texts = [
            "Power it as it normally is",
            "Isolate it: mains, battery and solar, each leaf, then try a command",
            "Hold off timers, app, exit loop and other people's remotes",
            "Secure the leaf: chain or pin, against wind, slope and hands",
        ]
        .map(str::to_owned);
        let picked = self.one_of("which (0 none):", &texts)?;
        Ok(picked.map(|i| Act::Set(Condition::ALL[i])))
    }

    fn ending(&mut self, session: &Session<'_>) -> Result<Option<Act>, TrainError> {
        let endings = [
            Ending::Fixed,
            Ending::Explained,
            Ending::NoFaultFound,
            Ending::Waiting,
            Ending::Referred,
            Ending::OutOfUse,
        ];
        let texts = endings.map(|e| super::person::ending_text(e).to_owned());
        let Some(i) = self.one_of("how do you leave it (0 not yet):", &texts)? else {
            return Ok(None);
        };
        if endings[i] == Ending::OutOfUse && session.call.stop().is_none_or(|s| !s.made_safe) {
            self.person.note("Make it safe first: o.");
            return Ok(None);
        }
        Ok(Some(Act::End(endings[i])))
    }

    /// Lines of the retest: one, or all that are open, each in a way that the trainee picks.
    fn retest(&mut self, session: &mut Session<'_>) -> Result<(), TrainError> {
        loop {
            let knowledge = &session.call.engine.knowledge;
            let open: Vec<(String, String)> = knowledge
                .retest
                .iter()
                .filter(|(id, line)| {
                    session.site().facts().holds(&line.when) != Some(false) && !session.call.retest().contains_key(*id)
                })
                .map(|(id, line)| (id.clone(), line.title.clone()))
                .collect();
            if open.is_empty() {
                self.person.note("Every line of the retest is done.");
                return Ok(());
            }
            let texts: Vec<String> = open.iter().map(|(_, title)| title.clone()).collect();
            let Some(i) = self.one_of("which line (0 none):", &texts)? else {
                return Ok(());
            };
            let line = open[i].0.clone();
            let Some(act) = self.way(session, &line)? else { continue };
            self.perform(session, &act)?;
        }
    }

    /// How a line of the retest is done: by the book is one way among those that tempt.
    fn way(&mut self, session: &Session<'_>, line: &str) -> Result<Option<Act>, TrainError> {
        if self.live {
            return Ok(Some(Act::Retest(line.to_owned())));
        }
        let shortcuts = session.call.engine.knowledge.shortcuts.iter();
        let mut ways: Vec<(String, Act)> = shortcuts
            .filter(|(_, s)| s.at_retest.iter().any(|l| l == line))
            .map(|(id, s)| {
                let act = Act::RetestBy {
                    line: line.to_owned(),
                    shortcut: id.clone(),
                };
                (s.title.clone(), act)
            })
            .collect();
        if ways.is_empty() {
            return Ok(Some(Act::Retest(line.to_owned())));
        }
        // Not always in the same place.
        let at = line.len() % (ways.len() + 1);
        let by_the_book = "By the book: an object where one is called for, you stand clear".to_owned();
        ways.insert(at, (by_the_book, Act::Retest(line.to_owned())));
        let texts: Vec<String> = ways.iter().map(|(text, _)| text.clone()).collect();
        let picked = self.one_of("how (0 not now):", &texts)?;
        Ok(picked.map(|i| ways[i].1.clone()))
    }

    /// The trainer marks what the program can't see.
    fn mark(&mut self, session: &Session<'_>) -> Result<Option<Act>, TrainError> {
        let all: Vec<(String, String)> = session
            .call
            .engine
            .knowledge
            .shortcuts
            .iter()
            .map(|(id, s)| (id.clone(), s.title.clone()))
            .collect();
        let texts: Vec<String> = all.iter().map(|(_, t)| t.clone()).collect();
        let picked = self.one_of("trainer, what was done (0 nothing):", &texts)?;
        Ok(picked.map(|i| Act::Shortcut(all[i].0.clone())))
    }

    fn seen_so_far(&mut self, call: &Call<'_>) {
        let mut page = Page::new(&self.style);
        let told = |e: &Event| {
            matches!(
                e,
                Event::Signs { .. }
                    | Event::Fact { .. }
                    | Event::Now { .. }
                    | Event::Answer { .. }
                    | Event::Repaired { .. }
                    | Event::Proof { .. }
                    | Event::Retest { .. }
                    | Event::Condition { .. }
            )
        };
        for entry in call.entries.iter().filter(|e| told(&e.event)) {
            page.field("  -", &event_text(call, &entry.event));
        }
        let text = page.finish();
        if text.is_empty() {
            self.person.note("Nothing yet, but what the caller says.");
        } else {
            self.person.say(&text);
        }
    }
}
