//! The visit as a page: who goes, how long, what is loaded and what each thing buys.

use super::page::{Page, percent};
use super::style::Style;
use crate::visit::{LoadLine, VisitPlan};

/// A planned visit.
#[must_use]
pub fn render_visit(plan: &VisitPlan, style: &Style) -> String {
    let mut page = Page::new(style);
    page.title("The visit");
    plan.remarks
        .iter()
        .for_each(|remark| page.painted("caution", remark, Style::caution));
    page.field("who", &plan.who_goes());
    page.field(
        "book",
        &format!(
            "{} at the gate, travel not counted: enough in four of five such calls, retest and record with it",
            plan.hours()
        ),
    );
    load(&mut page, plan);
    page.finish()
}

fn load(page: &mut Page<'_>, plan: &VisitPlan) {
    page.field(
        "promise",
        &format!(
            "put right at this visit in {} of such calls with the kit and what follows; with the kit alone in {}{}",
            percent(plan.promised),
            percent(plan.bare),
            if plan.falls_short() {
                format!(
                    ". No load reaches {}: with everything on the truck it is {}",
                    percent(plan.asked),
                    // To a tenth: it must not read as what was asked for.
                    format_args!("{:.1} %", 100.0 * plan.most)
                )
            } else {
                String::new()
            }
        ),
    );
    if plan.load.is_empty() {
        page.field("load", "nothing beside the kit");
    }
    let fits = |line: &LoadLine| line.things.iter().any(|t| t.read.is_some());
    if plan.load.iter().chain(&plan.further).any(fits) {
        let text = "What a part fits by is read off the old one: ask for a photo of its label now; if nobody can tell, bring each kind.";
        page.painted("ask", text, Style::caution);
    }
    let mut label = "load";
    for line in &plan.load {
        thing_lines(page, label, line);
        label = "";
    }
    if let Some((lines, rate)) = plan.most_of_it() {
        page.field(
            "",
            &format!(
                "The first {lines} of these alone make it {}; the rest buys the last few points.",
                percent(rate)
            ),
        );
    }
    let mut label = "further";
    for line in &plan.further {
        thing_lines(page, label, line);
        label = "";
    }
    if !plan.load.is_empty() && !plan.smallest {
        page.field("", "Found by search that was cut off: perhaps fewer things would do.");
    }
    let mut label = "kit";
    for piece in &plan.kit {
        page.field(label, piece);
        label = "";
    }
}

/// The chance up to there, the things, what they are for, and what has to be read off the old one.
fn thing_lines(page: &mut Page<'_>, label: &str, line: &LoadLine) {
    let names: Vec<String> = line
        .things
        .iter()
        .map(|t| {
            if t.tool {
                format!("{} (tool)", t.name)
            } else {
                t.name.clone()
            }
        })
        .collect();
    let of = if line.causes.is_empty() {
        String::new()
    } else {
        format!(": for {}", line.causes.join("; "))
    };
    page.entry(label, 5, &percent(line.rate), &format!("{}{of}", names.join(" + ")));
    for (name, read) in line.things.iter().filter_map(|t| Some((&t.name, t.read.as_ref()?))) {
        let which = if line.things.len() > 1 {
            format!("{name}: ")
        } else {
            String::new()
        };
        page.entry("", 5, "", &format!("{which}fits by: {read}"));
    }
}
