//! What tests and repairs have in common: who, where, what it needs, what it costs, what to mind.

use std::fmt::Write as _;

use super::{Block, Ref, refs, test_ref, text};
use crate::call::Engine;
use crate::knowledge::schema::{Condition, Moves, Repair, Severity, Task, Test, When, Who, tasks_of};
use crate::plan::{ActionCosts, Standing};

/// A test or a repair, as far as they are alike.
pub(super) struct Step<'a> {
    pub(super) who: Who,
    pub(super) place: Option<&'a str>,
    pub(super) inside: Option<&'a str>,
    pub(super) needs: &'a [Condition],
    pub(super) moves: Moves,
    pub(super) entitled: bool,
    pub(super) minutes: f64,
    pub(super) tools: &'a [String],
    pub(super) tasks: &'a [Task],
    pub(super) after: &'a [String],
    pub(super) when: &'a When,
    pub(super) cautions: &'a [String],
    pub(super) steps: &'a [String],
}

impl<'a> Step<'a> {
    pub(super) fn of_test(t: &'a Test) -> Self {
        Self {
            who: t.who,
            place: t.place.as_deref(),
            inside: t.inside.as_deref(),
            needs: &t.needs,
            moves: t.moves,
            entitled: t.entitled,
            minutes: t.minutes,
            tools: &t.tools,
            tasks: &t.tasks,
            after: &t.after,
            when: &t.when,
            cautions: &t.cautions,
            steps: &t.steps,
        }
    }

    pub(super) fn of_repair(r: &'a Repair) -> Self {
        Self {
            who: r.who,
            place: r.place.as_deref(),
            inside: r.inside.as_deref(),
            needs: &r.needs,
            moves: r.moves,
            entitled: r.entitled,
            minutes: r.minutes,
            tools: &r.tools,
            tasks: &r.tasks,
            after: &r.after,
            when: &r.when,
            cautions: &r.cautions,
            steps: &r.steps,
        }
    }
}

/// Who, where, needs, cost, cautions, steps.
pub(super) fn blocks(engine: &Engine, step: &Step<'_>, costs: &ActionCosts) -> Vec<Block> {
    let k = &engine.knowledge;
    let mut out = Vec::new();
    let mut who = who(step.who).to_owned();
    if step.entitled {
        who += "; only once it is known that whoever asks is entitled";
    }
    text(&mut out, "who", &who);
    let place = step.place.and_then(|p| k.places.get(p)).map(|p| p.title.clone());
    let cover = step
        .inside
        .and_then(|c| k.covers.get(c))
        .map(|c| format!("inside {}", c.title));
    let place: Vec<String> = place.into_iter().chain(cover).collect();
    text(&mut out, "where", &place.join(", "));
    let needs: Vec<&str> = step.needs.iter().map(|c| c.id()).collect();
    text(&mut out, "needs", &needs.join(", "));
    text(&mut out, "moves", moves(step.moves));
    let planner = engine.planner();
    let access = planner.costs().access(costs, &Standing::arriving());
    let mut cost = format!("{} min of work", number(step.minutes));
    if access > 0.0 {
        let _ = write!(
            cost,
            ", {} min to get there, open and switch on arriving",
            number(access)
        );
    }
    if !step.tools.is_empty() {
        let _ = write!(cost, "; tools: {}", step.tools.join(", "));
    }
    text(&mut out, "cost", &cost);
    text(&mut out, "sites", &sites(engine, step.when));
    refs(&mut out, "after", step.after.iter().map(|t| test_ref(k, t)).collect());
    for caution in step.cautions {
        out.push(Block::Caution { text: caution.clone() });
    }
    let tasks = tasks_of(step.tasks, step.moves, step.inside.is_some());
    for (id, standing) in k.standing.iter().filter(|(_, s)| s.attaches(step.place, &tasks)) {
        out.push(Block::Caution {
            text: format!("{} (standing: {id})", standing.text),
        });
    }
    if !step.steps.is_empty() {
        out.push(Block::Steps {
            steps: step.steps.to_vec(),
        });
    }
    out
}

pub(super) fn who(who: Who) -> &'static str {
    match who {
        Who::Anyone => "anyone",
        Who::Technician => "a gate technician",
        Who::Electrician => "a licensed electrician",
    }
}

fn moves(moves: Moves) -> &'static str {
    match moves {
        Moves::No => "",
        Moves::Commanded => "the motor runs on command",
        Moves::ByHand => "a hand moves the leaf, or is in the travel or the arm",
    }
}

pub(super) fn severity(severity: Severity) -> &'static str {
    match severity {
        Severity::None => "a nuisance: it hurts nobody",
        Severity::Hurt => "it may hurt somebody",
        Severity::Maim => "it may maim somebody",
        Severity::Kill => "it may kill somebody",
    }
}

/// The sites of a `when`: each fact's question and the answers that count.
pub(super) fn sites(engine: &Engine, when: &When) -> String {
    let facts = &engine.knowledge.facts;
    let one = |(fact, values): (&String, &Vec<String>)| {
        let entry = facts.get(fact);
        let say = |v: &String| entry.and_then(|f| f.values.get(v)).map_or(v.clone(), |v| v.say.clone());
        let values: Vec<String> = values.iter().map(say).collect();
        format!("{} {}", entry.map_or(fact.as_str(), |f| &f.ask), values.join(", or: "))
    };
    when.iter().map(one).collect::<Vec<_>>().join("; and: ")
}

/// Tests and repairs that fit.
pub(super) fn steps_that<'e>(engine: &'e Engine, fits: impl Fn(&Step<'e>) -> bool) -> Vec<Ref> {
    let k = &engine.knowledge;
    let tests = k.tests.iter().filter(|(_, t)| fits(&Step::of_test(t)));
    let repairs = k.repairs.iter().filter(|(_, r)| fits(&Step::of_repair(r)));
    tests
        .map(|(id, _)| test_ref(k, id))
        .chain(repairs.map(|(id, _)| super::repair_ref(k, id).noting("repair")))
        .collect()
}

/// A number with two decimals at most.
pub(super) fn number(x: f64) -> String {
    ((x * 100.0).round() / 100.0).to_string()
}
