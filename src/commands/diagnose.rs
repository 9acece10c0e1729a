//! `pintle diagnose`: the main job.

use std::convert::Infallible;
use std::io::{IsTerminal as _, Write};
use std::path::{Path, PathBuf};

use clap::ValueEnum;

use super::site::at_call;
use super::{CommandError, Data, Exit, Packs, clock};
use crate::call::{Answerer, Call, CaseAnswerer, Engine, Entry, Event, Journal, Outcome, Reply, Step, WalkError, walk};
use crate::finding::Code;
use crate::knowledge::schema::{At, Case, Who};
use crate::knowledge::{WithCases, load_case};
use crate::settings::Settings;
use crate::site::Store;
use crate::terminal::{Person, Style, event_text, render_step, render_visit, standing};

/// Arguments of `pintle diagnose`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Packs.
    #[command(flatten)]
    pub packs: Packs,
    /// Where calls are kept.
    #[command(flatten)]
    pub data: Data,
    /// Where the call is taken [default: the setting `at`, else asked]
    #[arg(long, value_enum)]
    pub at: Option<Where>,
    /// Name of the site; where it has a site file (`pintle site`), what that knows is not asked again
    #[arg(long)]
    pub site: Option<String>,
    /// The person at the gate is a licensed electrician
    #[arg(long)]
    pub electrician: bool,
    /// A tool that is not at hand, such as `insulation tester 500 V`; may be given several times
    #[arg(long = "without", value_name = "TOOL")]
    pub without: Vec<String>,
    /// Play this case file to its end instead of asking a person
    #[arg(long, value_name = "FILE")]
    pub case: Option<PathBuf>,
    /// With --case: write each event as one line of JSON instead of pages
    #[arg(long, requires = "case")]
    pub json: bool,
}

/// Where a call is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Where {
    /// At the gate, by a technician.
    Gate,
    /// On the phone, with a caller.
    Phone,
}

impl From<Where> for At {
    fn from(place: Where) -> Self {
        match place {
            Where::Gate => Self::Gate,
            Where::Phone => Self::Phone,
        }
    }
}

/// Runs it.
///
/// # Errors
/// When there is no terminal, the case or a pack can't be used, or the journal can't be written.
pub fn run(args: &Args, settings: &Settings, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    if let Some(file) = &args.case {
        // A case is played with the knowledge's own figures, the same for everybody.
        let engine = args.packs.engine(settings, WithCases::No)?;
        return play_file(&engine, file, args, style, out);
    }
    refuse_without_terminal()?;
    let terms = settings.terms();
    let engine = args.packs.engine_on(&terms, settings, WithCases::No)?;
    let Some(at) = place(args.at.map(At::from).or(settings.at.value), style, out)? else {
        writeln!(out, "Nothing was begun.")?;
        return Ok(Exit::Ok);
    };
    let folder = args.data.folder(settings)?;
    let store = super::site::store(&folder);
    if let Some(name) = args.site.as_ref().filter(|name| store.has(name)) {
        // A damaged site file is said before a call is begun.
        store.load(name)?;
    }
    let journal = new_journal(&folder)?;
    let id = journal
        .path()
        .file_stem()
        .unwrap_or_default()
        .to_string_lossy()
        .into_owned();
    let mut call = Call::with(&engine, Vec::new(), Some(journal));
    let who = if args.electrician {
        Who::Electrician
    } else {
        Who::Technician
    };
    let opened = engine.opened(at, who, args.site.clone());
    call.record(Entry {
        time: clock(),
        event: opened,
    })?;
    if !terms.is_empty() {
        let event = Event::Terms(terms);
        call.record(Entry { time: clock(), event })?;
    }
    for tool in &args.without {
        let event = Event::Tool {
            tool: tool.clone(),
            at_hand: false,
        };
        call.record(Entry { time: clock(), event })?;
    }
    at_call::open(&mut call, &id, (&store, &folder), style, out)?;
    sitting(&mut call, &id, &store, settings, style, out)
}

