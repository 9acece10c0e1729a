//! For trainers: what there is, sets, sheets, results.

use std::io::Write;
use std::path::{Path, PathBuf};

use super::super::{CommandError, Exit, json};
use super::Places;
use super::find::{difficulties, of_set, read_set, scenarios};
use crate::drill::{
    Candidate, ClassFile, Difficulty, DrillSet, Hardness, Progress, Scenario, hardness, progress_picture,
    sheet as sheet_page,
};
use crate::knowledge::WithCases;
use crate::settings::Settings;
use crate::terminal::Style;

/// Arguments of `pintle drill list`.
#[derive(Debug, clap::Args)]
pub struct List {
    /// Folders or case files; left out: those that come with the program
    pub from: Vec<PathBuf>,
    /// Packs and data.
    #[command(flatten)]
    pub places: Places,
    /// Write JSON
    #[arg(long)]
    pub json: bool,
}

/// Arguments of `pintle drill set`.
#[derive(Debug, clap::Args)]
pub struct Set {
    /// Folders or case files to draw from; left out: those that come with the program
    pub from: Vec<PathBuf>,
    /// How many
    #[arg(long, default_value_t = 6)]
    pub number: usize,
    /// Only this subject; may be given several times
    #[arg(long)]
    pub subject: Vec<String>,
    /// Only this grade; may be given several times
    #[arg(long, value_enum)]
    pub grade: Vec<Hardness>,
    /// Only what may be set on a real training gate
    #[arg(long)]
    pub live: bool,
    /// Seed of the draw and of every site
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
    /// Write the set here, for `drill --set` and `drill sheet`; left out: print it
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Packs and data.
    #[command(flatten)]
    pub places: Places,
}

/// Arguments of `pintle drill sheet`.
#[derive(Debug, clap::Args)]
pub struct Sheet {
    /// The set, from `pintle drill set --out FILE`
    pub set: PathBuf,
    /// Folder for answers.html and trainee.html
    #[arg(long, value_name = "DIR", default_value = ".")]
    pub out: PathBuf,
    /// Packs and data.
    #[command(flatten)]
    pub places: Places,
}

/// Arguments of `pintle drill results`.
#[derive(Debug, clap::Args)]
pub struct Results {
    /// The class file
    pub class: PathBuf,
    /// Draw the progress here, as SVG
    #[arg(long, value_name = "FILE")]
    pub svg: Option<PathBuf>,
    /// Write JSON
    #[arg(long)]
    pub json: bool,
}

/// Lists scenarios.
///
/// # Errors
/// When one can't be used.
pub(super) fn list(args: &List, settings: &Settings, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let engine = args.places.packs.engine(settings, WithCases::Yes)?;
    let found = scenarios(&engine, &args.from)?;
    let hard = difficulties(&engine, &found, 1, &args.places.data, settings);
    if args.json {
        let all: Vec<_> = found
            .iter()
            .zip(&hard)
            .map(|(s, d)| {
                serde_json::json!({
                    "name": s.name, "title": s.case.title, "subject": s.subject(), "grade": d.grade(),
                    "points": d.points(), "may-be-staged": s.may_be_staged(&engine), "difficulty": d,
                })
            })
            .collect();
        out.write_all(json(&serde_json::Value::Array(all))?.as_bytes())?;
        return Ok(Exit::Ok);
    }
    let mut rows: Vec<(&Scenario, &Difficulty)> = found.iter().zip(&hard).collect();
    rows.sort_by(|a, b| (a.0.subject(), a.1.grade()).cmp(&(b.0.subject(), b.1.grade())));
    let mut page = crate::terminal::Page::new(style);
    let mut subject = "";
    for (scenario, difficulty) in rows {
        if scenario.subject() != subject {
            subject = scenario.subject();
            page.title(subject);
        }
        let staged = if scenario.may_be_staged(&engine) {
            "; may be staged"
        } else {
            ""
        };
        page.line(&style.strong(&scenario.name));
        page.field(difficulty.grade().say(), &scenario.case.title);
        page.field("", &format!("{}{staged}", hardness(difficulty)));
    }
    out.write_all(page.finish().as_bytes())?;
    Ok(Exit::Ok)
}

/// Draws a set.
///
/// # Errors
/// When nothing fits, a scenario can't be used, or the file can't be written.
pub(super) fn set(args: &Set, settings: &Settings, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let engine = args.places.packs.engine(settings, WithCases::Yes)?;
    let mut found = scenarios(&engine, &args.from)?;
    let mut subjects: Vec<String> = found.iter().map(|s| s.subject().to_owned()).collect();
    subjects.sort();
    subjects.dedup();
    if let Some(unknown) = args.subject.iter().find(|s| !subjects.contains(s)) {
        let hint = format!("subjects: {}", subjects.join(", "));
        return Err(CommandError::new(format!("no scenario practises {unknown}"), hint));
    }
    found.retain(|s| args.subject.is_empty() || args.subject.iter().any(|x| x == s.subject()));
    found.retain(|s| !args.live || s.may_be_staged(&engine));
    let hard = difficulties(&engine, &found, args.seed, &args.places.data, settings);
    let candidates: Vec<Candidate> = found
        .iter()
        .zip(hard)
        .filter(|(_, d)| args.grade.is_empty() || args.grade.contains(&d.grade()))
        .map(|(s, difficulty)| Candidate {
            name: s.name.clone(),
            path: s.path.as_ref().map(|p| p.display().to_string()),
            subject: s.subject().to_owned(),
            difficulty,
        })
        .collect();
    if candidates.is_empty() {
        return Err(CommandError::new(
            "no scenario fits",
            "leave out --grade, --subject or --live; `pintle drill list` shows what there is",
        ));
    }
    let set = DrillSet::draw(&candidates, args.number, args.seed);
    let text = json(&set)?;
    match &args.out {
        None => out.write_all(text.as_bytes())?,
        Some(path) => {
            write_new(path, &text)?;
            writeln!(out, "{} drills in {}:", set.drills.len(), path.display())?;
            for d in &set.drills {
                writeln!(out, "{:>3}  {:9} {}", d.number, d.grade.say(), d.subject)?;
            }
            writeln!(
                out,
                "A trainee runs one by its number: pintle drill --set {} 1",
                path.display()
            )?;
        }
    }
    if set.drills.len() < args.number {
        writeln!(out, "Only {} fit.", set.drills.len())?;
    }
    Ok(Exit::Ok)
}

