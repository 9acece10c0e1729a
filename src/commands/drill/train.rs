//! Running a drill, going on with one, its debrief.

use std::io::Write;
use std::path::PathBuf;

use super::super::diagnose::{new_journal, refuse_without_terminal};
use super::super::{CommandError, Exit, call_path, clock, json};
use super::Places;
use super::find::{folder, of_set, read_set, scenario};
use crate::call::{Engine, Entry, Event, Journal};
use crate::drill::{Debrief, Done, Level, PlanPlayed, Scenario, Session};
use crate::knowledge::WithCases;
use crate::knowledge::schema::Case;
use crate::settings::Settings;
use crate::terminal::{Left, Person, Style, TrainError, Trainee, debrief_page, drill_opening};

/// Arguments of a run.
#[derive(Debug, clap::Args)]
pub struct Run {
    /// The scenario: its name, a case file, or with --set its number
    pub scenario: Option<String>,
    /// A set for a class, from `pintle drill set`
    #[arg(long, value_name = "FILE")]
    pub set: Option<PathBuf>,
    /// How much is helped
    #[arg(long, value_enum, default_value_t = Level::Guided)]
    pub level: Level,
    /// Seed of the site: the same seed, the same gate for everybody
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
    /// On a real training gate: the trainer types what it shows
    #[arg(long)]
    pub live: bool,
    /// Who is being trained, for the class file
    #[arg(long, value_name = "NAME")]
    pub trainee: Option<String>,
    /// Add the result to this class file
    #[arg(long, value_name = "FILE", requires = "trainee")]
    pub class: Option<PathBuf>,
    /// Packs and data.
    #[command(flatten)]
    pub places: Places,
}

/// Arguments of `pintle drill resume`.
#[derive(Debug, clap::Args)]
pub struct Resume {
    /// The drill: its id, or its file
    pub drill: String,
    /// Add the result to this class file
    #[arg(long, value_name = "FILE")]
    pub class: Option<PathBuf>,
    /// Packs and data.
    #[command(flatten)]
    pub places: Places,
}

/// Arguments of `pintle drill debrief`.
#[derive(Debug, clap::Args)]
pub struct Again {
    /// The drill: its id, or its file
    pub drill: String,
    /// Write JSON
    #[arg(long)]
    pub json: bool,
    /// Packs and data.
    #[command(flatten)]
    pub places: Places,
}

/// Runs a drill.
///
/// # Errors
/// When there is no terminal or no such scenario, it may not be set on a real gate, or a file can't be written.
pub(super) fn run(args: &Run, settings: &Settings, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let engine = args.places.packs.engine(settings, WithCases::Yes)?;
    let (scenario, seed) = chosen(&engine, args)?;
    if args.live {
        staging(&engine, &scenario, style, out)?;
    }
    refuse_without_terminal()?;
    let journal = new_journal(&folder(&args.places.data, settings)?)?;
    let id = id_of(&journal);
    let drill = Event::Drill {
        scenario: scenario
            .path
            .as_ref()
            .map_or_else(|| scenario.name.clone(), |p| p.display().to_string()),
        seed,
        level: args.level.word().to_owned(),
        live: args.live,
        trainee: args.trainee.clone(),
    };
    let allowed = allowed(&engine, &scenario.case, seed, args.level);
    let opening = drill_opening(&scenario.case, args.level, allowed, style);
    out.write_all(opening.as_bytes())?;
    let session = Session::open(&engine, &scenario.case, drill, Some(journal), &clock())?;
    let of = Sitting {
        engine: &engine,
        scenario: &scenario,
        id: &id,
        class: args.class.as_ref(),
        allowed,
    };
    of.sit(session, style, out)
}

/// Goes on with a drill that was left.
///
/// # Errors
/// When there is no such drill or no terminal, or a file can't be written.
pub(super) fn resume(
    args: &Resume,
    settings: &Settings,
    style: &Style,
    out: &mut dyn Write,
) -> Result<Exit, CommandError> {
    refuse_without_terminal()?;
    let engine = args.places.packs.engine(settings, WithCases::Yes)?;
    let path = call_path(&folder(&args.places.data, settings)?, &args.drill);
    let (journal, stored) = Journal::open(&path)?;
    let kept = Kept::of(&stored.entries)?;
    let scenario = scenario(&engine, &kept.scenario)?;
    let id = id_of(&journal);
    let allowed = allowed(&engine, &scenario.case, kept.seed, kept.level);
    let opening = drill_opening(&scenario.case, kept.level, allowed, style);
    out.write_all(opening.as_bytes())?;
    let session = Session::resumed(&engine, &scenario.case, stored.entries, Some(journal));
    if session.call.ending().is_some() {
        let hint = format!("`pintle drill debrief {}` prints its debrief", args.drill);
        return Err(CommandError::new("this drill has ended", hint));
    }
    let of = Sitting {
        engine: &engine,
        scenario: &scenario,
        id: &id,
        class: args.class.as_ref(),
        allowed,
    };
    of.sit(session, style, out)
}

/// Prints a debrief again.
///
/// # Errors
/// When there is no such drill.
pub(super) fn again(
    args: &Again,
    settings: &Settings,
    style: &Style,
    out: &mut dyn Write,
) -> Result<Exit, CommandError> {
    let engine = args.places.packs.engine(settings, WithCases::Yes)?;
    let stored = Journal::load(&call_path(&folder(&args.places.data, settings)?, &args.drill))?;
    let kept = Kept::of(&stored.entries)?;
    let scenario = scenario(&engine, &kept.scenario)?;
    let allowed = allowed(&engine, &scenario.case, kept.seed, kept.level);
    let debrief = Debrief::of(&engine, &scenario.case, &stored.entries, allowed);
    if args.json {
        out.write_all(json(&debrief)?.as_bytes())?;
    } else {
        out.write_all(debrief_page(&debrief, style).as_bytes())?;
    }
    Ok(if debrief.passed { Exit::Ok } else { Exit::Found })
}

