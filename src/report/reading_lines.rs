//! What was measured or seen, each against the limits that judge it.

use std::collections::BTreeMap;

use super::phrases;
use super::privacy::plain_text;
use super::record::{Gauge, GaugeBand, ReadingLine};
use crate::call::{BASELINE, Call, Counted, Evaluated, Event, Terms, asked, evaluate, judging};
use crate::formula::{Formula, VarType};
use crate::knowledge::schema::{Band, ReadingSpec, Test};
use crate::quantity::{Meters, Reading, Unit, parse_reading};

/// Every answer, in the order of the journal.
pub(super) fn lines(call: &Call<'_>) -> Vec<ReadingLine> {
    let places = phrases::places(call);
    let line = |counted: &Counted| line(call, counted, phrases::place(*places.get(counted.event)?));
    let mut lines: Vec<ReadingLine> = call.answers().iter().filter_map(line).collect();
    lines
        .iter_mut()
        .zip(1..)
        .for_each(|(line, number)| line.number = number);
    lines
}

fn line(call: &Call<'_>, counted: &Counted, taken: &str) -> Option<ReadingLine> {
    let knowledge = &call.engine.knowledge;
    let entry = call.entries.get(counted.event)?;
    let Event::Answer { readings, .. } = &entry.event else {
        return None;
    };
    let (_, test) = knowledge.tests.get_index(counted.test.index())?;
    let outcome = phrases::outcome(knowledge, counted.test.index(), counted.outcome);
    let (reading, limits, gauge) = match &counted.numbers {
        Some(numbers) => {
            let scale = scale(call, test, readings, numbers);
            let gauge = gauge(call, counted, test, numbers, &scale);
            let limits: Vec<String> = gauge.bands.iter().map(|b| format!("{}: {}", b.range, b.says)).collect();
            let meters = Terms::of(&call.entries[..counted.event]).meters;
            let typed = typed(test, &meters, readings, numbers, &scale);
            (typed, limits.join("; "), Some(gauge))
        }
        None => (outcome.clone(), healthy(call, counted), None),
    };
    let normal = &call.engine.model.tests[counted.test.index()].normal;
    Some(ReadingLine {
        number: 0,
        taken: taken.to_owned(),
        normal: normal.get(counted.outcome).copied().unwrap_or(false),
        gauge,
        time: plain_text(&entry.time),
        test: plain_text(&test.title),
        place: test
            .place
            .as_ref()
            .map(|id| plain_text(knowledge.places.get(id).map_or(id, |p| &p.title))),
        reading,
        limits,
        outcome,
        by: phrases::rank(counted.by).to_owned(),
        counts: counted.counts,
    })
}

/// The readings as they were typed, each with its unit and the most that the meter may err; where limits are those of a formula, its value too.
fn typed(
    test: &Test,
    meters: &Meters,
    readings: &BTreeMap<String, String>,
    numbers: &Evaluated,
    scale: &Scale,
) -> String {
    let before = test.baseline.as_ref().and_then(|b| {
        let spec = test.readings.get(&b.reading)?;
        Some(format!("baseline {}", one(spec, meters, readings.get(BASELINE)?)))
    });
    let several = asked(test, before.is_some()).len() > 1;
    let mut parts: Vec<String> = test
        .readings
        .iter()
        .filter_map(|(id, spec)| {
            let shown = one(spec, meters, readings.get(id)?);
            let label = spec.ask.as_deref().unwrap_or(id);
            Some(if several {
                format!("{}: {shown}", plain_text(label))
            } else {
                shown
            })
        })
        .chain(before)
        .collect();
    if let (Some(formula), Some(value), false) = (judging(test, readings), numbers.value, scale.as_reading) {
        let unit = scale.unit.suffix();
        let sigma = if numbers.sigma > 0.0 {
            format!(" ± {}{unit} (standard uncertainty)", digits(numbers.sigma, 2))
        } else {
            String::new()
        };
        parts.push(format!("{} = {}{unit}{sigma}", plain_text(formula), digits(value, 4)));
    }
    parts.join("; ")
}

/// `12.4 V ± 0.1 V`; a bare number gets the unit it was taken in.
fn one(spec: &ReadingSpec, meters: &Meters, text: &str) -> String {
    let shown = plain_text(text);
    let Ok(Reading::Value(given)) = parse_reading(text, spec.unit) else {
        return shown;
    };
    let shown = if shown.chars().any(|c| c.is_alphabetic() || "°%'\"".contains(c)) {
        shown
    } else {
        format!("{shown}{}", spec.unit.suffix())
    };
    let meter = spec.meter.unwrap_or_else(|| meters.class(spec.unit));
    let limit = meter.limit(given.quantity.value);
    if limit > 0.0 {
        format!("{shown} ± {}{}", digits(limit, 2), spec.unit.suffix())
    } else {
        shown
    }
}

/// How the limits are counted: as the reading itself, or as the formula's value.
struct Scale {
    factor: f64,
    unit: Unit,
    as_reading: bool,
}

