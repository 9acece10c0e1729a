//! `pintle calc`: the trade's relations at the bench, each with its formula, its limit and its source.

use std::io::Write;

use serde_json::json;

use super::json as as_json;
use super::{CommandError, Exit};
use crate::knowledge::nearest;
use crate::quantity::System;
use crate::terminal::{Style, calc_example, calc_list, calc_page, calc_subject};
use crate::trade::bench::{BenchError, Judged, Worked, subject, typed_inputs, work_out};
use crate::trade::{Function, Held, Parameter, functions, groups};

/// Arguments of `pintle calc`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// What to work out; without it the subjects are listed
    #[arg(value_name = "SUBJECT")]
    pub subject: Option<String>,
    /// Inputs, with units as you would say them: `length=120ft`, `amps=1,5A`, `reading=8.2k`; none shows what it takes
    #[arg(value_name = "NAME=VALUE")]
    pub inputs: Vec<String>,
    /// Write JSON
    #[arg(long)]
    pub json: bool,
}

/// Lists the subjects, shows one, or works one out.
///
/// # Errors
/// An unknown subject, or inputs that are unknown, missing, unreadable or out of range.
pub fn run(args: &Args, units: System, style: &Style, out: &mut dyn Write) -> Result<Exit, CommandError> {
    let Some(name) = &args.subject else {
        let page = if args.json { as_json(&list())? } else { calc_list(style) };
        super::report::put(out, &page)?;
        return Ok(Exit::Ok);
    };
    let function = subject(&name.to_lowercase()).ok_or_else(|| no_subject(name))?;
    if args.inputs.is_empty() {
        let page = if args.json {
            as_json(&described(function))?
        } else {
            calc_subject(function, style)
        };
        super::report::put(out, &page)?;
        return Ok(Exit::Ok);
    }
    let worked = typed_inputs(&args.inputs).and_then(|typed| work_out(function, &typed));
    let worked = worked.map_err(|error| told(&error, function))?;
    let page = if args.json {
        as_json(&figures(&worked))?
    } else {
        calc_page(&worked, units, style)
    };
    super::report::put(out, &page)?;
    Ok(Exit::Ok)
}

fn no_subject(name: &str) -> CommandError {
    let known = functions().map(|f| f.subject);
    let hint = nearest(name, known).map_or_else(
        || "`pintle calc` lists the subjects".to_owned(),
        |near| format!("did you mean {near}? `pintle calc` lists the subjects"),
    );
    CommandError::new(format!("there is no subject {name}"), hint)
}

fn told(error: &BenchError, function: &Function) -> CommandError {
    let expected = |p: &Parameter| format!("{}: {}, such as {}={}", p.name, p.about, p.name, p.example);
    let mut hints = match error {
        BenchError::NoSuchInput { name, .. } => {
            let names: Vec<&str> = function.inputs().map(|p| p.name).collect();
            let near = nearest(name, names.iter().copied()).map(|n| format!("did you mean {n}?"));
            let mut hints: Vec<String> = near.into_iter().collect();
            hints.push(format!("its inputs: {}", names.join(", ")));
            hints
        }
        BenchError::Missing(parameters) => parameters.iter().map(|p| expected(p)).collect(),
        BenchError::Unread { parameter, .. }
        | BenchError::NoNumber { parameter, .. }
        | BenchError::Range { parameter, .. } => {
            vec![expected(parameter)]
        }
        BenchError::NoName(_) | BenchError::Twice(_) | BenchError::Together(_) => Vec::new(),
    };
    hints.push(format!("example: {}", calc_example(function)));
    CommandError {
        message: error.to_string(),
        hints,
        reader_gone: false,
    }
}

fn list() -> serde_json::Value {
    let group = |g: &'static crate::trade::Group| {
        let subjects: Vec<_> = g.functions.iter().map(described).collect();
        json!({"group": g.title, "subjects": subjects})
    };
    json!(groups().map(group).collect::<Vec<_>>())
}

fn described(function: &Function) -> serde_json::Value {
    let inputs: Vec<_> = function.params.iter().map(parameter).collect();
    let limit = function.limit.as_ref().map(|l| {
        let needs: Vec<_> = l.needs.iter().map(parameter).collect();
        json!({"about": l.about, "source": l.source, "needs": needs})
    });
    json!({
        "subject": function.subject,
        "name": function.name,
        "about": function.about,
        "formula": function.formula,
        "inputs": inputs,
        "gives": function.gives,
        "limit": limit,
        "source": function.source,
        "example": calc_example(function),
    })
}

fn parameter(p: &Parameter) -> serde_json::Value {
    json!({
        "name": p.name,
        "about": p.about,
        "unit": p.unit,
        "low": p.low,
        "high": finite(p.high),
        "usual": p.usual,
        "example": p.example,
    })
}

fn figures(worked: &Worked) -> serde_json::Value {
    let inputs: Vec<_> = worked
        .inputs
        .iter()
        .map(
            |i| json!({"name": i.parameter.name, "value": finite(i.value), "unit": i.parameter.unit, "typed": i.typed}),
        )
        .collect();
    let limit = worked.function.limit.as_ref().map(|l| {
        let of = match l.of {
            Held::Result => "result",
            Held::Input(name) => name,
        };
        let (low, high) = match &worked.judged {
            Judged::Held { bounds, .. } => (finite(bounds.0), finite(bounds.1)),
            _ => (None, None),
        };
        let needs: Vec<&str> = match &worked.judged {
            Judged::Needs(parameters) => parameters.iter().map(|p| p.name).collect(),
            _ => Vec::new(),
        };
        json!({"of": of, "low": low, "high": high, "within": worked.judged.within(), "needs": needs, "about": l.about, "source": l.source})
    });
    json!({
        "subject": worked.function.subject,
        "formula": worked.function.formula,
        "inputs": inputs,
        "result": {"value": finite(worked.result.value), "unit": worked.result.unit},
        "meaning": worked.meaning,
        "limit": limit,
        "source": worked.function.source,
    })
}

/// JSON has no infinity: `null` where there is no end, or the meter showed OL.
fn finite(value: f64) -> Option<f64> {
    value.is_finite().then_some(value)
}
