//! Does a load keep its promise? Draws calls on the phone with what is really wrong, loads for each, and counts the visits that put it right.
//!
//! usage: `simulated_visits VISITS [PERCENT] [SEED]`

use std::io::Write as _;

use pintle::call::Engine;
use pintle::knowledge::{Knowledge, WithCases};
use pintle::visit::{Visits, Wishes, simulate};

/// Visits drawn with one seed.
const BATCH: usize = 100;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [visits, rest @ ..] = arguments.as_slice() else {
        return Err("usage: simulated_visits VISITS [PERCENT] [SEED]".into());
    };
    let visits: usize = visits.parse()?;
    let percent: f64 = rest.first().map_or(Ok(90.0), |p| p.parse())?;
    let seed: u64 = rest.get(1).map_or(Ok(1), |s| s.parse())?;
    let (knowledge, _) = Knowledge::built_in(&[], WithCases::No);
    let engine = Engine::new(knowledge);
    let wishes = Wishes {
        rate: percent / 100.0,
        ..Wishes::default()
    };
    let batches: Vec<u64> = (0..visits.div_ceil(BATCH) as u64)
        .map(|i| seed * 1_000_003 + i)
        .collect();
    let each = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    let chunks = batches.chunks(batches.len().div_ceil(each).max(1));
    let all = std::thread::scope(|scope| {
        let run = |seeds: &[u64]| {
            let of = |seed: &u64| simulate(&engine, *seed, BATCH, &wishes);
            seeds.iter().map(of).fold(Visits::default(), Visits::and)
        };
        let threads: Vec<_> = chunks.map(|seeds| scope.spawn(move || run(seeds))).collect();
        threads
            .into_iter()
            .filter_map(|t| t.join().ok())
            .fold(Visits::default(), Visits::and)
    });
    let n = count(all.visits);
    let share = count(all.fixed) / n;
    let error = (share * (1.0 - share) / n).sqrt();
    writeln!(
        std::io::stdout(),
        "{} visits: {:.1} % promised, {:.1} % put right (standard error {:.1} points); too much promised by {:.2} points; {:.1} things a visit, {:.0} % of loads proven smallest",
        all.visits,
        100.0 * all.promised / n,
        100.0 * share,
        100.0 * error,
        100.0 * all.too_much(),
        count(all.things) / n,
        100.0 * count(all.smallest) / n,
    )?;
    Ok(())
}

/// Far fewer than 2^32 of anything.
fn count(n: usize) -> f64 {
    f64::from(u32::try_from(n).unwrap_or(u32::MAX))
}