/// Where one reading is judged by a formula that is proportional to it, the limits are shown as readings: volts, not a ratio.
fn scale(call: &Call<'_>, test: &Test, readings: &BTreeMap<String, String>, numbers: &Evaluated) -> Scale {
    let as_value = Scale {
        factor: 1.0,
        unit: value_unit(call, test, readings),
        as_reading: false,
    };
    let [id] = asked(test, readings.contains_key(BASELINE) && test.baseline.is_some())[..] else {
        return as_value;
    };
    let spec = &test.readings[id];
    let as_reading = |factor: f64| Scale {
        factor,
        unit: spec.unit,
        as_reading: true,
    };
    if judging(test, readings).is_none() {
        return as_reading(1.0);
    }
    let reading = readings.get(id).and_then(|text| parse_reading(text, spec.unit).ok());
    let (Some(reading), Some(value)) = (reading.and_then(|r| r.value()), numbers.value) else {
        return as_value;
    };
    let mut doubled = readings.clone();
    doubled.insert(id.to_owned(), format!("{}{}", 2.0 * reading, spec.unit.suffix()));
    let twice = evaluate(&call.engine.knowledge, test, &doubled, &call.situation().site, true);
    match twice.ok().and_then(|e| e.value) {
        Some(twice) if reading > 0.0 && value > 0.0 && (twice / value - 2.0).abs() < 1e-9 => {
            as_reading(reading / value)
        }
        _ => as_value,
    }
}

/// The unit in which a test's formula counts; a plain number where there is none.
fn value_unit(call: &Call<'_>, test: &Test, readings: &BTreeMap<String, String>) -> Unit {
    let number = |name: &str| {
        let fact = || {
            call.engine
                .knowledge
                .fact_named(name)
                .and_then(|(_, f)| f.number.as_ref())
                .map(|n| n.unit)
        };
        let spec = match &test.baseline {
            Some(b) if name == BASELINE => test.readings.get(&b.reading),
            _ => test.readings.get(name),
        };
        let unit = spec.map(|r| r.unit).or_else(fact);
        Some(unit.map_or(VarType::Text, VarType::Number))
    };
    let formula = judging(test, readings).and_then(|text| Formula::parse(text).ok());
    formula
        .and_then(|f| f.unit(&number).ok().flatten())
        .unwrap_or(Unit::One)
}

/// The number against its limits, in the scale of both.
fn gauge(call: &Call<'_>, counted: &Counted, test: &Test, numbers: &Evaluated, scale: &Scale) -> Gauge {
    let normal = &call.engine.model.tests[counted.test.index()].normal;
    let bands = test.bands.values().enumerate().map(|(at, band)| GaugeBand {
        from: band.from.map(|limit| limit * scale.factor),
        below: band.below.map(|limit| limit * scale.factor),
        range: range(band, scale),
        says: plain_text(&band.say),
        normal: normal.get(at).copied().unwrap_or(false),
        holds: at == counted.outcome,
    });
    // A meter's error is taken as rectangular: its limit is √3 standard uncertainties.
    let times = if scale.as_reading {
        3f64.sqrt() * scale.factor
    } else {
        1.0
    };
    let mut bands: Vec<GaugeBand> = bands.collect();
    bands.sort_by(|a, b| {
        let low = |b: &GaugeBand| b.from.unwrap_or(f64::NEG_INFINITY);
        low(a).total_cmp(&low(b))
    });
    Gauge {
        value: numbers.value.map(|v| v * scale.factor),
        unit: scale.unit.suffix().trim().to_owned(),
        error: numbers.sigma * times,
        formula: test.value.as_deref().filter(|_| !scale.as_reading).map(plain_text),
        bands,
    }
}

/// `22 V to below 24 V`.
fn range(band: &Band, scale: &Scale) -> String {
    let number = |limit: f64| format!("{}{}", digits(limit * scale.factor, 3), scale.unit.suffix());
    match (band.from, band.below) {
        (None, None) => "any value".to_owned(),
        (Some(from), None) => format!("{} or more", number(from)),
        (None, Some(below)) => format!("below {}", number(below)),
        (Some(from), Some(below)) => format!("{} to below {}", number(from), number(below)),
    }
}

/// What an observation would be with nothing wrong.
fn healthy(call: &Call<'_>, counted: &Counted) -> String {
    let table = &call.engine.model.tests[counted.test.index()];
    let normal: Vec<String> = (0..table.outcomes.len())
        .filter(|&o| table.normal[o])
        .map(|o| phrases::outcome(&call.engine.knowledge, counted.test.index(), o))
        .collect();
    format!("nothing wrong: {}", normal.join(", or "))
}

/// A number with so many digits that count, without trailing zeros.
pub(super) fn digits(value: f64, significant: i32) -> String {
    if value == 0.0 || !value.is_finite() {
        return format!("{value}");
    }
    #[expect(clippy::cast_possible_truncation, reason = "a decimal exponent lies within ±308")]
    let before = value.abs().log10().floor() as i32;
    let places = usize::try_from((significant - 1 - before).clamp(0, 12)).unwrap_or(0);
    let text = format!("{value:.places$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::digits;

    #[test]
    fn digits_that_count() {
        for (value, significant, shown) in [
            (22.008, 3, "22"),
            (0.917, 3, "0.917"),
            (0.733_333, 4, "0.7333"),
            (1234.5, 3, "1234"),
            (0.000_12, 2, "0.00012"),
            (-0.5, 2, "-0.5"),
            (0.0, 2, "0"),
        ] {
            assert_eq!(digits(value, significant), shown);
        }
    }
}
