//! `pintle report`

use std::fs::OpenOptions;
use std::io::Write;
use std::path::{Path, PathBuf};

use super::{CommandError, Data, Exit, Packs, call_path, json, stored_call};
use crate::call::Call;
use crate::paper::{Letterhead, Paper};
use crate::report::{ServiceRecord, customer_page, markdown, plain_text, record_page, redacted};
use crate::settings::Settings;
use crate::terminal::Style;

/// Arguments of `pintle report`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The call: its id, or the path of its file
    pub call: String,
    /// What to write; left out: Markdown.
    #[command(flatten)]
    pub form: Form,
    /// Write it to this file, which must not be there yet, instead of printing it
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// For sharing: site name, the caller's words, notes and remarks are left out; readings stay
    #[arg(long)]
    pub redact: bool,
    /// With --html or --customer: the company at the head of the page
    #[arg(long, value_name = "NAME", requires = "printable")]
    pub company: Option<String>,
    /// With --html or --customer: what it will be printed on
    #[arg(long, value_enum, default_value_t, requires = "printable")]
    pub paper: Paper,
    /// Where calls are kept.
    #[command(flatten)]
    pub data: Data,
    /// Packs.
    #[command(flatten)]
    pub packs: Packs,
}

/// What a report is written as.
#[derive(Debug, Clone, Default, clap::Args)]
#[group(multiple = false)]
pub struct Form {
    /// Write JSON instead of Markdown
    #[arg(long)]
    pub json: bool,
    /// Write a page to print: HTML in one file, with every reading drawn against its limits
    #[arg(long, group = "printable")]
    pub html: bool,
    /// Write a page for the customer in plain words: HTML in one file
    #[arg(long, group = "printable")]
    pub customer: bool,
}

/// Writes the service record of a call.
///
/// # Errors
/// When the knowledge has errors, there is no such call, or it can't be read or written.
pub fn run(args: &Args, settings: &Settings, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    if let Some(file) = &args.out {
        refuse_other_form(file, &args.form)?;
    }
    let (engine, mut entries) = stored_call(&args.call, &args.data, &args.packs, settings)?;
    let path = call_path(&args.data.folder(settings)?, &args.call);
    if args.redact {
        entries = redacted(&entries);
    }
    let record = ServiceRecord::of(&Call::in_memory(&engine, entries));
    let head = Letterhead {
        company: args.company.clone().or_else(|| settings.company.value.clone()),
        paper: args.paper,
        // A file that somebody has named may be named after a customer.
        call: path
            .file_stem()
            .filter(|_| !args.redact)
            .map(|id| plain_text(&id.to_string_lossy())),
    };
    let text = written(&record, &head, &args.form, style)?;
    match &args.out {
        None => put(out, &text)?,
        Some(file) => {
            write_new(file, &text)?;
            writeln!(out, "Written: {}", plain_text(&file.to_string_lossy()))?;
        }
    }
    Ok(Exit::Ok)
}

fn written(record: &ServiceRecord, head: &Letterhead, form: &Form, style: &Style) -> Result<String, CommandError> {
    let page = if form.json {
        return json(record);
    } else if form.html {
        record_page(record, head)
    } else if form.customer {
        customer_page(record, head)
    } else {
        return Ok(style.signs(markdown(record)));
    };
    page.map_err(|e| {
        CommandError::new(
            format!("the page can't be made: {e}"),
            "this is a fault of the program; without --html and --customer it is written as Markdown",
        )
    })
}

/// A name that ends in .html holds HTML, or nobody can open it.
fn refuse_other_form(file: &Path, form: &Form) -> Result<(), CommandError> {
    let ends = |ending: &str| file.extension().is_some_and(|e| e.eq_ignore_ascii_case(ending));
    let html = ends("html") || ends("htm");
    let page = form.html || form.customer;
    let wrong = match (html, ends("json"), ends("md")) {
        (true, _, _) if !page => Some("add --html for the record, or --customer for the customer's page"),
        (_, true, _) if !form.json => Some("add --json"),
        (_, _, true) if page || form.json => Some("leave out --html, --customer and --json to write Markdown"),
        _ => None,
    };
    match wrong {
        Some(hint) => Err(CommandError::new(
            format!(
                "{}: the file's name says another form than what would be in it",
                file.display()
            ),
            hint,
        )),
        None => Ok(()),
    }
}

/// Writes a file that is not there yet, for its owner's eyes only: a record holds a customer's data.
fn write_new(file: &Path, text: &str) -> Result<(), CommandError> {
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt as _;
        options.mode(0o600);
    }
    let written = options.open(file).and_then(|mut f| f.write_all(text.as_bytes()));
    written.map_err(|e| {
        CommandError::new(
            format!("{}: {e}", file.display()),
            "name a file that is not there yet, in a folder that is: nothing is overwritten",
        )
    })
}

/// Writes a whole page. A reader that has gone away (a pager that was left) is no error.
pub(super) fn put(out: &mut dyn Write, text: &str) -> Result<(), CommandError> {
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(e) if e.kind() != std::io::ErrorKind::BrokenPipe => Err(CommandError::new(
            format!("the page can't be written: {e}"),
            "look whether the disk is full or the place may be written to",
        )),
        _ => Ok(()),
    }
}
