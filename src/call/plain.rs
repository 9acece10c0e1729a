//! Answers that say nothing about the gate: whoever plays a call without a person gives these.

use super::event::Event;
use super::state::{Call, DANGER};
use super::step::Step;
use crate::knowledge::schema::Ending;

/// The answer to a step that only asks for something to be done; `None` where the site has to answer.
#[must_use]
pub(crate) fn plain_answer(call: &Call<'_>, step: &Step) -> Option<Event> {
    Some(match step {
        Step::PutOutOfUse => {
            let stop = call.stop();
            let mut why = stop.map(|s| s.signs.clone()).unwrap_or_default();
            let danger = stop.and_then(|s| s.danger);
            why.extend(danger.map(|d| format!("{DANGER}{d:?}").to_lowercase()));
            Event::OutOfUse { why, made_safe: true }
        }
        Step::Condition { condition, .. } => Event::Condition {
            condition: *condition,
            done: true,
        },
        Step::Clearance { .. } => Event::Clearance { confirmed: true },
        Step::Entitlement => Event::Entitled {
            how: "owner, in person".to_owned(),
        },
        Step::DeviceBack { device } => Event::DeviceBack { device: device.clone() },
        Step::ClearSigns { signs } => Event::SignsCleared {
            signs: signs.clone(),
            how: "put right and looked at".to_owned(),
        },
        Step::GiveBack { what } => Event::GivenBack { what: what.clone() },
        Step::Finish { proposed, why, .. } => Event::Ended {
            ending: *proposed,
            text: why.clone(),
        },
        Step::Caller => Event::Caller {
            at_gate: true,
            others: String::new(),
        },
        Step::Send { .. } => Event::Visit {
            plan: Box::new(crate::visit::plan(call, &crate::visit::Wishes::default())),
        },
        Step::Booked => Event::Ended {
            ending: Ending::Waiting,
            text: "a visit is booked".to_owned(),
        },
        _ => return None,
    })
}
