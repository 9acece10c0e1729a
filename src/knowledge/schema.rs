//! What authors write. One plain serde type a section; `knowledge/LANGUAGE.md` explains the same in the author's words.
//!
//! Invariants: no position lives here (paths are turned into lines only when there is a finding to show); every
//! unknown field is an error; ids are strings and become dense numbers only in [`crate::model`].

use indexmap::IndexMap;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::frequency::Frequency;
use crate::quantity::{MeterClass, Unit};

/// A map from id to entry, in the order it was written.
pub type Entries<T> = IndexMap<String, T>;
/// Fact → the values under which something applies. All facts named must hold.
pub type When = IndexMap<String, Vec<String>>;

/// Name of a pack and what it sets.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct PackHeader {
    /// Short name, kebab-case.
    pub id: String,
    /// What a person calls it.
    pub title: String,
    /// Settings that differ from the defaults.
    #[serde(default)]
    pub settings: SettingsPatch,
}

/// The numbers a pack may set; a later pack overrides field by field.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct SettingsPatch {
    /// u, share of calls whose cause nobody wrote down.
    pub not_listed: Option<f64>,
    /// n, share of calls with nothing wrong now.
    pub nothing_wrong: Option<f64>,
    /// ℓ, chance that a symptom is reported for no cause listed as making it.
    pub leak: Option<f64>,
    /// Whether two faults at once are considered.
    pub pairs: Option<bool>,
    /// κ, calls with two unrelated faults per call with one.
    pub unrelated_pairs: Option<f64>,
    /// S, minutes that sending for somebody else costs.
    pub refer_minutes: Option<f64>,
    /// K, minutes that a fault left behind costs.
    pub callback_minutes: Option<f64>,
    /// ρ, chance that a caller's answer is what it seems.
    pub caller_reliability: Option<f64>,
    /// Chance that a fault nobody wrote down shows at a given moment.
    pub not_listed_present: Option<f64>,
    /// Turns the price of parts into minutes; currency per hour.
    pub labour_per_hour: Option<f64>,
    /// Minutes to run the gate and watch it for proof after a repair.
    pub proof_minutes: Option<f64>,
    /// Minutes of travel and call-out that a visit costs.
    pub travel_minutes: Option<f64>,
    /// Minutes that the safety retest, giving back and the record take at the end of a visit.
    pub retest_minutes: Option<f64>,
    /// Posterior at which a danger puts the gate out of use.
    pub stop_at: Option<StopAt>,
}

/// Posterior of a danger at which the gate is put out of use.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct StopAt {
    /// For causes that may kill.
    pub kill: f64,
    /// For causes that may maim.
    pub maim: f64,
    /// For causes that may hurt.
    pub hurt: f64,
}

impl StopAt {
    /// The threshold of a severity; none can be reached for *none*.
    #[must_use]
    pub fn of(&self, severity: Severity) -> f64 {
        match severity {
            Severity::None => f64::INFINITY,
            Severity::Hurt => self.hurt,
            Severity::Maim => self.maim,
            Severity::Kill => self.kill,
        }
    }
}

/// The settings in force, every field filled.
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    /// u, see [`SettingsPatch`].
    pub not_listed: f64,
    /// n.
    pub nothing_wrong: f64,
    /// ℓ.
    pub leak: f64,
    /// Two faults at once.
    pub pairs: bool,
    /// κ.
    pub unrelated_pairs: f64,
    /// S, minutes.
    pub refer_minutes: f64,
    /// K, minutes; `refer_minutes` where nobody set it.
    pub callback_minutes: f64,
    /// ρ.
    pub caller_reliability: f64,
    /// Chance that *not listed* shows.
    pub not_listed_present: f64,
    /// Currency per hour.
    pub labour_per_hour: f64,
    /// What prices are counted in, where somebody has said so; no pack sets it.
    pub currency: Option<String>,
    /// Minutes of a proof run.
    pub proof_minutes: f64,
    /// Minutes of travel and call-out.
    pub travel_minutes: f64,
    /// Minutes of the retest and the record.
    pub retest_minutes: f64,
    /// Out-of-use thresholds.
    pub stop_at: StopAt,
}

