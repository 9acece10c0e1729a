//! The fold: what the events so far mean.
//!
//! Of the answers with one key (quantity, repair state, spell) the latest of the highest rank counts, unless the person
//! prefers another. Everything else follows from the set of counting answers and the repairs between them.

use std::collections::{BTreeMap, BTreeSet};

use super::event::{Entry, Event, Rank, Retested, Seen, Target};
use super::reading::{Evaluated, evaluate_with};
use super::terms::{Terms, not_carried};
use super::{Earlier, Engine, Journal, JournalError, callback};
use crate::belief::{Answer, Belief, Conflict, Epoch, Evidence, Prior, Proof, Spell, conflict};
use crate::knowledge::schema::{At, Condition, Each, Ending, Now, Provocation, Severity, Who};
use crate::model::{CauseId, Model, SiteFacts, SymptomId, TestId};
use crate::plan::{Choice, Situation, Standing};
use crate::visit::VisitPlan;

/// How the reason of a stop begins that comes from the belief.
pub const DANGER: &str = "danger: ";

/// An answer with all that is known about it.
#[derive(Debug, Clone, PartialEq)]
pub struct Counted {
    /// Position of its event.
    pub event: usize,
    /// Which test.
    pub test: TestId,
    /// Outcome it lies in.
    pub outcome: usize,
    /// The numbers, for a numeric test.
    pub numbers: Option<Evaluated>,
    /// Where it comes from.
    pub by: Rank,
    /// Repairs done before it.
    pub epoch: usize,
    /// Spell within the epoch.
    pub spell: usize,
    /// Whether it counts, or another about the same quantity does.
    pub counts: bool,
}

/// A repair that was done.
#[derive(Debug, Clone, PartialEq)]
pub struct RepairDone {
    /// Position of its event.
    pub event: usize,
    /// Repair id.
    pub repair: String,
    /// What was noted.
    pub note: String,
    /// Symptom → what the proof run showed.
    pub proof: BTreeMap<String, Seen>,
}

impl RepairDone {
    /// Every reported symptom was asked, and none is still there.
    #[must_use]
    pub fn all_gone(&self, symptoms: &[String]) -> bool {
        symptoms.iter().all(|s| self.proof.get(s) == Some(&Seen::Gone))
    }
}

/// What a test read when the gate was well.
#[derive(Debug, Clone, PartialEq)]
pub struct Before {
    /// Reading id.
    pub reading: String,
    /// Which of several: a way of travel, a loop, a leaf.
    pub of: Option<String>,
    /// As typed, with its unit.
    pub value: String,
    /// The day it was read.
    pub date: String,
}

impl Before {
    /// "opening: 3.1 A on 2026-03-02".
    #[must_use]
    pub fn say(&self) -> String {
        let of = self.of.as_ref().map(|of| format!("{of}: ")).unwrap_or_default();
        format!("{of}{} on {}", self.value, self.date)
    }
}

/// The gate is out of use.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Stop {
    /// Signs that were answered with yes or unsure and are not put right.
    pub signs: Vec<String>,
    /// A danger in the belief.
    pub danger: Option<Severity>,
    /// Put out of use by the technician, or after a retest that failed: why.
    pub decided: Option<String>,
    /// Made safe, signed, told in writing.
    pub made_safe: bool,
}

impl Stop {
    /// Whether nothing holds the gate out of use any more.
    fn is_settled(&self) -> bool {
        self.signs.is_empty() && self.danger.is_none() && self.decided.is_none()
    }
}

/// A call.
pub struct Call<'a> {
    /// Knowledge and tables.
    pub engine: &'a Engine,
    /// Events in order.
    pub entries: Vec<Entry>,
    journal: Option<Journal>,
    /// The fold's result.
    pub(super) state: State,
    belief: Belief,
    /// The prior of the site as it was when last looked at: most answers leave the site as it is.
    prior: Option<(SiteFacts, Prior)>,
    /// Calls at the same site that this one can be a callback of.
    earlier: Vec<Earlier>,
}

