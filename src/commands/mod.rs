//! The commands: arguments in, library called, text out. One file a command; no domain logic here.

pub mod add;
pub mod ahead;
pub mod calc;
pub mod calibration;
pub mod calls;
pub mod cases;
pub mod chart;
pub mod check;
pub mod compare;
pub mod completions;
pub mod coverage;
pub mod diagnose;
pub mod drill;
pub mod explain;
pub mod learn;
mod lines;
pub mod man;
mod progress;
pub mod report;
pub mod resume;
pub mod schema;
pub mod sensitivity;
pub mod settings;
pub mod site;
pub mod visit;
pub mod why;

use std::io::Write;
use std::path::{Path, PathBuf};

use clap::{Parser, Subcommand, ValueEnum};

use crate::call::{Engine, Entry, Journal, JournalError, Terms};
use crate::finding::{Finding, Level};
use crate::knowledge::{Knowledge, WithCases, nearest};
use crate::model::{SiteFacts, SymptomId};
use crate::settings::Settings;
use crate::terminal::Style;

/// How a command ended, as the process tells it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Exit {
    /// Done; nothing wrong.
    Ok,
    /// Done; something was found (errors in knowledge, a case that fails).
    Found,
}

/// Why a command could not do its work.
#[derive(Debug)]
pub struct CommandError {
    /// What was wrong.
    pub message: String,
    /// What to do.
    pub hints: Vec<String>,
    /// Nobody reads the output any more (a pager that was left, `head`): nothing to tell, no failure.
    pub reader_gone: bool,
}

impl CommandError {
    /// An error with one hint.
    #[must_use]
    pub fn new(message: impl Into<String>, hint: impl Into<String>) -> Self {
        Self {
            message: message.into(),
            hints: vec![hint.into()],
            reader_gone: false,
        }
    }
}

impl From<std::io::Error> for CommandError {
    fn from(error: std::io::Error) -> Self {
        Self {
            message: format!("the output can't be written: {error}"),
            hints: Vec::new(),
            reader_gone: error.kind() == std::io::ErrorKind::BrokenPipe,
        }
    }
}

impl From<JournalError> for CommandError {
    fn from(error: JournalError) -> Self {
        let hint = match &error {
            JournalError::Missing(_) => "`pintle calls` lists the calls there are",
            JournalError::Damaged { .. } => "mend or remove that line; the lines before it are whole",
            JournalError::Io { .. } => "see that the folder exists and may be written; --data names another",
        };
        Self::new(error.to_string(), hint)
    }
}

/// Finds what is wrong with an automatic vehicle gate, step by step, and writes it down.
#[derive(Debug, Parser)]
#[command(
    name = "pintle",
    version,
    after_help = "Local codes, the operator's manual and licensed people win over anything said here."
)]
pub struct Arguments {
    /// When to use colour; what colour says is always said in words too.
    #[arg(long, global = true, value_enum, default_value_t = Colour::Auto)]
    pub color: Colour,
    /// Plain page: ASCII, no colour; for screen readers and logs.
    #[arg(long, global = true)]
    pub plain: bool,
    /// Settings for this once.
    #[command(flatten)]
    pub settings: settings::SettingFlags,
    /// What to do.
    #[command(subcommand)]
    pub command: Option<Command>,
}

/// When to use colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Colour {
    /// In a terminal, unless `NO_COLOR` is set.
    Auto,
    /// Always.
    Always,
    /// Never.
    Never,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Walk a call: what the caller says, what to test next, repair, proof, retest, record
    Diagnose(diagnose::Args),
    /// Go on with a call that was left
    Resume(resume::Args),
    /// List, search, close and export the calls
    Calls(calls::Args),
    /// Show the ranking of a call, and each answer's part in it
    Why(why::Args),
    /// Plan the visit of a call: who goes, how long, and what to load for a fix the first time
    Visit(visit::Args),
    /// Known sites: what is known of a gate, its baselines, its visits
    Site(site::Args),
    /// Print the service record of a call
    Report(report::Args),
    /// Show what the plan would do from a symptom, as far as walks are likely to get
    Ahead(ahead::Args),
    /// Draw what the plan would do from a symptom as a card to print: HTML, SVG or Graphviz
    Chart(chart::Args),
    /// Work out the trade's figures at the bench: wire, batteries, solar, loops, radio, leaf, inputs, meters
    Calc(calc::Args),
    /// Check knowledge: every finding with its line, and what each walk opens with
    Check(check::Args),
    /// Show anything in the knowledge as a page: what it says and where it is written
    Explain(explain::Args),
    /// Make a pack of your own, or write a new entry into it by being asked for it
    Add(add::Args),
    /// Write the JSON Schema of a pack file or a case file, for editors
    Schema(schema::Args),
    /// Play every case of the knowledge and tell which pass
    Cases(cases::Args),
    /// Testability: which causes are noticed, which can't be told apart and what would part them, what is missing
    Coverage(coverage::Args),
    /// Compare two versions of the knowledge: cases, first steps, rankings, figures, entries
    Compare(compare::Args),
    /// How far the author's numbers can be off before the start of a walk changes
    Sensitivity(sensitivity::Args),
    /// Learn base rates and outcome frequencies from closed calls, as a pack
    Learn(learn::Args),
    /// Were the percentages honest? Score them on closed calls
    Calibration(calibration::Args),
    /// Show what is set and by what, or set it for good
    Settings(settings::Args),
    /// Write the completions of a shell
    Completions(completions::Args),
    /// Write the manual: a page, or every page into a folder
    Man(man::Args),
    /// Practise on a simulated gate with a hidden fault, and be told honestly how it went
    Drill(drill::Args),
}

