//! Scenarios: cases that a trainer may use, and how hard each is, worked out rather than declared.

use std::path::{Path, PathBuf};

use include_dir::{Dir, include_dir};
use serde::{Deserialize, Serialize};

use super::site::SimulatedSite;
use crate::call::{Call, Engine, Entry, Event, evaluate, minutes, walk};
use crate::finding::Finding;
use crate::knowledge::schema::{At, Case, CaseReading, Ending, Severity, Who};
use crate::knowledge::{Sources, load_case, read_case, stable_hash};
use crate::model::SiteFacts;

static SHIPPED: Dir<'static> = include_dir!("$CARGO_MANIFEST_DIR/examples/drills");

/// A case with the name that a trainer calls it by.
#[derive(Debug, Clone)]
pub struct Scenario {
    /// File name without its ending.
    pub name: String,
    /// Where it was read from; shipped ones are inside the program.
    pub path: Option<PathBuf>,
    /// The case.
    pub case: Case,
    /// Changes with its text.
    pub fingerprint: u64,
}

/// Why a scenario can't be used.
#[derive(Debug)]
pub struct ScenarioError {
    /// Its file.
    pub sources: Sources,
    /// What is wrong in it.
    pub findings: Vec<Finding>,
}

impl Scenario {
    /// Those that travel in the program, by name.
    #[must_use]
    pub fn shipped() -> Vec<Self> {
        let files = SHIPPED.files().filter_map(|f| Some((f.path(), f.contents_utf8()?)));
        let mut found: Vec<Self> = files
            .filter_map(|(path, text)| {
                let name = path.file_stem()?.to_str()?.to_owned();
                let case = read_case(&path.display().to_string(), text).0?;
                Some(Self {
                    name,
                    path: None,
                    case,
                    fingerprint: stable_hash(text.as_bytes()),
                })
            })
            .collect();
        found.sort_by(|a, b| a.name.cmp(&b.name));
        found
    }

    /// Reads one from a file.
    ///
    /// # Errors
    /// What is wrong with the file, with its place.
    pub fn read(path: &Path) -> Result<Self, ScenarioError> {
        let (case, sources, findings) = load_case(path);
        let name = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        let path = Some(path.to_owned());
        match case {
            Some(case) if findings.is_empty() => {
                let text = sources.files.first().map_or("", |f| f.text.as_str());
                Ok(Self {
                    name,
                    path,
                    fingerprint: stable_hash(text.as_bytes()),
                    case,
                })
            }
            _ => Err(ScenarioError { sources, findings }),
        }
    }

    /// Part of the trade it practises.
    #[must_use]
    pub fn subject(&self) -> &str {
        self.case.drill.as_ref().map_or("other", |d| &d.subject)
    }

    /// Whether it may be set on a real gate: its author says how, and nothing about it can hurt.
    #[must_use]
    pub fn may_be_staged(&self, engine: &Engine) -> bool {
        let harmless = |id: &String| {
            let cause = engine.knowledge.causes.get(id);
            cause.is_some_and(|c| c.severity == Severity::None)
        };
        let told = self.case.drill.as_ref().is_some_and(|d| d.stage.is_some());
        told && self.case.signs.is_empty() && self.case.causes.iter().all(harmless)
    }
}

/// How hard a scenario is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, clap::ValueEnum)]
#[serde(rename_all = "kebab-case")]
pub enum Hardness {
    /// Under 13.5 points.
    Easy,
    /// From 13.5 to under 17.5 points.
    Middling,
    /// From 17.5 points.
    Hard,
}

impl Hardness {
    /// Every grade, easiest first.
    pub const ALL: [Self; 3] = [Self::Easy, Self::Middling, Self::Hard];

    /// The word shown.
    #[must_use]
    pub fn say(self) -> &'static str {
        match self {
            Self::Easy => "easy",
            Self::Middling => "middling",
            Self::Hard => "hard",
        }
    }
}

/// What makes a scenario hard, counted.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct Difficulty {
    /// Tests and repairs that the plan takes there.
    pub steps: usize,
    /// Minutes that the plan takes there.
    pub minutes: f64,
    /// How the plan's call ends.
    pub ending: Option<Ending>,
    /// Bits needed to name what is wrong once the complaint and the site are known: 0, no doubt; 5, one of 32 as likely as each other.
    pub entropy: f64,
    /// Abnormal readings that none of the faults makes, and reported symptoms that none of them makes.
    pub herrings: usize,
    /// Faults at once.
    pub causes: usize,
    /// It is not doing it when the technician comes.
    pub away: bool,
}

