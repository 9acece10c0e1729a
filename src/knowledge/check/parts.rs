//! Parts are known by their names: one name, one part, one price, one thing to read off the old one.

use std::collections::{BTreeSet, HashMap};

use super::Found;
use crate::finding::Code;
use crate::knowledge::schema::Part;

pub(super) fn check(found: &mut Found<'_>) {
    twice(found);
    idle(found);
}

/// The first repair that uses a part says what it costs and what must be read off the old one.
fn twice(found: &mut Found<'_>) {
    let knowledge = found.knowledge;
    let mut first: HashMap<&str, (&str, &Part)> = HashMap::new();
    for (id, repair) in &knowledge.repairs {
        for (i, part) in repair.parts.iter().enumerate() {
            let (there, known) = *first.entry(&part.name).or_insert((id, part));
            if known.read != part.read || known.price.to_bits() != part.price.to_bits() {
                let message = format!("`{}` is written otherwise in the repair `{there}`", part.name);
                let help = "one price and one `read` for one part, or another name for another part";
                found.at(
                    Code::PartTwice,
                    ("repairs", id),
                    &["parts", &i.to_string()],
                    message,
                    help,
                );
            }
        }
    }
}

/// What the kit covers is a part or a tool of some step, by its name.
fn idle(found: &mut Found<'_>) {
    let knowledge = found.knowledge;
    let parts = knowledge.parts().map(|p| &p.name);
    let used: BTreeSet<&String> = parts.chain(knowledge.tools()).collect();
    for (id, piece) in &knowledge.kit {
        for (i, name) in piece.covers.iter().enumerate() {
            if !used.contains(name) {
                let message = format!("no step uses a part or tool called `{name}`");
                let help = super::suggestion(name, used.iter().map(|n| n.as_str()), "part or tool");
                found.at(Code::IdleKit, ("kit", id), &["covers", &i.to_string()], message, help);
            }
        }
    }
}