/// What the events mean.
#[derive(Debug, Clone)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is one thing that was or was not said"
)]
pub(super) struct State {
    pub(super) at: At,
    pub(super) who: Who,
    pub(super) signs_asked: bool,
    pub(super) stop: Option<Stop>,
    pub(super) words: String,
    pub(super) symptoms: Vec<String>,
    pub(super) denied: Vec<String>,
    pub(super) now_asked: bool,
    pub(super) situation: Situation,
    pub(super) counted: Vec<Counted>,
    pub(super) repairs: Vec<RepairDone>,
    pub(super) cleared: bool,
    pub(super) entitled: Option<String>,
    pub(super) picked: Option<Target>,
    pub(super) device_off: Option<String>,
    pub(super) retest: BTreeMap<String, (Option<bool>, String)>,
    pub(super) retested: BTreeMap<String, Vec<Retested>>,
    pub(super) given_back: bool,
    pub(super) watched: Option<bool>,
    pub(super) notes: Vec<String>,
    pub(super) ended: Option<(Ending, String)>,
    pub(super) retracted: BTreeSet<usize>,
    pub(super) other_knowledge: bool,
    pub(super) unknown_entries: usize,
    pub(super) settled_since_stop: bool,
    pub(super) preferred: BTreeSet<usize>,
    pub(super) caller_placed: bool,
    pub(super) visit: Option<VisitPlan>,
    pub(super) callback: Option<(String, String)>,
    pub(super) remembered: BTreeMap<String, (String, String)>,
    pub(super) baselines: Vec<(String, Before)>,
    pub(super) fitted: Vec<(Each, String)>,
    pub(super) terms: Terms,
    /// Tools that the terms say are not in the truck.
    not_carried: BTreeSet<String>,
}

impl<'a> Call<'a> {
    /// A call without a file, for cases and tests.
    #[must_use]
    pub fn in_memory(engine: &'a Engine, entries: Vec<Entry>) -> Self {
        Self::with(engine, entries, None)
    }

    /// A call with its file.
    #[must_use]
    pub fn with(engine: &'a Engine, entries: Vec<Entry>, journal: Option<Journal>) -> Self {
        let mut call = Self {
            journal,
            ..Self::folded(engine, entries)
        };
        call.believe();
        call
    }

    /// What the entries say, without working out what to believe of it: for reading many calls. [`Call::belief`] is empty.
    #[must_use]
    pub fn folded(engine: &'a Engine, entries: Vec<Entry>) -> Self {
        let state = State::fold(engine, &entries);
        let belief = Belief {
            branches: Vec::new(),
            total: 0.0,
        };
        Self {
            engine,
            entries,
            journal: None,
            state,
            belief,
            prior: None,
            earlier: Vec::new(),
        }
    }

    /// Earlier calls at this site: a complaint that is recorded from now on may be a callback of one.
    pub fn know_earlier(&mut self, earlier: Vec<Earlier>) {
        self.earlier = earlier;
    }

    /// Adds an event: on disk first, then in the state. A complaint that is a callback is followed by the event that says so.
    ///
    /// # Errors
    /// When the disk says no; the state is then as before.
    pub fn record(&mut self, entry: Entry) -> Result<(), JournalError> {
        let callback = callback::of_entry(&self.earlier, &entry);
        self.put(entry)?;
        callback.map_or(Ok(()), |event| self.put(event))
    }

    fn put(&mut self, entry: Entry) -> Result<(), JournalError> {
        if let Some(journal) = &mut self.journal {
            journal.append(&entry)?;
        }
        self.entries.push(entry);
        self.state = State::fold(self.engine, &self.entries);
        self.believe();
        Ok(())
    }

    /// Works the belief out anew; nothing is believed of a gate of which nothing was reported.
    fn believe(&mut self) {
        if self.state.symptoms.is_empty() {
            return;
        }
        let site = &self.state.situation.site;
        if self.prior.as_ref().is_none_or(|(of, _)| of != site) {
            self.prior = Some((site.clone(), self.engine.planner().prior(&self.state.situation)));
        }
        if let Some((_, prior)) = &self.prior {
            let evidence = &self.state.situation.evidence;
            self.belief = Belief::new(&self.engine.model, prior, evidence);
            if self.belief.total <= 0.0
                && let Conflict::Impossible { retake } = conflict(&self.engine.model, prior, evidence)
            {
                // The answers exclude everything: rank as before the last that can be to blame.
                self.belief = Belief::new(&self.engine.model, prior, &evidence.filtered(&|event| event != retake));
            }
        }
        self.settle_stop();
    }