impl Settings {
    /// The defaults of the language, with the patches of the packs laid over them in order.
    #[must_use]
    pub fn layered<'a>(patches: impl Iterator<Item = &'a SettingsPatch>) -> Self {
        let mut s = Self {
            not_listed: 0.03,
            nothing_wrong: 0.03,
            leak: 0.005,
            pairs: true,
            unrelated_pairs: 0.05,
            refer_minutes: 240.0,
            callback_minutes: f64::NAN,
            caller_reliability: 0.8,
            not_listed_present: 0.7,
            labour_per_hour: 120.0,
            currency: None,
            proof_minutes: 0.0,
            travel_minutes: 0.0,
            retest_minutes: 0.0,
            stop_at: StopAt {
                kill: 0.02,
                maim: 0.05,
                hurt: 0.20,
            },
        };
        for p in patches {
            let set = |field: &mut f64, value: Option<f64>| *field = value.unwrap_or(*field);
            set(&mut s.not_listed, p.not_listed);
            set(&mut s.nothing_wrong, p.nothing_wrong);
            set(&mut s.leak, p.leak);
            set(&mut s.unrelated_pairs, p.unrelated_pairs);
            set(&mut s.refer_minutes, p.refer_minutes);
            set(&mut s.callback_minutes, p.callback_minutes);
            set(&mut s.caller_reliability, p.caller_reliability);
            set(&mut s.not_listed_present, p.not_listed_present);
            set(&mut s.labour_per_hour, p.labour_per_hour);
            set(&mut s.proof_minutes, p.proof_minutes);
            set(&mut s.travel_minutes, p.travel_minutes);
            set(&mut s.retest_minutes, p.retest_minutes);
            s.pairs = p.pairs.unwrap_or(s.pairs);
            if let Some(stop) = p.stop_at {
                // A pack may lower a threshold, never raise it.
                s.stop_at.kill = s.stop_at.kill.min(stop.kill);
                s.stop_at.maim = s.stop_at.maim.min(stop.maim);
                s.stop_at.hurt = s.stop_at.hurt.min(stop.hurt);
            }
        }
        if s.callback_minutes.is_nan() {
            s.callback_minutes = s.refer_minutes;
        }
        s
    }
}

/// A fact about the site.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Fact {
    /// The question.
    pub ask: String,
    /// Words to read out to a caller; without them it is not asked on the phone.
    pub caller: Option<String>,
    /// Minutes it takes to find out.
    #[serde(default = "half_a_minute")]
    pub minutes: f64,
    /// Asked before the walk when it matters to what is reported.
    #[serde(default)]
    pub opening: bool,
    /// The choices with their shares among sites.
    #[serde(default)]
    pub values: Entries<FactValue>,
    /// A number instead of choices; used by formulas only.
    pub number: Option<NumberFact>,
    /// It may be otherwise than at the last visit: where a site file knows it, it is asked again all the same, with the old value shown.
    #[serde(default)]
    pub may_change: bool,
    /// True of a day, not of a site: no site file keeps it.
    #[serde(default)]
    pub of_the_moment: bool,
    /// What a site file says of the batteries answers it; an age goes by the date, so it is not asked again.
    pub from_battery: Option<BatteryFact>,
    /// Where shares and wording come from.
    pub source: String,
}

fn technician() -> Who {
    Who::Technician
}

fn half_a_minute() -> f64 {
    0.5
}

/// One choice of a fact.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct FactValue {
    /// What is shown for it.
    pub say: String,
    /// Share of sites, 0 to 1; the shares of a fact add to 1.
    pub share: f64,
    /// With `from-battery: age`: a battery younger than this many years; left out at one value, which takes the rest.
    pub below_years: Option<f64>,
}

/// What the batteries of a site file say.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum BatteryFact {
    /// Volts of a whole set, all blocks together.
    Volts,
    /// Its chemistry, one of the fact's values.
    Chemistry,
    /// Years since its date.
    Age,
}

/// A fact that is a number with a unit.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct NumberFact {
    /// Unit in which formulas see it.
    pub unit: Unit,
    /// Lowest and highest believable value.
    pub range: [f64; 2],
}

/// A place where work is done; walking from a to b costs `walk(a) + walk(b)`.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Place {
    /// "the operator"
    pub title: String,
    /// Minutes from the middle of the site.
    pub walk: f64,
}

