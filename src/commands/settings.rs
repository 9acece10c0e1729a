//! `pintle settings`: what is set and by what, and setting it for good. Every setting is also a flag of every command.

use std::io::Write;
use std::path::{Path, PathBuf};

use etcetera::BaseStrategy as _;

use super::diagnose::Where;
use super::{CommandError, Data, Exit, Packs};
use crate::call::{not_carried, tools_asked_for};
use crate::knowledge::WithCases;
use crate::settings::{EditError, Flags, Name, Origin, Problem, Settings, SettingsFile, read, resolve, set, unset};
use crate::terminal::Style;

/// Over the settings in the help.
const HEADING: &str = "Settings (see `pintle settings`)";
/// The first lines of a new file.
const NEW_FILE: &str = "# Settings of pintle; `pintle settings` shows what counts and why.\n";

/// Missing tools that are named; the rest is counted.
const NAMED: usize = 12;

/// Settings given as flags: they count for this once.
#[derive(Debug, clap::Args, Clone, Default)]
pub struct SettingFlags {
    /// The settings file (otherwise `PINTLE_SETTINGS`, otherwise the platform's place)
    #[arg(long, global = true, value_name = "FILE", help_heading = HEADING, hide_short_help = true)]
    pub settings: Option<PathBuf>,
    /// What an hour of work costs
    #[arg(long, global = true, value_name = "NUMBER", help_heading = HEADING, hide_short_help = true)]
    pub labour_rate: Option<String>,
    /// What prices are counted in
    #[arg(long, global = true, value_name = "CODE", help_heading = HEADING, hide_short_help = true)]
    pub currency: Option<String>,
    /// Units of figures: as-counted, metric, imperial or both
    #[arg(long, global = true, value_name = "WHICH", help_heading = HEADING, hide_short_help = true)]
    pub units: Option<String>,
    /// Tools in the truck, with commas
    #[arg(long, global = true, value_name = "LIST", help_heading = HEADING, hide_short_help = true)]
    pub tools: Option<String>,
    /// What tests call your tools: `own name: tool, tool; own name: tool`
    #[arg(long, global = true, value_name = "PAIRS", help_heading = HEADING, hide_short_help = true)]
    pub tool_names: Option<String>,
    /// Accuracy of your meters: `V: 0.5 % + 2 x 0.01; ohm: 0.8 % + 3`
    #[arg(long, global = true, value_name = "PAIRS", help_heading = HEADING, hide_short_help = true)]
    pub meter: Option<String>,
    /// Name at the head of a record
    #[arg(long, global = true, value_name = "NAME", help_heading = HEADING, hide_short_help = true)]
    pub company: Option<String>,
    /// How many faults in a hundred the first visit puts right
    #[arg(long, global = true, value_name = "PERCENT", help_heading = HEADING, hide_short_help = true)]
    pub first_visit_fix: Option<String>,
    /// Minutes on the way to a site
    #[arg(long, global = true, value_name = "MINUTES", help_heading = HEADING, hide_short_help = true)]
    pub travel_minutes: Option<String>,
}

/// Arguments of `pintle settings`.
#[derive(Debug, clap::Args)]
#[command(args_conflicts_with_subcommands = true)]
pub struct Args {
    /// What else than to show them.
    #[command(subcommand)]
    pub what: Option<What>,
    /// Packs.
    #[command(flatten)]
    pub packs: Packs,
    /// Where calls are kept.
    #[command(flatten)]
    pub data: Data,
    /// Where calls are taken
    #[arg(long, value_enum)]
    pub at: Option<Where>,
}

/// What can be done beside showing the settings.
#[derive(Debug, clap::Subcommand)]
pub enum What {
    /// Write a setting into the file; other lines and comments stay
    Set {
        /// Its name, as `pintle settings` shows it
        name: String,
        /// Its value; lists with commas, pairs as `name: value; name: value`
        #[arg(required = true, num_args = 1..)]
        value: Vec<String>,
    },
    /// Take a setting out of the file
    Unset {
        /// Its name
        name: String,
    },
    /// Print where the file is
    Path,
}

impl SettingFlags {
    fn given(&self) -> Flags {
        Flags::default()
            .with(Name::LabourRate, self.labour_rate.as_ref())
            .with(Name::Currency, self.currency.as_ref())
            .with(Name::Units, self.units.as_ref())
            .with(Name::Tools, self.tools.as_ref())
            .with(Name::ToolNames, self.tool_names.as_ref())
            .with(Name::Meter, self.meter.as_ref())
            .with(Name::Company, self.company.as_ref())
            .with(Name::FirstVisitFix, self.first_visit_fix.as_ref())
            .with(Name::TravelMinutes, self.travel_minutes.as_ref())
    }

