//! A relation of the trade as a page: the list of them, one of them, one worked out.

use super::page::Page;
use super::style::Style;
use crate::quantity::System;
use crate::trade::bench::{Judged, Worked, figure, given};
use crate::trade::{Function, Held, Parameter, groups};

/// Our signs and what stands for them on a page of ASCII.
const ASCII: [(&str, &str); 15] = [
    ("·", "*"),
    ("−", "-"),
    ("√", "sqrt"),
    ("π", "pi"),
    ("²", "^2"),
    ("×", "x"),
    ("±", "+/-"),
    ("°", "deg "),
    ("Ω", "ohm"),
    ("µ", "u"),
    ("–", "-"),
    ("…", "..."),
    ("≥", ">="),
    ("─", "-"),
    ("\u{a0}", " "),
];

fn finished(page: Page<'_>) -> String {
    let unicode = page.style().unicode;
    let text = page.finish();
    if unicode {
        return text;
    }
    ASCII.iter().fold(text, |text, (sign, plain)| text.replace(sign, plain))
}

/// Every subject by group.
#[must_use]
pub fn calc_list(style: &Style) -> String {
    let mut page = Page::new(style);
    let widest = groups().flat_map(|g| g.functions).map(|f| f.subject.len()).max();
    let lead = widest.unwrap_or(0);
    for group in groups() {
        page.title(group.title);
        for f in group.functions {
            row(&mut page, lead, f.subject, f.about);
        }
    }
    page.line("");
    page.line("`pintle calc SUBJECT` shows what a subject takes; `pintle calc SUBJECT name=value …` works it out.");
    finished(page)
}

/// A name of `lead` columns and its text, further lines under the text.
fn row(page: &mut Page<'_>, lead: usize, name: &str, text: &str) {
    let style = *page.style();
    let width = style.width.saturating_sub(lead + 2).max(20);
    for (i, line) in wrapped(text, width).iter().enumerate() {
        let name = if i == 0 { name } else { "" };
        page.as_it_is(format!("{name:lead$}  {line}").trim_end());
        page.as_it_is("\n");
    }
}

fn wrapped(text: &str, width: usize) -> Vec<String> {
    // A number stays with its percent sign.
    let text = text.replace(" %", "\u{a0}%");
    let options = textwrap::Options::new(width)
        .word_separator(textwrap::WordSeparator::AsciiSpace)
        .word_splitter(textwrap::WordSplitter::NoHyphenation);
    let lines = textwrap::wrap(&text, options);
    lines.iter().map(|l| l.replace('\u{a0}', " ")).collect()
}

/// What a subject takes, and an example to type.
#[must_use]
pub fn calc_subject(function: &Function, style: &Style) -> String {
    let mut page = Page::new(style);
    head(&mut page, function);
    let rows = function.params.iter().map(|p| (p, described(p)));
    table(&mut page, "inputs", rows.collect());
    page.entry("gives", 0, "", &unit_words(function));
    if let Some(limit) = &function.limit {
        page.entry("limit", 0, "", limit.about);
        page.entry("", 0, "", &format!("({})", limit.source));
        let rows = limit.needs.iter().map(|p| (p, described(p)));
        table(&mut page, "judged by", rows.collect());
    }
    page.entry("source", 0, "", function.source);
    page.entry("in packs", 0, "", &call_text(function));
    page.entry("example", 0, "", &example(function));
    finished(page)
}

/// A subject with its example inputs, as typed in a shell.
#[must_use]
pub fn example(function: &Function) -> String {
    let inputs: Vec<String> = function.inputs().map(|p| format!("{}={}", p.name, p.example)).collect();
    format!("pintle calc {} {}", function.subject, inputs.join(" "))
}

fn call_text(function: &Function) -> String {
    let names: Vec<&str> = function.params.iter().map(|p| p.name).collect();
    format!("{}({})", function.name, names.join(", "))
}

fn unit_words(function: &Function) -> String {
    match function.gives {
        crate::quantity::Unit::One => "a plain number".to_owned(),
        unit => unit.symbol().to_owned(),
    }
}

fn described(parameter: &Parameter) -> String {
    let unit = parameter.unit;
    let from = given(parameter.low, unit);
    let range = if parameter.high.is_infinite() {
        format!("from {from} on")
    } else {
        format!("{from} to {}", given(parameter.high, unit))
    };
    let usual = parameter
        .usual
        .map_or(String::new(), |v| format!("; usually {}", given(v, unit)));
    format!("{}; {range}{usual}", parameter.about)
}

