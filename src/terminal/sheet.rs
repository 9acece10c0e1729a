//! An entry's sheet as a page.

use std::fmt::Write as _;

use super::page::{Page, percent};
use super::style::Style;
use crate::explain::{Block, Part, Ref, Sheet, Shown};
use crate::knowledge::sections;

/// Most causes that are shown on each side of an outcome; `--json` has all.
const MOST: usize = 8;
/// Most entries of one list; `--json` has all.
const MOST_REFS: usize = 16;
/// An outcome that is rarer than this, with the cause and without, has no line of its own.
const RARE: f64 = 0.005;

/// The page of a sheet.
#[must_use]
pub fn render_sheet(sheet: &Sheet, style: &Style) -> String {
    let mut page = Page::new(style);
    page.title(&format!(
        "{} {}: {}",
        sections::one_of(sheet.section),
        sheet.id,
        sheet.title
    ));
    for (i, part) in sheet.from.iter().enumerate() {
        let label = if i == 0 { "from" } else { "" };
        page.entry(label, 0, "", &origin(part, i == 0));
    }
    let mut number = 0;
    let mut last = "";
    for block in &sheet.blocks {
        let label = |label: &'static str| if label == last { "" } else { label };
        match block {
            Block::Text { label: l, text } => {
                page.entry(label(l), 0, "", text);
                last = l;
            }
            Block::Caution { text } => {
                page.painted("caution", text, Style::caution);
                last = "caution";
            }
            Block::Steps { steps } => {
                for step in steps {
                    number += 1;
                    page.field(&format!("  {number}."), step);
                }
                last = "";
            }
            Block::Refs { label: l, refs } => {
                references(&mut page, label(l), refs);
                last = l;
            }
            Block::Shows {
                test,
                outcomes,
                rescaled_from,
            } => {
                page.entry(label("shows"), 0, "", &format!("on {}", name(test)));
                shows(&mut page, outcomes, *rescaled_from);
                last = "shows";
            }
            Block::Speaks {
                say,
                healthy,
                normal,
                speaks_for,
                speaks_against,
                ..
            } => {
                let what = if *normal { "normal" } else { "outcome" };
                let title = format!("{say}: {} of healthy gates", percent(*healthy));
                page.entry(what, 0, "", &title);
                speaks(&mut page, "for", speaks_for);
                speaks(&mut page, "against", speaks_against);
                last = "";
            }
        }
    }
    page.finish()
}

/// Where a file's part is, and what of it stands.
fn origin(part: &Part, first: bool) -> String {
    let mut text = format!("{}:{}, {}", part.file, part.line, part.pack);
    // Of the first file everything stands that no later one has.
    if !first && !part.won.is_empty() {
        let _ = write!(text, "; from here: {}", part.won.join(", "));
    }
    if !part.lost.is_empty() {
        let _ = write!(text, "; overwritten by a later pack: {}", part.lost.join(", "));
    }
    text
}

fn name(of: &Ref) -> String {
    if of.section.is_empty() || of.section == "facts" {
        return of.title.clone();
    }
    if of.title == of.id {
        return format!("{} (there is no such entry)", of.id);
    }
    format!("{} ({})", of.title, of.id)
}

fn references(page: &mut Page<'_>, label: &str, refs: &[Ref]) {
    let lead = refs.iter().map(|r| r.figure.chars().count()).max().unwrap_or(0);
    for (i, of) in refs.iter().take(MOST_REFS).enumerate() {
        let label = if i == 0 { label } else { "" };
        let mut text = name(of);
        if of.section.is_empty() && of.figure.is_empty() {
            text = format!("{}: {text}", of.id);
        }
        if !of.note.is_empty() {
            let _ = write!(text, ": {}", of.note);
        }
        page.entry(label, lead, &of.figure, &text);
    }
    if refs.len() > MOST_REFS {
        page.entry("", lead, "", &format!("and {} more", refs.len() - MOST_REFS));
    }
}

fn shows(page: &mut Page<'_>, outcomes: &[Shown], rescaled_from: Option<f64>) {
    let (told, rare): (Vec<&Shown>, Vec<&Shown>) = outcomes
        .iter()
        .partition(|o| o.chance >= RARE || o.healthy >= RARE || !o.written.is_empty());
    for outcome in told {
        let mut text = format!("{} (healthy {})", outcome.say, percent(outcome.healthy));
        if !outcome.written.is_empty() {
            let _ = write!(text, ", written {}", outcome.written);
        }
        page.entry("", 6, &percent(outcome.chance), &text);
    }
    if !rare.is_empty() {
        page.entry("", 6, "<1 %", &format!("each of {} more", rare.len()));
    }
    if let Some(sum) = rescaled_from {
        let text = format!("as written they add to {sum:.2}; each is divided by that");
        page.entry("", 6, "", &text);
    }
}

fn speaks(page: &mut Page<'_>, way: &str, causes: &[Ref]) {
    for (i, cause) in causes.iter().take(MOST).enumerate() {
        let way = if i == 0 { way } else { "" };
        let lead = format!("{way:8}{:>10}", cause.figure);
        page.entry("", 18, &lead, &name(cause));
    }
    if causes.len() > MOST {
        page.entry("", 18, "", &format!("and {} more", causes.len() - MOST));
    }
}
