//! `pintle explain`: anything in the knowledge as a readable page.

use std::io::Write;

use super::{CommandError, Exit, Packs};
use crate::call::Engine;
use crate::explain::{Sheet, explain};
use crate::finding::Level;
use crate::knowledge::{Knowledge, WithCases, sections};
use crate::settings::Settings;
use crate::terminal::{Page, Style, render_sheet};

/// Arguments of `pintle explain`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// What to explain: an id, or SECTION/ID where several sections have it
    #[arg(value_name = "ID")]
    pub id: String,
    /// Write JSON
    #[arg(long)]
    pub json: bool,
    /// Packs.
    #[command(flatten)]
    pub packs: Packs,
}

/// What `--json` writes.
#[derive(Debug, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
struct Out {
    version: u32,
    errors: usize,
    sheets: Vec<Sheet>,
}

/// The section that has an entry of that id which could not be decoded.
fn unreadable(knowledge: &Knowledge, query: &str) -> Option<&'static str> {
    let id = query.split_once('/').map_or(query, |(_, id)| id);
    let mut known = sections::ENTRIES.iter().copied();
    known.find(|section| !knowledge.origins.files(section, id).is_empty())
}

/// Shows every entry of that id. Knowledge with errors is explained as far as it could be read.
///
/// # Errors
/// When nothing has the id, or the output can't be written.
pub fn run(args: &Args, settings: &Settings, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let (mut knowledge, findings) = Knowledge::built_in(args.packs.folders(settings), WithCases::Yes);
    knowledge.settings.currency.clone_from(&settings.currency.value);
    let errors = findings.iter().filter(|f| f.level() == Level::Error).count();
    let engine = Engine::new(knowledge);
    let sheets = explain(&engine, &args.id).map_err(|unknown| {
        if let Some(section) = unreadable(&engine.knowledge, &args.id) {
            return CommandError::new(
                format!("{section}/{} is there, but it can't be read", args.id),
                "`pintle check` with the same packs shows what is wrong with it, and where",
            );
        }
        let hints = match unknown.near.as_slice() {
            [] => vec![
                "ids are the names under `causes:`, `tests:`, … in the YAML; a word of a title finds them too"
                    .to_owned(),
            ],
            near => near
                .iter()
                .map(|c| format!("{}/{}  {}", c.section, c.id, c.title))
                .collect(),
        };
        CommandError {
            hints,
            ..CommandError::new(format!("nothing has the id {}; near it:", args.id), "")
        }
    })?;
    if args.json {
        let written = Out {
            version: 1,
            errors,
            sheets,
        };
        super::report::put(out, &super::json(&written)?)?;
        return Ok(Exit::Ok);
    }
    let mut text: String = sheets.iter().map(|sheet| render_sheet(sheet, style)).collect();
    if errors > 0 {
        let mut page = Page::new(style);
        page.line("");
        page.line(&format!(
            "This knowledge has {errors} error(s), so figures may be off: `pintle check` with the same packs shows them."
        ));
        text += &page.finish();
    }
    super::report::put(out, &style.signs(text))?;
    Ok(Exit::Ok)
}
