//! A cause: how often and where, what it shows, what goes with it, who proves it.

use std::fmt::Write as _;

use super::step::{number, severity, sites};
use super::{Block, Ref, Shown, cause_ref, refs, strongest_first, test_ref, text};
use crate::call::Engine;
use crate::knowledge::frequency::{Frequency, WORDS};
use crate::knowledge::schema::{Cause, Entries, ShowsWhen};
use crate::model::{CauseId, SiteFacts};

pub(super) fn blocks(engine: &Engine, id: &str) -> Option<Vec<Block>> {
    let k = &engine.knowledge;
    let (at, _, cause) = k.causes.get_full(id)?;
    let mut out = Vec::new();
    text(&mut out, "how", &cause.how);
    text(&mut out, "danger", severity(cause.severity));
    rate(engine, CauseId::at(at), cause, &mut out);
    let symptoms = cause.symptoms.iter().map(|(s, f)| {
        let title = k.symptoms.get(s).map_or(s, |s| &s.title);
        Ref::plain("symptoms", s, title.as_str())
            .share(f.chance)
            .noting(word(*f))
    });
    refs(&mut out, "reported", symptoms.collect());
    if let Some(when) = &cause.shows_when {
        text(&mut out, "presence", &comes_and_goes(when));
    }
    for (test, written) in &cause.shows {
        out.extend(shows(engine, CauseId::at(at), test, written));
    }
    let chance = |(c, f): (&String, &Frequency)| cause_ref(k, c).share(f.chance).noting(word(*f));
    refs(&mut out, "brings on", cause.brings_on.iter().map(chance).collect());
    let by = k
        .causes
        .iter()
        .filter_map(|(c, other)| Some((c, other.brings_on.get(id)?)));
    refs(&mut out, "due to", by.map(chance).collect());
    let mut confused: Vec<Ref> = cause
        .confused_with
        .iter()
        .map(|(c, how)| cause_ref(k, c).noting(how.as_str()))
        .collect();
    confused.extend(k.causes.iter().filter_map(|(c, other)| {
        let how = other.confused_with.get(id)?;
        (!cause.confused_with.contains_key(c)).then(|| cause_ref(k, c).noting(how.as_str()))
    }));
    refs(&mut out, "mistaken", confused);
    let mut repairs: Vec<Ref> = k
        .repairs
        .iter()
        .filter_map(|(r, repair)| {
            let chance = repair.cures.get(id)?.chance;
            Some(
                super::repair_ref(k, r)
                    .share(chance)
                    .noting(format!("{} min", number(repair.minutes))),
            )
        })
        .collect();
    strongest_first(&mut repairs);
    if repairs.is_empty() {
        text(&mut out, "repairs", "none: it can only be referred");
    }
    refs(&mut out, "repairs", repairs);
    let line = |l: &String| Ref::plain("retest", l, k.retest.get(l).map_or(l.as_str(), |line| &line.title));
    refs(&mut out, "fails", cause.fails.iter().map(line).collect());
    let proven = k.cases.iter().filter(|(_, case)| case.causes.iter().any(|c| c == id));
    let case = |(file, case): &(usize, crate::knowledge::schema::Case)| {
        Ref::plain("", &k.sources.files[*file].name, case.title.as_str())
    };
    let cases: Vec<Ref> = proven.map(case).collect();
    if cases.is_empty() {
        text(&mut out, "cases", "none proves it yet");
    }
    refs(&mut out, "cases", cases);
    text(&mut out, "source", &cause.source);
    Some(out)
}

/// How often, and what of the site changes that.
fn rate(engine: &Engine, at: CauseId, cause: &Cause, out: &mut Vec<Block>) {
    let (k, model) = (&engine.knowledge, &engine.model);
    let unknown = SiteFacts::unknown();
    let average = model.rates(k, &unknown);
    let here = average.rate[at.index()];
    let total: f64 = average.rate.iter().sum();
    let mut words = format!("{} calls in a thousand", number(cause.rate));
    if (here - cause.rate).abs() > 1e-9 {
        let _ = write!(words, " as written; {} at an average site", number(here));
    }
    if total > 0.0 {
        let share = 100.0 * here / total;
        let _ = write!(words, "; {share:.1} % of the calls with a cause that is written down");
    }
    text(out, "how often", &words);
    text(out, "sites", &sites(engine, &cause.when));
    let mut changed = Vec::new();
    for (fact, factors) in &cause.times {
        let Some(entry) = k.facts.get(fact) else { continue };
        for (value, factor) in factors {
            let with = model.rates(k, &unknown.with(fact, value)).rate[at.index()];
            let title = format!("{} {}", entry.ask, entry.values.get(value).map_or(value, |v| &v.say));
            let note = format!("{} times the rate", number(*factor));
            let figure = format!("{}/1000", number((with * 10.0).round() / 10.0));
            changed.push(Ref::plain("facts", fact, title).with(figure, with).noting(note));
        }
    }
    refs(out, "varies", changed);
}

/// A word of the scale, where the author wrote one.
fn word(f: Frequency) -> &'static str {
    let same = |(_, chance): &&(&str, f64)| f.is_word && chance.to_bits() == f.chance.to_bits();
    WORDS.iter().find(same).map_or("", |(word, _)| word)
}

fn comes_and_goes(when: &ShowsWhen) -> String {
    let share = |x: f64| super::percent(x);
    let mut words = if when.under.is_empty() {
        format!("shows now and then: {} of moments", share(when.share))
    } else {
        let under: Vec<&str> = when.under.iter().map(|p| p.say()).collect();
        format!(
            "shows under {} in {} of moments, otherwise in {}",
            under.join(" or "),
            share(when.share),
            share(when.otherwise)
        )
    };
    if let Some(traces) = when.traces {
        let _ = write!(words, "; leaves traces on tests in {} while it is away", share(traces));
    }
    words
}

/// The worked-out chances on one test, beside a healthy gate's.
fn shows(engine: &Engine, cause: CauseId, id: &str, written: &Entries<Frequency>) -> Option<Block> {
    let (k, model) = (&engine.knowledge, &engine.model);
    let table = &model.tests[model.test(id)?.index()];
    let chances = table.shown(cause)?;
    let test = k.tests.get(id)?;
    let outcomes = table.outcomes.iter().enumerate().map(|(o, outcome)| Shown {
        id: outcome.clone(),
        say: super::test::say(test, outcome).to_owned(),
        chance: chances[o],
        healthy: table.healthy[o],
        written: written.get(outcome).map_or(String::new(), |f| match word(*f) {
            "" => f.chance.to_string(),
            word => word.to_owned(),
        }),
    });
    let sum: f64 = written.values().map(|f| f.chance).sum();
    let all_named = table.outcomes.iter().all(|o| written.contains_key(o));
    let rescaled = (all_named || sum > 1.0) && (sum - 1.0).abs() > 1e-6;
    Some(Block::Shows {
        test: test_ref(k, id),
        outcomes: outcomes.collect(),
        rescaled_from: rescaled.then_some(sum),
    })
}

/// Causes that no practical test tells apart.
pub(super) fn ambiguity(engine: &Engine, id: &str) -> Option<Vec<Block>> {
    let k = &engine.knowledge;
    let group = k.ambiguity.get(id)?;
    let mut out = Vec::new();
    text(&mut out, "reason", &group.reason);
    let causes = group.causes.iter().map(|c| {
        let title = k.causes.get(c).map_or(c, |c| &c.title);
        Ref::plain("causes", c, title.as_str())
    });
    refs(&mut out, "causes", causes.collect());
    text(&mut out, "source", &group.source);
    Some(out)
}
