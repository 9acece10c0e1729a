//! What comes next in a call. Safety first, then what was begun, then the plan.

use std::collections::BTreeSet;

use super::event::{Seen, Target};
use super::state::Call;
use crate::knowledge::schema::{At, Cause, Condition, Ending, Moves, Now, Who};
use crate::model::{CauseId, RepairId, TestId};
use crate::plan::{Action, Choice};

/// After a proven repair, a cause with this posterior is looked for before the retest.
pub(crate) const ALSO_CHECK: f64 = 0.05;
/// From this posterior on it counts as found, and is repaired before the call can close.
const FOUND: f64 = 0.5;
/// Likewise one that a cured cause brings on.
pub(crate) const LINKED_CHECK: f64 = 0.01;

/// A fact is asked before the walk when the causes that hang on it have this share of the posterior.
const OPENING_MATTERS: f64 = 0.05;

/// What a step of the plan is for.
#[derive(Debug, Clone, PartialEq)]
pub enum Purpose {
    /// The plan chose it; with its reasons.
    Plan(Box<Choice>),
    /// What it shows is lost once anything is pressed or switched.
    First,
    /// A danger has to be settled before anything else.
    Settles,
    /// A cause that goes with one that was found has to be looked for.
    AlsoCheck {
        /// The cause.
        cause: String,
    },
    /// The person picked it.
    Picked,
}

/// One step.
#[derive(Debug, Clone, PartialEq)]
pub enum Step {
    /// On the phone: where does the caller stand, and who else is there?
    Caller,
    /// Hazard signs.
    Signs,
    /// Put the gate out of use.
    PutOutOfUse,
    /// What does the caller say?
    Complaint,
    /// A fact about the site.
    Fact {
        /// Which.
        fact: String,
        /// The plan's choice, where the plan asks.
        purpose: Option<Purpose>,
    },
    /// Is it doing it now?
    Now,
    /// Bring a condition about.
    Condition {
        /// Which.
        condition: Condition,
        /// What it is for; none: a run of the gate.
        before: Option<Action>,
    },
    /// Confirm that the gate may be moved.
    Clearance {
        /// What it is for; none: a run of the gate.
        before: Option<Action>,
    },
    /// Tick how the person asking was verified.
    Entitlement,
    /// A test.
    Test {
        /// Which.
        test: String,
        /// Why.
        purpose: Purpose,
    },
    /// A protection device must go back.
    DeviceBack {
        /// Fact id of the device.
        device: String,
    },
    /// A repair.
    Repair {
        /// Which.
        repair: String,
        /// Why.
        purpose: Purpose,
    },
    /// Is the symptom gone?
    Proof {
        /// Which.
        symptom: String,
        /// The repair that is proven.
        repair: String,
    },
    /// The danger of a sign has to be put right before the gate is run.
    ClearSigns {
        /// Which.
        signs: Vec<String>,
    },
    /// Run it and watch.
    Watch,
    /// A line of the safety retest.
    Retest {
        /// Which.
        line: String,
    },
    /// Give back what was held off and set again what was wiped.
    GiveBack {
        /// What.
        what: Vec<String>,
    },
    /// On the phone: no question is worth asking any more, somebody has to come.
    Send {
        /// In a sentence.
        why: String,
        /// The plan's figures, where the plan says so.
        choice: Option<Box<Choice>>,
    },
    /// A visit is planned: the call goes on at the gate.
    Booked,
    /// The call can end.
    Finish {
        /// The ending that fits.
        proposed: Ending,
        /// Every ending that is open.
        open: Vec<Ending>,
        /// In a sentence.
        why: String,
    },
    /// It has ended.
    Ended,
}

