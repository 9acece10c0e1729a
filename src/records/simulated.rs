//! Calls that nobody made: drawn from the knowledge, for measuring and testing what is made of many calls.
//!
//! Hypothesis, site, symptom, spell and outcomes are drawn exactly as the belief weighs them. Which tests are answered is chosen by lot; which
//! repairs are tried follows the belief, never the hidden truth: so percentages of a belief over the same knowledge are honest on these calls by construction. Nothing is
//! planned, so a call takes a millisecond. Symptoms are drawn first, so causes that make many of them come up more often than by their rate. Seeded by `ChaCha8`, whose stream is the same everywhere.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng as _;

use super::outcome::Reader;
use crate::belief::{Hypothesis, Prior, Proof, proof_gone, trace_chance};
use crate::call::{Call, Engine, Entry, Event, Rank, Seen, evaluate};
use crate::knowledge::schema::{At, Ending, Now, Provocation, Test, Who};
use crate::lot::{draw, unit};
use crate::model::{CauseId, RepairId, SiteFacts, SymptomId, TestId, site_factor};

/// Chance that nobody at the site can tell a fact.
const FACT_UNKNOWN: f64 = 0.05;
/// Chance that something provokes the fault.
const PROVOKED: f64 = 0.3;
/// Tries to find a reading that lies in a band.
const TRIES: usize = 3_000;
/// From this chance on, *nothing wrong* or *not listed* is believed without trying a repair.
const ENOUGH: f64 = 0.5;
/// From this likelihood on, a reading says for sure in which band it lies.
const SURE: f64 = 0.999;

/// A call and what was behind it.
#[derive(Debug, Clone)]
pub struct Simulated {
    /// The journal.
    pub entries: Vec<Entry>,
    /// What was wrong.
    pub truth: Hypothesis,
}

/// Draws calls.
pub struct Simulator<'a> {
    engine: &'a Engine,
    reader: Reader<'a>,
    rng: ChaCha8Rng,
    prior: Prior,
    /// Chance of each symptom, up to a factor.
    symptoms: Vec<f64>,
    /// Weight of each hypothesis with a symptom.
    weights: HashMap<SymptomId, Vec<f64>>,
    readings: HashMap<(TestId, usize), BTreeMap<String, String>>,
    /// Tests with a band for which no reading was found.
    unreadable: BTreeSet<TestId>,
    most_repairs: usize,
    made: i64,
}

/// One call being drawn.
struct Scene {
    site: SiteFacts,
    symptom: SymptomId,
    truth: Hypothesis,
    now: Now,
    under: Vec<Provocation>,
    entries: Vec<Entry>,
    time: String,
}

impl Scene {
    fn push(&mut self, event: Event) {
        self.entries.push(Entry {
            time: self.time.clone(),
            event,
        });
    }

    fn end(&mut self, ending: Ending) {
        self.push(Event::Ended {
            ending,
            text: "simulated".to_owned(),
        });
    }
}

impl<'a> Simulator<'a> {
    /// Simulated calls over some knowledge; whoever walks them gives up after `most_repairs` repairs and refers.
    #[must_use]
    pub fn new(engine: &'a Engine, seed: u64, most_repairs: usize) -> Self {
        let model = &engine.model;
        let prior = Prior::new(model, &model.rates(&engine.knowledge, &SiteFacts::unknown()));
        let symptoms = (0..engine.knowledge.symptoms.len()).map(|s| prior.mean_symptom(model, SymptomId::at(s)));
        Self {
            engine,
            reader: Reader::new(engine),
            rng: ChaCha8Rng::seed_from_u64(seed),
            symptoms: symptoms.collect(),
            prior,
            weights: HashMap::new(),
            readings: HashMap::new(),
            unreadable: BTreeSet::new(),
            most_repairs,
            made: 0,
        }
    }

    /// The next call.
    pub fn call(&mut self) -> Simulated {
        let mut scene = self.scene();
        self.opening(&mut scene, At::Gate);
        self.answers(&mut scene, At::Gate);
        self.repairs(&mut scene);
        self.made += 1;
        Simulated {
            entries: scene.entries,
            truth: scene.truth,
        }
    }

