//! How the call ended, in words that can't be read as more than it is.

use super::phrases;
use super::privacy::plain_text;
use super::record::EndingBlock;
use crate::call::{Call, Event};
use crate::knowledge::schema::{At, Condition, Ending};

/// The ending with what it means.
pub(super) fn block(call: &Call<'_>) -> EndingBlock {
    let Some((ending, reason)) = call.ending() else {
        let mut says = vec!["The call is still open. Nothing here says that the gate is safe to use.".to_owned()];
        says.extend(out_of_use_now(call));
        return EndingBlock {
            kind: None,
            word: "open".to_owned(),
            borne_out: true,
            out_of_use: call.stop().is_some(),
            made_safe: is_made_safe(call),
            says,
            reason: None,
        };
    };
    let reason = plain_text(reason);
    EndingBlock {
        kind: Some(*ending),
        word: ending.say().to_owned(),
        borne_out: call.may_end(*ending),
        out_of_use: *ending == Ending::OutOfUse || call.stop().is_some(),
        made_safe: is_made_safe(call),
        says: sentences(call, *ending),
        reason: (!reason.is_empty()).then_some(reason),
    }
}

fn sentences(call: &Call<'_>, ending: Ending) -> Vec<String> {
    let mut says = match ending {
        Ending::Fixed if call.may_end(Ending::Fixed) => {
            return vec![
                "The repair was proven with the gate running, and every line of the safety retest that applies here was passed after it.".to_owned(),
            ];
        }
        Ending::Fixed => vec![
            "THIS RECORD DOES NOT BEAR THAT OUT: a repair that is proven, a retest passed after it, no stop and every device back are needed, and something of it is missing. Do not take the gate as safe.".to_owned(),
        ],
        Ending::Explained => vec![
            format!("Working as it is set. {} The owner was told how it works.", nothing_changed(call)),
            "Devices not retested.".to_owned(),
        ],
        Ending::NoFaultFound => vec![
            "Nothing wrong was found, which is not proof that nothing is wrong. What was tried is listed below.".to_owned(),
            "Devices not retested.".to_owned(),
            watch_for(call),
        ],
        Ending::Waiting => vec![
            "Not finished: it waits for parts or a return visit. The state in which the gate was left is listed below.".to_owned(),
        ],
        Ending::Referred => vec![
            "Handed on: it needs somebody else. Nothing here says that the gate is safe to use.".to_owned(),
        ],
        Ending::OutOfUse => vec![
            "OUT OF USE FOR EVERYBODY. THE GATE IS NOT SAFE: nobody runs it, by any control, until the danger is put right and the safety retest is passed.".to_owned(),
            made_safe(call),
        ],
        Ending::DeficiencyRefused => vec![
            "The owner refuses to have a deficiency put right. OWNER TOLD IN WRITING: what is missing, what it can do to a person, and that the gate should not be run.".to_owned(),
            "This gate is not shown as repaired and not shown as safe.".to_owned(),
        ],
        Ending::Withdrawn => vec![
            "The caller withdrew before the end. Nothing here says that the gate is safe to use.".to_owned(),
        ],
    };
    if ending != Ending::OutOfUse {
        says.extend(out_of_use_now(call));
    }
    says
}

/// What an explained call may say of the gate: nothing was changed, and which covers were opened to look.
fn nothing_changed(call: &Call<'_>) -> String {
    if !call.may_end(Ending::Explained) {
        return "THIS RECORD DOES NOT BEAR THAT OUT: the complaint is not answered, something was changed, or the gate is out of use. Do not take the gate as safe.".to_owned();
    }
    let covers = &call.engine.knowledge.covers;
    let opened: Vec<String> = call
        .situation()
        .standing
        .open
        .iter()
        .filter_map(|c| covers.get_index(*c))
        .map(|(_, cover)| plain_text(&cover.title))
        .collect();
    if opened.is_empty() {
        "Nothing was opened, adjusted or repaired.".to_owned()
    } else {
        format!(
            "Nothing was adjusted or repaired; opened only to look: {}.",
            opened.join(", ")
        )
    }
}

fn watch_for(call: &Call<'_>) -> String {
    let symptoms: Vec<String> = call
        .symptoms()
        .iter()
        .map(|s| phrases::symptom(&call.engine.knowledge, s))
        .collect();
    format!(
        "Watch for, and write down weather, time, load and who pressed what when it comes: {}.",
        symptoms.join("; ")
    )
}

/// Whether making safe was recorded, and by whom it is still to be done.
fn made_safe(call: &Call<'_>) -> String {
    if is_made_safe(call) {
        if call.at() == At::Phone {
            "The caller was told how to keep people and vehicles away. Nobody has isolated and secured it yet: a technician has to come.".to_owned()
        } else {
            "Recorded: isolated, leaf secured, signed on both sides, owner told in writing.".to_owned()
        }
    } else {
        "MAKING SAFE IS NOT RECORDED. Before anyone leaves: isolate every supply, secure the leaf, sign both sides, tell the owner in writing.".to_owned()
    }
}

fn is_made_safe(call: &Call<'_>) -> bool {
    put_out(call) && call.stop().is_none_or(|s| s.made_safe)
}

fn put_out(call: &Call<'_>) -> bool {
    let recorded = |(i, event): (usize, &Event)| {
        matches!(event, Event::OutOfUse { made_safe: true, .. }) && !call.retracted().contains(&i)
    };
    call.entries.iter().map(|e| &e.event).enumerate().any(recorded)
}

/// A stop that still stands goes with every ending.
fn out_of_use_now(call: &Call<'_>) -> Vec<String> {
    if call.stop().is_none() {
        return Vec::new();
    }
    vec![
        "THE GATE IS OUT OF USE AND NOT SAFE: nobody runs it.".to_owned(),
        made_safe(call),
    ]
}

/// The state in which the gate was left, as far as the call says.
pub(super) fn left_as(call: &Call<'_>, device_off: Option<&str>, given_back: bool) -> Vec<String> {
    let mut state = Vec::new();
    if let Some(device) = device_off {
        state.push(format!("A PROTECTION DEVICE IS OFF and was not put back: {device}"));
    }
    if call.stop().is_some() || call.ending().is_some_and(|e| e.0 == Ending::OutOfUse) {
        state.push("Out of use".to_owned());
    }
    let says = |condition: Condition| match condition {
        Condition::Powered => "Powered as it normally is",
        Condition::Isolated => "Isolated: mains, battery and solar off",
        Condition::HeldOff => "Schedules, auto-close, app, exit loop and other remotes are still held off",
        Condition::LeafSecured => "Leaf secured against wind, slope and hands",
    };
    if call.at() == At::Phone {
        state
            .push("Taken on the phone: nothing at the gate was switched, opened or secured by a technician".to_owned());
        return state;
    }
    let conditions = &call.situation().standing.conditions;
    let held = |c: &&Condition| **c != Condition::HeldOff || !given_back;
    state.extend(conditions.iter().filter(held).map(|c| says(*c).to_owned()));
    if let Some(last) = call.repairs().last()
        && !last.all_gone(call.symptoms())
    {
        let title = phrases::repair(&call.engine.knowledge, &last.repair);
        state.push(format!("The last repair is not proven: {title}"));
    }
    state
}