fn head(page: &mut Page<'_>, function: &Function) {
    page.title(function.subject);
    page.line(function.about);
    page.entry("formula", 0, "", function.formula);
}

fn table(page: &mut Page<'_>, label: &str, rows: Vec<(&Parameter, String)>) {
    let lead = rows.iter().map(|(p, _)| p.name.chars().count()).max().unwrap_or(0);
    for (i, (parameter, text)) in rows.iter().enumerate() {
        let figure = format!("{:lead$}", parameter.name);
        page.entry(if i == 0 { label } else { "" }, lead, &figure, text);
    }
}

/// A relation worked out, its figures in the units of `system`.
#[must_use]
pub fn calc_page(worked: &Worked, system: System, style: &Style) -> String {
    let function = worked.function;
    let mut page = Page::new(style);
    head(&mut page, function);
    inputs(&mut page, worked, system);
    page.field(
        "result",
        &style.strong(&system.shown(worked.result.value, function.gives, figure)),
    );
    if let Some(words) = worked.meaning {
        page.entry("it says", 0, "", words);
    }
    judged(&mut page, worked, system);
    page.entry("source", 0, "", function.source);
    finished(page)
}

fn inputs(page: &mut Page<'_>, worked: &Worked, system: System) {
    let texts: Vec<(&str, String, String)> = worked
        .inputs
        .iter()
        .map(|input| {
            let parameter = input.parameter;
            let value = if input.value.is_infinite() {
                "OL".to_owned()
            } else if input.converted {
                system.shown(input.value, parameter.unit, figure)
            } else {
                system.shown(input.value, parameter.unit, given)
            };
            let note = match &input.typed {
                None => format!("{} (usual; none given)", parameter.about),
                Some(typed) if input.converted => format!("{} (typed {typed})", parameter.about),
                Some(_) => parameter.about.to_owned(),
            };
            (parameter.name, value, note)
        })
        .collect();
    let columns = |f: fn(&(&str, String, String)) -> usize| texts.iter().map(f).max().unwrap_or(0);
    let (names, values) = (columns(|t| t.0.chars().count()), columns(|t| t.1.chars().count()));
    for (i, (name, value, note)) in texts.iter().enumerate() {
        let figure = format!("{name:names$}  {value:>values$}");
        page.entry(if i == 0 { "inputs" } else { "" }, names + 2 + values, &figure, note);
    }
}

fn judged(page: &mut Page<'_>, worked: &Worked, system: System) {
    let Some(limit) = &worked.function.limit else {
        page.entry("limit", 0, "", "none: a figure to compare a reading with");
        return;
    };
    match &worked.judged {
        Judged::NoLimit => {}
        Judged::Needs(parameters) => {
            let names: Vec<String> = parameters.iter().map(|p| format!("{}={}", p.name, p.example)).collect();
            page.entry("limit", 0, "", limit.about);
            let text = format!("not judged: add {} ({})", names.join(" "), about_all(parameters));
            page.painted("", &text, Style::caution);
        }
        Judged::Held { held, bounds } => {
            let shown = |value: f64| system.shown(value, held.unit, figure);
            let (low, high) = (shown(bounds.0), shown(bounds.1));
            let allowed = match (bounds.0.is_finite(), bounds.1.is_finite()) {
                (true, true)
                    if bounds.0 < bounds.1 && (bounds.0 + bounds.1).abs() > 1e-9 * bounds.1.abs() && bounds.0 > 0.0 =>
                {
                    format!("{low} to {high}")
                }
                (_, true) => format!("at most {high}"),
                (true, false) => format!("at least {low}"),
                (false, false) => "none".to_owned(),
            };
            let what = match limit.of {
                Held::Result => "the result".to_owned(),
                Held::Input(name) => format!("{name}, {}", shown(held.value)),
            };
            page.entry("limit", 0, "", &format!("{allowed} for {what}: {}", limit.about));
            if worked.judged.within() == Some(true) {
                page.painted("", "within the limit", Style::good);
            } else {
                let side = if held.value < bounds.0 {
                    "UNDER THE LIMIT"
                } else {
                    "OVER THE LIMIT"
                };
                page.painted("", side, Style::caution);
            }
        }
    }
    page.entry("", 0, "", &format!("(limit: {})", limit.source));
}

fn about_all(parameters: &[&Parameter]) -> String {
    parameters.iter().map(|p| p.about).collect::<Vec<_>>().join("; ")
}