impl Difficulty {
    /// Plays the plan on the scenario's site and counts.
    #[must_use]
    pub fn of(engine: &Engine, case: &Case, seed: u64) -> Self {
        let plan = PlanPlayed::on(engine, case, seed);
        Self {
            steps: plan.steps.len(),
            minutes: plan.minutes,
            ending: plan.ending,
            entropy: entropy(engine, case),
            herrings: herrings(engine, case),
            causes: case.causes.len(),
            away: case.now != crate::knowledge::schema::Now::Present,
        }
    }

    /// Steps, bits, and two points for each herring, each fault beyond the first, and a fault that hides.
    #[must_use]
    pub fn points(&self) -> f64 {
        let extra = self.herrings + self.causes.saturating_sub(1) + usize::from(self.away);
        self.steps as f64 + self.entropy + 2.0 * extra as f64
    }

    /// The grade.
    #[must_use]
    pub fn grade(&self) -> Hardness {
        match self.points() {
            p if p < 13.5 => Hardness::Easy,
            p if p < 17.5 => Hardness::Middling,
            _ => Hardness::Hard,
        }
    }
}

/// The plan, walked on a scenario's site.
#[derive(Debug, Clone)]
pub struct PlanPlayed {
    /// Everything that happened.
    pub entries: Vec<Entry>,
    /// Tests and repairs by id, in order, without what only looks for company of a cured fault.
    pub steps: Vec<String>,
    /// Minutes of work.
    pub minutes: f64,
    /// How it ended.
    pub ending: Option<Ending>,
}

impl PlanPlayed {
    /// Walks it.
    #[must_use]
    pub fn on(engine: &Engine, case: &Case, seed: u64) -> Self {
        let mut site = SimulatedSite::of_case(engine, case, seed);
        let opened = Entry {
            time: crate::call::Answerer::now(&site),
            event: engine.opened(At::Gate, Who::Technician, None),
        };
        let mut call = Call::in_memory(engine, vec![opened]);
        // It ends or is stuck; both are told by the ending.
        let _ = walk(&mut call, &mut site);
        Self {
            minutes: minutes(engine, &call),
            ending: call.ending().map(|e| e.0),
            steps: site.asked.clone(),
            entries: call.entries,
        }
    }
}

/// Entropy of what is wrong, in bits, with the complaint and every fact of the site known.
fn entropy(engine: &Engine, case: &Case) -> f64 {
    let mut entries = vec![Event::Complaint {
        words: String::new(),
        symptoms: case.symptoms.clone(),
    }];
    entries.extend(case.site.iter().map(|(fact, value)| Event::Fact {
        fact: fact.clone(),
        value: Some(value.0.clone()),
        from: None,
    }));
    let stamped = entries.into_iter().map(|event| Entry {
        time: String::new(),
        event,
    });
    let call = Call::in_memory(engine, stamped.collect());
    let belief = call.belief();
    let bits = |w: f64| {
        let p = w / belief.total;
        if p > 0.0 { -p * p.log2() } else { 0.0 }
    };
    belief.branches.iter().map(|b| bits(b.weight)).sum()
}

fn herrings(engine: &Engine, case: &Case) -> usize {
    let causes: Vec<_> = case
        .causes
        .iter()
        .filter_map(|c| engine.knowledge.causes.get(c))
        .collect();
    let mut site = SiteFacts::unknown();
    case.site.iter().for_each(|(fact, value)| site.learn(fact, &value.0));
    let abnormal = |id: &String, listed: &CaseReading| -> Option<bool> {
        let test = engine.knowledge.tests.get(id)?;
        let Event::Answer { outcome, readings, .. } = crate::call::answer_event(id, test, listed, At::Gate)? else {
            return None;
        };
        let at = match outcome {
            Some(o) => test.outcomes.get_index_of(&o)?,
            None => evaluate(&engine.knowledge, test, &readings, &site, true).ok()?.outcome,
        };
        Some(!engine.model.tests[engine.model.test(id)?.index()].normal[at])
    };
    let odd_readings = case
        .readings
        .iter()
        .filter(|(id, _)| !causes.iter().any(|c| c.shows.contains_key(*id)))
        .filter(|(id, listed)| abnormal(id, listed) == Some(true))
        .count();
    let unmade = |s: &&String| !causes.iter().any(|c| c.symptoms.contains_key(*s));
    let odd_symptoms = if causes.is_empty() {
        0
    } else {
        case.symptoms.iter().filter(unmade).count()
    };
    odd_readings + odd_symptoms
}