    /// A stop by belief begins at the threshold and lifts, once a step that settles it was recorded, below half of it.
    fn settle_stop(&mut self) {
        let model = &self.engine.model;
        let limits = model.settings.stop_at;
        if self.state.symptoms.is_empty() || self.belief.total <= 0.0 {
            return;
        }
        let over = crate::plan::over_threshold(model, &self.belief, limits, 1.0);
        let over_half = crate::plan::over_threshold(model, &self.belief, limits, 0.5);
        let was_stopped = self.state.stop.as_ref().is_some_and(|s| s.made_safe);
        if let Some(stop) = &mut self.state.stop {
            // Nobody lifts a stop by what a caller says.
            let looked = self.state.settled_since_stop && self.state.at == At::Gate;
            let lifted = was_stopped && over_half.is_none() && looked;
            stop.danger = if lifted {
                None
            } else {
                over.or(over_half).or(stop.danger)
            };
            if stop.is_settled() {
                self.state.stop = None;
            }
        } else if over.is_some() && (self.state.answers_so_far() > 0 || self.settling_test().is_none()) {
            self.state.stop = Some(Stop {
                danger: over,
                ..Stop::default()
            });
        }
        self.state.situation.stopped = self.state.stop.is_some();
        let signs = self.state.stop.as_ref().map_or(&[][..], |s| &s.signs);
        self.state.situation.signs = !signs.is_empty();
        // While a sign stands that is another's business, only what anyone may do is left.
        let others = |id: &String| {
            self.engine
                .knowledge
                .signs
                .get(id)
                .is_some_and(|s| s.who > self.state.who)
        };
        if signs.iter().any(others) {
            self.state.situation.who = Who::Anyone;
        }
    }

    /// The cheapest safe test that bears on the danger: on the causes whose severity is over its threshold, or, under a hazard sign, on those as
    /// severe as the sign.
    #[must_use]
    pub fn settling_test(&self) -> Option<TestId> {
        let dangers = crate::plan::dangers(&self.engine.model, &self.belief);
        self.settling(self.state.situation.clone(), dangers)
    }

    /// Likewise after a repair: what was read before it of the causes that it is meant for is read again.
    pub(super) fn settling_again(&self) -> Option<TestId> {
        let model = &self.engine.model;
        let mut dangers = crate::plan::dangers(model, &self.belief);
        let cured = self.cured_causes();
        dangers.retain(|c| cured.contains(&c.index()));
        let epoch = self.state.repairs.len();
        let since: BTreeSet<TestId> = self
            .state
            .counted
            .iter()
            .filter(|c| c.epoch == epoch)
            .map(|c| c.test)
            .collect();
        let mut situation = self.state.situation.clone();
        situation
            .answered
            .retain(|t| since.contains(t) || !crate::plan::settles(model, *t, &dangers));
        // What anyone may be asked is remembered from before the repair.
        let tests = (0..).map(TestId::at).zip(self.engine.knowledge.tests.values());
        situation
            .answered
            .extend(tests.filter(|(_, test)| test.who == Who::Anyone).map(|(id, _)| id));
        self.settling(situation, dangers)
    }

    fn settling(&self, situation: Situation, mut dangers: Vec<CauseId>) -> Option<TestId> {
        let model = &self.engine.model;
        let signs = self.stop().map_or(&[][..], |s| &s.signs);
        let of_sign = |id: &String| self.engine.knowledge.signs.get(id).map(|s| s.severity);
        if let Some(least) = signs.iter().filter_map(of_sign).min() {
            dangers.extend(
                (0..model.causes())
                    .filter(|&c| model.severity[c] >= least)
                    .map(CauseId::at),
            );
        }
        dangers.sort_unstable();
        dangers.dedup();
        crate::plan::settling(&self.engine.planner(), &self.belief, situation, &dangers)
    }

    /// The belief now.
    #[must_use]
    pub fn belief(&self) -> &Belief {
        &self.belief
    }

    /// The plan's choice now.
    #[must_use]
    pub fn choice(&self) -> Choice {
        self.engine.planner().choose(&self.state.situation, &self.belief)
    }

    /// What the plan sees.
    #[must_use]
    pub fn situation(&self) -> &Situation {
        &self.state.situation
    }

    /// Every answer, counting or not.
    #[must_use]
    pub fn answers(&self) -> &[Counted] {
        &self.state.counted
    }

    /// Repairs done, in order.
    #[must_use]
    pub fn repairs(&self) -> &[RepairDone] {
        &self.state.repairs
    }

    /// Reported symptoms.
    #[must_use]
    pub fn symptoms(&self) -> &[String] {
        &self.state.symptoms
    }

    /// What the caller said.
    #[must_use]
    pub fn words(&self) -> &str {
        &self.state.words
    }

    /// Why the gate is out of use, if it is.
    #[must_use]
    pub fn stop(&self) -> Option<&Stop> {
        self.state.stop.as_ref()
    }