impl Call<'_> {
    /// The next step.
    #[must_use]
    pub fn next_step(&self) -> Step {
        if self.ending().is_some() {
            return Step::Ended;
        }
        if self.at() == At::Phone && self.state.visit.is_some() {
            return Step::Booked;
        }
        self.safety_first()
            .or_else(|| self.opening())
            .or_else(|| self.begun())
            .or_else(|| self.picked())
            .unwrap_or_else(|| self.planned())
    }

    fn safety_first(&self) -> Option<Step> {
        if self.at() == At::Phone && !self.state.caller_placed {
            return Some(Step::Caller);
        }
        if !self.state.signs_asked && !self.engine.knowledge.signs.is_empty() {
            return Some(Step::Signs);
        }
        let stop = self.stop()?;
        if !stop.made_safe {
            return Some(Step::PutOutOfUse);
        }
        if self.at() != At::Phone || stop.signs.is_empty() {
            return None;
        }
        // What the caller says is still written down: whoever comes has to know what to bring.
        Some(if self.symptoms().is_empty() {
            Step::Complaint
        } else {
            Step::Send {
                why: "a hazard sign stands: nobody near it is asked anything more".to_owned(),
                choice: None,
            }
        })
    }

    fn opening(&self) -> Option<Step> {
        if self.symptoms().is_empty() {
            return Some(Step::Complaint);
        }
        let site = &self.situation().site;
        if site.get("gate-type") == Some("not-covered") {
            let why = "this kind of gate is not covered here: springs and counterbalance; isolate, no release, refer";
            return Some(self.finish(Ending::Referred, why));
        }
        let asked = |fact: &str| site.get(fact).is_some() || self.situation().unknowable.contains(fact);
        let p = self.belief().causes(&self.engine.model);
        let knowledge = &self.engine.knowledge;
        let bears = |cause: &Cause, fact: &str| cause.when.contains_key(fact) || cause.times.contains_key(fact);
        let matters = |fact: &str| {
            let causes = knowledge.causes.values().zip(&p);
            let weight: f64 = causes.filter(|(cause, _)| bears(cause, fact)).map(|(_, p)| p).sum();
            fact == "gate-type" || weight >= OPENING_MATTERS
        };
        // What kind of gate it is comes first: some are not covered at all.
        let opening = || {
            knowledge
                .facts
                .iter()
                .filter(|(id, f)| f.opening && !asked(id) && matters(id))
                .filter(|(_, f)| self.at() == At::Gate || f.caller.is_some())
        };
        let fact = opening()
            .find(|(id, _)| *id == "gate-type")
            .or_else(|| opening().next())
            .map(|(id, _)| id.clone());
        if let Some(fact) = fact {
            return Some(Step::Fact { fact, purpose: None });
        }
        (!self.state.now_asked).then_some(Step::Now)
    }

    /// Something was begun and has to be brought to its end.
    fn begun(&self) -> Option<Step> {
        if let Some(device) = &self.state.device_off {
            return Some(Step::DeviceBack { device: device.clone() });
        }
        let last = self.repairs().last()?;
        let repair = self.engine.knowledge.repairs.get(&last.repair);
        let open = self.symptoms().iter().find(|s| !last.proof.contains_key(*s));
        if let Some(symptom) = open {
            let explains = repair.is_some_and(|r| r.explains);
            let before = if explains || self.at() == At::Phone {
                None
            } else if self.danger_elsewhere() {
                // Nothing can be run for proof while another danger stands: it is gone after first.
                return None;
            } else {
                self.before_running()
            };
            return Some(before.unwrap_or_else(|| Step::Proof {
                symptom: symptom.clone(),
                repair: last.repair.clone(),
            }));
        }
        if last.all_gone(self.symptoms()) {
            Some(self.after_proof())
        } else {
            None
        }
    }

    /// A danger stands, no sign, and what was repaired is not it: causes that no repair so far was meant for hold it up.
    fn danger_elsewhere(&self) -> bool {
        let stop = self.stop().filter(|s| s.signs.is_empty() && s.decided.is_none());
        let Some(severity) = stop.and_then(|s| s.danger) else {
            return false;
        };
        let (model, cured) = (&self.engine.model, self.cured_causes());
        let other = |c: CauseId| model.severity[c.index()] >= severity && !cured.contains(&c.index());
        let chance = self.belief().chance_of(other);
        chance >= 0.5 * model.settings.stop_at.of(severity)
    }

    /// What must hold before the gate is run for proof, watching or retest.
    fn before_running(&self) -> Option<Step> {
        if let Some(stop) = self.stop() {
            if !stop.signs.is_empty() {
                return Some(Step::ClearSigns {
                    signs: stop.signs.clone(),
                });
            }
            // What was read before the repair tells of the time before: the danger may be gone.
            if let Some(test) = self.settling_again() {
                return Some(self.prepare(Action::Test(test), Purpose::Settles));
            }
            return Some(self.finish(
                Ending::OutOfUse,
                "a danger is not ruled out, so the gate can't be run for proof",
            ));
        }
        for condition in [Condition::Powered, Condition::HeldOff] {
            if !self.situation().standing.conditions.contains(&condition)
                && self.engine.knowledge.conditions.contains_key(condition.id())
            {
                if self.situation().cannot.contains(&condition) {
                    return Some(self.finish(Ending::Waiting, "the gate can't be run now, so nothing is proven yet"));
                }
                return Some(Step::Condition {
                    condition,
                    before: None,
                });
            }
        }
        if !self.state.cleared && !self.engine.knowledge.movement.is_empty() {
            if self.situation().no_movement {
                return Some(self.finish(
                    Ending::Waiting,
                    "the gate can't be moved safely now, so nothing is proven yet",
                ));
            }
            return Some(Step::Clearance { before: None });
        }
        None
    }

    /// Every symptom is gone: look for what goes with it, retest, give back, close.
    fn after_proof(&self) -> Step {
        if let Some((cause, test)) = self.also_check() {
            return self.prepare(Action::Test(test), Purpose::AlsoCheck { cause });
        }
        if let Some((cause, repair)) = self.also_found() {
            return self.prepare_first(Action::Repair(repair), Purpose::AlsoCheck { cause });
        }
        let last = self
            .repairs()
            .last()
            .and_then(|r| self.engine.knowledge.repairs.get(&r.repair));
        if last.is_some_and(|r| r.explains) && self.repairs().len() == 1 {
            return self.finish(
                Ending::Explained,
                "it works as it is set; nothing was changed, no device was retested",
            );
        }
        if self.at() == At::Phone {
            return self.finish(
                Ending::Waiting,
                "it seems put right, but only a retest at the gate can close the call as fixed",
            );
        }
        if let Some(line) = self.open_retest_line() {
            if let Some(fact) = self.undecided(&line) {
                return Step::Fact { fact, purpose: None };
            }
            return self.before_running().unwrap_or(Step::Retest { line });
        }
        if !self.state.given_back {
            let what = self.to_give_back();
            if !what.is_empty() {
                return Step::GiveBack { what };
            }
        }
        let not_passed = self
            .retest()
            .values()
            .filter(|(passed, _)| *passed != Some(true))
            .count();
        if not_passed > 0 {
            let why = format!(
                "{not_passed} line(s) of the safety retest are not passed: the gate can't be left in use as fixed"
            );
            return self.finish(Ending::OutOfUse, &why);
        }
        self.finish(Ending::Fixed, "the repair is proven and the safety retest is passed")
    }

    fn open_retest_line(&self) -> Option<String> {
        let lines = self.engine.knowledge.retest.iter();
        lines
            .filter(|(_, line)| self.situation().site.holds(&line.when) != Some(false))
            .map(|(id, _)| id)
            .find(|id| !self.retest().contains_key(*id))
            .cloned()
    }

    /// A fact that decides whether a line of the retest applies here, while nobody was asked.
    fn undecided(&self, line: &str) -> Option<String> {
        let situation = self.situation();
        let when = &self.engine.knowledge.retest.get(line)?.when;
        let unknown = |fact: &&String| situation.site.get(fact).is_none() && !situation.unknowable.contains(*fact);
        when.keys().find(unknown).cloned()
    }

    /// What has to be switched back, and set again after what repairs wiped.
    #[must_use]
    pub fn to_give_back(&self) -> Vec<String> {
        let mut what = Vec::new();
        for condition in &self.situation().standing.conditions {
            if let Some(restore) = self
                .engine
                .knowledge
                .conditions
                .get(condition.id())
                .and_then(|c| c.restore.clone())
            {
                what.push(restore);
            }
        }
        for done in self.repairs() {
            for wiped in self
                .engine
                .knowledge
                .repairs
                .get(&done.repair)
                .map_or(&[][..], |r| &r.wipes)
            {
                let line = format!(
                    "Set again what the repair wiped: {}",
                    format!("{wiped:?}").to_lowercase()
                );
                if !what.contains(&line) {
                    what.push(line);
                }
            }
        }
        what
    }

    /// A cause of at least 5 %, or one that a cured cause brings on, whose cheapest telling test has no answer yet.
    fn also_check(&self) -> Option<(String, TestId)> {
        let model = &self.engine.model;
        let p = self.belief().causes(model);
        let cured = self.cured_causes();
        let linked = |d: usize| {
            cured
                .iter()
                .any(|&c| model.brings_on[c].iter().any(|(e, _)| e.index() == d))
        };
        let worth_a_look = |d: usize| p[d] >= ALSO_CHECK || (linked(d) && p[d] >= LINKED_CHECK);
        (0..model.causes())
            .filter(|&d| !cured.contains(&d) && worth_a_look(d))
            .find_map(|d| {
                let test = self.cheapest_telling(d)?;
                let open = !self.situation().answered.contains(&test) && !self.situation().blocked.contains(&test);
                open.then(|| {
                    self.engine
                        .knowledge
                        .causes
                        .get_index(d)
                        .map(|(id, _)| (id.clone(), test))
                })
                .flatten()
            })
    }

    /// A cause beside those that were cured which is likelier there than not, with the likeliest repair of it that is on offer.
    fn also_found(&self) -> Option<(String, RepairId)> {
        let model = &self.engine.model;
        let (cured, p) = (self.cured_causes(), self.belief().causes(model));
        let planner = self.engine.planner();
        let offer = planner.offer(self.belief(), self.situation(), &self.situation().site);
        let found = (0..model.causes()).filter(|c| !cured.contains(c) && p[*c] >= FOUND);
        let mut with_repair = found.filter_map(|c| {
            let chance = |r: &RepairId| model.repairs[r.index()].chance(CauseId::at(c));
            let cures = (0..offer.repairs.len())
                .map(RepairId::at)
                .filter(|r| offer.repairs[r.index()] && chance(r) > 0.0);
            let repair = cures.max_by(|a, b| chance(a).total_cmp(&chance(b)).then(b.cmp(a)))?;
            self.engine
                .knowledge
                .causes
                .get_index(c)
                .map(|(id, _)| (id.clone(), repair))
        });
        with_repair.next()
    }

    /// The cheapest test that tells a cause from its absence, answered or not, that this visit can do.
    fn cheapest_telling(&self, cause: usize) -> Option<TestId> {
        let situation = self.situation();
        let planner = self.engine.planner();
        let fresh = crate::plan::Situation {
            answered: BTreeSet::new(),
            blocked: BTreeSet::new(),
            ..situation.clone()
        };
        let offer = planner.offer(self.belief(), &fresh, &situation.site);
        let this = [CauseId::at(cause)];
        let cost = |t: &TestId| {
            let action = planner.costs().test(*t);
            action.minutes + planner.costs().access(action, &situation.standing)
        };
        (0..offer.tests.len())
            .map(TestId::at)
            .filter(|t| offer.tests[t.index()] && crate::plan::settles(&self.engine.model, *t, &this))
            // What a caller remembers is of the time before the repair.
            .filter(|t| self.engine.knowledge.tests[t.index()].who != Who::Anyone)
            .min_by(|a, b| cost(a).total_cmp(&cost(b)))
    }

    /// Causes that a done repair is meant for.
    pub(super) fn cured_causes(&self) -> Vec<usize> {
        let model = &self.engine.model;
        self.repairs()
            .iter()
            .filter_map(|r| model.repair(&r.repair))
            .flat_map(|r| model.repairs[r.index()].cures.iter().map(|(c, _)| c.index()))
            .collect()
    }

    fn picked(&self) -> Option<Step> {
        let action = match self.state.picked.as_ref()? {
            Target::Test(id) => Action::Test(self.engine.model.test(id)?),
            Target::Repair(id) => Action::Repair(self.engine.model.repair(id)?),
            Target::Fact(id) => {
                return Some(Step::Fact {
                    fact: id.clone(),
                    purpose: Some(Purpose::Picked),
                });
            }
        };
        Some(self.prepare(action, Purpose::Picked))
    }

    fn planned(&self) -> Step {
        let signs = self.stop().is_some_and(|s| !s.signs.is_empty());
        if signs
            && self.state.answers_so_far() == 0
            && let Some(test) = self.settling_test()
        {
            return self.prepare(Action::Test(test), Purpose::Settles);
        }
        if self.state.answers_so_far() == 0
            && self.stop().is_none()
            && crate::plan::over_threshold(
                &self.engine.model,
                self.belief(),
                self.engine.model.settings.stop_at,
                1.0,
            )
            .is_some()
            && let Some(test) = self.settling_test()
        {
            return self.prepare(Action::Test(test), Purpose::Settles);
        }
        if let Some(test) = self.first_look() {
            return self.prepare(Action::Test(test), Purpose::First);
        }
        if let Some(title) = self.for_others() {
            let why = format!("\"{title}\" is as good as certain, and putting it right is nobody's here");
            return self.finish(self.giving_up(), &why);
        }
        let choice = self.choice();
        if self.at() == At::Phone && self.danger_is_sure() {
            return Step::Send {
                why: "a danger is likelier there than not: nobody near it is asked anything more".to_owned(),
                choice: Some(Box::new(choice)),
            };
        }
        if let Some(step) = self.danger_before(choice.action) {
            return step;
        }
        let gives_up = matches!(choice.action, Action::Refer | Action::NoFaultFound);
        if choice.action == Action::Visit {
            return Self::send(choice);
        }
        if gives_up
            && self.stop().is_some()
            && !self.danger_is_sure()
            && let Some(test) = self.settling_test()
        {
            // Out of use, little is on offer; what may lift the stop comes before giving up.
            return self.prepare(Action::Test(test), Purpose::Settles);
        }
        match choice.action {
            Action::Refer => self.finish(self.giving_up(), "nothing that is left to try here is worth its time"),
            Action::NoFaultFound => self.watch_or_end(),
            action => self.prepare(action, Purpose::Plan(Box::new(choice))),
        }
    }

    /// No question is worth its time on the phone any more.
    fn send(choice: Choice) -> Step {
        Step::Send {
            why: "what is left to ask a caller is not worth its time: the rest is found at the gate".to_owned(),
            choice: Some(Box::new(choice)),
        }
    }

    /// Whether looking further could hardly lift the stop.
    fn danger_is_sure(&self) -> bool {
        let danger = self.stop().and_then(|s| s.danger);
        danger.is_some_and(|d| self.belief().danger(&self.engine.model, d) >= crate::plan::SURE_DANGER)
    }

    /// The title of a cause that is as good as certain and whose repairs are all somebody else's, an electrician's mostly.
    fn for_others(&self) -> Option<&str> {
        let cause = crate::plan::for_others(&self.engine.planner(), self.belief(), self.situation())?;
        Some(self.engine.knowledge.causes[cause.index()].title.as_str())
    }

    /// With a danger that is likelier there than not, nothing else is repaired before it: the repair of the danger, what settles it, or the end.
    fn danger_before(&self, planned: Action) -> Option<Step> {
        let Action::Repair(repair) = planned else { return None };
        if self.stop()?.danger.is_none() || !self.danger_is_sure() {
            return None;
        }
        let model = &self.engine.model;
        let chances = self.belief().causes(model);
        let mut dangers = crate::plan::dangers(model, self.belief());
        dangers.sort_by(|a, b| chances[b.index()].total_cmp(&chances[a.index()]));
        if dangers.iter().any(|c| model.repairs[repair.index()].chance(*c) > 0.0) {
            return None;
        }
        let offer = self
            .engine
            .planner()
            .offer(self.belief(), self.situation(), &self.situation().site);
        let cure = dangers
            .iter()
            .filter(|c| chances[c.index()] >= ALSO_CHECK)
            .find_map(|c| {
                let cures = |r: &RepairId| offer.repairs[r.index()] && model.repairs[r.index()].chance(*c) > 0.0;
                (0..model.repairs.len()).map(RepairId::at).find(cures)
            });
        let action = cure
            .map(Action::Repair)
            .or_else(|| self.settling_test().map(Action::Test));
        Some(action.map_or_else(
            || {
                self.finish(
                    Ending::OutOfUse,
                    "a danger is likely there, and nothing that may be done here puts it right",
                )
            },
            |action| self.prepare_first(action, Purpose::Settles),
        ))
    }

    /// The action, or the first of what has to have an answer before it.
    fn prepare_first(&self, action: Action, purpose: Purpose) -> Step {
        let (first, _) = self.engine.planner().begin(action, self.situation(), self.belief());
        self.prepare(first, purpose)
    }

    /// A look whose traces the next step may wipe out, as long as it bears on what is reported.
    fn first_look(&self) -> Option<TestId> {
        crate::plan::first_look(&self.engine.planner(), self.belief(), self.situation())
    }

    fn giving_up(&self) -> Ending {
        if self.stop().is_some() {
            Ending::OutOfUse
        } else {
            Ending::Referred
        }
    }

    /// Nothing wrong leads: run and watch once, then end.
    fn watch_or_end(&self) -> Step {
        let doing_it = self.situation().evidence.current_spell().and_then(|s| s.now) == Some(Now::Present);
        match self.state.watched {
            None if self.at() == At::Gate => self.before_running().unwrap_or(Step::Watch),
            Some(true) => self.finish(Ending::Referred, "it does it, and nothing written down explains it"),
            _ if doing_it => self.finish(Ending::Referred, "it does it, and nothing written down explains it"),
            _ => self.finish(
                Ending::NoFaultFound,
                "nothing that was tried shows a fault, and it did not do it",
            ),
        }
    }

    /// Conditions and confirmations that come before an action; then the action.
    fn prepare(&self, action: Action, purpose: Purpose) -> Step {
        let knowledge = &self.engine.knowledge;
        let (needs, moves, entitled) = match action {
            Action::Test(t) => {
                let test = &knowledge.tests[t.index()];
                (&test.needs, test.moves, test.entitled)
            }
            Action::Repair(r) => {
                let repair = &knowledge.repairs[r.index()];
                (&repair.needs, repair.moves, repair.entitled)
            }
            Action::Fact(f) => {
                let fact = knowledge
                    .facts
                    .get_index(f.index())
                    .map(|(id, _)| id.clone())
                    .unwrap_or_default();
                return Step::Fact {
                    fact,
                    purpose: Some(purpose),
                };
            }
            Action::Visit | Action::Refer | Action::NoFaultFound => {
                return self.finish(self.giving_up(), "nothing is left to try");
            }
        };
        if let Action::Test(t) = action {
            // A reading whose limits hang on a number of the site says nothing without it.
            let site = &self.situation().site;
            let planner = self.engine.planner();
            let unknown = |fact: &&String| site.get(fact).is_none() && !self.situation().unknowable.contains(*fact);
            if let Some(fact) = planner.costs().test(t).numbers.iter().find(unknown).cloned() {
                return Step::Fact {
                    fact,
                    purpose: Some(purpose),
                };
            }
        }
        if entitled && self.state.entitled.is_none() {
            return Step::Entitlement;
        }
        let missing = needs
            .iter()
            .find(|c| !self.situation().standing.conditions.contains(c) && knowledge.conditions.contains_key(c.id()));
        if let Some(&condition) = missing {
            return Step::Condition {
                condition,
                before: Some(action),
            };
        }
        if moves == Moves::Commanded && !self.state.cleared && !knowledge.movement.is_empty() {
            return Step::Clearance { before: Some(action) };
        }
        match action {
            Action::Test(t) => {
                let test = knowledge
                    .tests
                    .get_index(t.index())
                    .map(|(id, _)| id.clone())
                    .unwrap_or_default();
                Step::Test { test, purpose }
            }
            Action::Repair(r) => {
                let repair = knowledge
                    .repairs
                    .get_index(r.index())
                    .map(|(id, _)| id.clone())
                    .unwrap_or_default();
                Step::Repair { repair, purpose }
            }
            _ => Step::Ended,
        }
    }

    /// The call can end; which endings are open follows from what was done.
    #[must_use]
    pub fn finish(&self, proposed: Ending, why: &str) -> Step {
        // A gate that is left in use is left as it was found.
        let in_use = matches!(proposed, Ending::NoFaultFound | Ending::Explained | Ending::Referred);
        if in_use && self.stop().is_none() && self.at() == At::Gate && !self.state.given_back {
            let what = self.to_give_back();
            if !what.is_empty() {
                return Step::GiveBack { what };
            }
        }
        let mut open = vec![proposed];
        let others = [
            Ending::Waiting,
            Ending::Referred,
            Ending::OutOfUse,
            Ending::DeficiencyRefused,
            Ending::Withdrawn,
        ];
        open.extend(others.into_iter().filter(|e| *e != proposed));
        Step::Finish {
            proposed,
            open,
            why: why.to_owned(),
        }
    }

    /// Whether the call may end like that: *fixed* only with a proven repair, a passed retest, no stop and no device off.
    #[must_use]
    pub fn may_end(&self, ending: Ending) -> bool {
        let proven = self.repairs().last().is_some_and(|r| r.all_gone(self.symptoms()));
        let changed = self.repairs().iter().any(|r| {
            self.engine
                .knowledge
                .repairs
                .get(&r.repair)
                .is_some_and(|repair| !repair.explains)
        });
        match ending {
            Ending::Fixed => {
                let passed = self.retest().values().all(|(passed, _)| *passed == Some(true));
                proven
                    && self.open_retest_line().is_none()
                    && passed
                    && self.stop().is_none()
                    && self.state.device_off.is_none()
            }
            Ending::Explained => proven && !changed && self.stop().is_none(),
            Ending::NoFaultFound => self.stop().is_none() && !changed && self.state.watched != Some(true),
            _ => true,
        }
    }

    /// The symptoms that the last proof run still showed.
    #[must_use]
    pub fn still_there(&self) -> Vec<&str> {
        self.repairs()
            .last()
            .map(|r| {
                r.proof
                    .iter()
                    .filter(|(_, seen)| **seen == Seen::StillThere)
                    .map(|(s, _)| s.as_str())
                    .collect()
            })
            .unwrap_or_default()
    }
}
