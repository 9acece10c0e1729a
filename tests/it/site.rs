//! The simulated site against the knowledge it is drawn from, and against itself.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use pintle::call::{Engine, Event, evaluate};
use pintle::drill::SimulatedSite;
use pintle::knowledge::schema::{At, Now};
use pintle::knowledge::{Knowledge, WithCases};
use pintle::model::CauseId;
use proptest::prelude::*;

static ENGINE: LazyLock<Engine> = LazyLock::new(|| Engine::new(Knowledge::built_in(&[], WithCases::Yes).0));

/// Upper 0.001 critical values of chi-square for 1 to 10 degrees of freedom.
/// Source: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.4 (from memory).
const CHI_SQUARE_0_001: [f64; 10] = [
    10.828, 13.816, 16.266, 18.467, 20.515, 22.458, 24.322, 26.125, 27.877, 29.588,
];

/// The outcome that an answer means at that site.
fn outcome(engine: &Engine, site: &SimulatedSite<'_>, event: &Event) -> Option<usize> {
    let Event::Answer {
        test,
        outcome,
        readings,
        ..
    } = event
    else {
        return None;
    };
    let entry = &engine.knowledge.tests[test];
    match outcome {
        Some(id) => entry.outcomes.get_index_of(id),
        None => evaluate(&engine.knowledge, entry, readings, site.facts(), true)
            .ok()
            .map(|e| e.outcome),
    }
}

fn cause(id: &str) -> CauseId {
    ENGINE.model.cause(id).expect("a cause of the built-in pack")
}

/// χ² of counts against chances, and its degrees of freedom; outcomes that are hardly expected are pooled.
fn chi_square(counts: &[u32], chances: &[f64], n: f64) -> (f64, usize) {
    let mut pooled = (0.0, 0.0);
    let (mut sum, mut cells) = (0.0, 0);
    for (count, chance) in counts.iter().zip(chances) {
        let (seen, expected) = (f64::from(*count), chance * n);
        if expected < 5.0 {
            pooled = (pooled.0 + seen, pooled.1 + expected);
        } else {
            sum += (seen - expected).powi(2) / expected;
            cells += 1;
        }
    }
    if pooled.1 >= 5.0 {
        sum += (pooled.0 - pooled.1).powi(2) / pooled.1;
        cells += 1;
    } else {
        assert!(
            pooled.0 <= 5.0 + 4.0 * pooled.1.sqrt(),
            "{pooled:?}: what hardly happens happens often"
        );
    }
    (sum, cells.max(1) - 1)
}

/// Over many seeds, every observation of the built-in pack turns up as often as the knowledge says, for one fault and for two.
#[test]
fn outcomes_are_as_frequent_as_the_knowledge_says() {
    const SEEDS: u32 = 1_500;
    let engine = &*ENGINE;
    let mut judged = 0;
    let mut over = Vec::new();
    for causes in [
        vec![cause("battery-worn")],
        vec![cause("battery-worn"), cause("charger-dead")],
        vec![],
    ] {
        let tests: Vec<usize> = (0..engine.knowledge.tests.len())
            .filter(|&t| engine.knowledge.tests[t].bands.is_empty())
            .collect();
        let mut counts: BTreeMap<usize, Vec<u32>> = tests
            .iter()
            .map(|&t| (t, vec![0; engine.model.tests[t].outcomes.len()]))
            .collect();
        for seed in 0..SEEDS {
            let mut site = SimulatedSite::drawn(engine, &causes, &[], u64::from(seed));
            for (&t, counts) in &mut counts {
                let id = engine.knowledge.tests.get_index(t).expect("a test").0;
                let event = site.test(id, At::Gate);
                counts[outcome(engine, &site, &event).expect("an observation")] += 1;
            }
        }
        for (t, counts) in counts {
            let chances = engine.model.tests[t].outcomes_given(&causes);
            let (sum, freedom) = chi_square(&counts, &chances, f64::from(SEEDS));
            if freedom > 0 {
                judged += 1;
                if sum > CHI_SQUARE_0_001[freedom.min(10) - 1] {
                    over.push((engine.knowledge.tests.get_index(t).expect("a test").0, sum, counts));
                }
            }
        }
    }
    assert!(judged > 300, "only {judged} could be judged");
    // One in a thousand may be over by chance alone.
    assert!(over.len() <= 2, "{} of {judged}: {over:?}", over.len());
}

/// A test whose outcomes are drawn with the wrong chances is noticed.
#[test]
fn the_statistic_notices_wrong_chances() {
    let (sum, freedom) = chi_square(&[800, 700], &[0.6, 0.4], 1500.0);
    assert!(sum > CHI_SQUARE_0_001[freedom - 1], "{sum}");
}

