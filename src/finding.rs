//! What `check` finds: plain data, no text layout. [`crate::terminal`] renders it, `--json` writes it.

use serde::Serialize;

/// How bad a finding is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Level {
    /// The pack can't be used like this.
    Error,
    /// Probably not what was meant.
    Warning,
}

/// Where a finding is: a file and a path inside it. Lines exist only at the moment of rendering.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Location {
    /// Index of the file in [`crate::knowledge::Sources`].
    pub file: usize,
    /// Keys and list positions from the top of the file.
    pub path: Vec<String>,
    /// A position that is known already (from the YAML parser): line and column, both from 1.
    pub known: Option<(usize, usize)>,
    /// Characters to go right from the start of the value (inside a formula).
    pub offset: usize,
    /// The last part of the path is meant as a key: the key itself is wrong, not the value behind it.
    pub on_key: bool,
}

impl Location {
    /// A path in a file, meant at its value.
    #[must_use]
    pub fn new(file: usize, path: Vec<String>) -> Self {
        Self {
            file,
            path,
            known: None,
            offset: 0,
            on_key: false,
        }
    }

    /// The same path, meant at its last key.
    #[must_use]
    pub fn on_key(self) -> Self {
        Self { on_key: true, ..self }
    }
}

/// One finding.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// Which check.
    pub code: Code,
    /// Where.
    pub location: Location,
    /// What is wrong, in one sentence.
    pub message: String,
    /// What to do.
    pub help: String,
}

impl Finding {
    /// How bad it is.
    #[must_use]
    pub fn level(&self) -> Level {
        self.code.level()
    }
}

macro_rules! codes {
    ($($variant:ident $name:literal $level:ident $about:literal;)*) => {
        /// Every check, by a name that stays.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[expect(missing_docs, reason = "`about` says it")]
        pub enum Code { $($variant,)* }

        impl Code {
            /// Every code.
            pub const ALL: &'static [Self] = &[$(Self::$variant,)*];
            /// The name shown: `error[unknown-id]`.
            #[must_use]
            pub fn name(self) -> &'static str { match self { $(Self::$variant => $name,)* } }
            /// How bad.
            #[must_use]
            pub fn level(self) -> Level { match self { $(Self::$variant => Level::$level,)* } }
            /// What the check is for.
            #[must_use]
            pub fn about(self) -> &'static str { match self { $(Self::$variant => $about,)* } }
        }
    };
}

codes! {
    UnreadableFile "unreadable-file" Error "A file can't be read, or is larger than a pack file may be.";
    BadYaml "bad-yaml" Error "The file is not YAML.";
    UnknownSection "unknown-section" Error "A section that the language does not have.";
    BadEntry "bad-entry" Error "An entry has an unknown or missing field, or a value of the wrong kind.";
    DuplicateId "duplicate-id" Error "One pack writes the same id twice.";
    UnknownId "unknown-id" Error "An id that no entry has.";
    BadShares "bad-shares" Error "The shares of a fact don't add to 1.";
    BadChances "bad-chances" Error "Chances that can't be a distribution.";
    BadNumber "bad-number" Error "A number outside its range: negative minutes, a rate below zero, limits the wrong way round.";
    BadBands "bad-bands" Error "Bands that overlap or leave a gap.";
    NoOutcomes "no-outcomes" Error "A test has neither bands nor outcomes, or both, or bands with nothing to read.";
    BadFormula "bad-formula" Error "A formula that can't be read, names something unknown or mixes units.";
    PrerequisiteCycle "prerequisite-cycle" Error "Tests or covers that wait for each other.";
    MissingSource "missing-source" Error "An entry without a source.";
    MovesUnprepared "moves-unprepared" Error "A step that commands movement without its conditions.";
    HandUnisolated "hand-unisolated" Error "A hand in the travel or the arm without isolation.";
    ContradictoryNeeds "contradictory-needs" Error "A step that needs the gate powered and isolated at once.";
    CoverAboveWho "cover-above-who" Error "A step inside a cover that whoever does the step may not open.";
    UnpluggedByAnyone "unplugged-by-anyone" Error "A protection device is taken off by somebody who is not a technician.";
    NoRetest "no-retest" Error "A repair voids the safety retest, but the pack has no retest.";
    WidenedWho "widened-who" Error "A later pack lets more people do a step than the pack before it.";
    RemovedCaution "removed-caution" Error "A later pack takes something out of a step's safety.";
    RaisedThreshold "raised-threshold" Error "A later pack raises a threshold at which a danger stops the gate.";
    BadCase "bad-case" Error "A case names a fact, test, outcome, cause or repair that does not exist, or a reading that can't be read.";
    ForbiddenWord "forbidden-word" Warning "Words that sound like defeating a protection device.";
    NotEntitled "not-entitled" Warning "A repair wipes codes or remotes, so somebody programs the gate anew, but nobody asks who is entitled.";
    SplitQuantity "split-quantity" Warning "A quantity that only one test has, or a cause that shows on one test of a quantity and not on the other.";
    UnusedReading "unused-reading" Warning "A reading that the formula does not use.";
    UnusedTest "unused-test" Warning "A test that no cause mentions and that nothing waits for.";
    UntestedCause "untested-cause" Warning "A cause that no test can tell from a healthy gate.";
    SilentCause "silent-cause" Warning "A cause that makes no symptom and that nothing brings on.";
    UnreachableSymptom "unreachable-symptom" Warning "A symptom that no cause makes.";
    NoRepair "no-repair" Warning "A cause that no repair cures: it can only be referred.";
    CuresNothing "cures-nothing" Warning "A repair that cures nothing.";
    NoCallerWords "no-caller-words" Warning "Anyone may do it, but there are no words to read out.";
    PartTwice "part-twice" Warning "One part under two prices, or with two things to read off the old one.";
    IdleKit "idle-kit" Warning "The kit covers a part or tool that no step uses.";
    Unguarded "unguarded" Warning "A replacement of a board, motor or radio that nothing has to be proven before.";
}
