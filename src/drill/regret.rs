//! What a choice cost, given what the trainee knew then.
//!
//! Regret = Q(taken) − min Q, both from the plan's own evaluator at its own depth: one step, then the best order of repairs
//! ([`crate::plan::Planner::value`]). The plan's own next step has none, whatever brought it there.

use crate::call::{Call, Event, Purpose, Step};
use crate::knowledge::schema::Ending;
use crate::plan::{Action, Choice};

/// A decision, priced.
#[derive(Debug, Clone, PartialEq)]
pub struct Worth {
    /// What was decided.
    pub action: Action,
    /// Minutes expected from there with the plan's own step.
    pub best: f64,
    /// Minutes more that what was taken is expected to cost: never below 0.
    pub regret: f64,
    /// The plan's own step.
    pub better: Action,
    /// Share of the posterior in which a repair that was taken has something to cure; 1 for everything else.
    pub support: f64,
}

/// Prices the decision in an event; `call` is as it was before it. `None` where nothing was decided: safety, preparation, what follows by itself.
#[must_use]
pub fn worth(call: &Call<'_>, event: &Event) -> Option<Worth> {
    let model = &call.engine.model;
    let action = match event {
        Event::Answer { test, .. } => Action::Test(model.test(test)?),
        Event::Repaired { repair, .. } => Action::Repair(model.repair(repair)?),
        Event::Ended { ending, .. } => match ending {
            Ending::Referred | Ending::Waiting | Ending::Withdrawn => Action::Refer,
            Ending::Fixed | Ending::Explained | Ending::NoFaultFound => Action::NoFaultFound,
            Ending::OutOfUse | Ending::DeficiencyRefused => return None,
        },
        _ => return None,
    };
    let support = match action {
        Action::Repair(r) => call.belief().share(|b| {
            let (present, n) = b.present();
            present[..n].iter().any(|c| model.repairs[r.index()].chance(*c) > 0.0)
        }),
        _ => 1.0,
    };
    let next = call.next_step();
    // The walk's own step has the plan's choice with it, where it comes from the plan.
    let choice = match chosen(&next) {
        Some(choice) => choice.clone(),
        None => call.choice(),
    };
    let planned = planned(call, &next);
    let is_planned = planned == Some(action)
        || matches!((&next, event), (Step::Finish { proposed, .. }, Event::Ended { ending, .. }) if proposed == ending);
    let value = if is_planned || choice.action == action || choice.serves == Some(action) {
        choice.cost
    } else {
        call.engine.planner().value(call.situation(), call.belief(), action)
    };
    Some(Worth {
        action,
        best: choice.cost,
        regret: (value - choice.cost).max(0.0),
        better: planned.unwrap_or(choice.action),
        support,
    })
}

/// The plan's choice behind a step.
fn chosen(step: &Step) -> Option<&Choice> {
    let purpose = match step {
        Step::Test { purpose, .. } | Step::Repair { purpose, .. } => purpose,
        Step::Fact { purpose, .. } => purpose.as_ref()?,
        _ => return None,
    };
    match purpose {
        Purpose::Plan(choice) => Some(choice),
        _ => None,
    }
}

/// The test or repair that the walk itself would come to next, past what prepares it.
fn planned(call: &Call<'_>, next: &Step) -> Option<Action> {
    let model = &call.engine.model;
    match next {
        Step::Test { test, .. } => model.test(test).map(Action::Test),
        Step::Repair { repair, .. } => model.repair(repair).map(Action::Repair),
        Step::Fact { .. } => chosen(next).map(|choice| choice.action),
        _ => None,
    }
}
