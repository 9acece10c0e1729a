//! Scenarios by name or file, sets, and where drills are kept.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use super::super::progress::Progress;
use super::super::{CommandError, Data};
use crate::call::{Engine, check_case};
use crate::drill::{Difficulty, Drawn, DrillSet, Scenario, ScenarioError};
use crate::finding::Level;
use crate::knowledge::nearest;
use crate::settings::Settings;
use crate::spread::spread;

/// A scenario by its name, if it travels in the program, or by its file.
///
/// # Errors
/// When there is none, or it can't be used with this knowledge.
pub(super) fn scenario(engine: &Engine, name: &str) -> Result<Scenario, CommandError> {
    let path = Path::new(name);
    let is_file = path.extension().is_some_and(|e| e == "yaml" || e == "yml");
    let found = if is_file {
        Scenario::read(path).map_err(|e| unusable(&e))?
    } else {
        let shipped = Scenario::shipped();
        let names: Vec<String> = shipped.iter().map(|s| s.name.clone()).collect();
        let at = names.iter().position(|n| n == name);
        at.and_then(|i| shipped.into_iter().nth(i)).ok_or_else(|| {
            let near = nearest(name, names.iter().map(String::as_str));
            let hint = near.map_or_else(
                || "`pintle drill list` lists them; or name a case file that ends in .yaml".to_owned(),
                |n| format!("did you mean {n}?"),
            );
            CommandError::new(format!("there is no scenario {name}"), hint)
        })?
    };
    let wrong = check_case(&engine.knowledge, &found.case);
    if let Some(finding) = wrong.iter().find(|f| f.level() == Level::Error) {
        let message = format!("the scenario {name} does not fit this knowledge: {}", finding.message);
        return Err(CommandError::new(message, finding.help.clone()));
    }
    Ok(found)
}

fn unusable(error: &ScenarioError) -> CommandError {
    let Some(finding) = error.findings.first() else {
        return CommandError::new("this file holds no case", "see examples/drills for what one looks like");
    };
    let file = error
        .sources
        .files
        .get(finding.location.file)
        .map_or("", |f| f.name.as_str());
    let at = error.sources.position(&finding.location);
    let message = format!("{file}:{}:{}: {}", at.line, at.column, finding.message);
    CommandError::new(message, finding.help.clone())
}

/// All scenarios of some folders and files; those that travel in the program where none is named.
///
/// # Errors
/// When a folder can't be read or a scenario can't be used.
pub(super) fn scenarios(engine: &Engine, from: &[PathBuf]) -> Result<Vec<Scenario>, CommandError> {
    if from.is_empty() {
        let shipped = Scenario::shipped();
        return shipped.into_iter().map(|s| scenario(engine, &s.name)).collect();
    }
    let mut found = Vec::new();
    for path in from {
        let mut files = vec![path.clone()];
        if path.is_dir() {
            let unreadable = |e: std::io::Error| {
                CommandError::new(format!("{}: {e}", path.display()), "name a folder of case files")
            };
            let entries = std::fs::read_dir(path).map_err(unreadable)?;
            files = entries.flatten().map(|e| e.path()).collect();
            files.retain(|p| p.extension().is_some_and(|e| e == "yaml" || e == "yml"));
            files.sort();
        }
        for file in files {
            found.push(scenario(engine, &file.display().to_string())?);
        }
    }
    Ok(found)
}

/// How hard each is. Playing the plan on every scenario takes a while, so what was worked out is kept beside the drills, under the
/// fingerprints of knowledge and scenario.
pub(super) fn difficulties(
    engine: &Engine,
    scenarios: &[Scenario],
    seed: u64,
    data: &Data,
    settings: &Settings,
) -> Vec<Difficulty> {
    let kept = folder(data, settings).map(|f| f.join("difficulty.json"));
    let mut known: BTreeMap<String, Difficulty> = kept
        .as_ref()
        .ok()
        .and_then(|path| serde_json::from_str(&std::fs::read_to_string(path).ok()?).ok())
        .unwrap_or_default();
    let key = |s: &Scenario| format!("{} {:016x} {seed}", engine.knowledge.fingerprint, s.fingerprint);
    let open: Vec<&Scenario> = scenarios.iter().filter(|s| !known.contains_key(&key(s))).collect();
    let worked_out = work_out(engine, &open, seed);
    let news = !worked_out.is_empty();
    known.extend(open.iter().map(|s| key(s)).zip(worked_out));
    if news && let Ok(path) = kept {
        // Only a saving of time: where it can't be kept, it is worked out again.
        let here = format!("{} ", engine.knowledge.fingerprint);
        known.retain(|k, _| k.starts_with(&here));
        let text = serde_json::to_string_pretty(&known).unwrap_or_default();
        let _ = path.parent().map(std::fs::create_dir_all);
        let _ = std::fs::write(&path, text);
    }
    scenarios.iter().filter_map(|s| known.get(&key(s)).cloned()).collect()
}

fn work_out(engine: &Engine, scenarios: &[&Scenario], seed: u64) -> Vec<Difficulty> {
    let progress = Progress::new("scenarios played by the plan", scenarios.len());
    spread(scenarios, |scenario| {
        let found = Difficulty::of(engine, &scenario.case, seed);
        progress.step();
        Some(found)
    })
}

/// A class set from its file.
///
/// # Errors
/// When it can't be read.
pub(super) fn read_set(path: &Path) -> Result<DrillSet, CommandError> {
    let text = std::fs::read_to_string(path).map_err(|e| {
        CommandError::new(
            format!("{}: {e}", path.display()),
            "`pintle drill set --out FILE` writes one",
        )
    })?;
    serde_json::from_str(&text).map_err(|e| {
        let message = format!(
            "{}:{}:{}: this is no set of drills: {e}",
            path.display(),
            e.line(),
            e.column()
        );
        CommandError::new(message, "`pintle drill set --out FILE` writes one")
    })
}

/// The scenario of one drill of a set.
///
/// # Errors
/// When it is not there any more.
pub(super) fn of_set(engine: &Engine, drawn: &Drawn) -> Result<Scenario, CommandError> {
    scenario(engine, drawn.path.as_ref().unwrap_or(&drawn.scenario))
}

/// The folder of the drills.
///
/// # Errors
/// When the platform names no data folder and none is given.
pub(super) fn folder(data: &Data, settings: &Settings) -> Result<PathBuf, CommandError> {
    Ok(data.folder(settings)?.join("drills"))
}