/// Something that is opened once before the work inside it.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Cover {
    /// "the operator cabinet"
    pub title: String,
    /// Where it is; left out in abstract models.
    pub place: Option<String>,
    /// The cover around it.
    pub inside: Option<String>,
    /// Minutes for opening, closing and restoring together.
    pub minutes: f64,
    /// Who may open it.
    #[serde(default)]
    pub who: Who,
}

/// A state of the site that a step needs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Condition {
    /// Supplied as it normally is.
    Powered,
    /// Mains, battery and solar off at every leaf, proven by a command that moves nothing.
    Isolated,
    /// Schedules, auto-close, app, exit loop and other remotes held off.
    HeldOff,
    /// Chained or pinned against wind, slope and hands.
    LeafSecured,
}

impl Condition {
    /// Every condition, in a fixed order.
    pub const ALL: [Self; 4] = [Self::Powered, Self::Isolated, Self::HeldOff, Self::LeafSecured];

    /// The word authors write.
    #[must_use]
    pub fn id(self) -> &'static str {
        match self {
            Self::Powered => "powered",
            Self::Isolated => "isolated",
            Self::HeldOff => "held-off",
            Self::LeafSecured => "leaf-secured",
        }
    }
}

/// How a condition is brought about.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct ConditionHow {
    /// One line.
    pub title: String,
    /// Minutes to bring it about and give it back.
    pub minutes: f64,
    /// What to do, in order.
    pub steps: Vec<String>,
    /// What to give back at the end.
    pub restore: Option<String>,
    /// Where it comes from.
    pub source: String,
}

/// Who may do a step.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Who {
    /// Anyone, from outside: look and listen.
    Anyone,
    /// A gate technician: low voltage and battery.
    #[default]
    Technician,
    /// A licensed electrician.
    Electrician,
}

/// Whether and how a step moves the gate.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Moves {
    /// It stays where it is.
    #[default]
    No,
    /// Its motor runs on command.
    Commanded,
    /// A hand moves the leaf, or is in the travel or the arm.
    ByHand,
}

/// Worst that the presence of a cause can do to a person.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Severity {
    /// A nuisance.
    None,
    /// May hurt.
    Hurt,
    /// May maim.
    Maim,
    /// May kill.
    Kill,
}

/// What a line of the safety retest is gone through one by one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Each {
    /// Photo eyes.
    Eye,
    /// Contact edges.
    Edge,
    /// Eyes and edges.
    Device,
    /// Places at which a body can be caught while the gate closes.
    ClosingPlace,
    /// The same while it opens.
    OpeningPlace,
}

impl Each {
    /// One of them, in words.
    #[must_use]
    pub fn say(self) -> &'static str {
        match self {
            Self::Eye => "eye",
            Self::Edge => "edge",
            Self::Device => "device",
            Self::ClosingPlace | Self::OpeningPlace => "place",
        }
    }
}

/// A kind of task to which standing cautions attach.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Task {
    /// Mains voltage is near.
    Mains,
    /// Work on the battery.
    Battery,
    /// Insulation test.
    Megger,
    /// Digging or saw-cutting.
    Digging,
    /// Welding.
    Welding,
    /// A leaf that one person should not hold.
    HeavyLeaf,
    /// The gate moves on command (attached by the engine).
    Commanded,
    /// A hand moves the leaf (attached by the engine).
    ByHand,
    /// A cover is opened (attached by the engine).
    OpensCover,
}

