//! What the tests of learning and calibration share: the small machine, simulated calls in memory and on disk.

use std::path::Path;

use pintle::call::{Engine, Entry, Event};
use pintle::knowledge::{Knowledge, PackText, WithCases, load};
use pintle::records::{Calibration, Learned, Predictions, Simulated, Simulator, Sites, Tally, Weights, Window};

/// The knowledge of the small machine.
pub(crate) fn machine() -> Knowledge {
    let pack = PackText::read(Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/packs/records")));
    let (knowledge, findings) = load(vec![pack], WithCases::No);
    assert!(findings.is_empty(), "{findings:?}");
    knowledge
}

/// The small machine with other rates.
pub(crate) fn machine_with(rate: impl Fn(&str, f64) -> f64) -> Engine {
    let mut knowledge = machine();
    for (id, cause) in &mut knowledge.causes {
        cause.rate = rate(id, cause.rate);
    }
    Engine::new(knowledge)
}

/// Simulated calls of somebody who never gives up while a repair is left.
pub(crate) fn simulated(engine: &Engine, seed: u64, n: usize) -> Vec<Simulated> {
    let mut simulator = Simulator::new(engine, seed, usize::MAX);
    (0..n).map(|_| simulator.call()).collect()
}

/// Calls at a site each, so that a callback of one could be seen.
pub(crate) fn at_sites(mut calls: Vec<Vec<Entry>>) -> Vec<Vec<Entry>> {
    for (i, call) in calls.iter_mut().enumerate() {
        if let Some(Event::Opened { site, .. }) = call.first_mut().map(|e| &mut e.event) {
            *site = Some(format!("site {i}"));
        }
    }
    calls
}

/// What a reader knows long after the last of these calls.
pub(crate) fn all_passed(calls: &[Vec<Entry>]) -> Window {
    let mut window = Window::default();
    calls.iter().for_each(|entries| window.add(entries));
    window.seen("2036-01-01");
    window
}

/// What an engine learns from calls.
pub(crate) fn learn(engine: &Engine, calls: impl IntoIterator<Item = Vec<Entry>>, weights: Weights) -> Learned {
    let sites = Sites::new(&engine.knowledge);
    let calls: Vec<Vec<Entry>> = calls.into_iter().collect();
    let window = all_passed(&calls);
    let mut tally = Tally::new(engine, &sites, &window);
    for entries in calls {
        tally.add(engine, entries).expect("a call of this knowledge");
    }
    Learned::from_tallies(engine, &sites, vec![tally], weights)
}

/// How honest an engine's percentages were on calls.
pub(crate) fn calibrate(engine: &Engine, calls: impl IntoIterator<Item = Vec<Entry>>) -> Calibration {
    let calls: Vec<Vec<Entry>> = calls.into_iter().collect();
    let window = all_passed(&calls);
    let mut predictions = Predictions::new(engine, &window);
    for entries in calls {
        predictions.add(entries).expect("a call of this knowledge");
    }
    Calibration::from_threads(vec![predictions], false)
}