/// Where the call is taken: as given, or asked; `None` where the person leaves.
fn place(given: Option<At>, style: &Style, out: &mut dyn Write) -> Result<Option<At>, CommandError> {
    if given.is_some() {
        return Ok(given);
    }
    let question = "Where do you take this call?";
    let choices = ["At the gate, as a technician", "On the phone, with a caller"];
    let picked = crate::terminal::pick_one(question, &choices, style, out)
        .map_err(|e| CommandError::new(e.to_string(), "say it with --at gate or --at phone"))?;
    Ok(picked.map(|n| [At::Gate, At::Phone][n]))
}

/// Questions need a terminal; says what works without one.
///
/// # Errors
/// When standard input is no terminal.
pub fn refuse_without_terminal() -> Result<(), CommandError> {
    if std::io::stdin().is_terminal() {
        return Ok(());
    }
    Err(CommandError::new(
        "there is no terminal to ask questions on",
        "run it in a terminal, or play a case file: pintle diagnose --case examples/cases/worn-battery.yaml",
    ))
}

/// A new file named after the day, with the first free number.
///
/// # Errors
/// When the file can't be made.
pub(super) fn new_journal(folder: &Path) -> Result<Journal, CommandError> {
    let day = clock().chars().take(10).collect::<String>();
    for number in 1..10_000 {
        let path = folder.join(format!("{day}-{number}.jsonl"));
        if !path.exists() {
            return Ok(Journal::create(&path)?);
        }
    }
    Err(CommandError::new(
        "ten thousand calls in a day",
        "name another folder with --data DIR",
    ))
}

/// One sitting of a person with a call.
///
/// # Errors
/// When there is no terminal or the journal can't be written.
pub fn sitting(
    call: &mut Call<'_>,
    id: &str,
    store: &Store,
    settings: &Settings,
    style: &Style,
    out: &mut dyn Write,
) -> Result<Exit, CommandError> {
    let outcome = {
        let wishes = settings.wishes(&call.engine.knowledge);
        let mut person = Person::new(*style, Box::new(&mut *out), Box::new(clock)).wishing(wishes);
        walk(call, &mut person)
    };
    match outcome {
        Ok(Outcome::Ended) => {
            let ending = call.ending().map_or("", |(e, _)| e.say());
            writeln!(out, "\nThe call has ended: {ending}. Its record: pintle report {id}")?;
            at_call::close(call, id, store, style, out)?;
            Ok(Exit::Ok)
        }
        Ok(Outcome::Paused) => {
            if call.visit().is_some() && call.at() == At::Phone {
                writeln!(out, "\nBooked and kept. At the gate: pintle resume {id}")?;
                writeln!(out, "What to load, again: pintle visit {id}")?;
            } else {
                writeln!(out, "\nKept. Go on with: pintle resume {id}")?;
            }
            Ok(Exit::Ok)
        }
        Ok(Outcome::Stuck) => Err(CommandError::new(
            "the call does not get on",
            format!("it is kept; `pintle why {id}` shows where it stands"),
        )),
        Err(WalkError::Answerer(error)) => Err(CommandError::new(
            error.to_string(),
            format!("nothing is lost: pintle resume {id}"),
        )),
        Err(WalkError::Journal(error)) => Err(error.into()),
    }
}