    /// The settings for a command.
    ///
    /// # Errors
    /// When the file, a variable or a flag can't be meant.
    pub fn resolved(&self) -> Result<Settings, CommandError> {
        let (file, _) = self.read()?;
        settled(&file, &self.given())
    }

    /// Where the settings file is or would be; `None` where the platform has no place for it and none is named.
    fn path(&self) -> Option<PathBuf> {
        let named = || std::env::var_os("PINTLE_SETTINGS").filter(|v| !v.is_empty());
        let usual = || {
            let strategy = etcetera::choose_base_strategy().ok()?;
            Some(strategy.config_dir().join("pintle").join("settings.yaml"))
        };
        self.settings
            .clone()
            .or_else(|| named().map(PathBuf::from))
            .or_else(usual)
    }

    /// The file and its text; a file that is not there says nothing, unless a flag names it.
    fn read(&self) -> Result<(SettingsFile, String), CommandError> {
        let Some(path) = self.path() else {
            return Ok((SettingsFile::default(), String::new()));
        };
        match std::fs::read_to_string(&path) {
            Ok(text) => Ok((read(&path, etcetera::home_dir().ok(), &text), text)),
            Err(error) if error.kind() == std::io::ErrorKind::NotFound && self.settings.is_none() => {
                Ok((SettingsFile::default(), String::new()))
            }
            Err(error) => Err(CommandError::new(
                format!("the settings can't be read: {}: {error}", path.display()),
                "name another file with --settings, or see that it may be read",
            )),
        }
    }
}

/// The settings of the file, the environment and the flags.
fn settled(file: &SettingsFile, flags: &Flags) -> Result<Settings, CommandError> {
    let variable = |name: &str| std::env::var_os(name).map(|v| v.to_string_lossy().into_owned());
    resolve(file, &variable, flags).map_err(|problems| refused(file, &problems))
}

fn refused(file: &SettingsFile, problems: &[Problem]) -> CommandError {
    let told = |problem: &Problem| match problem {
        Problem::File(finding) => {
            let at = file.sources.position(&finding.location);
            let name = file.sources.files.first().map_or("", |f| f.name.as_str());
            let place = format!("{name}:{}:{}", at.line, at.column);
            [format!("{place}: {}", finding.message), format!("  {}", finding.help)]
        }
        Problem::Given { place, message, help } => [format!("{place}: {message}"), format!("  {help}")],
    };
    let number = problems.len();
    CommandError {
        hints: problems.iter().flat_map(told).collect(),
        ..CommandError::new(format!("{number} setting(s) can't be used"), "")
    }
}

/// Shows the settings, writes one, or tells where the file is.
///
/// # Errors
/// When the settings can't be read or written, or the knowledge has errors.
pub fn run(args: &Args, flags: &SettingFlags, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    match &args.what {
        None => show(args, flags, style, out),
        Some(What::Set { name, value }) => write_one(flags, named(name)?, &value.join(" "), style, out),
        Some(What::Unset { name }) => take_out(flags, named(name)?, out),
        Some(What::Path) => {
            writeln!(out, "{}", place(flags)?.display())?;
            Ok(Exit::Ok)
        }
    }
}

fn place(flags: &SettingFlags) -> Result<PathBuf, CommandError> {
    flags.path().ok_or_else(|| {
        CommandError::new(
            "there is no place for a settings file on this machine",
            "name one with --settings FILE or PINTLE_SETTINGS",
        )
    })
}

fn named(id: &str) -> Result<Name, CommandError> {
    Name::of(id).ok_or_else(|| {
        let known: Vec<&str> = Name::all().map(Name::id).collect();
        let hint = Name::nearest(id).map_or_else(
            || format!("the settings are {}", known.join(", ")),
            |near| format!("did you mean {near}?"),
        );
        CommandError::new(format!("there is no setting {id}"), hint)
    })
}

