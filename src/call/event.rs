//! What can happen in a call. Events hold what was *said or typed*; what it means is worked out anew by the fold.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::terms::Terms;
use crate::knowledge::schema::{At, Condition, Each, Ending, Now, Provocation, Who};
use crate::visit::VisitPlan;

/// One line of a journal.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Entry {
    /// When, as RFC 3339 with the offset of the place.
    pub time: String,
    /// What.
    #[serde(flatten)]
    pub event: Event,
}

/// Where an answer comes from; a higher rank replaces a lower one about the same quantity.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Rank {
    /// Told by a caller.
    Told,
    /// Seen by a technician.
    Seen,
    /// Measured.
    Measured,
}

/// What a proof run showed of one symptom.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Seen {
    /// It is gone.
    Gone,
    /// It is still there.
    StillThere,
    /// Nobody can tell.
    CantTell,
}

/// Something that a person can pick or pass over.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Target {
    /// A test.
    Test(String),
    /// A repair.
    Repair(String),
    /// A fact.
    Fact(String),
}

/// One of the devices or places that a line of the retest is gone through by.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Retested {
    /// Where it is, and what it did.
    pub what: String,
    /// It did what it has to.
    pub passed: bool,
}

/// One event.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "event", rename_all = "kebab-case", rename_all_fields = "kebab-case")]
pub enum Event {
    /// The call was opened.
    Opened {
        /// Fingerprint of the knowledge.
        knowledge: String,
        /// Titles of its packs.
        packs: Vec<String>,
        /// On the phone or at the gate.
        at: At,
        /// What the person at the gate may do.
        who: Who,
        /// Name of the site.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        site: Option<String>,
    },
    /// What the settings of whoever takes the call change in it; a later one replaces it.
    Terms(Terms),
    /// Taken up again, maybe at the gate after the phone, maybe with other knowledge.
    Resumed {
        /// Fingerprint of the knowledge now.
        knowledge: String,
        /// Where now.
        at: At,
    },
    /// On the phone: where the caller stands, and who else is there.
    Caller {
        /// At the gate and clear of it; otherwise answers come from memory or from a camera.
        at_gate: bool,
        /// Who else is there; empty: nobody.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        others: String,
    },
    /// On the phone: somebody is sent, so planned and loaded.
    Visit {
        /// The plan as it was read out.
        plan: Box<VisitPlan>,
    },
    /// Hazard signs were asked. Unsure counts as yes until looked at.
    Signs {
        /// Signs that are there.
        yes: Vec<String>,
        /// Signs that nobody could tell.
        #[serde(default)]
        unsure: Vec<String>,
    },
    /// The danger of these signs was put right and looked at.
    SignsCleared {
        /// Which.
        signs: Vec<String>,
        /// By what.
        how: String,
    },
    /// What the caller says, and the symptoms it is taken for. A later one replaces it.
    Complaint {
        /// The words.
        words: String,
        /// Symptom ids.
        symptoms: Vec<String>,
    },
    /// A symptom was asked after and is not there.
    Denied {
        /// Symptom id.
        symptom: String,
    },
    /// A fact about the site; `None`: nobody can tell.
    Fact {
        /// Fact id.
        fact: String,
        /// Value id, or the number as typed.
        value: Option<String>,
        /// Whence, where nobody was asked: the site file, with its date.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<String>,
    },
    /// The site file says so, but it may have changed since: shown when the fact is asked again, and counts for nothing until then.
    Remembered {
        /// Fact id.
        fact: String,
        /// Value id, or the number as typed.
        value: String,
        /// The site file, with its date.
        from: String,
    },
    /// What a test read when the gate was well, from the site file.
    Baseline {
        /// Test id.
        test: String,
        /// Reading id.
        reading: String,
        /// Which of several: a way of travel, a loop, a leaf.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        of: Option<String>,
        /// As typed, with its unit.
        value: String,
        /// The day it was read.
        date: String,
    },
    /// What the safety retest goes through one by one, from the site file.
    Fitted {
        /// What they are.
        each: Each,
        /// Each of them, by its place.
        what: Vec<String>,
    },
    /// The same complaint at the same site so soon after a call that it is a callback of it. No evidence: it changes no percentage.
    Callback {
        /// The earlier call's id.
        of: String,
        /// That in words: how long ago, how it ended, what was done.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        text: String,
    },
    /// Is it doing it now? Opens a spell.
    Now {
        /// The answer.
        now: Now,
        /// What is provoking it.
        #[serde(default)]
        under: Vec<Provocation>,
    },
    /// A condition was brought about, or can't be.
    Condition {
        /// Which.
        condition: Condition,
        /// Done?
        done: bool,
    },
    /// Before a movement: travel in sight, nobody in it, stops, leaf, stop in reach.
    Clearance {
        /// All of it confirmed?
        confirmed: bool,
    },
    /// How the person asking was verified (by kind, never content).
    Entitled {
        /// The kind.
        how: String,
    },
    /// A test was answered.
    Answer {
        /// Test id.
        test: String,
        /// Outcome id of an observation.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        outcome: Option<String>,
        /// Reading id → what was typed.
        #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
        readings: BTreeMap<String, String>,
        /// What a caller answered, in the words that were typed.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        said: Option<String>,
        /// Where it comes from.
        by: Rank,
    },
    /// Can't be done here, or can't tell.
    Cannot {
        /// What.
        target: Target,
    },
    /// Passed over for now.
    Skipped {
        /// What.
        target: Target,
    },
    /// Picked by the person, whatever the plan says.
    Picked {
        /// What.
        target: Target,
    },
    /// Of the answers about one quantity, let this one count.
    Prefer {
        /// Position of its event.
        answer: usize,
    },
    /// A protection device that was unplugged is back and seen to work.
    DeviceBack {
        /// Fact id of the device.
        device: String,
    },
    /// A tool is not at hand (or is again).
    Tool {
        /// Its name.
        tool: String,
        /// At hand?
        at_hand: bool,
    },
    /// A repair was done.
    Repaired {
        /// Repair id.
        repair: String,
        /// What was noted: old and new settings, serial numbers.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        note: String,
    },
    /// What the proof run showed of one symptom.
    Proof {
        /// Symptom id.
        symptom: String,
        /// What was seen.
        seen: Seen,
    },
    /// The gate was run and watched.
    Watched {
        /// Did the symptom show?
        shown: bool,
    },
    /// The gate is out of use and made safe.
    OutOfUse {
        /// Why.
        why: Vec<String>,
        /// Isolated, secured, signed, owner told?
        made_safe: bool,
    },
    /// One line of the retest.
    Retest {
        /// Line id.
        line: String,
        /// `None`: not done.
        passed: Option<bool>,
        /// Reading or remark.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        note: String,
        /// Devices or places that it was gone through one by one.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        each: Vec<Retested>,
    },
    /// Held-off commands, settings and what a repair wiped were given back.
    GivenBack {
        /// What.
        what: Vec<String>,
    },
    /// This call is a drill.
    Drill {
        /// The scenario, by its name or file.
        scenario: String,
        /// Seed of its site.
        seed: u64,
        /// How much the trainee is helped.
        level: String,
        /// On a real gate, with a trainer who answers.
        #[serde(default)]
        live: bool,
        /// Who is being trained.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        trainee: Option<String>,
    },
    /// In a drill: something was done that must not be.
    Shortcut {
        /// Its id.
        shortcut: String,
    },
    /// A remark.
    Note {
        /// The text.
        text: String,
    },
    /// The event at this position no longer counts.
    Retracted {
        /// Its position.
        entry: usize,
    },
    /// Left for later.
    Paused,
    /// The call has ended.
    Ended {
        /// How.
        ending: Ending,
        /// In a sentence.
        #[serde(default)]
        text: String,
    },
}
