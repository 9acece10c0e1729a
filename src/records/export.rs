//! Calls as rows for another program: the head of each service record, as JSON Lines or as CSV.

use std::path::Path;

use serde::Serialize;

use super::listing::Listed;
use crate::call::{Call, Engine, Entry, RepairDone, minutes};
use crate::knowledge::schema::At;
use crate::report::{CauseLine, named_causes, plain_text, redacted};

/// Signs at which a spreadsheet takes a cell for a formula and runs it. Words of a caller may begin with them, so whoever writes a
/// complaint could write a program for whoever opens the table.
const FORMULA: [char; 4] = ['=', '+', '-', '@'];

/// The head of one call's record.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct CallRow {
    /// The name of its file.
    pub id: String,
    /// When it was opened, RFC 3339; the day alone where it is redacted.
    pub opened: Option<String>,
    /// When it ended.
    pub closed: Option<String>,
    /// Where it was last: `phone` or `gate`.
    pub at: &'static str,
    /// Name of the site.
    pub site: Option<String>,
    /// The caller's words.
    pub complaint: String,
    /// The symptoms that they were taken for.
    pub symptoms: Vec<String>,
    /// What was found, or suspected, likeliest first.
    pub causes: Vec<CauseShare>,
    /// Repairs, in order.
    pub repairs: Vec<String>,
    /// How it ended; `open` while it goes on.
    pub ending: String,
    /// Minutes of work at the knowledge's own figures, to a tenth.
    pub minutes: f64,
}

/// A cause with its chance.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct CauseShare {
    /// Its title.
    pub cause: String,
    /// In percent, to a tenth.
    pub percent: f64,
}

impl CallRow {
    /// The row of a call. Redacted, it does not tell whose gate it was: an id that is more than a day and a number is left out too.
    #[must_use]
    pub fn of(engine: &Engine, id: &str, entries: Vec<Entry>, redact: bool) -> Self {
        let entries = if redact { redacted(&entries) } else { entries };
        let call = Call::in_memory(engine, entries);
        // Not the whole record: what rules causes out takes ten times as long as all the rest.
        let head = Listed::of(Path::new(id), &call.entries);
        let filled = |text: &str| Some(plain_text(text)).filter(|t| !t.is_empty());
        let day = |time: &str| {
            time.chars()
                .take(if redact { 10 } else { usize::MAX })
                .collect::<String>()
        };
        let tenth = |x: f64| (x * 10.0).round() / 10.0;
        let numbered = id.chars().all(|c| c.is_ascii_digit() || c == '-');
        let knowledge = &engine.knowledge;
        let symptom = |id: &String| plain_text(knowledge.symptoms.get(id).map_or(id, |s| &s.title));
        let repair =
            |done: &RepairDone| plain_text(knowledge.repairs.get(&done.repair).map_or(&done.repair, |r| &r.title));
        let share = |line: CauseLine| CauseShare {
            cause: line.cause,
            percent: tenth(line.chance * 100.0),
        };
        Self {
            id: if redact && !numbered {
                "left out".to_owned()
            } else {
                plain_text(id)
            },
            opened: filled(&day(&head.opened)),
            closed: filled(&day(&head.closed)),
            at: match call.at() {
                At::Phone => "phone",
                At::Gate => "gate",
            },
            site: filled(&head.site),
            complaint: head.words,
            symptoms: call.symptoms().iter().map(symptom).collect(),
            causes: named_causes(&call).into_iter().map(share).collect(),
            repairs: call.repairs().iter().map(repair).collect(),
            ending: call.ending().map_or("open", |(e, _)| e.say()).to_owned(),
            minutes: tenth(minutes(engine, &call)),
        }
    }
}

/// One object a line.
///
/// # Errors
/// When a row can't be written as JSON.
pub fn json_lines(rows: &[CallRow]) -> Result<String, serde_json::Error> {
    let mut text = String::new();
    for row in rows {
        text.push_str(&serde_json::to_string(row)?);
        text.push('\n');
    }
    Ok(text)
}

/// A table with a head, lines ended as RFC 4180 says, UTF-8. Several of a kind stand in one cell, with `; ` between them.
///
/// # Errors
/// When the table can't be written.
pub fn csv_table(rows: &[CallRow]) -> Result<String, csv::Error> {
    let mut table = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .from_writer(Vec::new());
    table.write_record([
        "id",
        "opened",
        "closed",
        "at",
        "site",
        "complaint",
        "symptoms",
        "causes",
        "repairs",
        "ending",
        "minutes",
    ])?;
    for row in rows {
        let causes = row.causes.iter().map(|c| format!("{} {} %", c.cause, c.percent));
        table.write_record([
            cell(&row.id),
            cell(row.opened.as_deref().unwrap_or_default()),
            cell(row.closed.as_deref().unwrap_or_default()),
            cell(row.at),
            cell(row.site.as_deref().unwrap_or_default()),
            cell(&row.complaint),
            cell(&row.symptoms.join("; ")),
            cell(&causes.collect::<Vec<_>>().join("; ")),
            cell(&row.repairs.join("; ")),
            cell(&row.ending),
            row.minutes.to_string(),
        ])?;
    }
    let bytes = table.into_inner().map_err(csv::IntoInnerError::into_error)?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

/// A text that a spreadsheet shows and does not run: one that begins like a formula has an apostrophe before it.
///
/// ```
/// use pintle::records::cell;
/// assert_eq!(cell("=1+1"), "'=1+1");
/// assert_eq!(cell("won't open"), "won't open");
/// ```
#[must_use]
pub fn cell(text: &str) -> String {
    if text.trim_start().starts_with(FORMULA) {
        format!("'{text}")
    } else {
        text.to_owned()
    }
}
