//! Printable pages and pictures, by template. Everything that is put into one is escaped.

use minijinja::value::Serde;
use minijinja::{Value, context};
use serde::Serialize;

use super::debrief::{right_endings, step_title};
use super::results::{ClassFile, Done, Progress};
use super::scenario::{Difficulty, PlanPlayed, Scenario};
use super::site::SimulatedSite;
use crate::call::Engine;
use crate::knowledge::schema::{CaseReading, Now};
use crate::paper::render;

/// One drill on a sheet.
#[derive(Debug, Clone, Serialize)]
struct SheetDrill {
    number: usize,
    title: String,
    subject: String,
    grade: &'static str,
    says: Vec<String>,
    truth: Vec<String>,
    signs: Vec<String>,
    now: &'static str,
    endings: String,
    hard: String,
    lesson: String,
    stage: Option<String>,
    site: Vec<(String, String)>,
    readings: Vec<(String, String)>,
    minutes: String,
    plan: Vec<String>,
}

/// A printable sheet: with the answers, for the trainer; without, for the trainee. Self-contained HTML, no script.
///
/// # Errors
/// When the template can't be filled, which is a fault of the program.
pub fn sheet(
    engine: &Engine,
    drills: &[(usize, &Scenario, &Difficulty)],
    seed: u64,
    answers: bool,
) -> Result<String, minijinja::Error> {
    let retest: Vec<String> = engine.knowledge.retest.values().map(|l| l.title.clone()).collect();
    let filled: Vec<SheetDrill> = drills
        .iter()
        .map(|(number, scenario, difficulty)| sheet_drill(engine, *number, scenario, difficulty, seed))
        .collect();
    let title = if answers { "Drills: answers" } else { "Drills" };
    let page = include_str!("templates/sheet.html.jinja");
    render(
        "sheet.html",
        page,
        context! { drills => Value::from(Serde(filled)), retest, answers, title },
    )
}

fn sheet_drill(engine: &Engine, number: usize, scenario: &Scenario, difficulty: &Difficulty, seed: u64) -> SheetDrill {
    let (knowledge, case) = (&engine.knowledge, &scenario.case);
    let site = SimulatedSite::of_case(engine, case, seed);
    let plan = PlanPlayed::on(engine, case, seed);
    let facts = knowledge.facts.iter().filter_map(|(id, fact)| {
        let value = site.facts().get(id)?;
        let said = fact.values.get(value).map_or(value, |v| &v.say);
        case.site.contains_key(id).then(|| (fact.ask.clone(), said.to_owned()))
    });
    let readings = case.readings.iter().filter_map(|(id, listed)| {
        let test = knowledge.tests.get(id)?;
        let shown = match listed {
            CaseReading::Text(text) => test.outcomes.get(text).map_or_else(|| text.clone(), |o| o.say.clone()),
            CaseReading::Readings(map) => {
                let each = map.iter().map(|(r, text)| {
                    let ask = test.readings.get(r).and_then(|s| s.ask.as_deref()).unwrap_or(r);
                    format!("{ask}: {text}")
                });
                each.collect::<Vec<_>>().join("; ")
            }
        };
        Some((test.title.clone(), shown))
    });
    let sign = |id: &String| knowledge.signs.get(id).map_or(id.clone(), |s| s.ask.clone());
    let notes = case.drill.as_ref();
    let right = right_endings(engine, case, &site, plan.ending);
    let endings: Vec<&str> = right.iter().map(|e| e.say()).collect();
    let title = |c: &crate::model::CauseId| knowledge.causes[c.index()].title.clone();
    SheetDrill {
        number,
        title: case.title.clone(),
        subject: scenario.subject().to_owned(),
        grade: difficulty.grade().say(),
        says: case.says.clone(),
        truth: site.at_start().iter().map(title).collect(),
        signs: case.signs.iter().map(sign).collect(),
        now: match case.now {
            Now::Present => "yes",
            Now::Away => "not at the moment",
            Now::Unknown => "nobody can tell",
        },
        endings: endings.join(", or "),
        hard: hardness(difficulty),
        lesson: notes.map_or_else(String::new, |d| d.lesson.clone()),
        stage: notes
            .filter(|_| scenario.may_be_staged(engine))
            .and_then(|d| d.stage.clone()),
        site: facts.collect(),
        readings: readings.collect(),
        minutes: format!("{:.0}", plan.minutes),
        plan: plan.steps.iter().map(|id| step_title(engine, id)).collect(),
    }
}

