//! A simulated site: hidden faults, and answers like those of a real gate.
//!
//! What a case lists is shown as listed; everything else is drawn from the knowledge given what is wrong, and kept: whatever is looked at twice agrees,
//! a repair changes only what the cured fault had a part in, and a fault that comes and goes does so for all tests of a spell together.
//!
//! Every draw has a key (the quantity, the faults that bear on it, the spell) and a stream of its own under the seed, so the site is the same for everybody
//! in a class, in whatever order they look at it. `ChaCha8`'s streams are documented as the same on every machine.

use std::collections::{BTreeMap, BTreeSet};

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng as _;

use super::numbers;
use crate::call::{Engine, Event, Rank, Seen, Target, answer_event};
use crate::knowledge::schema::{At, Case, CaseRepair, Now, Provocation, Test};
use crate::knowledge::stable_hash;
use crate::lot::{draw, unit};
use crate::model::{CauseId, SiteFacts, SymptomId, TestId};

/// A site with something wrong with it, or nothing.
#[derive(Debug, Clone)]
pub struct SimulatedSite<'a> {
    engine: &'a Engine,
    case: Option<&'a Case>,
    seed: u64,
    facts: SiteFacts,
    symptoms: Vec<SymptomId>,
    at_start: BTreeSet<CauseId>,
    left: BTreeSet<CauseId>,
    /// Who makes which symptom: drawn once, for as long as the cause is there.
    makes: BTreeSet<(SymptomId, CauseId)>,
    spell: Spell,
    proofs: usize,
    times_measured: BTreeMap<String, u32>,
    /// Lines of the safety retest that fail by somebody's doing.
    spoilt: BTreeSet<String>,
    /// Symptoms that somebody's doing hides.
    hidden: BTreeSet<SymptomId>,
    /// Everything that was asked and done, in order.
    pub asked: Vec<String>,
}

/// A stretch of time in which what comes and goes is either there or not.
#[derive(Debug, Clone, Default)]
struct Spell {
    number: usize,
    under: Vec<Provocation>,
    /// Causes that make their symptom now.
    present: BTreeSet<CauseId>,
    /// Causes that show on tests now.
    showing: BTreeSet<CauseId>,
}

impl<'a> SimulatedSite<'a> {
    /// A site with these causes, reporting these symptoms; its facts are drawn by their shares where the causes allow them.
    #[must_use]
    pub fn drawn(engine: &'a Engine, causes: &[CauseId], symptoms: &[SymptomId], seed: u64) -> Self {
        Self::new(engine, None, causes.iter().copied().collect(), symptoms.to_vec(), seed)
    }

    /// The site of a case; what the case does not say is drawn.
    #[must_use]
    pub fn of_case(engine: &'a Engine, case: &'a Case, seed: u64) -> Self {
        let causes = case.causes.iter().filter_map(|c| engine.model.cause(c)).collect();
        let symptoms = case
            .symptoms
            .iter()
            .filter_map(|s| engine.model.symptom_id(s))
            .collect();
        Self::new(engine, Some(case), causes, symptoms, seed)
    }

    fn new(
        engine: &'a Engine,
        case: Option<&'a Case>,
        causes: BTreeSet<CauseId>,
        symptoms: Vec<SymptomId>,
        seed: u64,
    ) -> Self {
        let mut site = Self {
            engine,
            case,
            seed,
            facts: SiteFacts::unknown(),
            symptoms,
            at_start: causes.clone(),
            left: causes,
            makes: BTreeSet::new(),
            spell: Spell::default(),
            proofs: 0,
            times_measured: BTreeMap::new(),
            spoilt: BTreeSet::new(),
            hidden: BTreeSet::new(),
            asked: Vec::new(),
        };
        site.draw_facts();
        site.draw_makers();
        let now = case.map_or(Now::Present, |c| c.now);
        let under = case.map_or(&[][..], |c| &c.under);
        site.spell = site.begin(0, under, Some(now));
        site
    }

    /// The causes that are still there.
    #[must_use]
    pub fn left(&self) -> &BTreeSet<CauseId> {
        &self.left
    }

    /// What was wrong at the start.
    #[must_use]
    pub fn at_start(&self) -> &BTreeSet<CauseId> {
        &self.at_start
    }

    /// Every fact of the site as it is.
    #[must_use]
    pub fn facts(&self) -> &SiteFacts {
        &self.facts
    }

    /// Hazard signs that anybody who looks would see.
    #[must_use]
    pub fn signs(&self) -> &[String] {
        self.case.map_or(&[], |c| &c.signs)
    }

