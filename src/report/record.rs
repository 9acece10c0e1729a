//! The service record as plain data: what `--json` writes and what the Markdown and the printable page are made of.

use serde::Serialize;

use crate::knowledge::schema::Ending;

/// Raised whenever a field changes its meaning or goes.
pub(super) const VERSION: u32 = 1;

/// Everything a service manager, an owner or the next technician has to know of a call.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct ServiceRecord {
    /// Version of this form.
    pub version: u32,
    /// Name of the site.
    pub site: Option<String>,
    /// The call of which this one is a callback, in words.
    pub callback: Option<String>,
    /// How the call ended.
    pub ending: EndingBlock,
    /// Lines of the retest that are not passed, with their remarks: written deficiencies.
    pub deficiencies: Vec<Labelled>,
    /// When the call was opened, RFC 3339.
    pub opened: Option<String>,
    /// When it ended.
    pub closed: Option<String>,
    /// Where the call was taken and taken up again.
    pub visits: Vec<Timed>,
    /// What the person at the gate may do.
    pub technician: String,
    /// How the person asking was verified, by kind.
    pub entitlement: Option<String>,
    /// What is known of the site.
    pub facts: Vec<Labelled>,
    /// The complaint.
    pub complaint: Complaint,
    /// Hazard signs, each time they were asked.
    pub signs: Vec<SignsAsked>,
    /// Out of use, made safe, dangers put right.
    pub out_of_use: Vec<OutOfUseLine>,
    /// The visit that was booked on the phone.
    pub visit: Option<BookedVisit>,
    /// Was it doing it?
    pub doing_it: Vec<Timed>,
    /// What was told, seen or measured.
    pub readings: Vec<ReadingLine>,
    /// How the ranking moved with each answer.
    pub ranking: Ranking,
    /// Whether a cause is settled, or only suspected.
    pub settled: bool,
    /// Causes, most likely first.
    pub causes: Vec<CauseLine>,
    /// Causes that lost more than a factor of ten in their odds.
    pub ruled_out: Vec<RuledOut>,
    /// Repairs, in order.
    pub repairs: Vec<DoneRepair>,
    /// Lines of the safety retest that apply to this site.
    pub retest: Vec<RetestLine>,
    /// What was given back, with the time.
    pub given_back: Vec<Timed>,
    /// What is still to be given back or set again.
    pub still_to_give_back: Vec<String>,
    /// The state in which the gate was left, as far as the call says.
    pub left_as: Vec<String>,
    /// Cautions that applied to what was done.
    pub cautions: Vec<String>,
    /// What was not tested, with the reason.
    pub not_tested: Vec<Labelled>,
    /// Causes that go with what was found, or are still likely, and that nothing has told.
    pub not_checked: Vec<Labelled>,
    /// What is left to do, as far as the call says; nothing is advised that it does not hold.
    pub recommendations: Vec<Recommendation>,
    /// What the owner has to be told in writing; empty: nothing.
    pub told_in_writing: Vec<String>,
    /// Minutes of work, walking, opening and switching at the knowledge's own figures.
    pub minutes: f64,
    /// Remarks.
    pub notes: Vec<NoteLine>,
    /// Answers taken back.
    pub retracted: Vec<Timed>,
    /// The knowledge that was used.
    pub knowledge: Reference,
}

/// A visit as it was planned and booked on the phone.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct BookedVisit {
    /// RFC 3339.
    pub time: String,
    /// Who goes.
    pub who: String,
    /// Minutes at the gate that were booked, travel not counted.
    pub minutes: u32,
    /// The same in words.
    pub booked: String,
    /// What there is to know of who goes.
    pub remarks: Vec<String>,
    /// Chance of putting it right at that visit that was asked for, 0 to 1.
    pub asked: f64,
    /// Chance with the load.
    pub promised: f64,
    /// Chance with the kit alone.
    pub bare: f64,
    /// What was loaded beside the kit, what bought most first.
    pub load: Vec<LoadedLine>,
    /// The kit.
    pub kit: Vec<String>,
}

