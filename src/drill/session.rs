//! A trainee's call: the same journal and fold as a real one, with a simulated site behind it.

use super::act::{Act, Refusal};
use super::site::SimulatedSite;
use crate::call::{Call, Engine, Entry, Event, Journal, JournalError, minutes};
use crate::knowledge::schema::{At, Case, Condition, Moves, Provocation, Test, Who};
use crate::model::TestId;
use crate::plan::Costs;

/// How much a trainee is helped.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Level {
    /// The ranking is shown after each answer, and what a step needs is said before it is done.
    Guided,
    /// Nothing is said.
    Alone,
    /// Nothing is said, and the time is short: twice what the plan takes.
    Clock,
}

impl Level {
    /// The word of the journal and the command line.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Guided => "guided",
            Self::Alone => "alone",
            Self::Clock => "clock",
        }
    }

    /// The level of a word; *alone* for one that is not known.
    #[must_use]
    pub fn of_word(word: &str) -> Self {
        let all = [Self::Guided, Self::Alone, Self::Clock];
        all.into_iter().find(|l| l.word() == word).unwrap_or(Self::Alone)
    }

    /// The word shown.
    #[must_use]
    pub fn say(self) -> &'static str {
        match self {
            Self::Guided => "guided",
            Self::Alone => "alone",
            Self::Clock => "against the clock",
        }
    }
}

/// A drill under way.
pub struct Session<'a> {
    /// The trainee's call.
    pub call: Call<'a>,
    site: SimulatedSite<'a>,
}

impl<'a> Session<'a> {
    /// Opens a drill: the complaint is all that is known.
    ///
    /// # Errors
    /// When the journal can't be written.
    pub fn open(
        engine: &'a Engine,
        case: &'a Case,
        drill: Event,
        journal: Option<Journal>,
        time: &str,
    ) -> Result<Self, JournalError> {
        let seed = seed_of([&drill]);
        let site = SimulatedSite::of_case(engine, case, seed);
        let mut session = Self {
            call: Call::with(engine, Vec::new(), journal),
            site,
        };
        let opened = engine.opened(At::Gate, Who::Technician, None);
        let complaint = session.site.complaint();
        session.record(vec![opened, drill, complaint], time)?;
        Ok(session)
    }

    /// Goes on with a drill that was left.
    #[must_use]
    pub fn resumed(engine: &'a Engine, case: &'a Case, entries: Vec<Entry>, journal: Option<Journal>) -> Self {
        let seed = seed_of(entries.iter().map(|e| &e.event));
        let mut site = SimulatedSite::of_case(engine, case, seed);
        entries.iter().for_each(|e| site.relive(&e.event));
        Self {
            call: Call::with(engine, entries, journal),
            site,
        }
    }

