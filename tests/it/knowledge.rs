//! The built-in knowledge: no errors, and every case comes out right.

use pintle::call::{Engine, MOST_UNLISTED, Suite, check_cases, named_cases};
use pintle::finding::Level;
use pintle::knowledge::{Knowledge, WithCases, check};

fn engine() -> Engine {
    let (knowledge, findings) = Knowledge::built_in(&[], WithCases::Yes);
    let mut all = findings;
    all.extend(check::check(&knowledge));
    all.extend(check_cases(&knowledge));
    let errors: Vec<_> = all.iter().filter(|f| f.level() == Level::Error).collect();
    assert!(errors.is_empty(), "{errors:#?}");
    Engine::new(knowledge)
}

/// Issue size, and the cases by semantics §8: the true cause first when the walk stops, the expected ending, no unsafe step.
#[test]
fn every_case_of_the_built_in_pack_passes() {
    let engine = engine();
    let knowledge = &engine.knowledge;
    assert!(knowledge.symptoms.len() >= 40 && knowledge.causes.len() >= 200 && knowledge.tests.len() >= 200);
    let summary = Suite::play(&engine, &named_cases(&engine), &|| ());
    let failed: Vec<_> = summary
        .results
        .iter()
        .filter(|(_, r)| !r.failures.is_empty())
        .map(|(file, r)| format!("{file}: {}\n  {}", r.failures.join("; "), r.path.join("\n  ")))
        .collect();
    assert!(failed.is_empty(), "{}", failed.join("\n"));
    assert!(summary.cases >= 260, "{} cases", summary.cases);
    assert!(
        summary.unlisted <= MOST_UNLISTED,
        "{:.2} of the answers are not listed",
        summary.unlisted
    );
}

/// Nothing is in the pack without a call that proves it.
#[test]
fn every_cause_has_a_case_and_every_symptom_three() {
    let engine = engine();
    let knowledge = &engine.knowledge;
    let cases = || knowledge.cases.iter().map(|(_, case)| case);
    let bare: Vec<&String> = knowledge
        .causes
        .keys()
        .filter(|c| !cases().any(|case| case.causes.contains(c)))
        .collect();
    assert!(bare.is_empty(), "no case: {bare:?}");
    let told = |s: &String| cases().filter(|case| case.symptoms.contains(s)).count();
    let few: Vec<&String> = knowledge.symptoms.keys().filter(|s| told(s) < 3).collect();
    assert!(few.is_empty(), "fewer than three cases: {few:?}");
    assert!(cases().any(|case| case.causes.is_empty()) && cases().any(|case| case.causes.len() == 2));
}