/// A procedure that gives evidence.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Test {
    /// One line.
    pub title: String,
    /// The question for the technician.
    pub ask: String,
    /// Words to read out to a caller.
    pub caller: Option<String>,
    /// Answers with one quantity replace each other by rank; the test's id where left out.
    pub quantity: Option<String>,
    /// Who may do it.
    #[serde(default)]
    pub who: Who,
    /// Where it is done; left out in abstract models.
    pub place: Option<String>,
    /// The cover that must be open.
    pub inside: Option<String>,
    /// Conditions that must hold.
    #[serde(default)]
    pub needs: Vec<Condition>,
    /// Whether it moves the gate.
    #[serde(default)]
    pub moves: Moves,
    /// The protection device that is off while it is done.
    pub unplugs: Option<String>,
    /// Tests that must have an answer first.
    #[serde(default)]
    pub after: Vec<String>,
    /// Causes with which it is dangerous: it is not offered while one of them may well be there.
    #[serde(default)]
    pub not_with: Vec<String>,
    /// What it shows is lost once anything is pressed, switched or reset: done before any other technician's test.
    #[serde(default)]
    pub first: bool,
    /// Sites it makes sense on.
    #[serde(default)]
    #[schemars(schema_with = "super::json_schema::when")]
    pub when: When,
    /// Minutes of work.
    pub minutes: f64,
    /// Tools that must be at hand.
    #[serde(default)]
    pub tools: Vec<String>,
    /// Kinds of work, for standing cautions.
    #[serde(default)]
    pub tasks: Vec<Task>,
    /// Opens, holds, releases or reprograms the gate.
    #[serde(default)]
    pub entitled: bool,
    /// Said before the steps.
    #[serde(default)]
    pub cautions: Vec<String>,
    /// What to do, in order.
    #[serde(default)]
    pub steps: Vec<String>,
    /// What a healthy reading is, and why.
    pub why: Option<String>,
    /// Numbers to read.
    #[serde(default)]
    pub readings: Entries<ReadingSpec>,
    /// Formula over readings and facts; the single reading where left out.
    pub value: Option<String>,
    /// How it is judged where the site file knows what it read when the gate was well.
    pub baseline: Option<Baseline>,
    /// Outcomes of a numeric test.
    #[serde(default)]
    pub bands: Entries<Band>,
    /// Outcomes of an observation.
    #[serde(default)]
    pub outcomes: Entries<Outcome>,
    /// Distribution on a gate with nothing wrong that bears on it.
    pub healthy: Entries<Frequency>,
    /// The outcomes that mean "nothing here"; the most likely of `healthy` where left out.
    #[serde(default)]
    pub normal: Vec<String>,
    /// ρ of a caller on this question.
    pub reliability: Option<f64>,
    /// Where it comes from.
    pub source: String,
}

impl Test {
    /// The bands in words: "flat below 0.95; low 0.95 to 1.02; healthy from 1.02".
    #[must_use]
    pub fn limits(&self) -> String {
        let unit = match (&self.value, self.readings.values().next()) {
            (None, Some(reading)) => reading.unit.suffix(),
            _ => String::new(),
        };
        let band = |b: &Band| match (b.from, b.below) {
            (None, Some(below)) => format!("{} below {below}{unit}", b.say),
            (Some(from), Some(below)) => format!("{} {from} to {below}{unit}", b.say),
            (Some(from), None) => format!("{} from {from}{unit}", b.say),
            (None, None) => b.say.clone(),
        };
        let words: Vec<String> = self.bands.values().map(band).collect();
        let of = self.value.as_ref().map(|v| format!(" (of {v})")).unwrap_or_default();
        format!("{}{of}", words.join("; "))
    }
}

/// How a reading is judged against the one that the same gate gave when it was well.
///
/// The formula takes the place of the test's `value`, and the same bands judge it; so a reading still feeds one outcome of one test. Readings that it
/// does not name are not asked.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Baseline {
    /// The reading whose earlier value counts, in that reading's unit.
    pub reading: String,
    /// Formula over the readings, facts and `baseline`.
    pub value: String,
}

/// One number to read.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct ReadingSpec {
    /// Unit in which formulas and bands see it.
    pub unit: Unit,
    /// What to read, where there are several.
    pub ask: Option<String>,
    /// Accuracy of the meter; the usual one of the unit where left out.
    pub meter: Option<MeterClass>,
    /// Lowest and highest believable value.
    pub range: Option<[f64; 2]>,
    /// Outcome that an over-range display means.
    pub ol: Option<String>,
}

/// Outcome of a numeric test: values from `from` up to, not including, `below`.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Band {
    /// What is shown for it.
    pub say: String,
    /// Lower limit.
    pub from: Option<f64>,
    /// Upper limit.
    pub below: Option<f64>,
}

/// Outcome of an observation.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Outcome {
    /// What is shown for it.
    pub say: String,
    /// How callers put it.
    #[serde(default)]
    pub heard: Vec<String>,
}