    /// On the phone or at the gate.
    #[must_use]
    pub fn at(&self) -> At {
        self.state.at
    }

    /// Results of the retest: line id → passed (`None`: not done) and remark.
    #[must_use]
    pub fn retest(&self) -> &BTreeMap<String, (Option<bool>, String)> {
        &self.state.retest
    }

    /// Devices or places of a line of the retest, as it was done last.
    #[must_use]
    pub fn retested(&self, line: &str) -> &[Retested] {
        self.state.retested.get(line).map_or(&[], Vec::as_slice)
    }

    /// What the site file lists of these, in its order.
    #[must_use]
    pub fn fitted(&self, each: Each) -> Vec<&str> {
        let of = |listed: Each| listed == each || (each == Each::Device && matches!(listed, Each::Eye | Each::Edge));
        let listed = self.state.fitted.iter().filter(|(listed, _)| of(*listed));
        listed.map(|(_, what)| what.as_str()).collect()
    }

    /// Remarks.
    #[must_use]
    pub fn notes(&self) -> &[String] {
        &self.state.notes
    }

    /// How it ended.
    #[must_use]
    pub fn ending(&self) -> Option<&(Ending, String)> {
        self.state.ended.as_ref()
    }

    /// The earlier call of which this one is a callback: its id, and that in words.
    #[must_use]
    pub fn callback(&self) -> Option<(&str, &str)> {
        let (of, text) = self.state.callback.as_ref().filter(|_| !self.symptoms().is_empty())?;
        Some((of, text))
    }

    /// What the site file says of a fact that has to be asked again: the value, and whence.
    #[must_use]
    pub fn remembered(&self, fact: &str) -> Option<(&str, &str)> {
        let (value, from) = self.state.remembered.get(fact)?;
        Some((value, from))
    }

    /// What a test read when the gate was well, as the site file had it when the call was opened.
    pub fn baselines(&self, test: &str) -> impl Iterator<Item = &Before> {
        let of_test = self.state.baselines.iter().filter(move |(id, _)| id == test);
        of_test.map(|(_, before)| before)
    }

    /// Events that no longer count.
    #[must_use]
    pub fn retracted(&self) -> &BTreeSet<usize> {
        &self.state.retracted
    }

    /// Opened with other knowledge than today's.
    #[must_use]
    pub fn other_knowledge(&self) -> bool {
        self.state.other_knowledge
    }

    /// Entries that name something today's knowledge does not have.
    #[must_use]
    pub fn unknown_entries(&self) -> usize {
        self.state.unknown_entries
    }

    /// How the person asking was verified.
    #[must_use]
    pub fn entitlement(&self) -> Option<&str> {
        self.state.entitled.as_deref()
    }

    /// The travel was seen to be clear, and nothing has moved since.
    #[must_use]
    pub fn clear_to_move(&self) -> bool {
        self.state.cleared
    }

    /// The hazard signs were asked or looked for.
    #[must_use]
    pub fn signs_asked(&self) -> bool {
        self.state.signs_asked
    }

    /// The visit that was planned on the phone.
    #[must_use]
    pub fn visit(&self) -> Option<&VisitPlan> {
        self.state.visit.as_ref()
    }

    /// The protection device that is unplugged for a test.
    #[must_use]
    pub fn device_off(&self) -> Option<&str> {
        self.state.device_off.as_deref()
    }

    /// What was held off or wiped was given back.
    #[must_use]
    pub fn given_back(&self) -> bool {
        self.state.given_back
    }

    /// What the settings of whoever takes the call change in it.
    #[must_use]
    pub fn terms(&self) -> &Terms {
        &self.state.terms
    }

    /// The last event that a person gave an answer with and that still counts: what *back* takes away.
    #[must_use]
    pub fn last_answer(&self) -> Option<usize> {
        (0..self.entries.len())
            .rev()
            .find(|i| !self.state.retracted.contains(i) && is_answer(&self.entries[*i].event))
    }
}

/// Whether an event answers a step (and can be taken back).
fn is_answer(event: &Event) -> bool {
    !matches!(
        event,
        Event::Opened { .. }
            | Event::Terms(_)
            | Event::Resumed { .. }
            | Event::Retracted { .. }
            | Event::Paused
            | Event::Drill { .. }
            | Event::Shortcut { .. }
            | Event::Note { .. }
            | Event::Picked { .. }
            | Event::Fact { from: Some(_), .. }
            | Event::Remembered { .. }
            | Event::Baseline { .. }
            | Event::Fitted { .. }
            | Event::Callback { .. }
    )
}