fn id_of(journal: &Journal) -> String {
    let stem = journal.path().file_stem().unwrap_or_default();
    stem.to_string_lossy().into_owned()
}

/// What a journal says of its drill.
struct Kept {
    scenario: String,
    seed: u64,
    level: Level,
    live: bool,
    trainee: Option<String>,
}

impl Kept {
    fn of(entries: &[Entry]) -> Result<Self, CommandError> {
        let found = entries.iter().find_map(|e| match &e.event {
            Event::Drill {
                scenario,
                seed,
                level,
                live,
                trainee,
            } => Some(Self {
                scenario: scenario.clone(),
                seed: *seed,
                level: Level::of_word(level),
                live: *live,
                trainee: trainee.clone(),
            }),
            _ => None,
        });
        found.ok_or_else(|| CommandError::new("this is a call, not a drill", "`pintle report` prints a call's record"))
    }
}

/// The scenario and the seed: of the set, where there is one.
fn chosen(engine: &Engine, args: &Run) -> Result<(Scenario, u64), CommandError> {
    let Some(set) = &args.set else {
        let Some(name) = &args.scenario else {
            return Err(CommandError::new(
                "which scenario?",
                "name one (`pintle drill list` lists them), or a number of a class set: pintle drill --set FILE 1",
            ));
        };
        return Ok((scenario(engine, name)?, args.seed));
    };
    let set = read_set(set)?;
    let most = set.drills.len();
    let number = args.scenario.as_ref().and_then(|n| n.parse::<usize>().ok());
    let drawn = number.and_then(|n| set.drills.iter().find(|d| d.number == n));
    let drawn = drawn.ok_or_else(|| {
        CommandError::new(
            "which drill of the set?",
            format!("give its number, 1 to {most}, after the set"),
        )
    })?;
    Ok((of_set(engine, drawn)?, set.seed))
}

/// Twice what the plan takes, to the next five minutes; no limit but against the clock.
fn allowed(engine: &Engine, case: &Case, seed: u64, level: Level) -> Option<f64> {
    (level == Level::Clock).then(|| (2.0 * PlanPlayed::on(engine, case, seed).minutes / 5.0).ceil() * 5.0)
}

/// Before a fault is set on a real gate.
fn staging(engine: &Engine, scenario: &Scenario, style: &Style, out: &mut dyn Write) -> Result<(), CommandError> {
    let notes = scenario.case.drill.as_ref();
    let Some(how) = notes
        .and_then(|d| d.stage.as_ref())
        .filter(|_| scenario.may_be_staged(engine))
    else {
        return Err(CommandError::new(
            "this fault is not one to set on a real gate: it can hurt somebody, or its author does not say how",
            "run it on the screen, without --live; `pintle drill list` says which may be staged",
        ));
    };
    let mut page = crate::terminal::Page::new(style);
    page.title("For the trainer");
    page.painted(
        "caution",
        "Isolate the gate (mains, battery and solar) before you set the fault and before you take it out. Nobody else on it, signs on both sides. No protection device is touched. Local codes and the operator's manual win.",
        Style::caution,
    );
    page.field("set", how);
    page.field(
        "then",
        "The trainee says what to do; you type what the gate shows. Type ! to mark what the program can't see. Stop the drill at any danger. The gate goes back into use after its safety retest only.",
    );
    out.write_all(page.finish().as_bytes())?;
    Ok(())
}

/// A trainee before a drill.
struct Sitting<'a> {
    engine: &'a Engine,
    scenario: &'a Scenario,
    id: &'a str,
    class: Option<&'a PathBuf>,
    allowed: Option<f64>,
}

impl Sitting<'_> {
    fn sit(&self, mut session: Session<'_>, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
        let kept = Kept::of(&session.call.entries)?;
        let left = {
            let person = Person::new(*style, Box::new(&mut *out), Box::new(clock));
            let mut trainee = Trainee::new(*style, person, kept.level, self.allowed, kept.live);
            trainee.train(&mut session)
        };
        let id = self.id;
        match left {
            Ok(Left::Paused) => {
                writeln!(out, "\nKept. Go on with: pintle drill resume {id}")?;
                return Ok(Exit::Ok);
            }
            Ok(Left::Ended) => {}
            Err(TrainError::Journal(error)) => return Err(error.into()),
            Err(TrainError::Terminal(error)) => {
                let hint = format!("nothing is lost: pintle drill resume {id}");
                return Err(CommandError::new(error.to_string(), hint));
            }
        }
        writeln!(out, "\nGoing through it again ...")?;
        out.flush()?;
        let debrief = Debrief::of(self.engine, &self.scenario.case, &session.call.entries, self.allowed);
        out.write_all(debrief_page(&debrief, style).as_bytes())?;
        writeln!(out, "\nOnce more: pintle drill debrief {id}")?;
        if let (Some(file), Some(trainee)) = (self.class, &kept.trainee) {
            let subject = self.scenario.subject();
            let done = Done::of(
                &debrief,
                trainee,
                &self.scenario.name,
                subject,
                kept.seed,
                kept.level,
                &clock(),
            );
            done.append_to(file).map_err(|e| {
                let hint = format!("`pintle drill debrief {id}` has it all; name another class file");
                CommandError::new(format!("{}: {e}", file.display()), hint)
            })?;
            writeln!(out, "Added to {}.", file.display())?;
        }
        Ok(Exit::Ok)
    }
}
