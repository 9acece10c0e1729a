//! Models, evidence and the engine's posteriors as JSON, for a general Bayesian-network library to check (`tests/external/pyagrum_check.py`).

use std::collections::BTreeMap;

use pintle::belief::{Answer, Belief, Epoch, Evidence, Prior, Proof, Spell};
use pintle::knowledge::schema::{Now, Provocation};
use pintle::knowledge::{Knowledge, WithCases};
use pintle::model::{CauseId, Model, RepairId, SiteFacts, SymptomId, TestId};
use serde_json::{Value, json};

use crate::enumeration::{evidence, spec, yaml};
use crate::tape::{Tape, seeded};
use crate::walk::{pack_text, packs};

/// Writes the JSON to the file that `PINTLE_EXPORT` names. No test by itself: the script that reads it is.
#[test]
#[ignore = "writes a file for tests/external/pyagrum_check.py"]
fn export_for_pyagrum() {
    let path = std::env::var("PINTLE_EXPORT").expect("PINTLE_EXPORT names the file to write");
    let mut networks = Vec::new();
    for seed in 0..24 {
        networks.push(generated(seed));
    }
    for pack in ["fever", "two-effects", "two-clues", "find-and-fix-06"] {
        let (knowledge, model) = packs(&[pack]);
        let situations = plain_evidence(&knowledge, &model);
        networks.push(network(pack, &knowledge, &model, &situations));
    }
    networks.extend(built_in());
    let text = serde_json::to_string(&networks).expect("numbers and names");
    std::fs::write(path, text).expect("a file that can be written");
}

/// A generated model with everything the belief knows: pairs, causes that bring on others, faults that come and go, repairs and proofs.
fn generated(seed: u64) -> Value {
    let numbers = seeded(seed, 500);
    let mut spec = spec(&mut Tape::new(&numbers));
    // A Bayesian network has no cycles: causes bring on later ones only.
    spec.keep_acyclic();
    let (knowledge, model) = pack_text(yaml(&spec));
    let situations: Vec<Evidence> = (0..6)
        .map(|i| evidence(&mut Tape::new(&seeded(1000 * (i + 1) + seed, 300)), &spec))
        .collect();
    network(&format!("generated {seed}"), &knowledge, &model, &situations)
}

/// The likeliest causes of two symptoms of the built-in pack, with the tests that most of them bear on.
fn built_in() -> Vec<Value> {
    let mut networks = Vec::new();
    for symptom in ["stops-midway", "dead"] {
        let (mut knowledge, _) = Knowledge::built_in(&[], WithCases::No);
        if !knowledge.symptoms.contains_key(symptom) {
            continue;
        }
        let mut makers: Vec<(String, f64)> = knowledge
            .causes
            .iter()
            .filter_map(|(id, c)| c.symptoms.get(symptom).map(|q| (id.clone(), c.rate * q.chance)))
            .collect();
        makers.sort_by(|a, b| b.1.total_cmp(&a.1));
        makers.truncate(8);
        if makers.len() < 2 {
            continue;
        }
        knowledge.causes.retain(|id, _| makers.iter().any(|(m, _)| m == id));
        let order: Vec<String> = knowledge.causes.keys().cloned().collect();
        for (i, cause) in knowledge.causes.values_mut().enumerate() {
            cause
                .brings_on
                .retain(|d, _| order.iter().position(|o| o == d).is_some_and(|at| at > i));
        }
        let bearing = |test: &str| knowledge.causes.values().filter(|c| c.shows.contains_key(test)).count();
        let mut tests: Vec<(String, usize)> = knowledge.tests.keys().map(|t| (t.clone(), bearing(t))).collect();
        tests.sort_by(|a, b| b.1.cmp(&a.1).then(a.0.cmp(&b.0)));
        tests.truncate(4);
        knowledge.tests.retain(|id, _| tests.iter().any(|(t, _)| t == id));
        let makes = |id: &str| knowledge.causes.values().any(|c| c.symptoms.contains_key(id));
        let kept: Vec<String> = knowledge.symptoms.keys().filter(|s| makes(s)).cloned().collect();
        knowledge.symptoms.retain(|id, _| kept.contains(id));
        let cures = |r: &pintle::knowledge::schema::Repair| r.cures.keys().any(|c| knowledge.causes.contains_key(c));
        let kept: Vec<bool> = knowledge.repairs.values().map(cures).collect();
        let mut kept = kept.into_iter();
        knowledge.repairs.retain(|_, _| kept.next().unwrap_or(false));
        let model = Model::compile(&knowledge);
        let situations = built_in_evidence(&model, model.symptom_id(symptom).expect("kept"));
        networks.push(network(
            &format!("built-in, {symptom}"),
            &knowledge,
            &model,
            &situations,
        ));
    }
    networks
}

