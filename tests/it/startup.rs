//! How long it takes from the start to the first question, beside the bare parse of the same knowledge.
//!
//! Optimised only, on a quiet machine: `cargo test --release --test it -- --ignored --nocapture startup`.

use std::time::Instant;

use pintle::knowledge::{WithCases, built_in_text};

use super::pty::{Terminal, pintle};

const STARTS: usize = 50;
/// Longest median wait.
const MOST_MS: f64 = 100.0;
/// Most of it, in bare parses.
const MOST_PARSES: f64 = 2.0;

fn median(mut times: Vec<f64>) -> f64 {
    times.sort_by(f64::total_cmp);
    times[times.len() / 2]
}

/// Milliseconds that `work` takes.
fn timed(work: impl FnOnce()) -> f64 {
    let start = Instant::now();
    work();
    start.elapsed().as_secs_f64() * 1000.0
}

#[test]
#[expect(clippy::print_stdout, reason = "a measurement is there to be read")]
#[ignore = "a measurement: optimised, on a quiet machine"]
fn the_first_question_comes_at_once() {
    let data = tempfile::tempdir().expect("a temporary folder");
    let pack = built_in_text(WithCases::No);
    let (mut starts, mut parses) = (Vec::new(), Vec::new());
    // In turn, so that both meet the same machine.
    for _ in 0..STARTS {
        let mut terminal = None;
        starts.push(timed(|| {
            let mut command = pintle(data.path());
            command.arg("diagnose");
            let mut started = Terminal::start(command);
            assert_eq!(started.question().prompt, "signs:");
            terminal = Some(started);
        }));
        if let Some(terminal) = terminal {
            terminal.kill();
        }
        parses.push(timed(|| {
            for (name, text) in &pack.files {
                let value: serde_yaml::Value = serde_yaml::from_str(text).expect(name);
                std::hint::black_box(value);
            }
        }));
    }
    let (start, parse) = (median(starts), median(parses));
    let bytes: usize = pack.files.iter().map(|(_, text)| text.len()).sum();
    let said = format!(
        "first question after {start:.1} ms, bare parse of {bytes} bytes {parse:.1} ms: {:.2} times (medians of {STARTS})",
        start / parse
    );
    println!("{said}");
    assert!(start <= MOST_MS && start <= MOST_PARSES * parse, "{said}");
}
