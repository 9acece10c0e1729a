//! What was typed for a numeric test → one value, its uncertainty, the likelihood of each band.
//!
//! **Baselines.** Where the site file knows what the gate read when it was well, the answer carries that reading under the name [`BASELINE`]. The test's
//! `baseline` formula then takes the place of its `value`, and the same bands judge it: today's amps over those of the last service and not over the plate's,
//! today's inductance over that of this very loop and not over a rule. One answer gives one outcome either way, so nothing counts twice. The baseline has the
//! meter error of a reading of its own; it is an earlier reading, so both errors add by their squares.

use std::collections::BTreeMap;

use crate::formula::{Formula, Value};
use crate::knowledge::Knowledge;
use crate::knowledge::schema::{ReadingSpec, Test};
use crate::model::SiteFacts;
use crate::quantity::{Meters, Reading, ReadingError, Unit, in_band, parse_reading};

/// The name under which an answer carries the baseline that it is judged by, and a formula sees it.
pub const BASELINE: &str = "baseline";

/// The readings of a test that are asked for: all of them, or with a baseline those that its formula names.
#[must_use]
pub fn asked(test: &Test, with_baseline: bool) -> Vec<&str> {
    let used = test.baseline.as_ref().filter(|_| with_baseline).map(|b| {
        let formula = Formula::parse(&b.value);
        formula.map_or_else(|_| Vec::new(), |f| f.variables())
    });
    let ids = test.readings.keys().map(String::as_str);
    match used {
        None => ids.collect(),
        Some(used) => ids.filter(|id| used.iter().any(|(name, _)| name == id)).collect(),
    }
}

/// The formula that judges an answer: that of the baseline where the answer carries one.
#[must_use]
pub fn judging<'t>(test: &'t Test, readings: &BTreeMap<String, String>) -> Option<&'t str> {
    let baseline = test.baseline.as_ref().filter(|_| readings.contains_key(BASELINE));
    baseline.map(|b| b.value.as_str()).or(test.value.as_deref())
}

/// A numeric answer, worked out.
#[derive(Debug, Clone, PartialEq)]
pub struct Evaluated {
    /// The value that the bands judge; `None` for an over-range display.
    pub value: Option<f64>,
    /// Standard uncertainty of the value.
    pub sigma: f64,
    /// P(this reading | band), band by band.
    pub likelihood: Vec<f64>,
    /// The band it lies in.
    pub outcome: usize,
}

/// Why an answer can't be taken as it is.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ReadingProblem {
    /// The text can't be read.
    #[error("{error}")]
    Text {
        /// Which reading.
        reading: String,
        /// Why.
        error: ReadingError,
    },
    /// It can be read, but hardly be so.
    #[error(
        "{shown} is hardly possible here: {low} to {high} {unit} was expected. Look at the meter's range and unit again."
    )]
    OutOfRange {
        /// Which reading.
        reading: String,
        /// What was typed.
        shown: String,
        /// Lowest believable.
        low: f64,
        /// Highest believable.
        high: f64,
        /// Unit.
        unit: Unit,
    },
    /// An over-range display that the author gave no meaning.
    #[error(
        "OL says that the meter is on the wrong range here, or the lead is off. Try the next range, or answer ? if you can't tell."
    )]
    OverLoad {
        /// Which reading.
        reading: String,
    },
    /// Nobody can tell: no evidence.
    #[error("nobody can tell")]
    CantTell,
    /// A reading is missing.
    #[error("the reading `{0}` is missing")]
    Missing(String),
    /// The formula gives no number for these readings.
    #[error("these readings give no result: {0}")]
    Formula(String),
}

/// Works out a numeric answer read off the usual meters. `believed` takes values outside the expected range as they are.
///
/// # Errors
/// [`ReadingProblem`]: what was wrong with which reading.
pub fn evaluate(
    knowledge: &Knowledge,
    test: &Test,
    readings: &BTreeMap<String, String>,
    site: &SiteFacts,
    believed: bool,
) -> Result<Evaluated, ReadingProblem> {
    evaluate_with(knowledge, &Meters::default(), test, readings, site, believed)
}