/// Something that can be wrong.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Cause {
    /// One line.
    pub title: String,
    /// Calls in a thousand in which it arose by itself.
    pub rate: f64,
    /// Fact → value → what the rate is multiplied by there.
    #[serde(default)]
    pub times: Entries<IndexMap<String, f64>>,
    /// Sites it can occur on.
    #[serde(default)]
    #[schemars(schema_with = "super::json_schema::when")]
    pub when: When,
    /// Worst that its presence can do.
    pub severity: Severity,
    /// How it comes about.
    #[serde(default)]
    pub how: String,
    /// Symptom → how often it makes it.
    pub symptoms: Entries<Frequency>,
    /// Test → outcome → how often; a test not named behaves as healthy.
    #[serde(default)]
    pub shows: Entries<Entries<Frequency>>,
    /// When it shows; always where left out.
    pub shows_when: Option<ShowsWhen>,
    /// Cause → chance that this one has brought it on.
    #[serde(default)]
    pub brings_on: Entries<Frequency>,
    /// Cause → what tells them apart.
    #[serde(default)]
    pub confused_with: IndexMap<String, String>,
    /// Lines of the safety retest that fail while it is there.
    #[serde(default)]
    pub fails: Vec<String>,
    /// A repair that cures only this cause.
    pub repair: Option<Repair>,
    /// Where it comes from.
    pub source: String,
}

/// What can provoke a fault that comes and goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Provocation {
    /// Rain, damp.
    Wet,
    /// Frost, a cold morning.
    Cold,
    /// Heat.
    Hot,
    /// Wind on the leaf.
    Windy,
    /// Under load, after several cycles.
    Loaded,
    /// Sun low in the sky.
    LowSun,
    /// A wire or connector moved by hand.
    Wiggled,
}

impl Provocation {
    /// Every provocation, in a fixed order.
    pub const ALL: [Self; 7] = [
        Self::Wet,
        Self::Cold,
        Self::Hot,
        Self::Windy,
        Self::Loaded,
        Self::LowSun,
        Self::Wiggled,
    ];

    /// What is shown for it.
    #[must_use]
    pub fn say(self) -> &'static str {
        match self {
            Self::Wet => "rain or damp",
            Self::Cold => "cold",
            Self::Hot => "heat",
            Self::Windy => "wind",
            Self::Loaded => "load, after several cycles",
            Self::LowSun => "low sun",
            Self::Wiggled => "a wire or plug moved",
        }
    }
}

/// In which share of moments a cause shows.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct ShowsWhen {
    /// Under any of these it shows with chance `share`; left out: now and then, in `share` of all moments.
    #[serde(default)]
    pub under: Vec<Provocation>,
    /// Chance of showing, 0 to 1.
    pub share: f64,
    /// Chance of showing without the provocation.
    #[serde(default)]
    pub otherwise: f64,
    /// Chance that it leaves traces on tests while the symptom is away; its share where left out.
    pub traces: Option<f64>,
}

/// A part that a repair uses.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Part {
    /// What it is called. The same name is the same part, whichever repair uses it.
    pub name: String,
    /// Price in the pack's currency.
    pub price: f64,
    /// What must be read off the old one to fit.
    pub read: Option<String>,
}

/// What is on the truck at every visit, whatever is expected.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Kit {
    /// One line.
    pub title: String,
    /// Names of parts and tools of the knowledge that it holds: they need no place in a load list.
    #[serde(default)]
    pub covers: Vec<String>,
    /// Sites to which it is taken.
    #[serde(default)]
    #[schemars(schema_with = "super::json_schema::when")]
    pub when: When,
    /// Where it comes from.
    pub source: String,
}

/// What a repair touches; some of it voids the safety retest.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[expect(missing_docs, reason = "the words say what they are")]
pub enum Touch {
    Board,
    Force,
    Limits,
    Speed,
    Arm,
    Leaf,
    Eye,
    Edge,
    Wiring,
    Battery,
    Charger,
    Radio,
    Keypad,
    Loop,
    Mains,
}

impl Touch {
    /// Whether work on it voids a safety retest done before.
    #[must_use]
    pub fn voids_retest(self) -> bool {
        matches!(
            self,
            Self::Board
                | Self::Force
                | Self::Limits
                | Self::Speed
                | Self::Arm
                | Self::Leaf
                | Self::Eye
                | Self::Edge
                | Self::Wiring
        )
    }
}

/// What a repair wipes out and somebody must set again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[expect(missing_docs, reason = "the words say what they are")]
pub enum Wipe {
    Settings,
    Limits,
    Codes,
    Remotes,
    Timers,
    Force,
}

