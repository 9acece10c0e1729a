//! How far numbers can be off, against what can be worked out by hand.

use pintle::belief::Evidence;
use pintle::call::Engine;
use pintle::commands::sensitivity::page;
use pintle::knowledge::{PackText, WithCases, load};
use pintle::model::SymptomId;
use pintle::plan::Situation;
use pintle::sensitivity::{SIGMAS, Sensitivity, sensitivity};
use pintle::terminal::Style;

use super::pty::pintle;

fn engine(causes: &str) -> Engine {
    let text = format!(
        "pack: {{id: p, title: P, settings: {{not-listed: 0, nothing-wrong: 0, leak: 0, pairs: false, refer-minutes: 100}}}}
symptoms:
  broken: {{title: It is broken, says: [x], gone: g, source: s}}
{causes}"
    );
    let pack = PackText {
        files: vec![("a.yaml".to_owned(), text)],
        unreadable: Vec::new(),
    };
    let (knowledge, findings) = load(vec![pack], WithCases::No);
    assert!(findings.is_empty(), "{findings:#?}");
    Engine::new(knowledge)
}

/// Two causes, 30 and 10 in a thousand, that both always make the symptom.
const TWO: &str = "causes:
  often: {title: Often, rate: 30, severity: none, symptoms: {broken: 1}, repair: {title: Mend often, minutes: 10}, source: s}
  seldom: {title: Seldom, rate: 10, severity: none, symptoms: {broken: 1}, repair: {title: Mend seldom, minutes: 10}, source: s}
";

fn of(engine: &Engine, draws: u32, seed: u64) -> Sensitivity {
    let start = Situation::starting(Evidence::reported(vec![SymptomId(0)]));
    sensitivity(engine, &start, draws, seed, &|| ())
}

/// 30 : 10 leads until the difference of two normal draws is over ln 3: Φ(ln 3 / (σ √2)).
#[test]
fn the_share_of_draws_is_what_the_normal_distribution_says() {
    let found = of(&engine(TWO), 4_000, 11);
    assert_eq!(found.levels.len(), SIGMAS.len());
    // Φ(3.1074), Φ(1.5537), Φ(0.7768), Φ(0.3884).
    for (level, expected) in found.levels.iter().zip([0.999_06, 0.939_87, 0.781_37, 0.651_14]) {
        let error = (expected * (1.0 - expected) / 4_000.0_f64).sqrt();
        assert!(
            (level.lead_stays - expected).abs() < 4.0 * error + 1e-3,
            "{level:?}, expected {expected}"
        );
    }
}

/// With the rate up by a factor e: 30 e / (30 e + 10); a chance of 1 does not move.
#[test]
fn one_number_at_a_time() {
    let found = of(&engine(TWO), 1, 1);
    assert_eq!(found.lead, ("often".to_owned(), 0.75));
    let e = std::f64::consts::E;
    let number = |path: &str| found.numbers.iter().find(|n| n.path == path).expect("it is looked at");
    let rate = number("causes.often.rate");
    assert!((rate.lead[1] - 30.0 * e / (30.0 * e + 10.0)).abs() < 1e-9, "{rate:?}");
    assert!((rate.lead[0] - 30.0 / (30.0 + 10.0 * e)).abs() < 1e-9, "{rate:?}");
    assert_eq!(rate.other_leads, [false, false]);
    let makes = number("causes.often.symptoms.broken");
    assert!(
        (makes.lead[0] - 0.75).abs() < 1e-12 && (makes.lead[1] - 0.75).abs() < 1e-12,
        "{makes:?}"
    );
    // The rate of the other one does as much; nothing does more.
    assert_eq!(found.numbers[0].path.split('.').next_back(), Some("rate"));
    // Repairs that cost the same, the likelier first: 10 minutes, and 10 more if it was the other.
    assert!((found.minutes - 12.5).abs() < 1e-9, "{}", found.minutes);
    assert!(
        (rate.minutes[1] - (10.0 + 10.0 * (1.0 - rate.lead[1]))).abs() < 1e-9,
        "{rate:?}"
    );
}

/// 12 : 10 is a close thing; the words say so.
#[test]
fn a_close_thing_is_called_one() {
    let engine = engine(&TWO.replace("rate: 30", "rate: 12"));
    let found = of(&engine, 400, 3);
    assert!(found.numbers[0].other_leads.contains(&true), "{:?}", found.numbers[0]);
    let text = page(&engine, "It is broken", &found, &Style::plain(80));
    assert!(text.lines().all(|l| l.chars().count() <= 80), "{text}");
    insta::assert_snapshot!("a_close_thing", text);
}

/// With tests: distributions stay distributions, whatever the noise, and a seed gives the same to everybody.
#[test]
fn tests_take_part_and_a_seed_gives_the_same() {
    let causes = "tests:
  look: {title: A look, ask: l, minutes: 1, outcomes: {well: {say: w}, odd: {say: o}, worse: {say: u}}, healthy: {well: 0.9, odd: 0.1}, source: s}
causes:
  often: {title: Often, rate: 30, severity: none, symptoms: {broken: usually}, shows: {look: {odd: usually, worse: seldom}}, repair: {title: Mend often, minutes: 60}, source: s}
  seldom: {title: Seldom, rate: 20, severity: none, symptoms: {broken: often}, shows: {look: {worse: often}}, repair: {title: Mend seldom, minutes: 60}, source: s}
";
    let engine = engine(causes);
    let found = of(&engine, 60, 5);
    assert_eq!(found.first_step, "A look");
    let paths: Vec<&str> = found.numbers.iter().map(|n| n.path.as_str()).collect();
    for path in [
        "causes.often.shows.look",
        "tests.look.healthy",
        "repairs.fix-often.cures.often",
    ] {
        assert!(paths.contains(&path), "{path}: {paths:?}");
    }
    // What is shown on a test that nobody has done says nothing of the ranking, but much of the minutes.
    let shows = found
        .numbers
        .iter()
        .find(|n| n.path == "causes.often.shows.look")
        .expect("there");
    assert!(
        shows.lead_moves(found.lead.1) < 1e-12 && shows.minutes_move(found.minutes) > 1.0,
        "{shows:?}"
    );
    assert_eq!(found, of(&engine, 60, 5));
    assert_ne!(found.levels, of(&engine, 60, 6).levels);
}

#[test]
fn unknown_symptoms_and_facts_are_refused() {
    let data = tempfile::tempdir().expect("a folder");
    for (arguments, said) in [
        (&["sensitivity", "slo"][..], "did you mean slow?"),
        (
            &["sensitivity", "slow", "--fact", "gate-type=round"],
            "gate-type=round is not a fact and its value",
        ),
    ] {
        let output = pintle(data.path()).args(arguments).output().expect("it runs");
        let told = String::from_utf8(output.stderr).expect("text");
        assert!(told.contains(said), "{told}");
        assert_eq!(output.status.code(), Some(3));
    }
}