impl State {
    fn start() -> Self {
        Self {
            at: At::Gate,
            who: Who::Technician,
            signs_asked: false,
            stop: None,
            words: String::new(),
            symptoms: Vec::new(),
            denied: Vec::new(),
            now_asked: false,
            situation: Situation::starting(Evidence::reported(Vec::new())),
            counted: Vec::new(),
            repairs: Vec::new(),
            cleared: false,
            entitled: None,
            picked: None,
            device_off: None,
            retest: BTreeMap::new(),
            retested: BTreeMap::new(),
            given_back: false,
            watched: None,
            notes: Vec::new(),
            ended: None,
            retracted: BTreeSet::new(),
            other_knowledge: false,
            unknown_entries: 0,
            settled_since_stop: false,
            preferred: BTreeSet::new(),
            caller_placed: false,
            visit: None,
            callback: None,
            remembered: BTreeMap::new(),
            baselines: Vec::new(),
            fitted: Vec::new(),
            terms: Terms::default(),
            not_carried: BTreeSet::new(),
        }
    }

    /// Answers and repairs so far.
    pub(super) fn answers_so_far(&self) -> usize {
        self.counted.len() + self.repairs.len()
    }

    fn fold(engine: &Engine, entries: &[Entry]) -> Self {
        let mut state = Self::start();
        for entry in entries {
            if let Event::Retracted { entry } = entry.event {
                state.retracted.insert(entry);
            }
        }
        let retracted = state.retracted.clone();
        for (i, entry) in entries.iter().enumerate() {
            if let Event::Retracted { entry: target } = &entry.event {
                // Taking back work on the gate is work on the gate: what was retested before no longer counts.
                if let Some(Event::Repaired { repair, .. }) = entries.get(*target).map(|e| &e.event) {
                    state.void_retest(engine, repair);
                }
            } else if !retracted.contains(&i) {
                state.apply(engine, i, &entry.event);
            }
        }
        state.count(engine);
        state
    }

