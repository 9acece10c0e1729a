//! A test: the question, its limits, what each outcome speaks for and against.

use std::fmt::Write as _;

use super::step::{self, Step};
use super::{Block, Ref, cause_ref, refs, text};
use crate::call::Engine;
use crate::knowledge::schema::Test;
use crate::model::TestId;

/// A ratio nearer to 1 than this, either way, speaks for nothing.
const TELLS: f64 = 1.25;

pub(super) fn blocks(engine: &Engine, id: &str) -> Option<Vec<Block>> {
    let k = &engine.knowledge;
    let (at, _, test) = k.tests.get_full(id)?;
    let mut out = Vec::new();
    text(&mut out, "ask", &test.ask);
    text(&mut out, "caller", test.caller.as_deref().unwrap_or(""));
    if test.first {
        text(
            &mut out,
            "first",
            "what it shows is lost once anything is pressed, switched or reset",
        );
    }
    if let Some(device) = &test.unplugs {
        text(
            &mut out,
            "unplugs",
            &format!("{device}; back and tested before anything moves"),
        );
    }
    let planner = engine.planner();
    out.extend(step::blocks(
        engine,
        &Step::of_test(test),
        planner.costs().test(TestId::at(at)),
    ));
    text(&mut out, "healthy", test.why.as_deref().unwrap_or(""));
    readings(test, &mut out);
    if !test.bands.is_empty() {
        text(&mut out, "limits", &test.limits());
        if let Some(by) = &test.baseline {
            let line = format!("{}, where the site file has a baseline of `{}`", by.value, by.reading);
            text(&mut out, "baseline", &line);
        }
    }
    if let Some(quantity) = test.quantity.as_ref().filter(|q| *q != id) {
        text(
            &mut out,
            "quantity",
            &format!("{quantity}: answers with one quantity replace each other by rank"),
        );
    }
    if let Some(reliability) = test.reliability {
        let words = format!("{} of callers' answers are what they seem", super::percent(reliability));
        text(&mut out, "callers", &words);
    }
    out.extend(speaks(engine, TestId::at(at), test));
    let waiting = step::steps_that(engine, |s| s.after.iter().any(|t| t == id));
    refs(&mut out, "opens up", waiting);
    text(&mut out, "source", &test.source);
    Some(out)
}

/// What is shown for an outcome.
pub(super) fn say<'t>(test: &'t Test, outcome: &'t str) -> &'t str {
    let band = test.bands.get(outcome).map(|b| b.say.as_str());
    band.or_else(|| test.outcomes.get(outcome).map(|o| o.say.as_str()))
        .unwrap_or(outcome)
}

fn readings(test: &Test, out: &mut Vec<Block>) {
    for (id, spec) in &test.readings {
        let mut words = format!("{id}, in {}", spec.unit.symbol());
        if let Some(ask) = &spec.ask {
            let _ = write!(words, ": {ask}");
        }
        if let Some([low, high]) = spec.range {
            let _ = write!(words, "; believable from {low} to {high}");
        }
        if let Some(m) = &spec.meter {
            let digits = format!("{} % and {} counts of {}", m.percent, m.counts, m.digit);
            let _ = write!(words, "; the meter may be off by {digits}");
        }
        if let Some(ol) = &spec.ol {
            let _ = write!(words, "; OL means {}", say(test, ol));
        }
        text(out, "reading", &words);
    }
}

/// For each outcome the causes that it makes likelier or less likely than on a healthy gate.
fn speaks(engine: &Engine, test: TestId, entry: &Test) -> Vec<Block> {
    let (k, table) = (&engine.knowledge, &engine.model.tests[test.index()]);
    let one = |(o, outcome): (usize, &String)| {
        let healthy = table.healthy[o];
        let mut ratios: Vec<(f64, Ref)> = table
            .mentioned_by()
            .filter_map(|c| {
                let chance = table.shown(c)?[o];
                let ratio = if chance <= 0.0 { 0.0 } else { chance / healthy };
                let (id, _) = k.causes.get_index(c.index())?;
                Some((ratio, cause_ref(k, id).with(times(ratio), ratio)))
            })
            .collect();
        ratios.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.id.cmp(&b.1.id)));
        let speaks_for = ratios.iter().filter(|(r, _)| *r >= TELLS);
        let against = ratios.iter().rev().filter(|(r, _)| *r <= 1.0 / TELLS);
        Block::Speaks {
            outcome: outcome.clone(),
            say: say(entry, outcome).to_owned(),
            healthy,
            normal: table.normal[o],
            speaks_for: speaks_for.map(|(_, r)| r.clone()).collect(),
            speaks_against: against.map(|(_, r)| r.clone()).collect(),
        }
    };
    table.outcomes.iter().enumerate().map(one).collect()
}

/// A likelihood ratio as a person reads it.
fn times(ratio: f64) -> String {
    let plain = |x: f64| if x < 9.95 { format!("{x:.1}") } else { format!("{x:.0}") };
    if ratio.is_infinite() {
        "only with".to_owned()
    } else if ratio <= 0.0 {
        "never with".to_owned()
    } else if ratio >= 1.0 {
        format!("{} times", plain(ratio))
    } else {
        format!("1/{}", plain(1.0 / ratio))
    }
}