/// Writes the sheets of a set.
///
/// # Errors
/// When the set can't be read or a sheet can't be written.
pub(super) fn sheet(args: &Sheet, settings: &Settings, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let engine = args.places.packs.engine(settings, WithCases::Yes)?;
    let set = read_set(&args.set)?;
    let found: Vec<Scenario> = set
        .drills
        .iter()
        .map(|d| of_set(&engine, d))
        .collect::<Result<_, _>>()?;
    let hard = difficulties(&engine, &found, set.seed, &args.places.data, settings);
    let drills: Vec<(usize, &Scenario, &Difficulty)> = set
        .drills
        .iter()
        .zip(&found)
        .zip(&hard)
        .map(|((d, s), h)| (d.number, s, h))
        .collect();
    std::fs::create_dir_all(&args.out)
        .map_err(|e| CommandError::new(format!("{}: {e}", args.out.display()), "name another folder with --out"))?;
    for (name, answers) in [("answers.html", true), ("trainee.html", false)] {
        let html = sheet_page(&engine, &drills, set.seed, answers).map_err(|e| {
            CommandError::new(
                format!("the sheet can't be made: {e}"),
                "this is a fault of the program",
            )
        })?;
        let path = args.out.join(name);
        write_new(&path, &html)?;
        writeln!(out, "{}", path.display())?;
    }
    Ok(Exit::Ok)
}

fn write_new(path: &Path, text: &str) -> Result<(), CommandError> {
    let mut options = std::fs::OpenOptions::new();
    let written = options
        .write(true)
        .create_new(true)
        .open(path)
        .and_then(|mut file| file.write_all(text.as_bytes()));
    written.map_err(|e| {
        CommandError::new(
            format!("{}: {e}", path.display()),
            "name a file that is not there yet, in a folder that is",
        )
    })
}

/// Shows how a class is getting on.
///
/// # Errors
/// When the class file can't be read or the picture can't be written.
pub(super) fn results(args: &Results, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let class = ClassFile::read(&args.class).map_err(|e| {
        CommandError::new(
            format!("{}: {e}", args.class.display()),
            "`pintle drill … --class FILE --trainee NAME` writes one",
        )
    })?;
    if args.json {
        let of = |groups: std::collections::BTreeMap<&str, Vec<&crate::drill::Done>>| {
            let each = groups
                .iter()
                .map(|(name, done)| ((*name).to_owned(), serde_json::json!(Progress::of(done))));
            serde_json::Value::Object(each.collect())
        };
        let all = serde_json::json!({
            "version": 1, "trainees": of(class.by_trainee()), "subjects": of(class.by_subject()),
            "damaged-lines": class.damaged.iter().map(|(line, _)| line).collect::<Vec<_>>(),
        });
        out.write_all(json(&all)?.as_bytes())?;
    } else {
        for (line, why) in &class.damaged {
            writeln!(
                out,
                "{}:{line}: passed over, this is no result: {why}",
                args.class.display()
            )?;
        }
        table("trainee", &class.by_trainee(), style, out)?;
        writeln!(out)?;
        table("subject", &class.by_subject(), style, out)?;
        let last = class.by_trainee();
        writeln!(out)?;
        for (name, done) in &last {
            if let Some(d) = done.last() {
                let mut page = crate::terminal::Page::new(style);
                page.line(&format!("{name}, to practise next: {}", d.practise));
                out.write_all(page.finish().as_bytes())?;
            }
        }
    }
    if let Some(path) = &args.svg {
        let picture = progress_picture(&class).map_err(|e| {
            CommandError::new(
                format!("the picture can't be made: {e}"),
                "this is a fault of the program",
            )
        })?;
        std::fs::write(path, picture)
            .map_err(|e| CommandError::new(format!("{}: {e}", path.display()), "name another file"))?;
    }
    Ok(Exit::Ok)
}

fn table(
    what: &str,
    groups: &std::collections::BTreeMap<&str, Vec<&crate::drill::Done>>,
    style: &Style,
    out: &mut dyn Write,
) -> Result<(), CommandError> {
    let head = format!("{what:20} drills passed points change unsafe  time");
    writeln!(out, "{}", style.strong(&head))?;
    for (name, done) in groups {
        let p = Progress::of(done);
        let change = p.change.map_or_else(|| "-".to_owned(), |c| format!("{c:+.0}"));
        let name: String = name.chars().take(20).collect();
        writeln!(
            out,
            "{name:20} {:>6} {:>6} {:>6.0} {change:>6} {:>6} {:>4.1}x",
            p.drills, p.passed, p.mean, p.grave, p.pace
        )?;
    }
    Ok(())
}