    #[expect(clippy::too_many_lines, reason = "one arm an event; splitting would hide the table")]
    fn apply(&mut self, engine: &Engine, at: usize, event: &Event) {
        let knowledge = &engine.knowledge;
        match event {
            Event::Opened {
                knowledge: fingerprint,
                at,
                who,
                ..
            } => {
                self.at = *at;
                self.who = *who;
                self.arrive(engine);
                self.other_knowledge = *fingerprint != knowledge.fingerprint;
            }
            Event::Terms(terms) => self.agree(engine, terms),
            Event::Resumed {
                knowledge: fingerprint,
                at,
            } => {
                self.other_knowledge |= *fingerprint != knowledge.fingerprint;
                self.cleared = false;
                self.caller_placed = false;
                if self.at != *at {
                    self.at = *at;
                    self.signs_asked = false;
                    self.now_asked = false;
                    // A caller who was told to keep away has made nothing safe.
                    if let Some(stop) = &mut self.stop {
                        stop.made_safe = false;
                    }
                    self.arrive(engine);
                }
                if *at == At::Phone {
                    self.visit = None;
                }
            }
            Event::Caller { .. } => self.caller_placed = true,
            Event::Visit { plan } => self.visit = Some((**plan).clone()),
            Event::Signs { yes, unsure } => {
                self.signs_asked = true;
                let signs: Vec<String> = yes.iter().chain(unsure).cloned().collect();
                if signs.is_empty() {
                    if let Some(stop) = &mut self.stop {
                        stop.signs.clear();
                        if stop.is_settled() {
                            self.stop = None;
                        }
                    }
                } else {
                    let made_safe = self.stop.as_ref().is_some_and(|s| s.made_safe);
                    self.stop = Some(Stop {
                        signs,
                        made_safe,
                        ..Stop::default()
                    });
                }
            }
            Event::SignsCleared { signs, .. } => {
                if let Some(stop) = &mut self.stop {
                    stop.signs.retain(|s| !signs.contains(s));
                    stop.decided = stop.decided.take().filter(|why| !signs.contains(why));
                    if stop.is_settled() {
                        self.stop = None;
                    }
                }
            }
            Event::Complaint { words, symptoms } => {
                // Whether this one is a callback is said after it.
                self.callback = None;
                self.words.clone_from(words);
                self.symptoms.clone_from(symptoms);
                self.unknown_entries += symptoms.iter().filter(|s| engine.model.symptom_id(s).is_none()).count();
            }
            Event::Denied { symptom } => self.denied.push(symptom.clone()),
            Event::Fact { fact, value, .. } => {
                self.clear_pick(&Target::Fact(fact.clone()));
                match value {
                    Some(value) => self.situation.site.learn(fact, value),
                    None => {
                        self.situation.unknowable.insert(fact.clone());
                    }
                }
            }
            Event::Now { now, under } => {
                self.now_asked = true;
                self.open_spell(Some(*now), under.clone());
            }
            Event::Condition { condition, done: true } => {
                self.situation.standing.switch(*condition);
                self.situation.cannot.remove(condition);
                self.cleared = false;
            }
            Event::Condition { condition, done: false } => {
                self.situation.cannot.insert(*condition);
            }
            Event::Clearance { confirmed } => {
                self.cleared = *confirmed;
                self.situation.no_movement = !confirmed;
            }
            Event::Entitled { how } => self.entitled = Some(how.clone()),
            Event::Answer {
                test,
                outcome,
                readings,
                by,
                ..
            } => {
                self.answer(engine, at, test, outcome.as_deref(), readings, *by);
            }
            Event::Cannot { target } | Event::Skipped { target } => self.block(engine, target),
            Event::Picked { target } => {
                self.unblock(engine, target);
                self.picked = Some(target.clone());
            }
            Event::Prefer { answer } => {
                self.preferred.insert(*answer);
            }
            Event::DeviceBack { device } => {
                if self.device_off.as_ref() == Some(device) {
                    self.device_off = None;
                    self.situation.device_off = false;
                }
            }
            Event::Tool { tool, at_hand } => {
                if *at_hand {
                    self.situation.missing_tools.remove(tool);
                } else {
                    self.situation.missing_tools.insert(tool.clone());
                }
            }
            Event::Repaired { repair, note } => self.repaired(engine, at, repair, note),
            Event::Proof { symptom, seen } => {
                self.cleared = false;
                if let Some(last) = self.repairs.last_mut() {
                    last.proof.insert(symptom.clone(), *seen);
                }
                if let (Some(id), Some(epoch)) = (
                    engine.model.symptom_id(symptom),
                    self.situation.evidence.epochs.last_mut(),
                ) && *seen != Seen::CantTell
                {
                    epoch.proofs.retain(|p| p.symptom != id);
                    epoch.proofs.push(Proof {
                        symptom: id,
                        still_there: *seen == Seen::StillThere,
                        event: at,
                    });
                }
            }
            Event::Watched { shown } => {
                self.watched = Some(*shown);
                self.cleared = false;
                let under = self.situation.evidence.under().to_vec();
                self.open_spell(Some(if *shown { Now::Present } else { Now::Away }), under);
            }
            Event::OutOfUse { why, made_safe } => {
                let stop = self.stop.get_or_insert_with(Stop::default);
                if stop.signs.is_empty() && stop.danger.is_none() && !why.iter().any(|w| w.starts_with(DANGER)) {
                    stop.decided = Some(why.join("; "));
                }
                stop.made_safe |= *made_safe;
                self.settled_since_stop = false;
                // On the phone a caller was told to keep away: nothing is isolated or secured by that.
                if *made_safe && self.at == At::Gate {
                    self.situation.standing.switch(Condition::Isolated);
                    self.situation.standing.switch(Condition::LeafSecured);
                }
            }
            Event::Fitted { each, what } => self.fitted.extend(what.iter().map(|w| (*each, w.clone()))),
            Event::Retest {
                line,
                passed,
                note,
                each,
            } => {
                self.retest.insert(line.clone(), (*passed, note.clone()));
                self.retested.insert(line.clone(), each.clone());
            }
            Event::GivenBack { .. } => self.given_back = true,
            Event::Note { text } => self.notes.push(text.clone()),
            Event::Ended { ending, text } => self.ended = Some((*ending, text.clone())),
            Event::Remembered { fact, value, from } => {
                self.remembered.insert(fact.clone(), (value.clone(), from.clone()));
            }
            Event::Baseline {
                test,
                reading,
                of,
                value,
                date,
            } => self.baselines.push((
                test.clone(),
                Before {
                    reading: reading.clone(),
                    of: of.clone(),
                    value: value.clone(),
                    date: date.clone(),
                },
            )),
            Event::Callback { of, text } => self.callback = Some((of.clone(), text.clone())),
            Event::Retracted { .. } | Event::Paused | Event::Drill { .. } | Event::Shortcut { .. } => {}
        }
    }

