//! A class file: one line a drill, and what it says of each trainee and subject.

use std::collections::BTreeMap;
use std::fs::OpenOptions;
use std::io::{self, Write as _};
use std::path::Path;

use serde::{Deserialize, Serialize};

use super::debrief::Debrief;
use super::session::Level;

/// One drill that was done.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct Done {
    /// Version of this format.
    pub version: u32,
    /// When, RFC 3339.
    pub time: String,
    /// Who.
    pub trainee: String,
    /// Scenario.
    pub scenario: String,
    /// What it practises.
    pub subject: String,
    /// Seed of its site.
    pub seed: u64,
    /// How much help there was.
    pub level: Level,
    /// Points of a hundred.
    pub points: u32,
    /// Passed.
    pub passed: bool,
    /// Grave unsafe acts.
    pub grave: usize,
    /// Minutes of work.
    pub minutes: f64,
    /// Minutes of the plan there.
    pub plan_minutes: f64,
    /// One thing to practise.
    pub practise: String,
}

/// A class file as it was read.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ClassFile {
    /// Drills in order.
    pub done: Vec<Done>,
    /// Lines that are none, with the reason.
    pub damaged: Vec<(usize, String)>,
}

impl Done {
    /// The line of a debrief.
    #[must_use]
    pub fn of(
        debrief: &Debrief,
        trainee: &str,
        scenario: &str,
        subject: &str,
        seed: u64,
        level: Level,
        time: &str,
    ) -> Self {
        Self {
            version: 1,
            time: time.to_owned(),
            trainee: trainee.to_owned(),
            scenario: scenario.to_owned(),
            subject: subject.to_owned(),
            seed,
            level,
            points: debrief.score.points,
            passed: debrief.passed,
            grave: debrief.unsafe_acts.iter().filter(|a| a.is_grave()).count(),
            minutes: debrief.minutes,
            plan_minutes: debrief.plan_minutes,
            practise: debrief.practise.clone(),
        }
    }

    /// Adds it to a class file.
    ///
    /// # Errors
    /// When the file can't be written.
    pub fn append_to(&self, path: &Path) -> io::Result<()> {
        let mut line = serde_json::to_string(self)?;
        line.push('\n');
        let mut file = OpenOptions::new().append(true).create(true).open(path)?;
        file.write_all(line.as_bytes())?;
        file.sync_data()
    }
}

impl ClassFile {
    /// Reads a class file; damaged lines are told and passed over.
    ///
    /// # Errors
    /// When the file can't be read.
    pub fn read(path: &Path) -> io::Result<Self> {
        let mut class = Self::default();
        for (i, line) in std::fs::read_to_string(path)?.lines().enumerate() {
            match serde_json::from_str(line) {
                Ok(done) => class.done.push(done),
                Err(_) if line.trim().is_empty() => {}
                Err(error) => class.damaged.push((i + 1, error.to_string())),
            }
        }
        Ok(class)
    }

    /// Drills of each trainee, in order of time.
    #[must_use]
    pub fn by_trainee(&self) -> BTreeMap<&str, Vec<&Done>> {
        self.grouped(|d| &d.trainee)
    }

    /// Drills of each subject, in order of time.
    #[must_use]
    pub fn by_subject(&self) -> BTreeMap<&str, Vec<&Done>> {
        self.grouped(|d| &d.subject)
    }

    fn grouped(&self, key: impl Fn(&Done) -> &str) -> BTreeMap<&str, Vec<&Done>> {
        let mut groups: BTreeMap<&str, Vec<&Done>> = BTreeMap::new();
        for done in &self.done {
            let key: &str = key(done);
            groups.entry(key).or_default().push(done);
        }
        groups.values_mut().for_each(|g| g.sort_by(|a, b| a.time.cmp(&b.time)));
        groups
    }
}

/// Figures of a group of drills.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Progress {
    /// How many.
    pub drills: usize,
    /// Of them passed.
    pub passed: usize,
    /// Mean points.
    pub mean: f64,
    /// Mean points of the later half less those of the earlier; `None` with fewer than four.
    pub change: Option<f64>,
    /// Grave unsafe acts.
    pub grave: usize,
    /// Minutes for each minute of the plan.
    pub pace: f64,
}

impl Progress {
    /// Of drills in order of time.
    #[must_use]
    pub fn of(done: &[&Done]) -> Self {
        let mean = |of: &[&Done]| of.iter().map(|d| f64::from(d.points)).sum::<f64>() / of.len().max(1) as f64;
        let (earlier, later) = done.split_at(done.len() / 2);
        let plan: f64 = done.iter().map(|d| d.plan_minutes).sum();
        Self {
            drills: done.len(),
            passed: done.iter().filter(|d| d.passed).count(),
            mean: mean(done),
            change: (done.len() >= 4).then(|| mean(later) - mean(earlier)),
            grave: done.iter().map(|d| d.grave).sum(),
            pace: if plan > 0.0 {
                done.iter().map(|d| d.minutes).sum::<f64>() / plan
            } else {
                0.0
            },
        }
    }
}
