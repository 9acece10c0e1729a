//! `knowledge/SOURCES.md` counts where every entry comes from; it says what is there now.
//!
//! Write it anew after a change: `PINTLE_WRITE=1 cargo test --test it sources`.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::Path;

use pintle::knowledge::{Knowledge, WithCases};

/// The column of a source: standard or handbook, common practice, from memory.
fn kind(source: &str) -> usize {
    let source = source.to_lowercase();
    let says = |words: &[&str]| words.iter().any(|w| source.contains(w));
    [says(&["from memory"]), says(&["common practice", "trade custom"])]
        .iter()
        .position(|s| *s)
        .map_or(0, |at| 2 - at)
}

fn count<'a>(sources: impl Iterator<Item = &'a String>) -> [usize; 3] {
    let mut counts = [0; 3];
    sources.for_each(|source| counts[kind(source)] += 1);
    counts
}

fn rows(k: &Knowledge) -> Vec<(&'static str, [usize; 3])> {
    vec![
        ("causes", count(k.causes.values().map(|e| &e.source))),
        ("tests", count(k.tests.values().map(|e| &e.source))),
        ("repairs", count(k.repairs.values().map(|e| &e.source))),
        ("symptoms", count(k.symptoms.values().map(|e| &e.source))),
        ("facts", count(k.facts.values().map(|e| &e.source))),
        ("conditions", count(k.conditions.values().map(|e| &e.source))),
        ("standing cautions", count(k.standing.values().map(|e| &e.source))),
        ("lines of the retest", count(k.retest.values().map(|e| &e.source))),
        ("callers' ideas", count(k.ideas.values().map(|e| &e.source))),
        ("ambiguity groups", count(k.ambiguity.values().map(|e| &e.source))),
        ("the kit", count(k.kit.values().map(|e| &e.source))),
        ("shortcuts", count(k.shortcuts.values().map(|e| &e.source))),
        ("relations of the physics", trade()),
        ("cases", count(k.cases.iter().map(|(_, case)| &case.source))),
    ]
}

fn trade() -> [usize; 3] {
    let mut counts = [0; 3];
    pintle::trade::functions().for_each(|f| counts[kind(f.source)] += 1);
    counts
}

/// The standards and handbooks that are named, with how many entries name each.
fn named(k: &Knowledge) -> BTreeMap<String, usize> {
    let mut all: Vec<&str> = Vec::new();
    all.extend(k.causes.values().map(|e| e.source.as_str()));
    all.extend(k.tests.values().map(|e| e.source.as_str()));
    all.extend(k.repairs.values().map(|e| e.source.as_str()));
    all.extend(k.retest.values().map(|e| e.source.as_str()));
    all.extend(k.standing.values().map(|e| e.source.as_str()));
    all.extend(k.facts.values().map(|e| e.source.as_str()));
    all.extend(pintle::trade::functions().map(|f| f.source));
    let mut named = BTreeMap::new();
    let plain = |s: &&str| kind(s) != 1;
    all.into_iter()
        .filter(plain)
        .for_each(|s| *named.entry(s.to_owned()).or_default() += 1);
    named
}

fn page(k: &Knowledge) -> String {
    let mut page = "# Where the knowledge comes from\n\n\
        Every entry has a `source:`. This page counts them (a test keeps it true; `PINTLE_WRITE=1 cargo test --test it sources` writes it \
        anew).\n\n\
        *Common practice*: the trade's custom; no open source is known, rates and chances above all: no survey of how often gates fail was found. \
        They are estimates, to be replaced by `pintle learn`. *From memory*: a standard or handbook that could not be read while this was written; \
        check the current edition. *Standard or handbook*: read, in itself or in a page that reports it.\n\n\
        | | standard or handbook | common practice | from memory |\n|---|---|---|---|\n"
        .to_owned();
    for (what, [published, practice, memory]) in rows(k) {
        writeln!(page, "| {what} | {published} | {practice} | {memory} |").expect("a string takes it");
    }
    page.push_str("\n## What is named\n\n| entries | source |\n|---|---|\n");
    for (source, entries) in named(k) {
        writeln!(page, "| {entries} | {source} |").expect("a string takes it");
    }
    page
}

#[test]
fn sources_are_counted_as_they_are() {
    let (knowledge, _) = Knowledge::built_in(&[], WithCases::Yes);
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("knowledge/SOURCES.md");
    let page = page(&knowledge);
    if std::env::var_os("PINTLE_WRITE").is_some() {
        std::fs::write(&path, &page).expect("the page can be written");
    }
    let written = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(
        written == page,
        "knowledge/SOURCES.md is out of date: see the head of this test"
    );
}