    /// A random stream of its own for one question about the site.
    fn stream(&self, key: &str) -> ChaCha8Rng {
        let mut rng = ChaCha8Rng::seed_from_u64(self.seed);
        rng.set_stream(stable_hash(key.as_bytes()));
        rng
    }

    fn chance(&self, key: &str, p: f64) -> bool {
        unit(&mut self.stream(key)) < p
    }

    fn id_of(&self, cause: CauseId) -> &str {
        self.engine
            .knowledge
            .causes
            .get_index(cause.index())
            .map_or("", |(id, _)| id.as_str())
    }

    fn draw_facts(&mut self) {
        for (id, fact) in &self.engine.knowledge.facts {
            if let Some(given) = self.case.and_then(|c| c.site.get(id)) {
                self.facts.learn(id, &given.0);
                continue;
            }
            if let Some(number) = &fact.number {
                let middle = number.range[0].midpoint(number.range[1]);
                self.facts.learn(id, &format!("{middle} {}", number.unit.symbol()));
                continue;
            }
            let weight = |value: &String| -> f64 {
                let of_cause = |c: &CauseId| {
                    let cause = &self.engine.knowledge.causes[c.index()];
                    let can = cause.when.get(id).is_none_or(|values| values.contains(value));
                    let times = cause.times.get(id).and_then(|t| t.get(value)).copied().unwrap_or(1.0);
                    if can { times } else { 0.0 }
                };
                self.at_start.iter().map(of_cause).product()
            };
            let weights: Vec<f64> = fact.values.iter().map(|(value, v)| v.share * weight(value)).collect();
            let drawn = draw(&mut self.stream(&format!("fact {id}")), &weights);
            if let Some((value, _)) = fact.values.get_index(drawn) {
                self.facts.learn(id, value);
            }
        }
    }

    /// Which of the causes makes which reported symptom: each with its own chance, given that somebody does.
    fn draw_makers(&mut self) {
        for &symptom in &self.symptoms {
            let of_symptom = &self.engine.model.symptom[symptom.index()];
            let able: Vec<CauseId> = self
                .left
                .iter()
                .copied()
                .filter(|c| of_symptom[c.index()] > 0.0)
                .collect();
            let mut rng = self.stream(&format!("makes {}", symptom.index()));
            for _ in 0..1_000 {
                let makers: Vec<CauseId> = able
                    .iter()
                    .copied()
                    .filter(|c| unit(&mut rng) < of_symptom[c.index()])
                    .collect();
                if !makers.is_empty() || able.is_empty() {
                    self.makes.extend(makers.into_iter().map(|c| (symptom, c)));
                    break;
                }
            }
        }
    }

    /// A spell under these provocations. `now` says what a case has laid down about it.
    fn begin(&self, number: usize, under: &[Provocation], now: Option<Now>) -> Spell {
        let mut spell = Spell {
            number,
            under: under.to_vec(),
            ..Spell::default()
        };
        for &cause in &self.left {
            let show = &self.engine.model.shows[cause.index()];
            let id = self.id_of(cause);
            let present = match now {
                Some(Now::Present) => true,
                Some(Now::Away) => false,
                _ => self.chance(&format!("spell {number} {id}"), show.share(under)),
            };
            let traces = self.chance(&format!("traces {number} {id}"), show.traces(under));
            if present {
                spell.present.insert(cause);
            }
            if present || traces {
                spell.showing.insert(cause);
            }
        }
        spell
    }

    /// Time passes, or something is provoked: what comes and goes is drawn anew. Says whether it does it now.
    pub fn look_again(&mut self, under: &[Provocation]) -> Now {
        self.spell = self.begin(self.spell.number + 1, under, None);
        self.doing_it()
    }

    /// Whether it does now what is reported.
    #[must_use]
    pub fn doing_it(&self) -> Now {
        let there = self.symptoms.iter().any(|s| self.shows(*s, &self.spell.present));
        if there { Now::Present } else { Now::Away }
    }

    /// Whether somebody present makes the symptom and nothing hides it.
    fn shows(&self, symptom: SymptomId, present: &BTreeSet<CauseId>) -> bool {
        !self.hidden.contains(&symptom) && present.iter().any(|c| self.makes.contains(&(symptom, *c)))
    }