/// The same, read off these meters where the author does not say which.
///
/// # Errors
/// [`ReadingProblem`]: what was wrong with which reading.
pub fn evaluate_with(
    knowledge: &Knowledge,
    meters: &Meters,
    test: &Test,
    readings: &BTreeMap<String, String>,
    site: &SiteFacts,
    believed: bool,
) -> Result<Evaluated, ReadingProblem> {
    let mut values: BTreeMap<&str, (f64, f64, Unit)> = BTreeMap::new();
    let baseline = test.baseline.as_ref().filter(|_| readings.contains_key(BASELINE));
    let asked = asked(test, baseline.is_some());
    let mut specs: Vec<(&str, &ReadingSpec)> = asked.into_iter().map(|id| (id, &test.readings[id])).collect();
    if let Some(spec) = baseline.and_then(|b| test.readings.get(&b.reading)) {
        specs.push((BASELINE, spec));
    }
    for (id, spec) in specs {
        let text = readings.get(id).ok_or_else(|| ReadingProblem::Missing(id.to_owned()))?;
        match one(meters, id, spec, text, believed)? {
            One::Value(value, sigma) => {
                values.insert(id, (value, sigma, spec.unit));
            }
            One::Means(outcome) => return over_load(test, id, &outcome),
        }
    }
    let (value, sigma) = combine(knowledge, judging(test, readings), &values, site)?;
    let likelihood: Vec<f64> = test
        .bands
        .values()
        .map(|b| in_band(value, sigma, b.from, b.below))
        .collect();
    let inside =
        |b: &crate::knowledge::schema::Band| b.from.is_none_or(|f| value >= f) && b.below.is_none_or(|l| value < l);
    let outcome = test.bands.values().position(inside).unwrap_or(0);
    Ok(Evaluated {
        value: Some(value),
        sigma,
        likelihood,
        outcome,
    })
}

enum One {
    Value(f64, f64),
    Means(String),
}

fn one(meters: &Meters, id: &str, spec: &ReadingSpec, text: &str, believed: bool) -> Result<One, ReadingProblem> {
    let reading = parse_reading(text, spec.unit).map_err(|error| ReadingProblem::Text {
        reading: id.to_owned(),
        error,
    })?;
    match reading {
        Reading::CantTell => Err(ReadingProblem::CantTell),
        Reading::OverLoad => match &spec.ol {
            Some(outcome) => Ok(One::Means(outcome.clone())),
            None => Err(ReadingProblem::OverLoad { reading: id.to_owned() }),
        },
        Reading::Value(given) => {
            let value = given.quantity.value;
            if let Some([low, high]) = spec.range
                && !believed
                && !(low..=high).contains(&value)
            {
                let (reading, shown) = (id.to_owned(), given.text);
                return Err(ReadingProblem::OutOfRange {
                    reading,
                    shown,
                    low,
                    high,
                    unit: spec.unit,
                });
            }
            let meter = spec.meter.unwrap_or_else(|| meters.class(spec.unit));
            Ok(One::Value(value, meter.sigma(value)))
        }
    }
}

fn over_load(test: &Test, reading: &str, outcome: &str) -> Result<Evaluated, ReadingProblem> {
    let at = test
        .bands
        .get_index_of(outcome)
        .ok_or_else(|| ReadingProblem::OverLoad {
            reading: reading.to_owned(),
        })?;
    let likelihood = (0..test.bands.len()).map(|b| f64::from(u8::from(b == at))).collect();
    Ok(Evaluated {
        value: None,
        sigma: 0.0,
        likelihood,
        outcome: at,
    })
}

/// The formula's value and σ² = Σ (∂v/∂xᵢ σᵢ)², or the single reading.
fn combine(
    knowledge: &Knowledge,
    formula: Option<&str>,
    values: &BTreeMap<&str, (f64, f64, Unit)>,
    site: &SiteFacts,
) -> Result<(f64, f64), ReadingProblem> {
    let Some(text) = formula else {
        let single = values
            .values()
            .next()
            .ok_or_else(|| ReadingProblem::Missing("value".to_owned()))?;
        return Ok((single.0, single.1));
    };
    let problem = |e: crate::formula::FormulaError| ReadingProblem::Formula(e.message);
    let formula = Formula::parse(text).map_err(problem)?;
    let value_of = |name: &str| {
        if let Some(&(value, _, unit)) = values.get(name) {
            return Some(Value::Number(value, unit));
        }
        let (id, fact) = knowledge.fact_named(name)?;
        let known = site.get(id)?;
        match &fact.number {
            Some(number) => parse_reading(known, number.unit)
                .ok()?
                .value()
                .map(|v| Value::Number(v, number.unit)),
            None => Some(Value::Text(known.to_owned())),
        }
    };
    let value = formula.eval(&value_of).map_err(problem)?;
    let sigma = formula
        .propagate(&value_of, &|name| values.get(name).map(|v| v.1))
        .map_err(problem)?;
    Ok((value, sigma))
}