/// What makes it hard, in words.
#[must_use]
pub fn hardness(d: &Difficulty) -> String {
    let mut parts = vec![
        format!("{} steps by the plan", d.steps),
        format!("{:.1} bits of doubt", d.entropy),
    ];
    if d.herrings > 0 {
        parts.push(format!("{} red herring(s)", d.herrings));
    }
    if d.causes > 1 {
        parts.push(format!("{} faults at once", d.causes));
    }
    if d.causes == 0 {
        parts.push("nothing wrong".to_owned());
    }
    if d.away {
        parts.push("it is not doing it at first".to_owned());
    }
    format!("{}: {:.0} points", parts.join(", "), d.points())
}

#[derive(Serialize)]
struct Panel {
    top: usize,
    name: String,
    line: String,
    rules: Vec<(f64, u32)>,
    path: String,
    marks: Vec<Mark>,
    floor: f64,
}

#[derive(Serialize)]
struct Mark {
    x: f64,
    y: f64,
    passed: bool,
    subject: String,
    words: String,
}

/// Height of one trainee's panel, and of its scale from 0 to 100 points, in px.
const PANEL: usize = 190;
const SCALE: f64 = 100.0;
const WIDTH: f64 = 720.0;

/// The progress of a class as a picture: one panel a trainee, points over drills. Readable without colour and without a script.
///
/// # Errors
/// When the template can't be filled, which is a fault of the program.
pub fn progress_picture(class: &ClassFile) -> Result<String, minijinja::Error> {
    let groups = class.by_trainee();
    let panels: Vec<Panel> = groups
        .iter()
        .enumerate()
        .map(|(i, (name, done))| panel(i, name, done))
        .collect();
    let words: Vec<String> = panels.iter().map(|p| format!("{}: {}", p.name, p.line)).collect();
    let height = PANEL * panels.len() + 40;
    let page = include_str!("templates/results.svg.jinja");
    render(
        "results.svg",
        page,
        context! { width => WIDTH, height, panels => Value::from(Serde(panels)), words => words.join(". ") },
    )
}

fn panel(i: usize, name: &str, done: &[&Done]) -> Panel {
    let progress = Progress::of(done);
    let y = |points: f64| 50.0 + SCALE - points / 100.0 * SCALE;
    let step = (WIDTH - 100.0) / done.len().max(2) as f64;
    let marks: Vec<Mark> = done
        .iter()
        .enumerate()
        .map(|(k, d)| Mark {
            x: (70.0 + step * k as f64).round(),
            y: y(f64::from(d.points)).round(),
            passed: d.passed,
            subject: d.subject.chars().take(10).collect(),
            words: format!(
                "{}: {} points, {}",
                d.subject,
                d.points,
                if d.passed { "passed" } else { "not passed" }
            ),
        })
        .collect();
    let path: Vec<String> = marks.iter().map(|m| format!("{},{}", m.x, m.y)).collect();
    Panel {
        top: PANEL * i,
        name: name.to_owned(),
        line: format!(
            "drills {}, passed {}, {:.0} points on average",
            progress.drills, progress.passed, progress.mean
        ),
        rules: [0_u32, 70, 100].iter().map(|p| (y(f64::from(*p)), *p)).collect(),
        path: path.join(" "),
        marks,
        floor: 50.0 + SCALE + 18.0,
    }
}
