//! Symptoms by callers' words: half of the phrasings is held out of an index and looked for in it.

use std::collections::BTreeMap;

use pintle::knowledge::{Knowledge, WithCases};
use pintle::words::SymptomIndex;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng as _, SeedableRng as _};

/// Seeds of the halves that are held out.
const SEEDS: u32 = 10;

/// Share of held-out phrasings whose symptom is the first, and among the first three.
fn held_out(knowledge: &Knowledge, seed: u64) -> (f64, f64, Vec<String>) {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let mut kept: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    let mut out: Vec<(&str, &str)> = Vec::new();
    for (id, symptom) in &knowledge.symptoms {
        let mut drawn: Vec<(u64, &str)> = symptom.says.iter().map(|s| (rng.next_u64(), s.as_str())).collect();
        drawn.sort_unstable();
        let half = drawn.len() / 2;
        out.extend(drawn[..half].iter().map(|(_, s)| (id.as_str(), *s)));
        let of_symptom = kept.entry(id).or_insert_with(|| vec![symptom.title.as_str()]);
        of_symptom.extend(drawn[half..].iter().map(|(_, s)| *s));
    }
    let index = SymptomIndex::of(kept.into_iter(), &knowledge.ideas);
    let (mut first, mut three, mut missed) = (0_u32, 0_u32, Vec::new());
    for (id, says) in &out {
        let found = index.find(says);
        let at = found.iter().position(|m| m.symptom == *id);
        first += u32::from(at == Some(0));
        three += u32::from(at.is_some_and(|at| at < 3));
        if at.is_none_or(|at| at >= 3) {
            missed.push(format!("{id}: {says}"));
        }
    }
    let n = f64::from(u32::try_from(out.len()).expect("some hundred"));
    (f64::from(first) / n, f64::from(three) / n, missed)
}

/// Printed with `--nocapture`. The index that ships has every phrasing, so it does better than this.
#[test]
fn held_out_phrasings_find_their_symptom() {
    let (knowledge, _) = Knowledge::built_in(&[], WithCases::No);
    let runs: Vec<_> = (0..SEEDS).map(|seed| held_out(&knowledge, u64::from(seed))).collect();
    let mean = |of: fn(&(f64, f64, Vec<String>)) -> f64| runs.iter().map(of).sum::<f64>() / f64::from(SEEDS);
    let (first, three) = (mean(|r| r.0), mean(|r| r.1));
    println!(
        "{} symptoms: first {first:.3}, among the first three {three:.3}",
        knowledge.symptoms.len()
    );
    println!("{}", runs[0].2.join("\n"));
    assert!(three >= 0.95, "only {three:.3}: {:#?}", runs[0].2);
}

/// Every phrasing of the shipped index finds its own symptom among the first three.
#[test]
fn shipped_phrasings_find_their_symptom() {
    let (knowledge, _) = Knowledge::built_in(&[], WithCases::No);
    let index = SymptomIndex::new(&knowledge);
    let mut missed = Vec::new();
    let mut all = 0;
    for (id, symptom) in &knowledge.symptoms {
        assert!(symptom.says.len() >= 80, "{id} has {} phrasings", symptom.says.len());
        for says in &symptom.says {
            all += 1;
            if !index.find(says).iter().take(3).any(|m| m.symptom == *id) {
                missed.push(format!("{id}: {says}"));
            }
        }
    }
    assert!(missed.len() * 50 <= all, "{} of {all}: {missed:#?}", missed.len());
}

/// No phrasing stands under two symptoms.
#[test]
fn no_phrasing_is_written_twice() {
    let (knowledge, _) = Knowledge::built_in(&[], WithCases::No);
    let mut seen = BTreeMap::new();
    for (id, symptom) in &knowledge.symptoms {
        for says in &symptom.says {
            assert_eq!(seen.insert(says.to_lowercase(), id), None, "{says}");
        }
    }
}
