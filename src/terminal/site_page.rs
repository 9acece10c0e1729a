//! Pages about sites: the list, one site, its visits, what is wrong with its file, what a call may leave as baselines.

use super::page::Page;
use super::style::Style;
use crate::call::{Before, days_between};
use crate::finding::Level;
use crate::knowledge::Knowledge;
use crate::report::plain_text;
use crate::site::{Kept, Offer, SiteFile, SiteFinding, Travel, Visit, day};

/// A visit as it is shown, with its cause where that was worked out.
pub struct ShownVisit<'a> {
    /// The visit.
    pub visit: &'a Visit,
    /// Its cause.
    pub cause: Option<String>,
}

/// One line a visit: date, complaint, cause, ending.
#[must_use]
pub fn visit_lines(visits: &[ShownVisit<'_>], style: &Style) -> String {
    let mut page = Page::new(style);
    for ShownVisit { visit, cause } in visits {
        let ending = visit.ended.as_ref().map_or("open", |(_, ending)| ending.say());
        let words = if visit.words.is_empty() {
            "no words written down".to_owned()
        } else {
            format!("\"{}\"", visit.words)
        };
        let mut parts = vec![words];
        parts.extend(cause.clone());
        if !visit.repairs.is_empty() {
            parts.push(format!("repair: {}", visit.repairs.join("; ")));
        }
        parts.push(format!("{ending} (call {})", visit.id));
        parts.extend(visit.callback.as_ref().map(|of| format!("callback of {of}")));
        page.field(
            &visit.opened.chars().take(10).collect::<String>(),
            &format!(" {}", parts.join(" - ")),
        );
    }
    page.finish()
}

/// Everything that a site file says, then the visits.
#[must_use]
pub fn site_page(
    site: &SiteFile,
    knowledge: &Knowledge,
    visits: &[ShownVisit<'_>],
    more: usize,
    today: jiff::civil::Date,
    style: &Style,
) -> String {
    let mut page = Page::new(style);
    page.title(&plain_text(&site.name));
    labels(&mut page, site);
    let mut label = "facts";
    for (id, value) in &site.facts {
        let fact = knowledge.facts.get(id);
        let ask = fact.map_or(id.as_str(), |f| f.ask.as_str());
        let say = fact
            .and_then(|f| f.values.get(&value.0))
            .map_or(value.0.as_str(), |v| &v.say);
        let again = if fact.is_some_and(|f| f.may_change) {
            " (asked again at each call)"
        } else {
            ""
        };
        page.field(label, &format!("{} {}{again}", plain_text(ask), plain_text(say)));
        label = "";
    }
    if let Some(date) = &site.updated {
        page.field("", &format!("written {}", aged(&plain_text(date), today)));
    }
    lists(&mut page, site, today);
    let mut label = "baselines";
    for kept in &site.baselines {
        page.field(label, &baseline_line(kept, knowledge, today));
        label = "";
    }
    page.title("Visits");
    if visits.is_empty() {
        page.line("No call at this site yet.");
    }
    if more > 0 {
        page.line(&format!("{more} earlier not shown."));
    }
    page.finish() + &visit_lines(visits, style)
}

/// Label texts, the way in and remarks: what is worth knowing before the first question.
fn labels(page: &mut Page<'_>, site: &SiteFile) {
    let fields = [
        ("operator", &site.operator),
        ("board", &site.board),
        ("way in", &site.emergency_access),
    ];
    for (label, text) in fields {
        if let Some(text) = text {
            page.field(label, &plain_text(text));
        }
    }
    let mut label = "remarks";
    for remark in &site.remarks {
        page.field(label, &plain_text(remark));
        label = "";
    }
}

fn lists(page: &mut Page<'_>, site: &SiteFile, today: jiff::civil::Date) {
    let batteries = site.batteries.iter().map(|b| {
        let volts = b.volts.as_ref().map(|v| plain_text(&v.0));
        let ah = b.ah.as_ref().map(|v| format!("{} Ah", plain_text(&v.0)));
        let date = b.date.as_ref().map(|d| format!("of {}", aged(&plain_text(d), today)));
        let parts = [volts, ah, b.chemistry.as_deref().map(plain_text), date];
        parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
    });
    let loops = site.loops.iter().map(|l| match &l.purpose {
        Some(purpose) => format!("{}: {}", plain_text(&l.name), plain_text(purpose)),
        None => plain_text(&l.name),
    });
    let protection = site.protection.iter().map(|p| {
        let travel = match p.travel {
            Travel::Closing => "closing",
            Travel::Opening => "opening",
        };
        format!("{travel}, {}: {}", plain_text(&p.place), plain_text(&p.by))
    });
    let limits = site.limits.iter().map(|l| {
        let page = l.page.as_ref().map(|p| format!(" (manual, page {})", plain_text(&p.0)));
        format!(
            "{}: {}{}",
            plain_text(&l.what),
            plain_text(&l.value.0),
            page.unwrap_or_default()
        )
    });
    let all: [(&str, Vec<String>); 6] = [
        ("battery", batteries.collect()),
        ("loops", loops.collect()),
        ("eyes", site.eyes.iter().map(|t| plain_text(t)).collect()),
        ("edges", site.edges.iter().map(|t| plain_text(t)).collect()),
        ("protected", protection.collect()),
        ("limits", limits.collect()),
    ];
    for (label, lines) in all {
        let mut label = label;
        for line in lines {
            page.field(label, &line);
            label = "";
        }
    }
}

/// "Running amps …, running, opening: 3.1 A on 2026-03-02, 12 days old, clamp 2".
fn baseline_line(kept: &Kept, knowledge: &Knowledge, today: jiff::civil::Date) -> String {
    let test = kept.test.as_deref();
    let title = test.map(|id| knowledge.tests.get(id).map_or(id, |t| &t.title));
    let reading = kept.reading.as_deref().map(|id| {
        let spec = test.and_then(|t| knowledge.tests.get(t)?.readings.get(id));
        spec.and_then(|s| s.ask.as_deref()).unwrap_or(id)
    });
    let what = [title, reading, kept.what.as_deref()];
    let what: Vec<String> = what.into_iter().flatten().map(plain_text).collect();
    let before = Before {
        reading: String::new(),
        of: kept.of.as_deref().map(plain_text),
        value: plain_text(&kept.value.0),
        date: aged(&plain_text(&kept.date), today),
    };
    let meter = kept
        .meter
        .as_ref()
        .map(|m| format!(", {}", plain_text(m)))
        .unwrap_or_default();
    format!("{}: {}{meter}", what.join(", "), before.say())
}

/// A date with how long ago it was.
fn aged(date: &str, today: jiff::civil::Date) -> String {
    let days = day(date).and_then(|d| days_between(&d.to_string(), &today.to_string()));
    match days {
        Some(d) if d < 0.0 => format!("{date} (in the future)"),
        Some(d) if d < 1.5 => date.to_owned(),
        Some(d) if d < 60.0 => format!("{date} ({d:.0} days ago)"),
        Some(d) if d < 730.0 => format!("{date} ({:.0} months ago)", d / 30.44),
        Some(d) => format!("{date} ({:.0} years ago)", d / 365.25),
        None => date.to_owned(),
    }
}

/// What a call opens with at a known site: how much of the file it takes, what is asked again, what to know, the last visits.
#[must_use]
pub fn known_site(site: &SiteFile, taken: &Taken, visits: &[ShownVisit<'_>], style: &Style) -> String {
    let mut page = Page::new(style);
    page.title(&format!("Known site: {}", plain_text(&site.name)));
    let since = site
        .updated
        .as_ref()
        .map(|d| format!(" of {}", plain_text(d)))
        .unwrap_or_default();
    page.field(
        "site file",
        &format!(
            "Taken from the file{since}: {} fact(s) that stay, not asked, and {} baseline(s). Asked again if it matters: {} that may have changed. `a` shows them and takes one back.",
            taken.facts, taken.baselines, taken.again
        ),
    );
    labels(&mut page, site);
    if visits.is_empty() {
        page.field("visits", "none yet");
    } else {
        page.line("Last visits:");
    }
    page.finish() + &visit_lines(visits, style)
}

/// How much of a site file a call takes.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Taken {
    /// Facts that stay.
    pub facts: usize,
    /// Facts that are asked again.
    pub again: usize,
    /// Baselines.
    pub baselines: usize,
}

/// What a call offers as baselines, numbered from 2: 1 is all of them.
#[must_use]
pub fn offer_page(site: &str, offers: &[Offer], style: &Style) -> String {
    let mut page = Page::new(style);
    page.title(&format!("Keep as baselines of {}?", plain_text(site)));
    page.option(0, "none");
    page.option(1, "all of these");
    for (i, offer) in offers.iter().enumerate() {
        page.option(i + 2, &offer_line(offer));
    }
    page.finish()
}

/// "Battery volts at rest: 25.4 V (before the repair)".
#[must_use]
pub fn offer_line(offer: &Offer) -> String {
    let of = offer.kept.of.as_ref().map(|of| format!(", {of}")).unwrap_or_default();
    let before = if offer.before_repair {
        " (read before the repair)"
    } else {
        ""
    };
    format!("{}{of}: {}{before}", plain_text(&offer.title), offer.kept.value.0)
}

/// Findings about a site file, each with `file:line:column`.
#[must_use]
pub fn site_findings(file: &str, findings: &[SiteFinding], style: &Style) -> String {
    let mut text = String::new();
    for finding in findings {
        let place = format!("{file}:{}:{}", finding.position.line, finding.position.column);
        text += &style.faint(&place);
        text.push('\n');
        let (word, paint): (&str, fn(&Style, &str) -> String) = match finding.level {
            Level::Error => ("error", Style::danger),
            Level::Warning => ("warning", Style::caution),
        };
        let mut page = Page::new(style);
        page.painted(&format!("  {word}"), &plain_text(&finding.message), paint);
        page.field("  do", &plain_text(&finding.help));
        text += &page.finish();
    }
    text
}
