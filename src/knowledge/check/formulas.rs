//! Formulas can be read, name what there is, and their units fit.

use super::Found;
use crate::call::BASELINE;
use crate::finding::{Code, Location};
use crate::formula::{Formula, FormulaError, ValueType, VarType};
use crate::knowledge::Knowledge;
use crate::knowledge::schema::{Baseline, Test};

pub(super) fn check(found: &mut Found<'_>) {
    for (id, test) in &found.knowledge.tests {
        match &test.value {
            Some(text) => {
                if let Err(error) = judge(found, id, test, text) {
                    let location = inside(found.knowledge, id, &["value"], error.column);
                    found.located(Code::BadFormula, location, error.message, error.help);
                }
            }
            None if test.readings.len() > 1 => {
                let message = format!("`{id}` has {} readings and no formula", test.readings.len());
                let help = "add `value:` with the formula that makes one number of them";
                found.at(Code::BadFormula, ("tests", id), &["readings"], message, help);
            }
            None => {}
        }
        if let Some(baseline) = &test.baseline
            && let Err(error) = judge_baseline(found.knowledge, test, baseline)
        {
            let location = match error.column {
                0 => found.knowledge.locate("tests", id, &["baseline", "reading"]),
                column => inside(found.knowledge, id, &["baseline", "value"], column),
            };
            found.located(Code::BadFormula, location, error.message, error.help);
        }
    }
}

/// A baseline names a reading of its test, and its formula gives what the test's own formula gives. Column 0: the reading is wrong, not the formula.
fn judge_baseline(k: &Knowledge, test: &Test, baseline: &Baseline) -> Result<(), FormulaError> {
    let problem = |message: String, column: usize, help: &str| FormulaError {
        message,
        column,
        help: help.to_owned(),
    };
    let Some(spec) = test.readings.get(&baseline.reading) else {
        let message = format!("there is no reading `{}` in this test", baseline.reading);
        return Err(problem(message, 0, "name one of the test's readings"));
    };
    if test.readings.contains_key(BASELINE) {
        let message = format!("a reading is called `{BASELINE}`, and that is what the formula calls the earlier one");
        return Err(problem(message, 0, "give the reading another id"));
    }
    let formula = Formula::parse(&baseline.value)?;
    let type_of = |name: &str| {
        if name == BASELINE {
            return Some(VarType::Number(spec.unit));
        }
        variable(k, test, name)
    };
    let mut known: Vec<String> = test.readings.keys().chain(k.facts.keys()).cloned().collect();
    known.push(BASELINE.to_owned());
    let given = formula.check_among(&type_of, &known)?;
    if !formula.variables().iter().any(|(name, _)| name == BASELINE) {
        return Err(problem(
            format!("this formula does not use `{BASELINE}`"),
            1,
            "judge today's reading by it, as in `amps / baseline`",
        ));
    }
    let own = match &test.value {
        Some(text) => Formula::parse(text).and_then(|f| f.check_among(&|name| variable(k, test, name), &known)),
        None => Ok(ValueType::Number(spec.unit.dimension())),
    };
    if own.is_ok_and(|own| own != given) {
        return Err(problem(
            "this formula gives another kind of number than the test's own, and the same bands judge both".to_owned(),
            1,
            "let both give a ratio, or both the same unit",
        ));
    }
    Ok(())
}

/// What a name means in a formula of a test.
fn variable(k: &Knowledge, test: &Test, name: &str) -> Option<VarType> {
    if let Some(spec) = test.readings.get(name) {
        return Some(VarType::Number(spec.unit));
    }
    let (_, fact) = k.fact_named(name)?;
    Some(match &fact.number {
        Some(number) => VarType::Number(number.unit),
        None => VarType::Choice(fact.values.keys().cloned().collect()),
    })
}

fn judge(found: &mut Found<'_>, id: &str, test: &Test, text: &str) -> Result<(), FormulaError> {
    let k = found.knowledge;
    let formula = Formula::parse(text)?;
    let type_of = |name: &str| variable(k, test, name);
    let known: Vec<String> = test.readings.keys().chain(k.facts.keys()).cloned().collect();
    if formula.check_among(&type_of, &known)? == ValueType::Bool {
        return Err(FormulaError {
            message: "this formula gives yes or no, and bands need a number".to_owned(),
            column: 1,
            help: "write `… ? 1 : 0` to turn it into a number".to_owned(),
        });
    }
    let used = formula.variables();
    for reading in test.readings.keys() {
        if !used.iter().any(|(name, _)| name == reading) {
            let message = format!("`{reading}` is read, but the formula does not use it");
            let help = "use it in `value:`, or don't ask for it";
            found.at(
                Code::UnusedReading,
                ("tests", id),
                &["readings", reading],
                message,
                help,
            );
        }
    }
    Ok(())
}

/// The place of a formula's column in its file: quotes and escapes before it are stepped over.
fn inside(knowledge: &Knowledge, id: &str, field: &[&str], column: usize) -> Location {
    let start = knowledge.locate("tests", id, field);
    let position = knowledge.sources.position(&start);
    let raw: Vec<char> = knowledge
        .sources
        .line(start.file, position.line)
        .chars()
        .skip(position.column.saturating_sub(1))
        .collect();
    Location {
        offset: raw_offset(&raw, column.saturating_sub(1)),
        ..start
    }
}

/// How far right in a line's scalar its `nth` character stands; the line's last character where it goes on below.
fn raw_offset(raw: &[char], nth: usize) -> usize {
    let mut at = match raw.first() {
        Some('"' | '\'') => 1,
        Some('|' | '>') => return 0,
        _ => 0,
    };
    for _ in 0..nth {
        at += match (raw.first(), raw.get(at), raw.get(at + 1)) {
            (Some('"'), Some('\\'), _) | (Some('\''), Some('\''), Some('\'')) => 2,
            _ => 1,
        };
    }
    at.min(raw.len().saturating_sub(1))
}

#[cfg(test)]
mod tests {
    use super::raw_offset;

    fn offset(line: &str, nth: usize) -> usize {
        raw_offset(&line.chars().collect::<Vec<_>>(), nth)
    }

    #[test]
    fn quotes_and_escapes_are_stepped_over() {
        assert_eq!(offset("volts / x", 8), 8);
        assert_eq!(offset("\"volts / x\"", 8), 9);
        assert_eq!(offset(r#""p == \"a\" ? y : z""#, 11), 14);
        assert_eq!(offset("'p == ''a'' ? y'", 9), 12);
    }

    #[test]
    fn a_formula_that_goes_on_below_stays_in_its_line() {
        assert_eq!(offset("volts /", 30), 6);
        assert_eq!(offset(">-", 30), 0);
    }
}
