//! Were the percentages honest?

use pintle::call::Engine;

use crate::records::{calibrate, machine, machine_with, simulated};

#[test]
#[ignore = "a survey of seeds"]
fn survey() {
    let engine = Engine::new(machine());
    let doubled = machine_with(|id, rate| if id == "motor-worn" { 2.0 * rate } else { rate });
    for seed in 0..6 {
        let calls = simulated(&engine, seed, 20_000);
        for judge in [&engine, &doubled] {
            let c = calibrate(judge, calls.iter().map(|c| c.entries.clone()));
            let s = c.scores.clone().unwrap();
            eprintln!("{seed}: z {:.2} inside {} brier {:.4} n {} drawn {} pred {:.4} obs {:.4} {:?}", s.z.unwrap(), s.inside(), s.brier, s.calls, c.drawn, s.predicted, s.observed,
              s.bins.iter().map(|b| (b.calls, b.inside)).collect::<Vec<_>>());
            if seed == 0 { eprintln!("{:?}", c.kinds); }
        }
    }
}