fn show(args: &Args, flags: &SettingFlags, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let (file, _) = flags.read()?;
    let at = args
        .at
        .map(|at| if at == Where::Phone { "phone" } else { "gate" }.to_owned());
    let data = args.data.data.as_ref().map(|d| d.display().to_string());
    let given = flags
        .given()
        .with_each(Name::Packs, &args.packs.pack)
        .with(Name::Data, data.as_ref())
        .with(Name::At, at.as_ref());
    let settings = settled(&file, &given)?;
    let engine = Packs::default().engine(&settings, WithCases::No)?;
    let rate = engine.knowledge.settings.labour_per_hour;
    let folder = Data::default().folder(&settings).map(|f| f.display().to_string());
    for name in Name::all() {
        let value = shown(&settings, name, rate, folder.as_deref().unwrap_or("none"));
        let line = format!("{value}  ({})", from(settings.origin(name)));
        let options = textwrap::Options::new(style.width).subsequent_indent("                   ");
        let line = clean(&line);
        let text = format!("{:17}  {line}", name.id());
        for (i, line) in textwrap::wrap(&text, options).iter().enumerate() {
            match line.strip_prefix(name.id()).filter(|_| i == 0) {
                Some(rest) => writeln!(out, "{}{rest}", style.strong(name.id()))?,
                None => writeln!(out, "{line}")?,
            }
        }
    }
    let place = flags
        .path()
        .map_or_else(|| "none".to_owned(), |p| p.display().to_string());
    let there = if flags.path().is_some_and(|p| p.exists()) {
        ""
    } else {
        " (there is none yet)"
    };
    writeln!(out, "\nFile: {}{there}", clean(&place))?;
    writeln!(
        out,
        "For good: pintle settings set NAME VALUE. For once: its flag, see --help."
    )?;
    missing_tools(&settings, &engine.knowledge, style, out)?;
    Ok(Exit::Ok)
}

/// What the truck lacks: tools that steps of the knowledge ask for.
fn missing_tools(
    settings: &Settings,
    knowledge: &crate::knowledge::Knowledge,
    style: &Style,
    out: &mut dyn Write,
) -> Result<(), CommandError> {
    let carries = settings.terms().carries;
    let missing = not_carried(knowledge, &carries);
    if missing.is_empty() {
        return Ok(());
    }
    let lacks = |tools: &[String]| tools.iter().any(|t| missing.contains(t));
    let tests = knowledge.tests.values().filter(|t| lacks(&t.tools)).count();
    let repairs = knowledge.repairs.values().filter(|r| lacks(&r.tools)).count();
    let steps = |tool: &String| {
        let tests = knowledge.tests.values().filter(|t| t.tools.contains(tool)).count();
        tests + knowledge.repairs.values().filter(|r| r.tools.contains(tool)).count()
    };
    let mut names: Vec<(usize, &String)> = missing.iter().map(|tool| (steps(tool), tool)).collect();
    names.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(b.1)));
    let named: Vec<String> = names
        .iter()
        .take(NAMED)
        .map(|(n, tool)| format!("{tool} ({n})"))
        .collect();
    let more = match names.len().saturating_sub(NAMED) {
        0 => String::new(),
        more => format!("; and {more} more"),
    };
    let text = format!(
        "Not in the truck: {} of the {} tools that steps ask for. At the gate {tests} of {} tests and {repairs} of {} repairs are \
         therefore not offered. Missing, with the steps that ask for each: {}{more}.",
        missing.len(),
        tools_asked_for(knowledge).len(),
        knowledge.tests.len(),
        knowledge.repairs.len(),
        named.join("; ")
    );
    writeln!(out)?;
    for line in textwrap::wrap(&clean(&text), style.width) {
        writeln!(out, "{line}")?;
    }
    Ok(())
}

fn clean(text: &str) -> String {
    text.chars().filter(|c| !c.is_control()).collect()
}

fn from(origin: &Origin) -> String {
    match origin {
        Origin::Flag(flag) => (*flag).to_owned(),
        Origin::Variable(name) => name.clone(),
        Origin::File { line, column } => format!("settings file, {line}:{column}"),
        Origin::Pack => "from the packs".to_owned(),
        Origin::Default => "default".to_owned(),
    }
}