/// Plays a case with its pages shown.
fn play_file(
    engine: &Engine,
    file: &Path,
    args: &Args,
    style: &Style,
    out: &mut dyn Write,
) -> Result<Exit, CommandError> {
    let (case, sources, findings) = load_case(file);
    let Some(case) = case else {
        let finding = findings.first();
        // A file that can't be read has no lines.
        let position = finding
            .filter(|f| f.code != Code::UnreadableFile)
            .map(|f| sources.position(&f.location));
        let at = position.map_or_else(String::new, |p| format!(":{}:{}", p.line, p.column));
        let message = finding.map_or_else(|| "it holds no case".to_owned(), |f| f.message.clone());
        let hint = finding.map_or_else(String::new, |f| f.help.clone());
        return Err(CommandError::new(format!("{}{at}: {message}", file.display()), hint));
    };
    let mut call = Call::in_memory(engine, Vec::new());
    let mut answerer = Narrated {
        inner: CaseAnswerer::new(engine, &case),
        style: *style,
        out,
        json: args.json,
        failed: None,
    };
    let event = engine.opened(case.at, Who::Technician, args.site.clone());
    let time = answerer.now();
    answerer.show_event(&call, &event);
    call.record(Entry { time, event })?;
    let outcome = walk(&mut call, &mut answerer);
    if let Some(error) = answerer.failed {
        return Err(error.into());
    }
    match outcome {
        Ok(Outcome::Ended) if args.json => Ok(Exit::Ok),
        Ok(Outcome::Ended) => finished(&call, &case, style, out),
        Ok(_) => Err(CommandError::new(
            "the case does not come to an end",
            "`pintle cases` tells why cases fail",
        )),
        Err(WalkError::Journal(error)) => Err(error.into()),
        Err(WalkError::Answerer(never)) => match never {},
    }
}

fn finished(call: &Call<'_>, case: &Case, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let record = crate::report::markdown(&crate::report::ServiceRecord::of(call));
    writeln!(out, "\n{}", style.signs(record))?;
    let really: Vec<&str> = case
        .causes
        .iter()
        .map(|id| {
            call.engine
                .knowledge
                .causes
                .get(id)
                .map_or(id.as_str(), |c| c.title.as_str())
        })
        .collect();
    let really = if really.is_empty() {
        "nothing was wrong".to_owned()
    } else {
        really.join(" and ")
    };
    writeln!(out, "(The case says that it really was: {really}.)")?;
    Ok(Exit::Ok)
}

/// A case whose steps and answers are shown as they go by.
struct Narrated<'a, 'o> {
    inner: CaseAnswerer<'a>,
    style: Style,
    out: &'o mut dyn Write,
    json: bool,
    failed: Option<std::io::Error>,
}

impl Narrated<'_, '_> {
    fn write(&mut self, text: &str) {
        if let Err(error) = self.out.write_all(text.as_bytes()) {
            self.failed.get_or_insert(error);
        }
    }

    fn show_event(&mut self, call: &Call<'_>, event: &Event) {
        if self.json {
            let entry = Entry {
                time: self.inner.now(),
                event: event.clone(),
            };
            if let Ok(line) = serde_json::to_string(&entry) {
                self.write(&format!("{line}\n"));
            }
        } else if !matches!(event, Event::Opened { .. }) {
            if let Event::Visit { plan } = event {
                let page = render_visit(plan, &self.style);
                self.write(&page);
            }
            let text = format!("> {}", event_text(call, event));
            for line in textwrap::wrap(&text, textwrap::Options::new(self.style.width).subsequent_indent("  ")) {
                let line = self.style.action(&line);
                self.write(&format!("{line}\n"));
            }
        }
    }
}

impl Answerer for Narrated<'_, '_> {
    type Error = Infallible;

    fn answer(&mut self, call: &Call<'_>, step: &Step) -> Result<Reply, Infallible> {
        if !self.json {
            if matches!(
                step,
                Step::Test { .. } | Step::Repair { .. } | Step::Fact { purpose: Some(_), .. }
            ) {
                self.write(&standing(call, &self.style));
            }
            let page = render_step(call, step, &self.style);
            self.write(&page);
        }
        let reply = self.inner.answer(call, step)?;
        if let Reply::Events(events) = &reply {
            for event in events {
                self.show_event(call, event);
            }
        }
        Ok(reply)
    }

    fn now(&self) -> String {
        self.inner.now()
    }
}