    /// A call on the phone up to the moment at which somebody is sent: what a caller told, and the site as it is.
    pub fn phone_call(&mut self) -> (Simulated, SiteFacts) {
        let mut scene = self.scene();
        self.opening(&mut scene, At::Phone);
        self.answers(&mut scene, At::Phone);
        self.made += 1;
        let simulated = Simulated {
            entries: scene.entries,
            truth: scene.truth,
        };
        (simulated, scene.site)
    }

    fn scene(&mut self) -> Scene {
        let symptom = SymptomId::at(draw(&mut self.rng, &self.symptoms));
        let truth = self.hypothesis(symptom);
        // A fault that nobody wrote down, or none, is found at the sites where others are.
        let mut like = truth;
        while like.causes().1 == 0 {
            like = self.hypothesis(symptom);
        }
        let (causes, n) = like.causes();
        let site = self.site(&causes[..n]);
        let mut under = Vec::new();
        if unit(&mut self.rng) < PROVOKED {
            under.push(Provocation::ALL[draw(&mut self.rng, &[1.0; Provocation::ALL.len()])]);
        }
        let present = match truth {
            Hypothesis::NotListed => self.engine.model.settings.not_listed_present,
            _ => crate::belief::present_chance(&self.engine.model, truth, &[symptom], &under),
        };
        let now = if unit(&mut self.rng) < present {
            Now::Present
        } else {
            Now::Away
        };
        let start = jiff::civil::datetime(2026, 1, 5, 8, 0, 0, 0);
        let hours = jiff::SignedDuration::from_hours(self.made);
        let time = start
            .checked_add(hours)
            .map_or_else(|_| start.to_string(), |t| t.to_string());
        Scene {
            site,
            symptom,
            truth,
            now,
            under,
            entries: Vec::new(),
            time: format!("{time}Z"),
        }
    }

    fn hypothesis(&mut self, symptom: SymptomId) -> Hypothesis {
        let (engine, prior) = (self.engine, &self.prior);
        let weights = self.weights.entry(symptom).or_insert_with(|| {
            let mean = prior.mean_symptom(&engine.model, symptom);
            let weight = |&(hypothesis, w): &(Hypothesis, f64)| match hypothesis.causes() {
                (_, 0) => w * mean,
                (causes, n) => w * engine.model.symptom_given(symptom, &causes[..n]),
            };
            prior.entries.iter().map(weight).collect()
        });
        prior.entries[draw(&mut self.rng, weights)].0
    }

    fn site(&mut self, causes: &[CauseId]) -> SiteFacts {
        let knowledge = &self.engine.knowledge;
        let mut site = SiteFacts::unknown();
        for (id, fact) in &knowledge.facts {
            if let Some(number) = &fact.number {
                let middle = number.range[0].midpoint(number.range[1]);
                site.learn(id, &format!("{middle} {}", number.unit.symbol()));
                continue;
            }
            let factor = |value: &String| -> f64 {
                let of = |c: &CauseId| {
                    let cause = &knowledge.causes[c.index()];
                    let named = cause.when.contains_key(id) || cause.times.contains_key(id);
                    if named {
                        site_factor(knowledge, cause, id, Some(value)).0
                    } else {
                        1.0
                    }
                };
                causes.iter().map(of).product()
            };
            let weights: Vec<f64> = fact.values.iter().map(|(value, v)| v.share * factor(value)).collect();
            if let Some((value, _)) = fact.values.get_index(draw(&mut self.rng, &weights)) {
                site.learn(id, value);
            }
        }
        site
    }

    fn opening(&mut self, scene: &mut Scene, at: At) {
        let knowledge = &self.engine.knowledge;
        scene.push(Event::Opened {
            knowledge: knowledge.fingerprint.clone(),
            packs: knowledge.titles.clone(),
            at,
            who: Who::Technician,
            site: None,
        });
        scene.push(Event::Signs {
            yes: Vec::new(),
            unsure: Vec::new(),
        });
        let symptom = knowledge.symptoms.get_index(scene.symptom.index());
        scene.push(Event::Complaint {
            words: "simulated".to_owned(),
            symptoms: symptom.map(|(id, _)| id.clone()).into_iter().collect(),
        });
        for (id, fact) in &knowledge.facts {
            if at == At::Phone && fact.caller.is_none() {
                continue;
            }
            let told = fact.number.is_some() || unit(&mut self.rng) >= FACT_UNKNOWN;
            scene.push(Event::Fact {
                fact: id.clone(),
                value: scene.site.get(id).filter(|_| told).map(str::to_owned),
                from: None,
            });
        }
        scene.push(Event::Now {
            now: scene.now,
            under: scene.under.clone(),
        });
    }

