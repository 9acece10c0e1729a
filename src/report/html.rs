//! The record and the owner's page as self-contained HTML: one file each, no script, nothing fetched, readable in black and white.

use minijinja::value::Serde;
use minijinja::{Environment, Value, context};
use serde::Serialize;

use super::customer::CustomerPage;
use super::drawing::{GaugeDrawing, RankingDrawing};
use super::phrases::{clock, percent};
use super::privacy::plain_text;
use super::record::{ReadingLine, RetestResult, ServiceRecord, SignsAsked};
use crate::paper::{Letterhead, Paper, environment};

/// So many ruled-out causes are on the page; the data has all.
const MOST_RULED_OUT: usize = 5;
/// So many lines of a load are on the page with what they are for; the others by name.
const MOST_LOADED: usize = 5;
/// From so many lines on the page is set closer, and closer again, so that it stays within two sheets.
const CLOSE: [usize; 3] = [26, 40, 55];

/// One reading with its drawing.
#[derive(Serialize)]
struct Reading<'r> {
    line: &'r ReadingLine,
    drawing: Option<GaugeDrawing>,
}

/// What was told or looked at in one place.
#[derive(Serialize)]
struct Part<'r> {
    title: &'static str,
    place: &'static str,
    signs: Vec<Signs<'r>>,
    measured: Vec<Reading<'r>>,
    seen: Vec<Reading<'r>>,
}

/// Hazard signs, those that need words apart from those answered with no.
#[derive(Serialize)]
struct Signs<'r> {
    time: &'r str,
    standing: Vec<(&'r str, &'r str)>,
    no: Vec<&'r str>,
}

/// The record as a printable page: the same facts as [`super::markdown`] and the JSON, the readings drawn against their limits.
///
/// # Errors
/// When the template can't be filled, which is a fault of the program.
pub fn record_page(record: &ServiceRecord, head: &Letterhead) -> Result<String, minijinja::Error> {
    // A visit that was planned on the phone has its place between the two parts.
    let parts = [part(record, "on the phone"), part(record, "at the gate")];
    let gauges = record.readings.iter().filter(|r| r.gauge.is_some()).count();
    let retested = record
        .retest
        .iter()
        .any(|l| l.result != RetestResult::NotDone || !l.remark.is_empty());
    let load = |visit: &super::BookedVisit| 4 + 2 * visit.load.len().min(MOST_LOADED);
    let lines = record.readings.len()
        + record.visit.as_ref().map_or(0, load)
        + record.visits.len()
        + record.retest.iter().map(|l| l.each.len()).sum::<usize>()
        + 3 * gauges
        + 4 * record.deficiencies.len()
        + record.recommendations.len()
        + record.notes.len()
        + record.retracted.len()
        + record.repairs.iter().map(|r| 3 + r.proof.len()).sum::<usize>();
    let closeness = CLOSE.iter().filter(|least| lines >= **least).count();
    render(
        "record.html",
        context! {
            r => Value::from(Serde(record)),
            parts => Value::from(Serde(parts)),
            ranking => Value::from(Serde(RankingDrawing::of(&record.ranking))),
            most => MOST_RULED_OUT,
            loaded => MOST_LOADED,
            retested,
            closeness,
            ..heading(head),
        },
    )
}

/// The page for the owner, in plain words, on one sheet.
///
/// # Errors
/// When the template can't be filled, which is a fault of the program.
pub fn customer_page(record: &ServiceRecord, head: &Letterhead) -> Result<String, minijinja::Error> {
    let page = CustomerPage::of(record);
    render(
        "customer.html",
        context! {
            r => Value::from(Serde(record)),
            p => Value::from(Serde(page)),
            ..heading(head),
        },
    )
}

fn heading(head: &Letterhead) -> Value {
    let text = |text: &Option<String>| text.as_deref().map(plain_text).filter(|t| !t.is_empty());
    let size = match head.paper {
        Paper::A4 => "A4",
        Paper::Letter => "letter",
    };
    context! { company => text(&head.company), call => text(&head.call), size }
}

fn part<'r>(record: &'r ServiceRecord, place: &'static str) -> Part<'r> {
    let here = record.readings.iter().filter(|r| r.taken == place);
    let (measured, seen): (Vec<_>, Vec<_>) = here
        .map(|line| Reading {
            line,
            drawing: line.gauge.as_ref().map(GaugeDrawing::of),
        })
        .partition(|r| r.drawing.is_some());
    Part {
        title: if place == "on the phone" {
            "Told on the phone"
        } else {
            "Seen and measured at the gate"
        },
        place,
        signs: record.signs.iter().filter(|s| s.place == place).map(signs).collect(),
        measured,
        seen,
    }
}

fn signs(asked: &SignsAsked) -> Signs<'_> {
    let answers = asked.answers.iter().map(|a| (a.question.as_str(), a.answer.as_str()));
    let (no, standing): (Vec<_>, Vec<_>) = answers.partition(|(_, answer)| *answer == "no");
    Signs {
        time: &asked.time,
        standing,
        no: no.into_iter().map(|(question, _)| question).collect(),
    }
}

fn render(name: &str, context: Value) -> Result<String, minijinja::Error> {
    let mut env: Environment<'static> = environment(&[
        ("record.html", include_str!("templates/record.html.jinja")),
        ("customer.html", include_str!("templates/customer.html.jinja")),
        ("sheet.css", include_str!("templates/sheet.css.jinja")),
        ("gauge.svg", include_str!("templates/gauge.svg.jinja")),
        ("ranking.svg", include_str!("templates/ranking.svg.jinja")),
        ("mark.svg", include_str!("templates/mark.svg.jinja")),
    ])?;
    env.add_filter("when", |time: String| clock(&time));
    env.add_filter("percent", percent);
    env.get_template(name)?.render(context)
}
