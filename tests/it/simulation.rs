//! Simulated sites: every call comes to an end, and nothing unsafe is ever offered on the way.

use pintle::call::{Answerer, Call, Engine, Entry, Event, Outcome, Reply, Step, walk};
use pintle::drill::SimulatedSite;
use pintle::knowledge::schema::{At, Condition, Ending, Moves, Who};
use pintle::knowledge::{Knowledge, WithCases};
use pintle::model::{CauseId, SymptomId};

/// A simulated site that looks over the engine's shoulder.
struct Watched<'a> {
    site: SimulatedSite<'a>,
    engine: &'a Engine,
    unsafe_steps: Vec<String>,
}

impl Watched<'_> {
    fn look(&mut self, call: &Call<'_>, id: &str, moves: Moves, needs: &[Condition]) {
        let holds = &call.situation().standing.conditions;
        let mut wrong = Vec::new();
        if needs.iter().any(|c| !holds.contains(c)) {
            wrong.push("a condition is missing");
        }
        if holds.contains(&Condition::Powered) && holds.contains(&Condition::Isolated) {
            wrong.push("powered and isolated at once");
        }
        match moves {
            Moves::Commanded if call.stop().is_some_and(|s| !s.signs.is_empty()) => {
                wrong.push("moves under a hazard sign");
            }
            Moves::Commanded if call.situation().device_off => wrong.push("moves with a device off"),
            Moves::Commanded if !holds.contains(&Condition::HeldOff) => wrong.push("moves with other commands live"),
            Moves::ByHand if !holds.contains(&Condition::Isolated) => wrong.push("a hand in it, not isolated"),
            _ => {}
        }
        self.unsafe_steps
            .extend(wrong.into_iter().map(|w| format!("{id}: {w}")));
    }
}

impl Answerer for Watched<'_> {
    type Error = std::convert::Infallible;

    fn answer(&mut self, call: &Call<'_>, step: &Step) -> Result<Reply, Self::Error> {
        match step {
            Step::Test { test, .. } => {
                let test_entry = &self.engine.knowledge.tests[test];
                self.look(call, test, test_entry.moves, &test_entry.needs);
            }
            Step::Repair { repair, .. } => {
                let entry = &self.engine.knowledge.repairs[repair];
                self.look(call, repair, entry.moves, &entry.needs);
            }
            _ => {}
        }
        self.site.answer(call, step)
    }

    fn now(&self) -> String {
        self.site.now()
    }
}

/// Every twentieth cause of the built-in pack on a site drawn for it, seeded by its number.
#[test]
fn every_simulated_call_ends_and_nothing_unsafe_is_offered() {
    let (knowledge, _) = Knowledge::built_in(&[], WithCases::No);
    let engine = Engine::new(knowledge);
    for (i, (id, cause)) in engine.knowledge.causes.iter().enumerate().step_by(20) {
        let likeliest = cause.symptoms.iter().max_by(|a, b| a.1.chance.total_cmp(&b.1.chance));
        let Some(symptom) = likeliest.and_then(|(s, _)| engine.model.symptom_id(s)) else {
            continue;
        };
        let symptoms: [SymptomId; 1] = [symptom];
        let seed = i as u64;
        let site = SimulatedSite::drawn(&engine, &[CauseId::at(i)], &symptoms, seed);
        let mut watched = Watched {
            site,
            engine: &engine,
            unsafe_steps: Vec::new(),
        };
        let mut call = Call::in_memory(&engine, Vec::new());
        let opened = Event::Opened {
            knowledge: engine.knowledge.fingerprint.clone(),
            packs: Vec::new(),
            at: At::Gate,
            who: Who::Technician,
            site: None,
        };
        call.record(Entry {
            time: watched.now(),
            event: opened,
        })
        .expect("in memory");
        let outcome = walk(&mut call, &mut watched).expect("a simulated site always answers");
        assert_eq!(outcome, Outcome::Ended, "{id}, seed {seed}: {:?}", watched.site.asked);
        assert!(
            watched.unsafe_steps.is_empty(),
            "{id}, seed {seed}: {:?}",
            watched.unsafe_steps
        );
        if call.ending().map(|e| e.0) == Some(Ending::Fixed) {
            assert!(
                call.may_end(Ending::Fixed),
                "{id}: ended as fixed without proof or retest"
            );
        }
    }
}
