//! Questions are priced first on the likeliest hypotheses alone: the step taken is the one that pricing all of them on all would take.

use std::convert::Infallible;

use pintle::call::{Answerer, Call, CaseAnswerer, Entry, Reply, Step, walk};
use pintle::knowledge::schema::Who;

use crate::report::ENGINE;

/// One case in so many is played.
const EVERY: usize = 60;

/// Answers as a case does, and weighs every test that is asked against what all prices say.
struct Both {
    case: CaseAnswerer<'static>,
    steps: usize,
    /// Steps at which another action would have been taken, with how much less it costs, as a share.
    other: Vec<f64>,
}

impl Answerer for Both {
    type Error = Infallible;

    fn answer(&mut self, call: &Call<'_>, step: &Step) -> Result<Reply, Infallible> {
        if matches!(step, Step::Test { .. } | Step::Send { .. } | Step::Repair { .. }) {
            let taken = call.choice();
            let planner = call.engine.planner().pricing_all();
            let all = planner.choose(call.situation(), call.belief());
            self.steps += 1;
            if taken.action != all.action {
                self.other.push((taken.cost - all.cost) / all.cost);
            }
            assert!(
                taken.cost >= all.cost - 1e-9,
                "pricing less can't be cheaper: {taken:?}, {all:?}"
            );
        }
        self.case.answer(call, step)
    }

    fn now(&self) -> String {
        self.case.now()
    }
}

#[test]
fn the_first_look_loses_nothing() {
    let every = std::env::var("PINTLE_EVERY").map_or(EVERY, |n| n.parse().expect("a number"));
    let (mut steps, mut other) = (0, Vec::new());
    for (_, case) in ENGINE.knowledge.cases.iter().step_by(every) {
        let opened = Entry {
            time: "2026-01-01T08:00:00Z".to_owned(),
            event: ENGINE.opened(case.at, Who::Technician, None),
        };
        let mut call = Call::in_memory(&ENGINE, vec![opened]);
        let mut both = Both {
            case: CaseAnswerer::new(&ENGINE, case),
            steps: 0,
            other: Vec::new(),
        };
        walk(&mut call, &mut both).expect("a case never breaks off");
        steps += both.steps;
        other.extend(both.other);
    }
    println!("{steps} steps, {} taken otherwise: {other:?}", other.len());
    assert!(steps > 30, "{steps} steps");
    assert!(other.iter().all(|lost| *lost < 0.01), "{other:?}");
    assert!(other.len() * 50 <= steps, "{} of {steps}", other.len());
}