/// Symptom alone; each outcome of each test; two tests, a failed repair, and a test after it; the same with the symptom away.
fn built_in_evidence(model: &Model, symptom: SymptomId) -> Vec<Evidence> {
    let mut all = vec![Evidence::reported(vec![symptom])];
    let outcomes = |t: usize| model.tests[t].outcomes.len();
    for t in 0..model.tests.len() {
        for o in 0..outcomes(t) {
            all.push(Evidence::reported(vec![symptom]).with(Answer::observed(TestId::at(t), o, outcomes(t), 0)));
        }
    }
    let last = model.tests.len() - 1;
    for now in [Now::Present, Now::Away, Now::Unknown] {
        let spell = |answers| Spell {
            now: Some(now),
            under: vec![Provocation::Cold],
            answers,
        };
        let first = spell(vec![
            Answer::observed(TestId(0), 0, outcomes(0), 0),
            Answer::told(TestId(1), outcomes(1) - 1, outcomes(1), 0.8, 1),
        ]);
        let mut evidence = Evidence::reported(vec![symptom]);
        evidence.epochs[0].spells.push(first);
        evidence.repairs.push(RepairId(0));
        evidence.epochs.push(Epoch {
            spells: vec![spell(vec![Answer::told(TestId::at(last), 0, outcomes(last), 0.9, 2)])],
            proofs: vec![Proof {
                symptom,
                still_there: true,
                event: 3,
            }],
        });
        all.push(evidence);
    }
    all
}

/// Every symptom reported, then every outcome of every test.
fn plain_evidence(knowledge: &Knowledge, model: &Model) -> Vec<Evidence> {
    let reported = Evidence::reported((0..knowledge.symptoms.len()).map(SymptomId::at).collect());
    let mut all = vec![reported.clone()];
    for (t, test) in model.tests.iter().enumerate() {
        let k = test.outcomes.len();
        all.extend((0..k).map(|o| reported.with(Answer::observed(TestId::at(t), o, k, 0))));
    }
    all
}

fn network(name: &str, knowledge: &Knowledge, model: &Model, situations: &[Evidence]) -> Value {
    let rates = model.rates(knowledge, &SiteFacts::unknown());
    let prior = Prior::new(model, &rates);
    let before: f64 = prior.entries.iter().map(|(_, w)| w).sum();
    let causes: Vec<Value> = (0..model.causes())
        .map(|c| {
            let shows: BTreeMap<usize, &[f64]> = (0..model.tests.len())
                .filter_map(|t| model.tests[t].shown(CauseId::at(c)).map(|p| (t, p)))
                .collect();
            let brings: BTreeMap<usize, f64> = model.brings_on[c]
                .iter()
                .map(|(d, x)| (d.index(), x * rates.applicable[d.index()]))
                .collect();
            let symptoms: Vec<f64> = model.symptom.iter().map(|row| row[c]).collect();
            json!({"rate": rates.rate[c], "shows": shows, "brings_on": brings, "symptoms": symptoms})
        })
        .collect();
    let tests: Vec<Value> = model
        .tests
        .iter()
        .map(|t| json!({"healthy": t.healthy, "normal": t.normal}))
        .collect();
    let s = &model.settings;
    let settings = json!({
        "leak": s.leak, "not_listed": s.not_listed, "nothing_wrong": s.nothing_wrong, "pairs": s.pairs,
        "unrelated_pairs": s.unrelated_pairs, "not_listed_present": s.not_listed_present,
    });
    let situations: Vec<Value> = situations
        .iter()
        .filter_map(|evidence| situation(model, &prior, before, evidence))
        .collect();
    json!({"name": name, "settings": settings, "causes": causes, "tests": tests, "situations": situations})
}

/// Evidence with what the engine makes of it; nothing if it is impossible.
fn situation(model: &Model, prior: &Prior, before: f64, evidence: &Evidence) -> Option<Value> {
    let belief = Belief::new(model, prior, evidence);
    if belief.total <= 0.0 {
        return None;
    }
    let shares = |under: &[Provocation]| -> Vec<f64> { model.shows.iter().map(|s| s.share(under)).collect() };
    let spell = |spell: &Spell| {
        let answers: Vec<Value> = spell
            .answers
            .iter()
            .map(|a| json!({"test": a.test.index(), "likelihood": a.likelihood}))
            .collect();
        let now = match spell.now {
            Some(Now::Present) => "present",
            Some(Now::Away) => "away",
            Some(Now::Unknown) | None => "unknown",
        };
        let traces: Vec<f64> = model.shows.iter().map(|s| s.traces(&spell.under)).collect();
        json!({"now": now, "share": shares(&spell.under), "traces": traces, "answers": answers})
    };
    let epochs: Vec<Value> = evidence
        .epochs
        .iter()
        .map(|epoch| {
            let under = epoch.spells.first().map_or(&[][..], |s| &s.under);
            let proofs: Vec<Value> = epoch
                .proofs
                .iter()
                .map(|p| json!({"symptom": p.symptom.index(), "still_there": p.still_there, "share": shares(under)}))
                .collect();
            json!({"spells": epoch.spells.iter().map(spell).collect::<Vec<_>>(), "proofs": proofs})
        })
        .collect();
    let repairs: Vec<Vec<f64>> = evidence
        .repairs
        .iter()
        .map(|r| {
            (0..model.causes())
                .map(|c| model.repairs[r.index()].chance(CauseId::at(c)))
                .collect()
        })
        .collect();
    let index = |list: &[SymptomId]| -> Vec<usize> { list.iter().map(|s| s.index()).collect() };
    Some(json!({
        "symptoms": index(&evidence.symptoms), "denied": index(&evidence.denied), "epochs": epochs, "repairs": repairs,
        "posterior": {
            "causes": belief.causes(model), "not_listed": belief.not_listed(), "nothing_wrong": belief.nothing(),
            "chance": belief.total / before,
        },
    }))
}