/// Something that is done to cure causes.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Repair {
    /// One line.
    pub title: String,
    /// Cause → chance that it is cured; left out in a `repair:` block inside a cause (then `chance`).
    #[serde(default)]
    pub cures: Entries<Frequency>,
    /// In a cause's own block: chance that it is cured. 1 where left out.
    pub chance: Option<Frequency>,
    /// Minutes of work.
    pub minutes: f64,
    /// Parts used.
    #[serde(default)]
    pub parts: Vec<Part>,
    /// Who may do it.
    #[serde(default)]
    pub who: Who,
    /// Where it is done.
    pub place: Option<String>,
    /// The cover that must be open.
    pub inside: Option<String>,
    /// Conditions that must hold.
    #[serde(default)]
    pub needs: Vec<Condition>,
    /// Whether it moves the gate.
    #[serde(default)]
    pub moves: Moves,
    /// What it touches.
    #[serde(default)]
    pub touches: Vec<Touch>,
    /// What it wipes out.
    #[serde(default)]
    pub wipes: Vec<Wipe>,
    /// Tests that must have an answer first.
    #[serde(default)]
    pub after: Vec<String>,
    /// Sites it makes sense on.
    #[serde(default)]
    #[schemars(schema_with = "super::json_schema::when")]
    pub when: When,
    /// Causes with which it is dangerous: it is not offered while one of them may well be there.
    #[serde(default)]
    pub not_with: Vec<String>,
    /// Nothing is changed: the owner is told.
    #[serde(default)]
    pub explains: bool,
    /// Opens, holds, releases or reprograms the gate.
    #[serde(default)]
    pub entitled: bool,
    /// Tools that must be at hand.
    #[serde(default)]
    pub tools: Vec<String>,
    /// Kinds of work, for standing cautions.
    #[serde(default)]
    pub tasks: Vec<Task>,
    /// Said before the steps.
    #[serde(default)]
    pub cautions: Vec<String>,
    /// What to do, in order.
    #[serde(default)]
    pub steps: Vec<String>,
    /// What to watch when the gate is run afterwards.
    #[serde(default)]
    pub proof: String,
    /// Where it comes from.
    #[serde(default)]
    pub source: String,
}

/// What is reported.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Symptom {
    /// One line.
    pub title: String,
    /// How callers put it.
    pub says: Vec<String>,
    /// The question that proves it gone.
    pub gone: String,
    /// Where it comes from.
    pub source: String,
}

/// A hazard sign, asked before anything else.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Sign {
    /// The question.
    pub ask: String,
    /// Worst it can do.
    pub severity: Severity,
    /// What is done at once.
    #[serde(rename = "do")]
    pub act: Vec<String>,
    /// Who may go on while it stands: for anybody less, only what anyone may do is left.
    #[serde(default = "technician")]
    pub who: Who,
    /// Nobody is sent to it alone.
    #[serde(default)]
    pub two: bool,
}

/// A caution that attaches by place or task.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Standing {
    /// Places it attaches to; with `tasks` too, either is enough.
    #[serde(default)]
    pub places: Vec<String>,
    /// Tasks it attaches to.
    #[serde(default)]
    pub tasks: Vec<Task>,
    /// The caution.
    pub text: String,
    /// Where it comes from.
    pub source: String,
}

impl Standing {
    /// Whether it is said with a step at that place that is that kind of work.
    #[must_use]
    pub fn attaches(&self, place: Option<&str>, tasks: &[Task]) -> bool {
        let at_place = place.is_some_and(|p| self.places.iter().any(|x| x == p));
        let by_task = self.tasks.iter().any(|t| tasks.contains(t));
        if self.tasks.is_empty() {
            at_place
        } else {
            by_task && (self.places.is_empty() || at_place)
        }
    }
}

/// The tasks of a step: those its author named, and those that follow from what it moves and opens.
#[must_use]
pub fn tasks_of(named: &[Task], moves: Moves, opens: bool) -> Vec<Task> {
    let mut all = named.to_vec();
    match moves {
        Moves::Commanded => all.push(Task::Commanded),
        Moves::ByHand => all.push(Task::ByHand),
        Moves::No => {}
    }
    if opens {
        all.push(Task::OpensCover);
    }
    all
}

