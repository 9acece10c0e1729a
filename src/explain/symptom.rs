//! A symptom: how callers put it, what makes it, what the walk opens with.

use std::fmt::Write as _;

use super::{Block, Ref, cause_ref, refs, strongest_first, text};
use crate::belief::Evidence;
use crate::call::{Engine, First, opening};
use crate::plan::Situation;

/// Causes under this share are left to the last line.
const SHOWN: f64 = 0.005;

pub(super) fn blocks(engine: &Engine, id: &str) -> Option<Vec<Block>> {
    let (k, model) = (&engine.knowledge, &engine.model);
    let symptom = k.symptoms.get(id)?;
    let mut out = Vec::new();
    text(&mut out, "callers", &symptom.says.join("; "));
    text(&mut out, "proof", &symptom.gone);
    let planner = engine.planner();
    let belief = planner.belief(&Situation::starting(Evidence::reported(vec![model.symptom_id(id)?])));
    let makes = |c: &str| k.causes.get(c).and_then(|c| c.symptoms.get(id)).map(|f| f.chance);
    let mut causes: Vec<Ref> = k
        .causes
        .keys()
        .zip(belief.causes(model))
        .filter(|(c, p)| makes(c).is_some() && *p >= SHOWN)
        .map(|(c, p)| {
            let made = super::percent(makes(c).unwrap_or(0.0));
            cause_ref(k, c).share(p).noting(format!("in {made} of its calls"))
        })
        .collect();
    strongest_first(&mut causes);
    let listed = k.causes.keys().filter(|c| makes(c).is_some()).count();
    let left = listed - causes.len();
    refs(&mut out, "causes", causes);
    let mut rest = format!(
        "{} something nobody wrote down, {} nothing wrong now",
        super::percent(belief.not_listed()),
        super::percent(belief.nothing())
    );
    if left > 0 {
        let _ = write!(rest, "; {left} more under 1 %");
    }
    text(&mut out, "", &format!("{rest}. At a site of which nothing is known."));
    text(&mut out, "opens on", &opens(engine, id)?);
    text(&mut out, "source", &symptom.source);
    Some(out)
}

fn opens(engine: &Engine, id: &str) -> Option<String> {
    let opening = opening(engine, id)?;
    let first = match &opening.first {
        First::Test { id, title } => format!("{title} ({id})"),
        First::Repair { id, title } => format!("repair: {title} ({id})"),
        First::Fact { id, title } => format!("question: {title} ({id})"),
        First::Stop => "stop: out of use".to_owned(),
        First::End { title } => title.clone(),
    };
    Some(match &opening.danger {
        Some(danger) => {
            let causes: Vec<&str> = danger.causes.iter().map(|(title, _)| title.as_str()).collect();
            let chance = super::percent(danger.chance);
            format!("{first}; because a danger is {chance} likely: {}", causes.join(", "))
        }
        None => first,
    })
}

pub(super) fn idea(engine: &Engine, id: &str) -> Option<Vec<Block>> {
    let idea = engine.knowledge.ideas.get(id)?;
    let mut out = Vec::new();
    text(&mut out, "words", &idea.words.join(", "));
    text(&mut out, "source", &idea.source);
    Some(out)
}