    /// Answers of two to five tests that bear on the symptom.
    fn answers(&mut self, scene: &mut Scene, place: At) {
        let model = &self.engine.model;
        let makes = &model.symptom[scene.symptom.index()];
        let bears = |t: &TestId| model.tests[t.index()].mentioned_by().any(|c| makes[c.index()] > 0.0);
        let mut tests: Vec<TestId> = (0..model.tests.len()).map(TestId::at).filter(bears).collect();
        let wanted = 2 + draw(&mut self.rng, &[1.0; 4]);
        let showing = self.showing(scene);
        let mut quantities = BTreeSet::new();
        while quantities.len() < wanted && !tests.is_empty() {
            let at = draw(&mut self.rng, &vec![1.0; tests.len()]);
            let test = tests.swap_remove(at);
            let table = &model.tests[test.index()];
            let (id, entry) = self
                .engine
                .knowledge
                .tests
                .get_index(test.index())
                .expect("a test of the model");
            let planner = self.engine.planner();
            if place == At::Phone && !(entry.bands.is_empty() && planner.costs().test(test).by_phone) {
                continue;
            }
            if scene.site.holds(&entry.when) != Some(true) || quantities.contains(&table.quantity) {
                continue;
            }
            if !entry.bands.is_empty() && !self.readable(test, entry, &scene.site) {
                continue;
            }
            quantities.insert(table.quantity.clone());
            let chances = match scene.truth {
                Hypothesis::NotListed => table.not_listed(),
                _ => table.outcomes_given(&showing),
            };
            let outcome = draw(&mut self.rng, &chances);
            let (said, readings, by) = if entry.bands.is_empty() {
                let (told, by) = match place {
                    At::Gate => (outcome, Rank::Seen),
                    At::Phone if unit(&mut self.rng) < planner.reliability(test) => (outcome, Rank::Told),
                    At::Phone => (draw(&mut self.rng, &vec![1.0; chances.len()]), Rank::Told),
                };
                (Some(table.outcomes[told].clone()), BTreeMap::new(), by)
            } else {
                (None, self.readings[&(test, outcome)].clone(), Rank::Measured)
            };
            scene.push(Event::Answer {
                test: id.clone(),
                outcome: said,
                readings,
                said: None,
                by,
            });
        }
    }

    /// Which of the causes show on tests in this spell: one draw for each.
    fn showing(&mut self, scene: &Scene) -> Vec<CauseId> {
        let (causes, n) = scene.truth.causes();
        let mut showing = Vec::new();
        for cause in &causes[..n] {
            let show = &self.engine.model.shows[cause.index()];
            let chance = trace_chance(Some(scene.now), show.share(&scene.under), show.traces(&scene.under));
            if unit(&mut self.rng) < chance {
                showing.push(*cause);
            }
        }
        showing
    }

    /// Finds a reading for every band; a test for which that fails is never answered, whatever it would have shown.
    fn readable(&mut self, id: TestId, test: &Test, site: &SiteFacts) -> bool {
        if self.unreadable.contains(&id) {
            return false;
        }
        for outcome in 0..test.bands.len() {
            let fits = |readings: &BTreeMap<String, String>| {
                let evaluated = evaluate(&self.engine.knowledge, test, readings, site, false);
                evaluated.is_ok_and(|e| e.outcome == outcome && e.likelihood[outcome] > SURE)
            };
            if self.readings.get(&(id, outcome)).is_some_and(fits) {
                continue;
            }
            let rng = &mut self.rng;
            let Some(found) = (0..TRIES).map(|_| any_readings(rng, test)).find(fits) else {
                self.unreadable.insert(id);
                return false;
            };
            self.readings.insert((id, outcome), found);
        }
        true
    }