/// One line of the safety retest.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct RetestLine {
    /// What is retested.
    pub title: String,
    /// The same for the owner, without words of the trade; the title where left out.
    pub plain: Option<String>,
    /// The question; yes is a pass.
    pub ask: String,
    /// It is gone through one by one: each is a line of the record by itself.
    pub each: Option<Each>,
    /// Sites it applies to. A fact that nobody knows counts as applying.
    #[serde(default)]
    #[schemars(schema_with = "super::json_schema::when")]
    pub when: When,
    /// How.
    #[serde(default)]
    pub steps: Vec<String>,
    /// Where it comes from.
    pub source: String,
}

/// What somebody in a hurry does and must not: never a step of a walk, only put before a trainee.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Shortcut {
    /// How a trainee reads it among everything else.
    pub title: String,
    /// What could have happened.
    pub could: String,
    /// The rule it breaks.
    pub rule: String,
    /// Worst that it can do.
    pub severity: Severity,
    /// Minutes it takes.
    pub minutes: f64,
    /// Sites on which it is there to be done.
    #[serde(default)]
    #[schemars(schema_with = "super::json_schema::when")]
    pub when: When,
    /// Symptoms that tempt to it; left out: any.
    #[serde(default)]
    pub symptoms: Vec<String>,
    /// Lines of the safety retest at which it is one of the ways to do the line; left out: at any time.
    #[serde(default)]
    pub at_retest: Vec<String>,
    /// Symptoms that no longer show, though their cause is there.
    #[serde(default)]
    pub hides: Vec<String>,
    /// Lines of the safety retest that fail because of it.
    #[serde(default)]
    pub fails: Vec<String>,
    /// Where it comes from.
    pub source: String,
}

/// Words that callers use for one idea, so that a phrase nobody wrote down is understood by its ideas.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Idea {
    /// The words, in any form: endings don't matter.
    pub words: Vec<String>,
    /// Where it comes from.
    pub source: String,
}

/// Causes that no practical test tells apart, with the reason: an ambiguity group (IEEE Std 1232) that is known and accepted.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Ambiguity {
    /// The causes; two at least.
    pub causes: Vec<String>,
    /// Why no practical test parts them, and what is done about it.
    pub reason: String,
    /// Where it comes from.
    pub source: String,
}

/// How a gate is put out of use.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct OutOfUse {
    /// By a technician at the gate.
    pub technician: Vec<String>,
    /// By a caller, told on the phone.
    pub caller: Vec<String>,
}

/// One operator's table of codes.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Codes {
    /// The test whose outcomes the codes become.
    pub test: String,
    /// Code id → what it says and what it means.
    pub entries: Entries<Code>,
}

/// One code.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Code {
    /// What is shown for it.
    pub say: String,
    /// Cause → how surely it shows this code.
    pub causes: Entries<Frequency>,
}

/// A case: a worked example, a regression test of the knowledge, a drill scenario, a demo.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Case {
    /// One line.
    pub title: String,
    /// Facts that someone at the site knows.
    #[serde(default)]
    pub site: IndexMap<String, SiteValue>,
    /// Where the call is taken.
    #[serde(default)]
    pub at: At,
    /// What the caller says.
    pub says: Vec<String>,
    /// The symptoms it is taken for.
    pub symptoms: Vec<String>,
    /// Hazard signs that are answered with yes.
    #[serde(default)]
    pub signs: Vec<String>,
    /// Is it doing it when the technician is there?
    #[serde(default)]
    pub now: Now,
    /// What is provoking it.
    #[serde(default)]
    pub under: Vec<Provocation>,
    /// What is really wrong; empty: nothing.
    pub causes: Vec<String>,
    /// Test → what it shows.
    #[serde(default)]
    pub readings: IndexMap<String, CaseReading>,
    /// Repair → what it does.
    #[serde(default)]
    pub repairs: IndexMap<String, CaseRepair>,
    /// What must come of it.
    #[serde(default)]
    pub expect: Expect,
    /// What a trainer adds, where it is a drill.
    pub drill: Option<DrillNotes>,
    /// Where it comes from.
    pub source: String,
}

