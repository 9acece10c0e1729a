//! Were the percentages honest? On simulated calls they are by construction; with one rate doubled they are not.

use pintle::call::{Engine, Entry, Event, Seen};
use pintle::records::beta::beta_quantile;
use pintle::records::{Calibration, Predictions, Scores, Skips, picture};
use pintle::terminal::{Style, render_calibration};

use crate::records::{calibrate, machine, machine_with, simulated};

/// 99 % point of the normal distribution on both sides.
const Z_LIMIT: f64 = 2.58;

fn honest(scores: &Scores) -> bool {
    scores.z.is_some_and(|z| z.abs() < Z_LIMIT) && scores.inside() >= 9
}

fn scores(calibration: Calibration) -> Scores {
    calibration.scores.expect("calls that can be scored")
}

/// Of three seeds, so that it can't hang on one: over seeds 0 to 19 honest ones held 19 times, and all 20 failed with one rate doubled.
#[test]
fn honest_percentages_pass_and_a_doubled_rate_fails() {
    let engine = Engine::new(machine());
    let doubled = machine_with(|id, rate| if id == "motor-worn" { 2.0 * rate } else { rate });
    let mut held = 0;
    for seed in 0..3 {
        let calls = simulated(&engine, seed, 20_000);
        let own = scores(calibrate(&engine, calls.iter().map(|c| c.entries.clone())));
        held += usize::from(honest(&own));
        let other = scores(calibrate(&doubled, calls.into_iter().map(|c| c.entries)));
        assert!(!honest(&other), "seed {seed}: {other:?}");
    }
    assert!(held >= 2, "{held} of 3");
}

/// A person who gives up after two repairs leaves many calls as referred; the misses among them count, so the percentages stay honest.
#[test]
fn giving_up_early_does_not_make_percentages_look_too_low() {
    let engine = Engine::new(machine());
    let mut simulator = pintle::records::Simulator::new(&engine, 7, 1);
    let calls = (0..20_000).map(|_| simulator.call().entries);
    let calibration = calibrate(&engine, calls);
    assert!(calibration.asides.refuted > 1_000, "{:?}", calibration.asides);
    let scores = scores(calibration);
    assert!(scores.z.is_some_and(|z| z.abs() < Z_LIMIT), "{scores:?}");
}

#[test]
fn the_order_of_calls_changes_nothing() {
    let engine = Engine::new(machine());
    let mut calls: Vec<Vec<Entry>> = simulated(&engine, 3, 300).into_iter().map(|c| c.entries).collect();
    let forward = calibrate(&engine, calls.clone());
    calls.reverse();
    assert_eq!(forward, calibrate(&engine, calls));
}

/// What was said is what stood there before the first repair: what follows does not change it.
#[test]
fn later_entries_do_not_change_what_was_said() {
    let engine = Engine::new(machine());
    let call = simulated(&engine, 5, 50)
        .into_iter()
        .find(|c| {
            c.entries
                .iter()
                .filter(|e| matches!(e.event, Event::Repaired { .. }))
                .count()
                == 1
        })
        .expect("a call with one repair");
    let first = |c: Calibration| scores(c).predicted;
    let before = first(calibrate(&engine, [call.entries.clone()]));
    let mut entries = call.entries;
    let end = entries.pop().expect("its ending");
    let answer = entries
        .iter()
        .find(|e| matches!(e.event, Event::Answer { .. }))
        .cloned();
    entries.push(answer.expect("an answer"));
    entries.push(end);
    assert!((first(calibrate(&engine, [entries])) - before).abs() < 1e-15);
}

/// An open call, one that nobody repaired, and one with a repair whose proof nobody could see say nothing about the percentages.
#[test]
fn calls_without_a_proof_are_not_scored() {
    let engine = Engine::new(machine());
    let call = simulated(&engine, 5, 1).remove(0).entries;
    let open: Vec<Entry> = call[..call.len() - 1].to_vec();
    let unrepaired: Vec<Entry> = call
        .iter()
        .filter(|e| !matches!(e.event, Event::Repaired { .. } | Event::Proof { .. }))
        .cloned()
        .collect();
    let mut unseen = call;
    for entry in &mut unseen {
        if let Event::Proof { seen, .. } = &mut entry.event {
            *seen = Seen::CantTell;
        }
    }
    let calibration = calibrate(&engine, [open, unrepaired, unseen]);
    assert_eq!(calibration.scores, None);
    assert_eq!((calibration.kinds.open, calibration.kinds.not_proven), (1, 2));
    assert_eq!(calibration.asides.not_tested, 1);
}

#[test]
fn the_page_and_the_picture() {
    let engine = Engine::new(machine());
    let calibration = calibrate(&engine, simulated(&engine, 1, 2_000).into_iter().map(|c| c.entries));
    let page = render_calibration(&calibration, &Skips::default(), &Style::plain(80));
    assert!(page.lines().all(|l| l.chars().count() <= 80 && l.is_ascii()), "{page}");
    insta::assert_snapshot!(page);
    let svg = picture(&scores(calibration));
    assert!(!svg.contains("<script") && svg.contains("<title") && svg.contains("<desc"));
    insta::assert_snapshot!(svg);
}

/// For `tests/external/scores_check.py`: predictions with their scores, and beta quantiles, as the program works them out.
#[test]
#[ignore = "writes a file for a check that needs other programs"]
fn export_for_scores() {
    let path = std::env::var("PINTLE_EXPORT").expect("PINTLE_EXPORT names the file to write");
    let engine = Engine::new(machine());
    let window = pintle::records::Window::default();
    let mut predictions = Predictions::new(&engine, &window);
    for call in simulated(&engine, 1, 5_000) {
        predictions.add(call.entries).expect("a call of this knowledge");
    }
    let mut quantiles = Vec::new();
    for a in [0.05, 0.5, 1.0, 4.5, 37.25, 900.0, 20_000.0] {
        for b in [0.5, 1.0, 95.5, 1_234.5, 90_000.0] {
            for p in [0.025, 0.5, 0.975] {
                quantiles.push([p, a, b, beta_quantile(p, a, b)]);
            }
        }
    }
    let export = serde_json::json!({
        "calibration": Calibration::from_threads(vec![predictions], true),
        "quantiles": quantiles,
    });
    std::fs::write(path, export.to_string()).expect("written");
}
