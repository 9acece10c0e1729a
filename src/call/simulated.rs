//! A simulated site as an answerer: hidden causes, readings drawn from the knowledge and kept consistent.
//!
//! What is measured twice agrees: an outcome is drawn once for a test and the causes then left. Repairs work with the chance their author gave.
//! Seeded by `ChaCha8`, whose stream is documented as the same everywhere, so a seed gives the same site to everybody.

use std::collections::{BTreeMap, BTreeSet};
use std::convert::Infallible;

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng as _, SeedableRng as _};

use super::Engine;
use super::answerer::{Answerer, Reply};
use super::event::{Event, Rank, Seen, Target};
use super::reading::evaluate;
use super::state::Call;
use super::step::Step;
use crate::knowledge::schema::{At, Now, Test};
use crate::model::{CauseId, SymptomId};

/// A site with something wrong with it.
pub struct SimulatedSite<'a> {
    engine: &'a Engine,
    site: BTreeMap<String, String>,
    symptoms: Vec<String>,
    left: BTreeSet<CauseId>,
    drawn: BTreeMap<(String, Vec<CauseId>), usize>,
    rng: ChaCha8Rng,
    /// Everything that was asked: step names in order.
    pub asked: Vec<String>,
}

impl<'a> SimulatedSite<'a> {
    /// A site with these causes, reporting these symptoms; its facts are drawn by their shares where the causes allow them.
    #[must_use]
    pub fn new(engine: &'a Engine, causes: &[CauseId], symptoms: &[SymptomId], seed: u64) -> Self {
        let mut simulated = Self {
            engine,
            site: BTreeMap::new(),
            symptoms: symptoms
                .iter()
                .filter_map(|s| engine.knowledge.symptoms.get_index(s.index()).map(|(id, _)| id.clone()))
                .collect(),
            left: causes.iter().copied().collect(),
            drawn: BTreeMap::new(),
            rng: ChaCha8Rng::seed_from_u64(seed),
            asked: Vec::new(),
        };
        simulated.draw_site(causes);
        simulated
    }

    /// The causes that are still there.
    #[must_use]
    pub fn left(&self) -> &BTreeSet<CauseId> {
        &self.left
    }

    fn draw_site(&mut self, causes: &[CauseId]) {
        for (id, fact) in &self.engine.knowledge.facts {
            if let Some(number) = &fact.number {
                self.site.insert(
                    id.clone(),
                    format!("{} {}", number.range[0].midpoint(number.range[1]), number.unit.symbol()),
                );
                continue;
            }
            let weight = |value: &String| -> f64 {
                causes
                    .iter()
                    .map(|c| {
                        let cause = &self.engine.knowledge.causes[c.index()];
                        let can = cause.when.get(id).is_none_or(|values| values.contains(value));
                        let times = cause.times.get(id).and_then(|t| t.get(value)).copied().unwrap_or(1.0);
                        if can { times } else { 0.0 }
                    })
                    .product()
            };
            let weights: Vec<f64> = fact.values.iter().map(|(value, v)| v.share * weight(value)).collect();
            let drawn = draw(&mut self.rng, &weights);
            if let Some((value, _)) = fact.values.get_index(drawn) {
                self.site.insert(id.clone(), value.clone());
            }
        }
    }

    /// Outcome of a test, the same whenever it is taken with the same causes there.
    fn outcome(&mut self, id: &str) -> usize {
        let left: Vec<CauseId> = self.left.iter().copied().collect();
        let key = (id.to_owned(), left.clone());
        if let Some(&outcome) = self.drawn.get(&key) {
            return outcome;
        }
        let chances = self
            .engine
            .model
            .test(id)
            .map(|t| self.engine.model.tests[t.index()].outcomes_given(&left[..left.len().min(2)]))
            .unwrap_or_default();
        let outcome = draw(&mut self.rng, &chances);
        self.drawn.insert(key, outcome);
        outcome
    }

    fn test(&mut self, call: &Call<'_>, id: &str) -> Event {
        let test = &self.engine.knowledge.tests[id];
        let outcome = self.outcome(id);
        let cannot = Event::Cannot {
            target: Target::Test(id.to_owned()),
        };
        if test.bands.is_empty() {
            let Some((outcome, _)) = test.outcomes.get_index(outcome) else {
                return cannot;
            };
            let by = if call.at() == At::Phone { Rank::Told } else { Rank::Seen };
            let outcome = Some(outcome.clone());
            return Event::Answer {
                test: id.to_owned(),
                outcome,
                readings: BTreeMap::new(),
                by,
            };
        }
        self.readings(call, test, outcome)
            .map_or(cannot, |readings| Event::Answer {
                test: id.to_owned(),
                outcome: None,
                readings,
                by: Rank::Measured,
            })
    }

