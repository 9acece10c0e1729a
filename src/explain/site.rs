//! What is of the site: facts, places, covers, conditions.

use super::step::{number, steps_that, who};
use super::{Block, Ref, cause_ref, refs, text};
use crate::call::Engine;
use crate::formula::Formula;

pub(super) fn fact(engine: &Engine, id: &str) -> Option<Vec<Block>> {
    let k = &engine.knowledge;
    let fact = k.facts.get(id)?;
    let mut out = Vec::new();
    let asked = if fact.opening {
        "asked before the walk where it matters to what is reported"
    } else {
        "asked where it is worth its time"
    };
    text(&mut out, "asked", &format!("{asked}; {} min", number(fact.minutes)));
    let values = fact
        .values
        .iter()
        .map(|(v, value)| Ref::plain("", v, value.say.as_str()).share(value.share));
    refs(&mut out, "values", values.collect());
    if let Some(n) = &fact.number {
        let words = format!("in {}, from {} to {}", n.unit.symbol(), n.range[0], n.range[1]);
        text(&mut out, "number", &words);
    }
    let bears = k.causes.iter().filter_map(|(c, cause)| {
        let mut notes: Vec<String> = Vec::new();
        if let Some(values) = cause.when.get(id) {
            notes.push(format!("only with {}", values.join(", ")));
        }
        for (value, factor) in cause.times.get(id).into_iter().flatten() {
            notes.push(format!("{value}: {} times the rate", number(*factor)));
        }
        (!notes.is_empty()).then(|| cause_ref(k, c).noting(notes.join("; ")))
    });
    refs(&mut out, "bears on", bears.collect());
    refs(&mut out, "switches", steps_that(engine, |s| s.when.contains_key(id)));
    let named = |formula: &str| {
        let names = Formula::parse(formula).map(|f| f.variables()).unwrap_or_default();
        names
            .iter()
            .any(|(name, _)| k.fact_named(name).is_some_and(|(fact, _)| fact == id))
    };
    let tests = k.tests.iter().filter(|(_, t)| t.value.as_deref().is_some_and(named));
    refs(
        &mut out,
        "formulas",
        tests.map(|(t, _)| super::test_ref(k, t)).collect(),
    );
    text(&mut out, "source", &fact.source);
    Some(out)
}

pub(super) fn place(engine: &Engine, id: &str) -> Option<Vec<Block>> {
    let place = engine.knowledge.places.get(id)?;
    let mut out = Vec::new();
    text(
        &mut out,
        "walk",
        &format!("{} min from the middle of the site", number(place.walk)),
    );
    refs(&mut out, "work", steps_that(engine, |s| s.place == Some(id)));
    Some(out)
}

pub(super) fn cover(engine: &Engine, id: &str) -> Option<Vec<Block>> {
    let k = &engine.knowledge;
    let cover = k.covers.get(id)?;
    let mut out = Vec::new();
    let place = cover.place.as_ref().and_then(|p| k.places.get(p));
    text(&mut out, "where", place.map_or("", |p| &p.title));
    let around = cover.inside.as_ref().and_then(|c| k.covers.get(c));
    text(&mut out, "inside", around.map_or("", |c| &c.title));
    text(&mut out, "who", who(cover.who));
    text(
        &mut out,
        "cost",
        &format!("{} min to open, close and restore", number(cover.minutes)),
    );
    refs(&mut out, "behind it", steps_that(engine, |s| s.inside == Some(id)));
    Some(out)
}

pub(super) fn condition(engine: &Engine, id: &str) -> Option<Vec<Block>> {
    let how = engine.knowledge.conditions.get(id)?;
    let mut out = Vec::new();
    text(
        &mut out,
        "cost",
        &format!("{} min, giving it back included", number(how.minutes)),
    );
    out.push(Block::Steps {
        steps: how.steps.clone(),
    });
    text(&mut out, "give back", how.restore.as_deref().unwrap_or(""));
    let needed = steps_that(engine, |s| s.needs.iter().any(|c| c.id() == id));
    refs(&mut out, "needed by", needed);
    text(&mut out, "source", &how.source);
    Some(out)
}
