//! How long the bare, untyped parse of the built-in pack takes: the yardstick of start-up. Prints the median of 50 runs in milliseconds.

use std::time::Instant;

use pintle::knowledge::{WithCases, built_in_text};

#[expect(clippy::print_stdout, reason = "it is a program that prints one number")]
fn main() {
    let pack = built_in_text(WithCases::No);
    let mut took: Vec<f64> = (0..50)
        .map(|_| {
            let start = Instant::now();
            for (name, text) in &pack.files {
                let parsed = serde_yaml::from_str::<serde_yaml::Value>(text);
                assert!(parsed.is_ok(), "{name}");
            }
            start.elapsed().as_secs_f64() * 1000.0
        })
        .collect();
    took.sort_by(f64::total_cmp);
    println!("{:.1}", took[took.len() / 2]);
}