/// Packs that are laid over the built-in one.
#[derive(Debug, clap::Args, Clone, Default)]
pub struct Packs {
    /// A pack folder laid over the built-in knowledge; may be given several times
    #[arg(long = "pack", value_name = "DIR")]
    pub pack: Vec<PathBuf>,
}

impl Packs {
    /// The folders: those of the flag, else those of the settings.
    #[must_use]
    pub fn folders<'a>(&'a self, settings: &'a Settings) -> &'a [PathBuf] {
        if self.pack.is_empty() {
            &settings.packs.value
        } else {
            &self.pack
        }
    }

    /// Loads knowledge for work, with its own figures; refuses errors.
    ///
    /// # Errors
    /// When the knowledge has errors.
    pub fn engine(&self, settings: &Settings, with_cases: WithCases) -> Result<Engine, CommandError> {
        self.engine_on(&Terms::default(), settings, with_cases)
    }

    /// The same at the labour rate of a call.
    ///
    /// # Errors
    /// When the knowledge has errors.
    pub fn engine_on(&self, terms: &Terms, settings: &Settings, with_cases: WithCases) -> Result<Engine, CommandError> {
        let (mut knowledge, findings) = Knowledge::built_in(self.folders(settings), with_cases);
        refuse_errors(&findings)?;
        let own = &mut knowledge.settings;
        own.labour_per_hour = terms.labour_per_hour.unwrap_or(own.labour_per_hour);
        own.travel_minutes = settings.travel_minutes.value.unwrap_or(own.travel_minutes);
        own.currency.clone_from(&settings.currency.value);
        Ok(Engine::new(knowledge))
    }
}

/// The dense id of a symptom that somebody named.
///
/// # Errors
/// When there is no such symptom; the nearest one, or all of them, are the hint.
pub fn symptom_named(engine: &Engine, id: &str) -> Result<SymptomId, CommandError> {
    engine.model.symptom_id(id).ok_or_else(|| {
        let known = || engine.knowledge.symptoms.keys();
        let hint = nearest(id, known().map(String::as_str)).map_or_else(
            || known().cloned().collect::<Vec<_>>().join(", "),
            |near| format!("did you mean {near}?"),
        );
        CommandError::new(format!("there is no symptom {id}"), hint)
    })
}

/// A site by `FACT=VALUE` texts.
///
/// # Errors
/// When one of them is not a fact and its value.
pub fn site_of(engine: &Engine, texts: &[String]) -> Result<SiteFacts, CommandError> {
    let mut site = SiteFacts::unknown();
    let entries = &engine.knowledge.facts;
    for text in texts {
        let known = text.split_once('=').filter(|(fact, value)| {
            let entry = entries.get(*fact);
            entry.is_some_and(|f| f.number.is_some() || f.values.contains_key(*value))
        });
        let Some((fact, value)) = known else {
            let facts: Vec<&str> = entries.keys().map(String::as_str).collect();
            return Err(CommandError::new(
                format!("{text} is not a fact and its value"),
                format!("facts: {}", facts.join(", ")),
            ));
        };
        site.learn(fact, value);
    }
    Ok(site)
}

/// Where calls are kept.
#[derive(Debug, clap::Args, Clone, Default)]
pub struct Data {
    /// Folder of the calls (otherwise `PINTLE_DATA`, the setting `data`, or the platform's data folder)
    #[arg(long = "data", value_name = "DIR")]
    pub data: Option<PathBuf>,
}

impl Data {
    /// The folder in which calls are kept.
    ///
    /// # Errors
    /// When the platform names none and none is given.
    pub fn folder(&self, settings: &Settings) -> Result<PathBuf, CommandError> {
        calls_folder(self.data.as_ref().or(settings.data.value.as_ref()))
    }
}

