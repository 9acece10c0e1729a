//! Every entry says where it comes from.

use super::{Entry, Found};
use crate::finding::Code;

/// What stands in for a source that somebody meant to look up.
const NOTHING: [&str; 8] = ["", "?", "??", "-", "none", "unknown", "n/a", "tbd"];

pub(super) fn check(found: &mut Found<'_>) {
    let k = found.knowledge;
    k.facts
        .iter()
        .for_each(|(id, e)| source(found, ("facts", id), &e.source));
    k.conditions
        .iter()
        .for_each(|(id, e)| source(found, ("conditions", id), &e.source));
    k.standing
        .iter()
        .for_each(|(id, e)| source(found, ("standing", id), &e.source));
    k.retest
        .iter()
        .for_each(|(id, e)| source(found, ("retest", id), &e.source));
    k.tests
        .iter()
        .for_each(|(id, e)| source(found, ("tests", id), &e.source));
    k.causes
        .iter()
        .for_each(|(id, e)| source(found, ("causes", id), &e.source));
    k.repairs
        .iter()
        .for_each(|(id, e)| source(found, ("repairs", id), &e.source));
    k.symptoms
        .iter()
        .for_each(|(id, e)| source(found, ("symptoms", id), &e.source));
    k.ideas
        .iter()
        .for_each(|(id, e)| source(found, ("ideas", id), &e.source));
    k.ambiguity
        .iter()
        .for_each(|(id, e)| source(found, ("ambiguity", id), &e.source));
    k.kit.iter().for_each(|(id, e)| source(found, ("kit", id), &e.source));
    k.shortcuts
        .iter()
        .for_each(|(id, e)| source(found, ("shortcuts", id), &e.source));
}

/// Whether a text names no source.
pub(crate) fn is_missing(source: &str) -> bool {
    NOTHING.contains(&source.trim().to_lowercase().as_str())
}

fn source(found: &mut Found<'_>, entry: Entry<'_>, source: &str) {
    if is_missing(source) {
        let message = format!("`{}` does not say where it comes from", entry.1);
        found.at(Code::MissingSource, entry, &["source"], message, HELP);
    }
}

/// What to write.
pub(crate) const HELP: &str = "write `source:` with a standard and its section, `common practice`, or `from memory: …`";