/// Numbers are shown in the digits of a meter, lie in the band that was drawn, and every band that can come up can be shown.
#[test]
fn every_band_that_a_fault_shows_has_readings() {
    let engine = &*ENGINE;
    let mut silent = Vec::new();
    for (id, test) in engine.knowledge.tests.iter().filter(|(_, t)| !t.bands.is_empty()) {
        let table = &engine.model.tests[engine.model.test(id).expect("a test").index()];
        for cause in table.mentioned_by().take(4) {
            let can_apply = test.when.iter().all(|(fact, values)| {
                let of_cause = engine.knowledge.causes[cause.index()].when.get(fact);
                of_cause.is_none_or(|of| of.iter().any(|v| values.contains(v)))
            });
            for seed in 0..3 {
                let mut site = SimulatedSite::drawn(engine, &[cause], &[], seed);
                let applies = site.facts().holds(&test.when) == Some(true);
                if can_apply && applies && outcome(engine, &site.clone(), &site.test(id, At::Gate)).is_none() {
                    silent.push((id.clone(), cause.index(), seed));
                }
            }
        }
    }
    assert!(silent.is_empty(), "{silent:?}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever is looked at twice agrees, in whatever order it is looked at; a number within what the meter may be wrong.
    #[test]
    fn a_site_never_contradicts_itself(
        seed in 0u64..1_000_000,
        first in 0..ENGINE.model.causes(),
        second in proptest::option::of(0..ENGINE.model.causes()),
        some in proptest::sample::subsequence((0..ENGINE.knowledge.tests.len()).collect::<Vec<_>>(), 25),
    ) {
        let engine = &*ENGINE;
        let mut causes = vec![CauseId::at(first)];
        causes.extend(second.filter(|c| *c != first).map(CauseId::at));
        let mut site = SimulatedSite::drawn(engine, &causes, &[], seed);
        let mut other = SimulatedSite::drawn(engine, &causes, &[], seed);
        let ids: Vec<&String> = engine.knowledge.tests.keys().collect();
        let forth: Vec<Event> = some.iter().map(|t| site.test(ids[*t], At::Gate)).collect();
        let back: Vec<Event> = some.iter().rev().map(|t| other.test(ids[*t], At::Gate)).collect();
        for (a, b) in forth.iter().zip(back.iter().rev()) {
            prop_assert_eq!(a, b);
        }
        for (t, before) in some.iter().zip(&forth) {
            let again = site.test(ids[*t], At::Gate);
            let (Event::Answer { outcome: one, readings: first, .. }, Event::Answer { outcome: two, readings: second, .. }) = (before, &again) else {
                prop_assert_eq!(before, &again);
                continue;
            };
            prop_assert_eq!(one, two);
            let entry = &engine.knowledge.tests[ids[*t]];
            for (id, spec) in &entry.readings {
                let read = |text: &str| pintle::quantity::parse_reading(text, spec.unit).ok().and_then(|r| r.value());
                if let (Some(a), Some(b)) = (read(&first[id]), read(&second[id])) {
                    let meter = spec.meter.unwrap_or_else(|| pintle::quantity::MeterClass::usual_for(spec.unit));
                    let digit = meter.digit;
                    prop_assert!((a - b).abs() <= meter.limit(a) + digit, "{}: {a} then {b}", ids[*t]);
                }
            }
        }
    }

    /// A repair changes only what its cure had a part in; when all is cured, what was reported is gone and the retest passes.
    #[test]
    fn a_repair_changes_what_it_cures_and_nothing_else(seed in 0u64..1_000_000, first in 0..ENGINE.model.causes()) {
        let engine = &*ENGINE;
        let cause = CauseId::at(first);
        let (id, entry) = engine.knowledge.causes.get_index(first).expect("a cause");
        let Some(symptom) = entry.symptoms.keys().next().and_then(|s| engine.model.symptom_id(s)) else { return Ok(()) };
        let Some((repair, _)) = engine.knowledge.repairs.iter().find(|(_, r)| r.cures.contains_key(id)) else { return Ok(()) };
        let symptom_id = engine.knowledge.symptoms.get_index(symptom.index()).expect("a symptom").0;
        let mut site = SimulatedSite::drawn(engine, &[cause], &[symptom], seed);
        prop_assert_eq!(site.doing_it(), Now::Present);
        let unrelated: Vec<&String> = engine
            .knowledge
            .tests
            .keys()
            .filter(|t| !entry.shows.contains_key(*t) && engine.knowledge.tests[*t].bands.is_empty() && engine.knowledge.tests[*t].quantity.is_none())
            .take(15)
            .collect();
        let before: Vec<Event> = unrelated.iter().map(|t| site.test(t, At::Gate)).collect();
        let cured = site.repair(repair);
        let after: Vec<Event> = unrelated.iter().map(|t| site.test(t, At::Gate)).collect();
        prop_assert_eq!(before, after);
        if cured.contains(&cause) {
            prop_assert_eq!(site.proof(symptom_id), pintle::call::Seen::Gone);
            prop_assert!(engine.knowledge.retest.keys().all(|line| site.passes(line)));
        } else if entry.shows_when.is_none() {
            prop_assert_eq!(site.proof(symptom_id), pintle::call::Seen::StillThere);
        }
    }
}