    /// What a test shows; *can't* where the case says so or no reading can be made up.
    pub fn test(&mut self, id: &str, at: At) -> Event {
        self.asked.push(id.to_owned());
        let cannot = Event::Cannot {
            target: Target::Test(id.to_owned()),
        };
        let (Some(test), Some(number)) = (self.engine.knowledge.tests.get(id), self.engine.model.test(id)) else {
            return cannot;
        };
        let times = self.times_measured.entry(id.to_owned()).or_insert(0);
        *times += 1;
        let times = *times;
        if let Some(listed) = self
            .case
            .and_then(|c| c.readings.get(id))
            .filter(|_| self.as_at_first(number))
        {
            return answer_event(id, test, listed, at).unwrap_or(cannot);
        }
        let outcome = self.outcome(number, at);
        if let Some((said, _)) = test.outcomes.get_index(outcome) {
            return Event::Answer {
                test: id.to_owned(),
                outcome: Some(said.clone()),
                readings: BTreeMap::new(),
                said: None,
                by: if at == At::Phone { Rank::Told } else { Rank::Seen },
            };
        }
        self.numbers(id, test, outcome, times)
            .map_or(cannot, |readings| Event::Answer {
                test: id.to_owned(),
                outcome: None,
                readings,
                said: None,
                by: Rank::Measured,
            })
    }

    /// Whether nothing that bears on the test has changed since the case was written down.
    fn as_at_first(&self, test: TestId) -> bool {
        let bears = self.bearing_on(test);
        let all_there = self
            .at_start
            .iter()
            .filter(|c| bears(**c))
            .all(|c| self.left.contains(c));
        let comes_and_goes = |c: &CauseId| self.engine.knowledge.causes[c.index()].shows_when.is_some();
        let steady = !self.at_start.iter().any(|c| bears(*c) && comes_and_goes(c));
        all_there && (self.spell.number == 0 || steady)
    }