/// What a trainer adds to a case that is a drill. How hard it is and of what kind is worked out, not declared.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct DrillNotes {
    /// Part of the trade it practises, such as `battery`; class sets are balanced over it.
    pub subject: String,
    /// What the trainee should take away; shown after the drill only.
    pub lesson: String,
    /// How the fault is set on a training gate. Left out: not for a real gate.
    pub stage: Option<String>,
}

/// Where a call is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum At {
    /// A technician stands at the gate.
    #[default]
    Gate,
    /// A caller is asked on the phone.
    Phone,
}

/// Is the gate doing it now?
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Now {
    /// Yes.
    #[default]
    Present,
    /// Not at the moment.
    Away,
    /// Nobody can tell.
    Unknown,
}

/// A fact's value in a case: text, or a number that YAML has read as one.
#[derive(Debug, Clone, PartialEq)]
pub struct SiteValue(pub String);

impl<'de> Deserialize<'de> for SiteValue {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        scalar_text(deserializer).map(Self)
    }
}

/// Reads any YAML scalar as the text that an author meant.
fn scalar_text<'de, D: serde::Deserializer<'de>>(deserializer: D) -> Result<String, D::Error> {
    struct Scalar;
    impl serde::de::Visitor<'_> for Scalar {
        type Value = String;
        fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
            f.write_str("a word, a number or a reading with its unit")
        }
        fn visit_str<E>(self, v: &str) -> Result<String, E> {
            Ok(v.to_owned())
        }
        fn visit_f64<E>(self, v: f64) -> Result<String, E> {
            Ok(v.to_string())
        }
        fn visit_u64<E>(self, v: u64) -> Result<String, E> {
            Ok(v.to_string())
        }
        fn visit_i64<E>(self, v: i64) -> Result<String, E> {
            Ok(v.to_string())
        }
        fn visit_bool<E>(self, v: bool) -> Result<String, E> {
            Ok(if v { "yes" } else { "no" }.to_owned())
        }
    }
    deserializer.deserialize_any(Scalar)
}

/// What a test shows in a case.
#[derive(Debug, Clone, PartialEq)]
pub enum CaseReading {
    /// An outcome's id, `cannot`, or the text of the single reading.
    Text(String),
    /// Reading id → text.
    Readings(IndexMap<String, String>),
}

impl<'de> Deserialize<'de> for CaseReading {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let value = serde_yaml::Value::deserialize(deserializer)?;
        let text = |v: serde_yaml::Value| scalar_text(v).map_err(serde::de::Error::custom);
        match value {
            serde_yaml::Value::Mapping(map) => {
                let mut readings = IndexMap::new();
                for (key, value) in map {
                    readings.insert(text(key)?, text(value)?);
                }
                Ok(Self::Readings(readings))
            }
            other => text(other).map(Self::Text),
        }
    }
}

/// What a repair does in a case.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum CaseRepair {
    /// Every cause it can cure is gone.
    Cures,
    /// It changes nothing.
    Fails,
    /// It can't be done here.
    Cannot,
}

/// What must come of a case.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Expect {
    /// How the call ends.
    pub ending: Option<Ending>,
    /// Steps that need an answer about the gate, at most.
    pub max_steps: Option<usize>,
    /// Causes that must not be named.
    #[serde(default)]
    pub not: Vec<String>,
    /// Groups that nobody can tell apart.
    #[serde(default)]
    pub either: Vec<Vec<String>>,
}

/// How a call ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Ending {
    /// Repaired, proven, retested.
    Fixed,
    /// Working as set; nothing was changed.
    Explained,
    /// Nothing wrong was found.
    NoFaultFound,
    /// Waits for parts or a return.
    Waiting,
    /// Handed to somebody else.
    Referred,
    /// Made safe and left out of use.
    OutOfUse,
    /// The owner refuses to have a deficiency put right.
    DeficiencyRefused,
    /// The caller withdrew.
    Withdrawn,
}

impl Ending {
    /// The word authors and records use.
    #[must_use]
    pub fn say(self) -> &'static str {
        match self {
            Self::Fixed => "fixed",
            Self::Explained => "explained",
            Self::NoFaultFound => "no fault found",
            Self::Waiting => "waiting",
            Self::Referred => "referred",
            Self::OutOfUse => "out of use",
            Self::DeficiencyRefused => "deficiency refused",
            Self::Withdrawn => "withdrawn",
        }
    }
}
