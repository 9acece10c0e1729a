//! A repair: what it cures, what it takes, what it touches, what proves it.

use super::step::{self, Step};
use super::{Block, Ref, cause_ref, refs, strongest_first, text};
use crate::call::Engine;
use crate::model::RepairId;

pub(super) fn blocks(engine: &Engine, id: &str) -> Option<Vec<Block>> {
    let k = &engine.knowledge;
    let (at, _, repair) = k.repairs.get_full(id)?;
    let mut out = Vec::new();
    if repair.explains {
        text(&mut out, "nature", "nothing is changed: the owner is told");
    }
    let mut cures: Vec<Ref> = repair
        .cures
        .iter()
        .map(|(c, f)| cause_ref(k, c).share(f.chance))
        .collect();
    strongest_first(&mut cures);
    refs(&mut out, "cures", cures);
    let planner = engine.planner();
    let costs = planner.costs().repair(RepairId::at(at));
    out.extend(step::blocks(engine, &Step::of_repair(repair), costs));
    let currency = engine.knowledge.settings.currency.as_ref();
    let currency = currency.map_or_else(String::new, |c| format!(" {c}"));
    for part in &repair.parts {
        let read = part
            .read
            .as_ref()
            .map(|r| format!("; read off the old one: {r}"))
            .unwrap_or_default();
        text(
            &mut out,
            "part",
            &format!("{}, {}{currency}{read}", part.name, step::number(part.price)),
        );
    }
    let word = |w: &dyn std::fmt::Debug| format!("{w:?}").to_lowercase();
    let touches: Vec<String> = repair.touches.iter().map(|t| word(t)).collect();
    let voids = repair.touches.iter().any(|t| t.voids_retest());
    let ends = if voids {
        ": the safety retest is done after it"
    } else {
        ""
    };
    if !touches.is_empty() {
        text(&mut out, "touches", &format!("{}{ends}", touches.join(", ")));
    }
    let wipes: Vec<String> = repair.wipes.iter().map(|w| word(w)).collect();
    text(&mut out, "wipes", &wipes.join(", "));
    text(&mut out, "proof", &repair.proof);
    text(&mut out, "source", &repair.source);
    Some(out)
}