/// Something that was loaded.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct LoadedLine {
    /// What; things that are of no use without each other stand together.
    pub things: String,
    /// What they fit by, to be read off the old one; empty where nothing can be read wrong.
    pub fits: String,
    /// Causes it was meant for.
    pub causes: String,
    /// Chance with it and everything above it, 0 to 1.
    pub rate: f64,
}

/// How a call ended.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct EndingBlock {
    /// The ending; none while the call goes on.
    pub kind: Option<Ending>,
    /// The ending's word; `open` while the call goes on.
    pub word: String,
    /// The journal bears the ending out. For *fixed*: a proven repair, the retest passed after it, no stop, every device back.
    pub borne_out: bool,
    /// The gate is out of use, by its ending or by a stop that still stands.
    pub out_of_use: bool,
    /// Making safe is recorded: isolated and secured at the gate, or the caller told how to keep away.
    pub made_safe: bool,
    /// What the ending means, in sentences that can't be read as more than it is.
    pub says: Vec<String>,
    /// The reason that was given.
    pub reason: Option<String>,
}

impl EndingBlock {
    /// Repaired, proven and retested: nothing less may be called safe.
    #[must_use]
    pub fn fixed(&self) -> bool {
        self.kind == Some(Ending::Fixed) && self.borne_out && !self.out_of_use
    }
}

/// A label with what belongs to it.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Labelled {
    /// The label.
    pub label: String,
    /// What belongs to it.
    pub text: String,
}

/// Something with its time.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Timed {
    /// RFC 3339.
    pub time: String,
    /// What.
    pub text: String,
}

/// What was complained of.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Complaint {
    /// The caller's words.
    pub words: String,
    /// The symptoms it was taken for.
    pub symptoms: Vec<String>,
    /// Symptoms that were asked after and are not there.
    pub denied: Vec<String>,
}

/// Hazard signs, asked once.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct SignsAsked {
    /// RFC 3339.
    pub time: String,
    /// On the phone or at the gate.
    pub place: String,
    /// Every question with its answer.
    pub answers: Vec<SignAnswer>,
}

/// One hazard sign.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct SignAnswer {
    /// The question.
    pub question: String,
    /// `yes`, `no` or `can't tell`.
    pub answer: String,
}

/// One line about the gate being out of use.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct OutOfUseLine {
    /// RFC 3339; none for the state at the end.
    pub time: Option<String>,
    /// What happened.
    pub text: String,
    /// Why.
    pub reasons: Vec<String>,
}

/// One answer to a test.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct ReadingLine {
    /// Its number in this record, from 1.
    pub number: usize,
    /// RFC 3339.
    pub time: String,
    /// `on the phone` or `at the gate`: where the call was when it was answered.
    pub taken: String,
    /// What was tested.
    pub test: String,
    /// Where.
    pub place: Option<String>,
    /// The reading as it was typed with the meter's error, or what was seen.
    pub reading: String,
    /// What it is held against, in words.
    pub limits: String,
    /// The number against its limits; none for what was only seen or told.
    pub gauge: Option<Gauge>,
    /// The outcome.
    pub outcome: String,
    /// Whether a gate with nothing wrong would show it.
    pub normal: bool,
    /// `told`, `seen` or `measured`.
    pub by: String,
    /// False: another answer about the same thing counts.
    pub counts: bool,
}

/// A number against its limits.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Gauge {
    /// The number that the limits judge; none where the display was over its range.
    pub value: Option<f64>,
    /// Its unit; empty for a plain number.
    pub unit: String,
    /// How far it may be out: the most that the meter may err, for a worked-out number its standard uncertainty; not negative.
    pub error: f64,
    /// The formula, where the number is not a reading itself.
    pub formula: Option<String>,
    /// What the limits make of it, lowest first.
    pub bands: Vec<GaugeBand>,
}

/// The stretch between two limits.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct GaugeBand {
    /// Lower limit, in the gauge's unit; none: open.
    pub from: Option<f64>,
    /// Upper limit.
    pub below: Option<f64>,
    /// The limits in words, with their unit.
    pub range: String,
    /// What it says.
    pub says: String,
    /// Whether a gate with nothing wrong would show it.
    pub normal: bool,
    /// Whether the number lies in it.
    pub holds: bool,
}

