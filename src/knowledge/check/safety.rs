//! What safety asks of the knowledge itself. Rules of the trade: a gate is commanded only powered, with every other
//! command held off, by a technician; a hand goes into the travel or the arm only when it is isolated; a protection
//! device is taken off by a technician only; nobody opens a cover that is not theirs to open.

use super::{Found, StepView, steps};
use crate::finding::Code;
use crate::knowledge::schema::{Condition, Moves, Touch, Who, Wipe};

pub(super) fn check(found: &mut Found<'_>) {
    let k = found.knowledge;
    for step in steps(k) {
        movement(found, &step);
        cover(found, &step);
        retest(found, &step);
    }
    for (id, test) in &k.tests {
        if test.unplugs.is_some() && test.who == Who::Anyone {
            let message = format!("`{id}` takes a protection device off, and anyone may do it");
            let help =
                "`who: technician`: only a technician may take one off, to prove that the gate then refuses to run";
            found.at(Code::UnpluggedByAnyone, ("tests", id), &["who"], message, help);
        }
    }
    for (id, repair) in &k.repairs {
        let programs = repair.wipes.iter().any(|w| matches!(w, Wipe::Codes | Wipe::Remotes));
        if programs && !repair.entitled {
            let message =
                format!("`{id}` wipes codes or remotes that are set again afterwards, but it is not `entitled`");
            let help = "add `entitled: true`: the person asking is verified before the gate is programmed";
            found.at(Code::NotEntitled, ("repairs", id), &["wipes"], message, help);
        }
    }
}

fn movement(found: &mut Found<'_>, step: &StepView<'_>) {
    let id = step.entry.1;
    let needs = |condition| step.needs.contains(&condition);
    if needs(Condition::Powered) && needs(Condition::Isolated) {
        let message = format!("`{id}` needs the gate powered and isolated at once");
        let help = "keep one of the two, or make two steps of it";
        found.at(Code::ContradictoryNeeds, step.entry, &["needs"], message, help);
    }
    match step.moves {
        Moves::No => {}
        Moves::Commanded => {
            if needs(Condition::Isolated) && !needs(Condition::Powered) {
                let message = format!("`{id}` commands movement of an isolated gate");
                let help = "`moves: commanded` needs `powered`; a leaf pushed by hand is `moves: by-hand`";
                found.at(Code::ContradictoryNeeds, step.entry, &["needs"], message, help);
            }
            let missing: Vec<&str> = [Condition::Powered, Condition::HeldOff]
                .into_iter()
                .filter(|&c| !needs(c))
                .map(Condition::id)
                .collect();
            if !missing.is_empty() {
                let message = format!("`{id}` commands movement without {}", missing.join(" and "));
                let help = "write `needs: [powered, held-off]`: supplied as it normally is, and nobody else's command can move it";
                found.at(Code::MovesUnprepared, step.entry, &["moves"], message, help);
            }
            if step.who == Who::Anyone {
                let message = format!("`{id}` commands movement, and anyone may do it");
                let help = "write `who: technician`: whoever commands it must see the whole travel and know the gate";
                found.at(Code::MovesUnprepared, step.entry, &["who"], message, help);
            }
        }
        Moves::ByHand => {
            if !needs(Condition::Isolated) {
                let message = format!("`{id}` puts a hand in the travel or the arm of a gate that is not isolated");
                let help =
                    "add `needs: [isolated]`: mains, battery and solar off, one open command tried, nothing moves";
                found.at(Code::HandUnisolated, step.entry, &["moves"], message, help);
            }
        }
    }
}

/// Covers from the inside out; each must be one that whoever does the step may open.
fn cover(found: &mut Found<'_>, step: &StepView<'_>) {
    let k = found.knowledge;
    let mut passed: Vec<&str> = Vec::new();
    let mut next = step.inside;
    while let Some((id, cover)) = next.and_then(|id| k.covers.get_key_value(id)) {
        if passed.contains(&id.as_str()) {
            return;
        }
        passed.push(id);
        if step.who < cover.who {
            let message = format!(
                "{} may do `{}`, but only {} may open `{id}`",
                say(step.who),
                step.entry.1,
                say(cover.who)
            );
            let help = format!("write `who: {}`, or move the step outside that cover", word(cover.who));
            found.at(Code::CoverAboveWho, step.entry, &["inside"], message, help);
            return;
        }
        next = cover.inside.as_deref();
    }
}

fn say(who: Who) -> &'static str {
    match who {
        Who::Anyone => "anyone",
        Who::Technician => "a technician",
        Who::Electrician => "an electrician",
    }
}

fn word(who: Who) -> &'static str {
    match who {
        Who::Anyone => "anyone",
        Who::Technician => "technician",
        Who::Electrician => "electrician",
    }
}

fn retest(found: &mut Found<'_>, step: &StepView<'_>) {
    let Some(at) = step.touches.iter().position(|t| t.voids_retest()) else {
        return;
    };
    if !found.knowledge.retest.is_empty() {
        return;
    }
    let touched: Touch = step.touches[at];
    let message = format!(
        "`{}` touches {}, which voids the safety retest, and there is no retest",
        step.entry.1,
        format!("{touched:?}").to_lowercase()
    );
    let help = "add the section `retest:` with a line for each eye, edge, reversal, stop and release";
    found.at(Code::NoRetest, step.entry, &["touches", &at.to_string()], message, help);
}