    /// Whether a cause shows on any test of the same quantity.
    fn bearing_on(&self, test: TestId) -> impl Fn(CauseId) -> bool + '_ {
        let tables = &self.engine.model.tests;
        let quantity = &tables[test.index()].quantity;
        move |cause| {
            tables
                .iter()
                .any(|t| t.quantity == *quantity && t.shown(cause).is_some())
        }
    }

    /// Outcome of a test: one draw for a quantity and the faults that show on it, whoever looks and however often.
    fn outcome(&self, test: TestId, at: At) -> usize {
        let table = &self.engine.model.tests[test.index()];
        let bears = self.bearing_on(test);
        let showing: Vec<CauseId> = self.spell.showing.iter().copied().filter(|c| bears(*c)).collect();
        let ids: Vec<&str> = showing.iter().map(|c| self.id_of(*c)).collect();
        let key = format!("quantity {} {}", table.quantity, ids.join(" "));
        let mut chances = table.outcomes_given(&showing);
        if at == At::Phone {
            // A caller is believed as far as the test says; what he gets wrong, he gets wrong every time.
            let rho = self.engine.planner().reliability(test);
            let even = 1.0 / chances.len().max(1) as f64;
            chances.iter_mut().for_each(|p| *p = rho * *p + (1.0 - rho) * even);
        }
        // Normal outcomes first, so that two tests of one quantity turn out normal together.
        let mut order: Vec<usize> = (0..chances.len()).collect();
        order.sort_by_key(|&o| !table.normal[o]);
        let weights: Vec<f64> = order.iter().map(|&o| chances[o]).collect();
        order
            .get(draw(&mut self.stream(&key), &weights))
            .copied()
            .unwrap_or_default()
    }

    /// Readings in a band; measured again, they differ by less than the meter may be wrong.
    fn numbers(&self, id: &str, test: &Test, outcome: usize, times: u32) -> Option<BTreeMap<String, String>> {
        let number = self.engine.model.test(id)?;
        let key = format!(
            "readings {} {outcome}",
            self.engine.model.tests[number.index()].quantity
        );
        let first = numbers::in_band(
            &self.engine.knowledge,
            (id, test),
            outcome,
            &self.facts,
            &mut self.stream(&key),
        )?;
        if times < 2 {
            return Some(first);
        }
        let mut rng = self.stream(&format!("{key} again {times}"));
        Some(numbers::again(test, &first, &mut || unit(&mut rng)))
    }

    /// Does a repair; says what it cured.
    pub fn repair(&mut self, id: &str) -> Vec<CauseId> {
        self.asked.push(id.to_owned());
        let listed = self.case.and_then(|c| c.repairs.get(id)).copied();
        let Some(repair) = self
            .engine
            .model
            .repair(id)
            .filter(|_| listed != Some(CaseRepair::Fails))
        else {
            return Vec::new();
        };
        let table = &self.engine.model.repairs[repair.index()];
        let cured: Vec<CauseId> = self
            .left
            .iter()
            .copied()
            .filter(|c| {
                let p = table.chance(*c);
                // The case speaks of its own fault: there the repair works, or is said to fail.
                p > 0.0 && (self.case.is_some() || self.chance(&format!("cure {id} {}", self.id_of(*c)), p))
            })
            .collect();
        for cause in &cured {
            self.left.remove(cause);
            self.spell.present.remove(cause);
            self.spell.showing.remove(cause);
        }
        cured
    }

    /// A repair as the journal tells it: done, or not to be done here.
    pub fn repaired(&mut self, id: &str) -> Event {
        if self.case.and_then(|c| c.repairs.get(id)) == Some(&CaseRepair::Cannot) {
            return Event::Cannot {
                target: Target::Repair(id.to_owned()),
            };
        }
        self.repair(id);
        Event::Repaired {
            repair: id.to_owned(),
            note: String::new(),
        }
    }

    /// What the caller says.
    #[must_use]
    pub fn complaint(&self) -> Event {
        let entries = &self.engine.knowledge.symptoms;
        let id = |s: &SymptomId| entries.get_index(s.index()).map(|(id, _)| id.clone());
        Event::Complaint {
            words: self.case.map_or_else(|| "simulated".to_owned(), |c| c.says.join("; ")),
            symptoms: self.symptoms.iter().filter_map(id).collect(),
        }
    }

    /// A fact of the site; a case may leave it untold, but whoever goes and looks finds it.
    #[must_use]
    pub fn fact(&self, id: &str) -> Event {
        Event::Fact {
            fact: id.to_owned(),
            value: self.facts.get(id).map(str::to_owned),
            from: None,
        }
    }

    /// What was provoking it when the technician came.
    #[must_use]
    pub fn under_at_first(&self) -> &[Provocation] {
        self.case.map_or(&[], |c| &c.under)
    }

    /// What is provoking it now.
    #[must_use]
    pub fn under(&self) -> &[Provocation] {
        &self.spell.under
    }

    /// What a run for proof shows of a symptom: a fault that comes and goes may be there and not show.
    pub fn proof(&mut self, symptom: &str) -> Seen {
        self.proofs += 1;
        let there = self.engine.model.symptom_id(symptom).is_some_and(|s| self.run_shows(s));
        if there { Seen::StillThere } else { Seen::Gone }
    }

    /// Runs it three times and watches: whether anything that is reported shows.
    pub fn watch(&mut self) -> bool {
        self.proofs += 1;
        self.symptoms.iter().any(|s| self.run_shows(*s))
    }

    fn run_shows(&self, symptom: SymptomId) -> bool {
        let run = self.proofs;
        let shows_in_run = |c: &CauseId| {
            let share = self.engine.model.shows[c.index()].share(&[]);
            let case_says = self.spell.number == 0 && self.spell.present.contains(c);
            case_says || self.chance(&format!("run {run} {}", self.id_of(*c)), share)
        };
        let present = self.left.iter().copied().filter(|c| shows_in_run(c)).collect();
        self.shows(symptom, &present)
    }

    /// Whether a line of the safety retest passes.
    #[must_use]
    pub fn passes(&self, line: &str) -> bool {
        let fails = |c: &CauseId| self.engine.knowledge.causes[c.index()].fails.iter().any(|l| l == line);
        !self.spoilt.contains(line) && !self.left.iter().any(fails)
    }

    /// What an event that was already answered did to the site: for a drill that is taken up again, looked back on, or answered by a trainer.
    pub fn relive(&mut self, event: &Event) {
        match event {
            Event::Answer { test, .. } => *self.times_measured.entry(test.clone()).or_insert(0) += 1,
            Event::Now { under, .. } if *under != self.spell.under => {
                self.look_again(under);
            }
            Event::Repaired { repair, .. } => {
                self.repair(repair);
            }
            Event::Proof { .. } | Event::Watched { .. } => self.proofs += 1,
            Event::Shortcut { shortcut } => {
                if let Some(entry) = self.engine.knowledge.shortcuts.get(shortcut) {
                    self.spoil(&entry.fails, &entry.hides);
                }
            }
            _ => {}
        }
    }

    /// Somebody did what must not be done: lines of the retest that now fail, symptoms that no longer show.
    fn spoil(&mut self, lines: &[String], symptoms: &[String]) {
        self.spoilt.extend(lines.iter().cloned());
        let known = symptoms.iter().filter_map(|s| self.engine.model.symptom_id(s));
        self.hidden.extend(known);
    }
}
