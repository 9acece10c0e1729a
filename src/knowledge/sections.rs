//! The sections of a pack file: the one list that loading, the JSON Schema and `explain` share.

use schemars::{JsonSchema as _, Schema, SchemaGenerator};

use super::schema::{
    Ambiguity, Cause, Codes, ConditionHow, Cover, Fact, Idea, Kit, OutOfUse, PackHeader, Place, Repair, RetestLine,
    Shortcut, Sign, Standing, Symptom, Test,
};

/// One section and the schema of what stands in it.
pub(super) struct Section {
    pub(super) name: &'static str,
    /// What it holds, for whoever writes it.
    pub(super) about: &'static str,
    /// The schema of one entry, or of the whole section.
    pub(super) schema: fn(&mut SchemaGenerator) -> Schema,
}

macro_rules! sections {
    ($(#[$doc:meta])* $names:ident, $sections:ident: $($name:literal $type:ty, $about:literal;)*) => {
        $(#[$doc])*
        pub const $names: &[&str] = &[$($name,)*];

        $(#[$doc])*
        pub(super) const $sections: &[Section] = &[$(
            Section { name: $name, about: $about, schema: <$type>::json_schema },
        )*];
    };
}

sections! {
    /// The sections that are maps from id to entry. A later pack may write single fields of an entry.
    ENTRIES, ENTRY_SECTIONS:
    "facts" Fact, "What is known of a site, or asked: it switches causes and tests on and off and changes how often causes occur.";
    "places" Place, "Where work is done.";
    "covers" Cover, "What is opened before the work inside it.";
    "conditions" ConditionHow, "How powered, isolated, held-off and leaf-secured are brought about.";
    "signs" Sign, "Hazard signs, asked before anything else.";
    "standing" Standing, "Cautions that attach by place or task.";
    "retest" RetestLine, "Lines of the safety retest, asked in order.";
    "tests" Test, "Procedures that give evidence: a number that is read, or one observation.";
    "causes" Cause, "What can be wrong: how often, what callers report of it, what it shows on tests.";
    "repairs" Repair, "What is done to cure causes.";
    "symptoms" Symptom, "What callers report.";
    "ideas" Idea, "Words that callers use for one idea, for finding symptoms by what they say.";
    "ambiguity" Ambiguity, "Causes that no practical test tells apart, with the reason.";
    "kit" Kit, "What is on the truck at every visit, whatever is expected.";
    "shortcuts" Shortcut, "What somebody in a hurry does and must not: shown in drills only.";
}

sections! {
    /// The sections that are not.
    WHOLE, WHOLE_SECTIONS:
    "pack" PackHeader, "Name of the pack and what it sets; once in a pack.";
    "movement" Vec<String>, "What must be true before any commanded movement.";
    "out-of-use" OutOfUse, "How a gate is put out of use.";
    "codes" Codes, "One operator's table of codes.";
}

/// The word for one entry of a section.
#[must_use]
pub fn one_of(section: &str) -> &str {
    match section {
        "retest" => "retest line",
        "standing" => "standing caution",
        "codes" => "code",
        "kit" => "piece of the kit",
        "ambiguity" => "ambiguity group",
        plural => plural.strip_suffix('s').unwrap_or(plural),
    }
}

/// The name of a section as the tables know it.
#[must_use]
pub fn named(section: &str) -> Option<&'static str> {
    ENTRIES.iter().find(|s| **s == section).copied()
}