    /// Readings that fall into a band: tried at random within the believable range.
    fn readings(&mut self, call: &Call<'_>, test: &Test, outcome: usize) -> Option<BTreeMap<String, String>> {
        for _ in 0..4_000 {
            let mut readings = BTreeMap::new();
            for (id, spec) in &test.readings {
                let [low, high] = spec.range.unwrap_or([0.0, 100.0]);
                let value = low + (high - low) * unit(&mut self.rng);
                readings.insert(id.clone(), format!("{value:.3} {}", spec.unit.symbol()));
            }
            let evaluated = evaluate(&self.engine.knowledge, test, &readings, &call.situation().site, false);
            if evaluated.is_ok_and(|e| e.outcome == outcome) {
                return Some(readings);
            }
        }
        None
    }

    fn repair(&mut self, id: &str) -> Event {
        if let Some(repair) = self.engine.model.repair(id) {
            for cause in self.left.clone() {
                let chance = self.engine.model.repairs[repair.index()].chance(cause);
                if chance > 0.0 && unit(&mut self.rng) < chance {
                    self.left.remove(&cause);
                }
            }
        }
        Event::Repaired {
            repair: id.to_owned(),
            note: String::new(),
        }
    }

    /// Whether something that is left makes the symptom.
    fn makes(&self, symptom: &str) -> bool {
        let model = &self.engine.model;
        model
            .symptom_id(symptom)
            .is_some_and(|s| self.left.iter().any(|c| model.symptom[s.index()][c.index()] > 0.0))
    }
}

/// Draws an index by weight: cumulative search, so that the mapping from the stream stays what it is.
pub(crate) fn draw(rng: &mut ChaCha8Rng, weights: &[f64]) -> usize {
    let total: f64 = weights.iter().sum();
    let mut rest = unit(rng) * total;
    for (i, weight) in weights.iter().enumerate() {
        rest -= weight;
        if rest < 0.0 {
            return i;
        }
    }
    weights.iter().rposition(|w| *w > 0.0).unwrap_or(0)
}

/// A number from 0 to 1, 1 excluded, from the upper 53 bits.
pub(crate) fn unit(rng: &mut ChaCha8Rng) -> f64 {
    (rng.next_u64() >> 11) as f64 / 9_007_199_254_740_992.0
}

impl Answerer for SimulatedSite<'_> {
    type Error = Infallible;

    fn answer(&mut self, call: &Call<'_>, step: &Step) -> Result<Reply, Infallible> {
        let event = match step {
            Step::Signs => Event::Signs {
                yes: Vec::new(),
                unsure: Vec::new(),
            },
            Step::PutOutOfUse => super::case::out_of_use(call),
            Step::Complaint => Event::Complaint {
                words: "simulated".to_owned(),
                symptoms: self.symptoms.clone(),
            },
            Step::Fact { fact, .. } => Event::Fact {
                fact: fact.clone(),
                value: self.site.get(fact).cloned(),
            },
            Step::Now => Event::Now {
                now: if self.left.is_empty() { Now::Away } else { Now::Present },
                under: Vec::new(),
            },
            Step::Condition(condition) => Event::Condition {
                condition: *condition,
                done: true,
            },
            Step::Clearance => Event::Clearance { confirmed: true },
            Step::Entitlement => Event::Entitled {
                how: "owner, in person".to_owned(),
            },
            Step::Test { test, .. } => {
                self.asked.push(test.clone());
                self.test(call, test)
            }
            Step::DeviceBack { device } => Event::DeviceBack { device: device.clone() },
            Step::Repair { repair, .. } => {
                self.asked.push(repair.clone());
                self.repair(repair)
            }
            Step::Proof { symptom, .. } => {
                let seen = if self.makes(symptom) {
                    Seen::StillThere
                } else {
                    Seen::Gone
                };
                Event::Proof {
                    symptom: symptom.clone(),
                    seen,
                }
            }
            Step::ClearSigns { signs } => Event::SignsCleared {
                signs: signs.clone(),
                how: "put right".to_owned(),
            },
            Step::Watch => Event::Watched {
                shown: self.symptoms.iter().any(|s| self.makes(s)),
            },
            Step::Retest { line } => Event::Retest {
                line: line.clone(),
                passed: Some(true),
                note: String::new(),
            },
            Step::GiveBack { what } => Event::GivenBack { what: what.clone() },
            Step::Finish { proposed, why, .. } => Event::Ended {
                ending: *proposed,
                text: why.clone(),
            },
            Step::Ended => return Ok(Reply::Events(Vec::new())),
        };
        Ok(Reply::Events(vec![event]))
    }

    fn now(&self) -> String {
        "2026-01-01T08:00:00Z".to_owned()
    }
}
