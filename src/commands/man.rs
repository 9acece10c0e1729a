//! `pintle man`: the manual, one page a command, from the same definitions as the help.

use std::io::Write;
use std::path::{Path, PathBuf};

use clap::CommandFactory as _;

use super::{Arguments, CommandError, Exit};

/// Arguments of `pintle man`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The page of this command, such as `calls export`; none: the first page
    #[arg(value_name = "COMMAND", conflicts_with = "out")]
    pub command: Vec<String>,
    /// Write every page into this folder, `pintle.1`, `pintle-diagnose.1` and so on
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
}

/// A page and the name of its file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ManPage {
    /// `pintle-calls-export`.
    pub name: String,
    /// The page, for `man`.
    pub text: String,
}

/// Every page: the program's own, then one a command, those below a command after it.
#[must_use]
pub fn pages() -> Vec<ManPage> {
    let mut command = Arguments::command().disable_help_subcommand(true);
    command.build();
    let mut pages = Vec::new();
    gather(&command, "pintle", &mut pages);
    pages
}

fn gather(command: &clap::Command, name: &str, pages: &mut Vec<ManPage>) {
    let mut text = Vec::new();
    // Writing into memory does not fail.
    let written = clap_mangen::Man::new(command.clone())
        .source(concat!("pintle ", env!("CARGO_PKG_VERSION")))
        .render(&mut text);
    if written.is_ok() {
        pages.push(ManPage {
            name: name.to_owned(),
            text: String::from_utf8_lossy(&text).into_owned(),
        });
    }
    for below in command.get_subcommands().filter(|c| !c.is_hide_set()) {
        gather(below, &format!("{name}-{}", below.get_name()), pages);
    }
}

/// Writes a page, or all of them into a folder.
///
/// # Errors
/// When there is no such command, or a file can't be written.
pub fn run(args: &Args, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let pages = pages();
    if let Some(folder) = &args.out {
        return write_all(&pages, folder, out);
    }
    let name = std::iter::once("pintle").chain(args.command.iter().map(String::as_str));
    let name = name.collect::<Vec<_>>().join("-");
    let page = pages.iter().find(|p| p.name == name).ok_or_else(|| {
        let near = crate::knowledge::nearest(&name, pages.iter().map(|p| p.name.as_str()));
        let hint = near.map_or_else(
            || "`pintle --help` lists the commands".to_owned(),
            |near| format!("did you mean {}?", near.trim_start_matches("pintle-").replace('-', " ")),
        );
        CommandError::new(format!("there is no command {}", args.command.join(" ")), hint)
    })?;
    super::report::put(out, &page.text)?;
    Ok(Exit::Ok)
}

fn write_all(pages: &[ManPage], folder: &Path, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let failed = |error: std::io::Error| {
        CommandError::new(
            format!("{} can't be written: {error}", folder.display()),
            "see that the place may be written to, or name another with --out",
        )
    };
    std::fs::create_dir_all(folder).map_err(failed)?;
    for page in pages {
        std::fs::write(folder.join(format!("{}.1", page.name)), &page.text).map_err(failed)?;
    }
    let shown: String = folder
        .display()
        .to_string()
        .chars()
        .filter(|c| !c.is_control())
        .collect();
    writeln!(
        out,
        "{} pages in {shown}; read one with: man -l {shown}/pintle.1",
        pages.len()
    )?;
    Ok(Exit::Ok)
}