    /// The site as it is now.
    #[must_use]
    pub fn site(&self) -> &SimulatedSite<'a> {
        &self.site
    }

    /// Minutes of work so far.
    #[must_use]
    pub fn worked(&self) -> f64 {
        worked(self.call.engine, &self.call, self.site.under_at_first())
    }

    /// Does something; the events say what came of it.
    ///
    /// # Errors
    /// A refusal, where the site has no answer; the journal's, when the disk says no.
    pub fn act(&mut self, act: &Act, time: &str) -> Result<Result<Vec<Event>, Refusal>, JournalError> {
        let events = match self.events(act) {
            Ok(events) => events,
            Err(refusal) => return Ok(Err(refusal)),
        };
        self.record(events.clone(), time)?;
        Ok(Ok(events))
    }

    /// What a site that is not simulated answered, told by the trainer.
    ///
    /// # Errors
    /// When the journal can't be written.
    pub fn told(&mut self, events: Vec<Event>, time: &str) -> Result<(), JournalError> {
        events.iter().for_each(|e| self.site.relive(e));
        self.record(events, time)
    }

    fn record(&mut self, events: Vec<Event>, time: &str) -> Result<(), JournalError> {
        for event in events {
            self.call.record(Entry {
                time: time.to_owned(),
                event,
            })?;
        }
        Ok(())
    }

    /// What an act comes to, without doing it, as far as nobody has to look at the gate for it. `None`: the site has to answer.
    ///
    /// # Errors
    /// Why nothing can come of it.
    pub fn plain(&self, act: &Act) -> Result<Option<Vec<Event>>, Refusal> {
        let event = match act {
            Act::Set(condition) => Event::Condition {
                condition: *condition,
                done: true,
            },
            Act::SeeClear => Event::Clearance { confirmed: true },
            Act::Verify => Event::Entitled {
                how: "named in the service contract, called back".to_owned(),
            },
            Act::PutBack => Event::DeviceBack {
                device: self.call.device_off().ok_or(Refusal::NothingOff)?.to_owned(),
            },
            Act::OutOfUse => Event::OutOfUse {
                why: vec!["put out of use by the trainee".to_owned()],
                made_safe: true,
            },
            Act::GiveBack => Event::GivenBack {
                what: self.call.to_give_back(),
            },
            Act::Shortcut(id) => Event::Shortcut { shortcut: id.clone() },
            Act::End(ending) => Event::Ended {
                ending: *ending,
                text: String::new(),
            },
            _ => return Ok(None),
        };
        Ok(Some(vec![event]))
    }

    fn events(&mut self, act: &Act) -> Result<Vec<Event>, Refusal> {
        self.refuse(act)?;
        if let Some(events) = self.plain(act)? {
            events.iter().for_each(|e| self.site.relive(e));
            return Ok(events);
        }
        let event = match act {
            Act::LookForDanger => Event::Signs {
                yes: self.site.signs().to_vec(),
                unsure: Vec::new(),
            },
            Act::Ask(fact) => self.site.fact(fact),
            Act::Look => self.look(),
            // Provoked already: it is as it was.
            Act::Provoke(what) if self.site.under() == [*what] => self.look(),
            Act::Provoke(what) => Event::Now {
                now: self.site.look_again(&[*what]),
                under: vec![*what],
            },
            Act::Test(id) => return Ok(self.test(id)),
            Act::Repair(id) => self.site.repaired(id),
            Act::Run if self.call.repairs().is_empty() => Event::Watched {
                shown: self.site.watch(),
            },
            Act::Run => return Ok(self.proof()),
            Act::Retest(line) => retested(line, self.site.passes(line)),
            Act::RetestBy { line, shortcut } => {
                let event = Event::Shortcut {
                    shortcut: shortcut.clone(),
                };
                return Ok(vec![event, retested(line, true)]);
            }
            _ => return Ok(Vec::new()),
        };
        Ok(vec![event])
    }

    fn look(&self) -> Event {
        Event::Now {
            now: self.site.doing_it(),
            under: self.site.under().to_vec(),
        }
    }

    fn proof(&mut self) -> Vec<Event> {
        let symptoms = self.call.symptoms().to_vec();
        let seen = |symptom: String| Event::Proof {
            seen: self.site.proof(&symptom),
            symptom,
        };
        symptoms.into_iter().map(seen).collect()
    }

    /// A test, after the numbers on labels that its formula needs.
    fn test(&mut self, id: &str) -> Vec<Event> {
        let mut events = self.numbers_first(id);
        events.push(self.site.test(id, At::Gate));
        events
    }

    /// Facts that are numbers and that a test's formula needs: read off a label in passing.
    fn numbers_first(&self, id: &str) -> Vec<Event> {
        let planner = self.call.engine.planner();
        let Some(test) = self.call.engine.model.test(id) else {
            return Vec::new();
        };
        let unknown = |fact: &&String| self.call.situation().site.get(fact).is_none();
        let needed = planner.costs().test(test).numbers.iter().filter(unknown);
        needed.map(|fact| self.site.fact(fact)).collect()
    }

    fn refuse(&self, act: &Act) -> Result<(), Refusal> {
        let knowledge = &self.call.engine.knowledge;
        let (needs, moves, when) = match act {
            Act::Test(id) => {
                let test = knowledge.tests.get(id).ok_or_else(|| Refusal::Unknown(id.clone()))?;
                (&test.needs[..], test.moves, Some(&test.when))
            }
            Act::Repair(id) => {
                let repair = knowledge.repairs.get(id).ok_or_else(|| Refusal::Unknown(id.clone()))?;
                (&repair.needs[..], repair.moves, Some(&repair.when))
            }
            Act::Run => (&[Condition::Powered][..], Moves::Commanded, None),
            _ => return Ok(()),
        };
        if when.is_some_and(|w| self.site.facts().holds(w) == Some(false)) {
            return Err(Refusal::NotHere);
        }
        let powered = self.call.situation().standing.conditions.contains(&Condition::Powered);
        if !powered && (moves == Moves::Commanded || needs.contains(&Condition::Powered)) {
            return Err(Refusal::NoPower);
        }
        Ok(())
    }

    /// Tests and repairs that a technician could do here as far as is known, shortcuts that tempt here: each with its title, and where.
    #[must_use]
    pub fn doable(&self) -> Vec<Doable> {
        let knowledge = &self.call.engine.knowledge;
        let site = &self.call.situation().site;
        let place = |id: &Option<String>| {
            id.as_ref()
                .and_then(|p| knowledge.places.get(p))
                .map_or_else(String::new, |p| p.title.clone())
        };
        let possible = |when| site.holds(when) != Some(false);
        let mut found: Vec<Doable> = Vec::new();
        for (id, t) in &knowledge.tests {
            if t.who <= Who::Technician && possible(&t.when) {
                found.push(Doable {
                    act: Act::Test(id.clone()),
                    title: t.title.clone(),
                    place: place(&t.place),
                    minutes: self.minutes(self.call.engine.model.test(id), |c, t| c.test(t).minutes),
                    words: test_words(t),
                });
            }
        }
        for (id, r) in &knowledge.repairs {
            if r.who <= Who::Technician && possible(&r.when) {
                found.push(Doable {
                    act: Act::Repair(id.clone()),
                    title: format!("Repair: {}", r.title),
                    place: place(&r.place),
                    minutes: r.minutes,
                    words: r.title.to_lowercase(),
                });
            }
        }
        for (id, s) in &knowledge.shortcuts {
            let tempts = s.symptoms.is_empty() || s.symptoms.iter().any(|x| self.call.symptoms().contains(x));
            if tempts && s.at_retest.is_empty() && self.site.facts().holds(&s.when) == Some(true) {
                found.push(Doable {
                    act: Act::Shortcut(id.clone()),
                    title: s.title.clone(),
                    place: String::new(),
                    minutes: s.minutes,
                    words: s.title.to_lowercase(),
                });
            }
        }
        found.sort_by(|a, b| (&a.place, &a.title).cmp(&(&b.place, &b.title)));
        found
    }

    fn minutes(&self, test: Option<TestId>, of: impl Fn(&Costs, TestId) -> f64) -> f64 {
        let planner = self.call.engine.planner();
        test.map_or(0.0, |t| of(planner.costs(), t))
    }
}

