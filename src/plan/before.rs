//! What goes before the plan's choice: rules of the walk that are constraints, not prices. A call and a chart share them.

use super::choose::Planner;
use super::offer::{Situation, settles};
use crate::belief::Belief;
use crate::knowledge::schema::{At, Repair};
use crate::model::{CauseId, TestId};

/// A danger with this posterior is taken as there: no further look is asked for its sake.
pub(crate) const SURE_DANGER: f64 = 0.5;
/// From this posterior on a cause that only somebody else can put right ends the walk.
const AS_GOOD_AS_CERTAIN: f64 = 0.9;
/// A look that comes first is taken when causes with this share of the posterior show on it.
const FIRST_LOOK: f64 = 0.25;

/// The cheapest test that bears on half of these dangers, among those that may be done with the gate out of use; failing that, the one that
/// bears on most of them.
pub(crate) fn settling(
    planner: &Planner<'_>,
    belief: &Belief,
    situation: Situation,
    dangers: &[CauseId],
) -> Option<TestId> {
    let model = planner.model;
    let situation = Situation {
        stopped: true,
        ..situation
    };
    let offer = planner.offer(belief, &situation, &situation.site);
    let p = belief.causes(model);
    let total: f64 = dangers.iter().map(|c| p[c.index()]).sum();
    let bears_on = |t: TestId| -> f64 {
        let told = dangers.iter().filter(|c| settles(model, t, &[**c]));
        told.map(|c| p[c.index()]).sum()
    };
    let cost = |t: TestId| {
        let action = planner.costs().test(t);
        action.minutes + planner.costs().access(action, &situation.standing)
    };
    let on_offer = (0..offer.tests.len())
        .map(TestId::at)
        .filter(|t| offer.tests[t.index()]);
    let weighed: Vec<(TestId, f64)> = on_offer
        .map(|t| (t, bears_on(t)))
        .filter(|(_, w)| *w > 0.1 * total)
        .collect();
    let halves = weighed.iter().filter(|(_, w)| *w >= 0.5 * total);
    halves
        .min_by(|a, b| cost(a.0).total_cmp(&cost(b.0)))
        .or_else(|| weighed.iter().max_by(|a, b| a.1.total_cmp(&b.1)))
        .map(|(t, _)| *t)
}

/// A look whose traces the next step may wipe out, as long as it bears on what is reported.
pub(crate) fn first_look(planner: &Planner<'_>, belief: &Belief, situation: &Situation) -> Option<TestId> {
    let (knowledge, model) = (planner.knowledge, planner.model);
    let offer = planner.offer(belief, situation, &situation.site);
    (0..offer.tests.len())
        .map(TestId::at)
        .filter(|t| knowledge.tests[t.index()].first && offer.tests[t.index()] && !situation.answered.contains(t))
        .find(|t| {
            let table = &model.tests[t.index()];
            belief.chance_of(|c| table.shown(c).is_some()) >= FIRST_LOOK
        })
}

/// A cause that is as good as certain and whose repairs are all somebody else's, an electrician's mostly.
pub(crate) fn for_others(planner: &Planner<'_>, belief: &Belief, situation: &Situation) -> Option<CauseId> {
    let (knowledge, model) = (planner.knowledge, planner.model);
    let chances = belief.causes(model);
    let (leading, p) = chances.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1))?;
    if *p < AS_GOOD_AS_CERTAIN || situation.at == At::Phone {
        return None;
    }
    let leading = CauseId::at(leading);
    let here = |repair: &&Repair| situation.site.holds(&repair.when) != Some(false);
    let of_cause = knowledge.repairs.values().zip(&model.repairs);
    let mut cures = of_cause
        .filter(|(_, table)| table.chance(leading) > 0.0)
        .map(|(repair, _)| repair)
        .filter(here)
        .peekable();
    cures.peek()?;
    cures.all(|repair| repair.who > situation.who).then_some(leading)
}