    /// With a caller nobody is at the gate; who arrives there finds it as it is, and can do what the caller could not.
    fn arrive(&mut self, engine: &Engine) {
        self.situation.standing = match self.at {
            At::Phone => Standing::on_the_phone(),
            At::Gate => Standing::arriving(),
        };
        self.situation.blocked.clear();
        self.situation.unknowable.clear();
        self.situation.cannot.clear();
        self.situation.tried = self.situation.evidence.repairs.iter().copied().collect();
        self.situation.no_movement = false;
        self.given_back = false;
        self.picked = None;
        self.carry(engine);
    }

    /// From here on these terms hold.
    fn agree(&mut self, engine: &Engine, terms: &Terms) {
        self.terms = terms.clone();
        self.carry(engine);
    }

    /// What is not in the truck is not at hand. On the phone the tools of a truck are nobody's concern.
    fn carry(&mut self, engine: &Engine) {
        for tool in std::mem::take(&mut self.not_carried) {
            self.situation.missing_tools.remove(&tool);
        }
        if self.at == At::Gate {
            self.not_carried = not_carried(&engine.knowledge, &self.terms.carries);
            // What the visit was loaded with is there.
            let loaded = self.visit.iter().flat_map(|v| &v.load).flat_map(|line| &line.things);
            loaded.for_each(|thing| {
                self.not_carried.remove(&thing.name);
            });
            self.situation.missing_tools.extend(self.not_carried.iter().cloned());
        }
    }

    fn open_spell(&mut self, now: Option<Now>, under: Vec<Provocation>) {
        if let Some(epoch) = self.situation.evidence.epochs.last_mut() {
            epoch.spells.push(Spell {
                now,
                under,
                answers: Vec::new(),
            });
        }
    }

    fn answer(
        &mut self,
        engine: &Engine,
        event: usize,
        test: &str,
        outcome: Option<&str>,
        readings: &BTreeMap<String, String>,
        by: Rank,
    ) {
        self.clear_pick(&Target::Test(test.to_owned()));
        let (Some(id), Some(entry)) = (engine.model.test(test), engine.knowledge.tests.get(test)) else {
            self.unknown_entries += 1;
            return;
        };
        let table = &engine.model.tests[id.index()];
        let (outcome, numbers) = match outcome {
            Some(outcome) => (table.outcome(outcome), None),
            // A journal holds only what was accepted when it was typed: out-of-range was confirmed then.
            None => match evaluate_with(
                &engine.knowledge,
                &self.terms.meters,
                entry,
                readings,
                &self.situation.site,
                true,
            ) {
                Ok(evaluated) => (Some(evaluated.outcome), Some(evaluated)),
                Err(_) => (None, None),
            },
        };
        let Some(outcome) = outcome else {
            self.unknown_entries += 1;
            return;
        };
        self.situation.answered.insert(id);
        self.situation.blocked.remove(&id);
        self.settled_since_stop = true;
        self.go(engine.planner().costs().test(id));
        if entry.moves != crate::knowledge::schema::Moves::No {
            self.cleared = false;
        }
        if let Some(device) = &entry.unplugs {
            self.device_off = Some(device.clone());
            self.situation.device_off = true;
        }
        let epoch = self.situation.evidence.epochs.len() - 1;
        if self.situation.evidence.epochs[epoch].spells.is_empty() {
            self.open_spell(None, Vec::new());
        }
        let spell = self.situation.evidence.epochs[epoch].spells.len() - 1;
        self.counted.push(Counted {
            event,
            test: id,
            outcome,
            numbers,
            by,
            epoch,
            spell,
            counts: true,
        });
    }

    fn go(&mut self, action: &crate::plan::ActionCosts) {
        let costs_nothing_to_reach = action.place.is_none() && action.covers.is_empty();
        if !costs_nothing_to_reach {
            self.situation.standing.at = action.place.or(self.situation.standing.at);
            self.situation.standing.open.extend(action.covers.iter().copied());
        }
    }

    fn block(&mut self, engine: &Engine, target: &Target) {
        self.clear_pick(target);
        match target {
            Target::Test(id) => self.situation.blocked.extend(engine.model.test(id)),
            Target::Repair(id) => self.situation.tried.extend(engine.model.repair(id)),
            Target::Fact(id) => {
                self.situation.unknowable.insert(id.clone());
            }
        }
    }