/// A value as a person reads it; `rate` is the labour rate in force, `folder` the calls' folder.
fn shown(settings: &Settings, name: Name, rate: f64, folder: &str) -> String {
    let several = |texts: &[String], none: &str| {
        if texts.is_empty() {
            none.to_owned()
        } else {
            texts.join(", ")
        }
    };
    match name {
        Name::LabourRate => {
            let currency = settings.currency.value.as_ref();
            let currency = currency.map_or_else(String::new, |c| format!(" {c}"));
            let rate = settings.labour_rate.value.unwrap_or(rate);
            format!("{rate}{currency} an hour")
        }
        Name::Currency => settings.currency.value.clone().unwrap_or_else(|| "not said".to_owned()),
        Name::Units => settings.units.value.word().to_owned(),
        Name::Tools => several(&settings.tools.value, "whatever is asked for"),
        Name::ToolNames => {
            let pairs = settings.tool_names.value.iter();
            let pairs: Vec<String> = pairs
                .map(|(own, names)| format!("{own}: {}", names.join(", ")))
                .collect();
            if pairs.is_empty() {
                "none".to_owned()
            } else {
                pairs.join("; ")
            }
        }
        Name::Meter => {
            let own = settings.meter.value.own();
            let own: Vec<String> = own
                .map(|(unit, class)| format!("{unit}: {}", class.data_sheet()))
                .collect();
            if own.is_empty() {
                "the usual ones".to_owned()
            } else {
                own.join("; ")
            }
        }
        Name::Company => settings.company.value.clone().unwrap_or_else(|| "not said".to_owned()),
        Name::Packs => {
            let packs: Vec<String> = settings.packs.value.iter().map(|p| p.display().to_string()).collect();
            several(&packs, "the built-in one alone")
        }
        Name::Data => folder.to_owned(),
        Name::At => match settings.at.value {
            None => "asked".to_owned(),
            Some(crate::knowledge::schema::At::Gate) => "gate".to_owned(),
            Some(crate::knowledge::schema::At::Phone) => "phone".to_owned(),
        },
        Name::FirstVisitFix => format!("{} %", settings.first_visit_fix.value * 100.0),
        Name::TravelMinutes => {
            let minutes = settings.travel_minutes.value;
            minutes.map_or_else(|| "as the packs say".to_owned(), |m| format!("{m} minutes"))
        }
    }
}

fn edited(error: EditError, name: Name, path: &Path) -> CommandError {
    match error {
        EditError::Value(problem) => CommandError::new(
            format!("{}: {problem}", name.id()),
            format!("{}; for example: {}", name.about(), name.example()),
        ),
        EditError::File(problem) => CommandError::new(
            format!("{}:{}: {}", path.display(), problem.line, problem.message),
            "nothing was changed; mend that line by hand",
        ),
    }
}

fn write_one(
    flags: &SettingFlags,
    name: Name,
    value: &str,
    style: &Style,
    out: &mut dyn Write,
) -> Result<Exit, CommandError> {
    let path = place(flags)?;
    let old = old_text(&path)?;
    let start = if old.is_empty() { NEW_FILE } else { &old };
    let new = set(&path, start, name, value).map_err(|e| edited(e, name, &path))?;
    replace(&path, &new)?;
    let file = read(&path, etcetera::home_dir().ok(), &new);
    // A wrong value elsewhere is no reason to say that this one was not written.
    let line = file.set.iter().find_map(|(n, _, origin)| match origin {
        Origin::File { line, .. } if *n == name => Some(*line),
        _ => None,
    });
    writeln!(
        out,
        "Written: {}:{}",
        clean(&path.display().to_string()),
        line.unwrap_or(1)
    )?;
    if let Ok(settings) = flags.resolved() {
        if !matches!(settings.origin(name), Origin::File { .. }) {
            writeln!(
                out,
                "For now {} counts: it wins over the file.",
                from(settings.origin(name))
            )?;
        }
        if matches!(name, Name::Tools | Name::ToolNames)
            && let Ok(engine) = Packs::default().engine(&settings, WithCases::No)
        {
            missing_tools(&settings, &engine.knowledge, style, out)?;
        }
    }
    Ok(Exit::Ok)
}

fn take_out(flags: &SettingFlags, name: Name, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let path = place(flags)?;
    match unset(&path, &old_text(&path)?, name).map_err(|e| edited(e, name, &path))? {
        Some(new) => {
            replace(&path, &new)?;
            writeln!(out, "Taken out: {}", name.id())?;
        }
        None => writeln!(out, "The file does not set {}; nothing was changed.", name.id())?,
    }
    Ok(Exit::Ok)
}

fn old_text(path: &Path) -> Result<String, CommandError> {
    match std::fs::read_to_string(path) {
        Ok(text) => Ok(text),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(String::new()),
        Err(error) => Err(unwritable(path, &error)),
    }
}

fn unwritable(path: &Path, error: &std::io::Error) -> CommandError {
    CommandError::new(
        format!("{} can't be written: {error}", path.display()),
        "see that the place may be written to, or name another with --settings FILE",
    )
}

/// The whole text beside the file first, so that a full disk leaves the old one whole.
fn replace(path: &Path, text: &str) -> Result<(), CommandError> {
    let failed = |error: std::io::Error| unwritable(path, &error);
    if let Some(folder) = path.parent() {
        std::fs::create_dir_all(folder).map_err(failed)?;
    }
    let beside = path.with_extension("yaml.new");
    std::fs::write(&beside, text).map_err(failed)?;
    std::fs::rename(&beside, path).map_err(failed)
}