fn refuse_errors(findings: &[Finding]) -> Result<(), CommandError> {
    let errors = findings.iter().filter(|f| f.level() == Level::Error).count();
    if errors == 0 {
        return Ok(());
    }
    Err(CommandError::new(
        format!("the knowledge has {errors} error(s)"),
        "run `pintle check` with the same packs: it shows each one with its line",
    ))
}

/// Runs a command.
///
/// # Errors
/// When it can't do its work, or the settings can't be used.
pub fn run(arguments: &Arguments, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let flags = &arguments.settings;
    let settings = || flags.resolved();
    let Some(command) = &arguments.command else {
        return calls::welcome(&settings()?, style, out);
    };
    match command {
        Command::Diagnose(args) => diagnose::run(args, &settings()?, style, out),
        Command::Resume(args) => resume::run(args, &settings()?, style, out),
        Command::Calls(args) => calls::run(args, &settings()?, style, out),
        Command::Why(args) => why::run(args, &settings()?, style, out),
        Command::Visit(args) => visit::run(args, &settings()?, style, out),
        Command::Site(args) => site::run(args, &settings()?, style, out),
        Command::Report(args) => report::run(args, &settings()?, style, out),
        Command::Ahead(args) => ahead::run(args, &settings()?, style, out),
        Command::Chart(args) => chart::run(args, &settings()?, out),
        Command::Check(args) => check::run(args, style, out),
        Command::Cases(args) => cases::run(args, &settings()?, style, out),
        Command::Add(args) => add::run(args, style, out),
        Command::Calc(args) => calc::run(args, settings()?.units.value, style, out),
        Command::Explain(args) => explain::run(args, &settings()?, style, out),
        Command::Schema(args) => schema::run(args, out),
        Command::Drill(args) => drill::run(args, &settings()?, style, out),
        Command::Learn(args) => learn::run(args, &settings()?, style, out),
        Command::Calibration(args) => calibration::run(args, &settings()?, style, out),
        Command::Coverage(args) => coverage::run(args, &settings()?, style, out),
        Command::Compare(args) => compare::run(args, style, out),
        Command::Sensitivity(args) => sensitivity::run(args, &settings()?, style, out),
        Command::Settings(args) => settings::run(args, flags, style, out),
        Command::Completions(args) => completions::run(args, out),
        Command::Man(args) => man::run(args, out),
    }
}

/// Pretty JSON with its line end.
///
/// # Errors
/// When it can't be written as JSON.
fn json(value: &impl serde::Serialize) -> Result<String, CommandError> {
    let text = serde_json::to_string_pretty(value);
    text.map(|t| t + "\n")
        .map_err(|e| CommandError::new(e.to_string(), "leave out --json to read it as text"))
}

/// The folder in which calls are kept.
///
/// # Errors
/// When the platform names none and none is given.
pub fn calls_folder(data: Option<&PathBuf>) -> Result<PathBuf, CommandError> {
    use etcetera::BaseStrategy as _;
    if let Some(folder) = data {
        return Ok(folder.clone());
    }
    let strategy = etcetera::choose_base_strategy()
        .map_err(|e| CommandError::new(format!("there is no data folder: {e}"), "name one with --data DIR"))?;
    Ok(strategy.data_dir().join("pintle").join("calls"))
}

/// A stored call's entries, with the knowledge at the terms it was held on.
///
/// # Errors
/// When there is no such call, it is damaged, or the knowledge has errors.
pub fn stored_call(
    id: &str,
    data: &Data,
    packs: &Packs,
    settings: &Settings,
) -> Result<(Engine, Vec<Entry>), CommandError> {
    let entries = Journal::load(&call_path(&data.folder(settings)?, id))?.entries;
    let engine = packs.engine_on(&Terms::of(&entries), settings, WithCases::No)?;
    Ok((engine, entries))
}

/// The file of a call named by its id or its path.
#[must_use]
pub fn call_path(folder: &Path, id: &str) -> PathBuf {
    let as_path = Path::new(id);
    if as_path.extension().is_some_and(|e| e == "jsonl") {
        return as_path.to_owned();
    }
    // An id never leads out of the folder.
    let name: String = id
        .chars()
        .filter(|c| c.is_ascii_alphanumeric() || "-_".contains(*c))
        .collect();
    folder.join(format!("{name}.jsonl"))
}

/// The time now as the journal writes it.
#[must_use]
pub fn clock() -> String {
    let now = jiff::ZonedDateTime::now();
    now.strftime("%Y-%m-%dT%H:%M:%S%:z").to_string()
}