    /// One repair after the other as the belief ranks the causes, until the symptom is seen gone.
    fn repairs(&mut self, scene: &mut Scene) {
        let model = &self.engine.model;
        let call = Call::folded(self.engine, scene.entries.clone());
        let belief = self.reader.belief(&call);
        let chances = belief.causes(model);
        let mut ranked: Vec<CauseId> = (0..chances.len())
            .map(CauseId::at)
            .filter(|c| chances[c.index()] > 0.0)
            .collect();
        ranked.sort_by(|a, b| chances[b.index()].total_cmp(&chances[a.index()]));
        if belief.nothing() > ENOUGH {
            scene.push(Event::Watched { shown: false });
            return scene.end(Ending::NoFaultFound);
        }
        if belief.not_listed() > ENOUGH {
            return scene.end(Ending::Referred);
        }
        let (causes, n) = scene.truth.causes();
        let (mut left, mut tried) = ((1u8 << n) - 1, BTreeSet::new());
        for cause in ranked {
            if tried.len() == self.most_repairs {
                break;
            }
            let Some(repair) = self.best_repair(cause, &tried, &scene.site) else {
                continue;
            };
            tried.insert(repair);
            for (bit, c) in causes[..n].iter().enumerate() {
                if unit(&mut self.rng) < model.repairs[repair.index()].chance(*c) {
                    left &= !(1 << bit);
                }
            }
            if self.proof(scene, repair, left) {
                let explains = |r: &RepairId| self.engine.knowledge.repairs[r.index()].explains;
                let ending = if tried.iter().all(explains) {
                    Ending::Explained
                } else {
                    Ending::Fixed
                };
                return scene.end(ending);
            }
        }
        scene.end(Ending::Referred);
    }

    fn best_repair(&self, cause: CauseId, tried: &BTreeSet<RepairId>, site: &SiteFacts) -> Option<RepairId> {
        let model = &self.engine.model;
        let chance = |r: &RepairId| model.repairs[r.index()].chance(cause);
        let untried = (0..model.repairs.len())
            .map(RepairId::at)
            .filter(|r| chance(r) > 0.0 && !tried.contains(r));
        let possible = untried.filter(|r| site.holds(&self.engine.knowledge.repairs[r.index()].when) != Some(false));
        possible.max_by(|a, b| chance(a).total_cmp(&chance(b)).then(b.cmp(a)))
    }

    /// Does a repair and runs the gate; whether the symptom is seen gone.
    fn proof(&mut self, scene: &mut Scene, repair: RepairId, left: u8) -> bool {
        let knowledge = &self.engine.knowledge;
        let (Some((id, _)), Some((symptom, _))) = (
            knowledge.repairs.get_index(repair.index()),
            knowledge.symptoms.get_index(scene.symptom.index()),
        ) else {
            return false;
        };
        scene.push(Event::Repaired {
            repair: id.clone(),
            note: String::new(),
        });
        let proof = Proof {
            symptom: scene.symptom,
            still_there: false,
            event: 0,
        };
        let chance = proof_gone(&self.engine.model, proof, &scene.under, scene.truth, left);
        let gone = unit(&mut self.rng) < chance;
        scene.push(Event::Proof {
            symptom: symptom.clone(),
            seen: if gone { Seen::Gone } else { Seen::StillThere },
        });
        gone
    }
}

/// Readings by lot within what is believable; half of them evenly over the range, half of them over its orders of magnitude.
fn any_readings(rng: &mut ChaCha8Rng, test: &Test) -> BTreeMap<String, String> {
    let mut readings = BTreeMap::new();
    for (id, spec) in &test.readings {
        let [low, high] = spec.range.unwrap_or([0.0, 100.0]);
        let lot = unit(rng);
        let value = if unit(rng) < 0.5 {
            low + (high - low) * lot
        } else {
            let least = (high - low).abs() * 1e-8;
            low - least + least * ((high - low) / least + 1.0).powf(lot)
        };
        readings.insert(id.clone(), format!("{value:.3} {}", spec.unit.symbol()));
    }
    readings
}