    fn unblock(&mut self, engine: &Engine, target: &Target) {
        match target {
            Target::Test(id) => {
                if let Some(id) = engine.model.test(id) {
                    self.situation.blocked.remove(&id);
                    self.situation.answered.remove(&id);
                }
            }
            Target::Repair(id) => {
                if let Some(id) = engine.model.repair(id) {
                    self.situation.tried.remove(&id);
                }
            }
            Target::Fact(id) => {
                self.situation.unknowable.remove(id);
            }
        }
    }

    fn clear_pick(&mut self, done: &Target) {
        if self.picked.as_ref() == Some(done) {
            self.picked = None;
        }
    }

    fn repaired(&mut self, engine: &Engine, event: usize, repair: &str, note: &str) {
        self.clear_pick(&Target::Repair(repair.to_owned()));
        let Some(id) = engine.model.repair(repair) else {
            self.unknown_entries += 1;
            return;
        };
        self.void_retest(engine, repair);
        self.situation.tried.insert(id);
        self.settled_since_stop = true;
        self.go(engine.planner().costs().repair(id));
        self.cleared = false;
        self.watched = None;
        let under = self.situation.evidence.under().to_vec();
        self.situation.evidence.repairs.push(id);
        self.situation.evidence.epochs.push(Epoch::default());
        self.open_spell(None, under);
        let proof = BTreeMap::new();
        self.repairs.push(RepairDone {
            event,
            repair: repair.to_owned(),
            note: note.to_owned(),
            proof,
        });
    }

    fn void_retest(&mut self, engine: &Engine, repair: &str) {
        let touches = engine.knowledge.repairs.get(repair).map_or(&[][..], |r| &r.touches);
        if touches.iter().any(|t| t.voids_retest()) {
            self.retest.clear();
            self.retested.clear();
        }
        self.given_back = false;
    }

    /// Puts the counting answers into the evidence.
    fn count(&mut self, engine: &Engine) {
        let model = &engine.model;
        self.situation.at = self.at;
        self.situation.who = self.who;
        let known = |ids: &[String]| -> Vec<SymptomId> { ids.iter().filter_map(|s| model.symptom_id(s)).collect() };
        self.situation.evidence.symptoms = known(&self.symptoms);
        self.situation.evidence.denied = known(&self.denied);
        let mut best: BTreeMap<(String, usize, usize), usize> = BTreeMap::new();
        for i in 0..self.counted.len() {
            let new = &self.counted[i];
            if self.is_outranked(model, new) {
                continue;
            }
            let key = (model.tests[new.test.index()].quantity.clone(), new.epoch, new.spell);
            let wins = best.get(&key).is_none_or(|&old| {
                let old = &self.counted[old];
                let weight = |c: &Counted| (self.preferred.contains(&c.event), c.by, c.event);
                weight(new) >= weight(old)
            });
            if wins {
                best.insert(key, i);
            }
        }
        let winners: BTreeSet<usize> = best.into_values().collect();
        for i in 0..self.counted.len() {
            self.counted[i].counts = winners.contains(&i);
            if self.counted[i].counts {
                let answer = Self::likelihood(engine, &self.counted[i]);
                let epoch = &mut self.situation.evidence.epochs[self.counted[i].epoch];
                epoch.spells[self.counted[i].spell].answers.push(answer);
            }
        }
        let told = self.counted.iter().filter(|c| c.counts && c.by == Rank::Told);
        self.situation.told = told
            .filter(|_| self.at == At::Gate)
            .map(|c| (c.test, c.outcome))
            .collect();
    }

    /// What a caller told gives way to what somebody saw of the same at the gate, whether or not the gate was doing it both times.
    fn is_outranked(&self, model: &Model, told: &Counted) -> bool {
        let quantity = |c: &Counted| &model.tests[c.test.index()].quantity;
        let same = |c: &Counted| c.epoch == told.epoch && quantity(c) == quantity(told);
        told.by == Rank::Told
            && !self.preferred.contains(&told.event)
            && self.counted.iter().any(|c| c.by > Rank::Told && same(c))
    }

    fn likelihood(engine: &Engine, counted: &Counted) -> Answer {
        let k = engine.model.tests[counted.test.index()].outcomes.len();
        match (&counted.numbers, counted.by) {
            (Some(numbers), _) => Answer {
                test: counted.test,
                likelihood: numbers.likelihood.clone(),
                event: counted.event,
            },
            (None, Rank::Told) => {
                let reliability = engine.planner().reliability(counted.test);
                Answer::told(counted.test, counted.outcome, k, reliability, counted.event)
            }
            (None, _) => Answer::observed(counted.test, counted.outcome, k, counted.event),
        }
    }
}