/// How the ranking moved: the chance of each cause that was in front, after each answer.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Ranking {
    /// The complaint, then each answer and each proof run, in order.
    pub points: Vec<RankingPoint>,
    /// Causes that were in front at some point, then those that came near it; most likely at the end first, five at most.
    pub lines: Vec<RankingLine>,
}

/// A moment at which the ranking is known.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct RankingPoint {
    /// Number of the reading; none for the complaint and proof runs.
    pub number: Option<usize>,
    /// What was answered, in a few words.
    pub label: String,
    /// The whole answer.
    pub text: String,
    /// RFC 3339.
    pub time: String,
    /// `on the phone` or `at the gate`.
    pub taken: String,
}

/// One cause along the points.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct RankingLine {
    /// The cause.
    pub cause: String,
    /// Chance that it was there at the start, point by point, 0 to 1.
    pub chances: Vec<f64>,
}

/// Something that is left to do.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Recommendation {
    /// What kind: a deficiency, something not checked, …
    pub kind: String,
    /// What.
    pub text: String,
}

/// A cause with how sure it is.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct CauseLine {
    /// The cause.
    pub cause: String,
    /// Chance that it was there at the start, 0 to 1.
    pub chance: f64,
    /// The chance in words.
    pub words: String,
    /// What has become of it.
    pub now: String,
}

/// A cause that was ruled out.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct RuledOut {
    /// The cause.
    pub cause: String,
    /// The answer that did most against it.
    pub by: String,
    /// Several answers did it together.
    pub together: bool,
}

/// A repair that was done.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct DoneRepair {
    /// RFC 3339.
    pub time: String,
    /// What was done.
    pub repair: String,
    /// Nothing was changed: the owner was told.
    pub explained: bool,
    /// Minutes at the knowledge's figure.
    pub minutes: f64,
    /// Parts.
    pub parts: Vec<String>,
    /// What was noted: settings old and new, serial numbers.
    pub noted: Option<String>,
    /// What it touched.
    pub touched: Vec<String>,
    /// What it wiped and must be set again.
    pub wiped: Vec<String>,
    /// Symptom with what the proof run showed.
    pub proof: Vec<Labelled>,
}

/// What came of one line of the safety retest.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum RetestResult {
    /// Passed.
    Passed,
    /// Not passed.
    NotPassed,
    /// Not done; this is not a pass.
    NotDone,
}

impl RetestResult {
    /// What is shown for it.
    #[must_use]
    pub fn say(self) -> &'static str {
        match self {
            Self::Passed => "passed",
            Self::NotPassed => "NOT PASSED",
            Self::NotDone => "NOT DONE",
        }
    }
}

/// One line of the safety retest.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct RetestLine {
    /// What was retested.
    pub title: String,
    /// The same in the owner's words.
    pub plain: String,
    /// When it was done, RFC 3339; none where it was not, or no longer counts.
    pub time: Option<String>,
    /// What came of it.
    pub result: RetestResult,
    /// Remark.
    pub remark: String,
    /// Devices or places that it was gone through one by one.
    pub each: Vec<RetestedLine>,
}

/// One of the devices or places of a line of the retest.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct RetestedLine {
    /// Where it is, and what it did.
    pub what: String,
    /// What came of it.
    pub result: RetestResult,
}

/// A note, or the mark that one was left out.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct NoteLine {
    /// RFC 3339.
    pub time: String,
    /// The text; none where it looked like a code or a PIN.
    pub text: Option<String>,
}

/// The knowledge that was used.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Reference {
    /// Titles of the packs at the opening.
    pub packs: Vec<String>,
    /// Fingerprint at the opening.
    pub fingerprint: Option<String>,
    /// Fingerprint of the knowledge that this record was made with, where it is another.
    pub made_with: Option<String>,
    /// Entries that today's knowledge does not know and that this record therefore can't explain.
    pub unknown_entries: usize,
}