/// Minutes of a second visit: weather is waited for, not made (common practice).
const COME_BACK: f64 = 60.0;
/// Minutes to provoke something by hand: a watering can, some cycles, a hand on the loom (common practice).
const PROVOKE: f64 = 5.0;

/// Minutes that it takes to have it like that.
#[must_use]
pub fn provoking_minutes(what: Provocation) -> f64 {
    match what {
        Provocation::Wet | Provocation::Loaded | Provocation::Wiggled => PROVOKE,
        Provocation::Cold | Provocation::Hot | Provocation::Windy | Provocation::LowSun => COME_BACK,
    }
}

/// Minutes of work in a drill: those of a call, and what it took to bring a fault back from how it was `at_first`.
#[must_use]
pub(super) fn worked(engine: &Engine, call: &Call<'_>, at_first: &[Provocation]) -> f64 {
    let spells = call.entries.iter().filter_map(|e| match &e.event {
        Event::Now { under, .. } => Some(under.as_slice()),
        _ => None,
    });
    let (mut before, mut provoking) = (at_first, 0.0);
    for under in spells {
        if before != under {
            provoking += under.iter().map(|p| provoking_minutes(*p)).sum::<f64>();
        }
        before = under;
    }
    minutes(engine, call) + provoking
}

/// Something on a trainee's list.
#[derive(Debug, Clone, PartialEq)]
pub struct Doable {
    /// What it is.
    pub act: Act,
    /// What is shown.
    pub title: String,
    /// Where it is done.
    pub place: String,
    /// Minutes of work.
    pub minutes: f64,
    words: String,
}

impl Doable {
    /// Whether every word typed is in its title.
    #[must_use]
    pub fn is_called(&self, typed: &str) -> bool {
        let title = self.title.to_lowercase();
        typed.to_lowercase().split_whitespace().all(|word| title.contains(word))
    }

    /// Whether every word typed is found in it: as it is, or in one of its words with a letter wrong.
    #[must_use]
    pub fn is_meant_by(&self, typed: &str) -> bool {
        let place = self.place.to_lowercase();
        let near = |word: &str| {
            let with_typo = |w: &str| word.len() > 4 && strsim::damerau_levenshtein(w, word) <= 1;
            self.words.contains(word)
                || place.contains(word)
                || self.words.split(|c: char| !c.is_alphanumeric()).any(with_typo)
        };
        typed.to_lowercase().split_whitespace().all(near)
    }
}

fn retested(line: &str, passed: bool) -> Event {
    Event::Retest {
        line: line.to_owned(),
        passed: Some(passed),
        note: String::new(),
        each: Vec::new(),
    }
}

fn test_words(test: &Test) -> String {
    format!("{} {} {}", test.title, test.ask, test.tools.join(" ")).to_lowercase()
}

/// The seed of a drill's site, as its journal has it.
pub(super) fn seed_of<'e>(events: impl IntoIterator<Item = &'e Event>) -> u64 {
    let seed = events.into_iter().find_map(|e| match e {
        Event::Drill { seed, .. } => Some(*seed),
        _ => None,
    });
    seed.unwrap_or_default()
}
