//! Readings that a meter could show: numbers that fall into a band, near what real cases read, in the digits of the meter.

use std::collections::BTreeMap;

use rand_chacha::ChaCha8Rng;

use crate::call::evaluate;
use crate::knowledge::Knowledge;
use crate::knowledge::schema::{Band, CaseReading, ReadingSpec, Test};
use crate::lot::unit;
use crate::model::SiteFacts;
use crate::quantity::{MeterClass, Quantity, Reading, parse_reading};

/// Numbers by reading.
type Values = BTreeMap<String, f64>;

/// How surely a made-up reading should lie in its band, meter and all; less is taken where nothing better is found.
const SURELY: [f64; 3] = [0.98, 0.75, 0.5];
/// Tries for each of these.
const TRIES: u32 = 1_500;

/// Readings of a test (its id and entry) that lie in a band at this site. `None` where none can be found within the believable ranges.
pub(super) fn in_band(
    knowledge: &Knowledge,
    (id, test): (&str, &Test),
    band: usize,
    site: &SiteFacts,
    rng: &mut ChaCha8Rng,
) -> Option<BTreeMap<String, String>> {
    if let Some(over) = over_range(test, band) {
        return Some(over);
    }
    let known = cases(knowledge, id, test);
    let sure = |texts: &BTreeMap<String, String>| {
        let evaluated = evaluate(knowledge, test, texts, site, false).ok()?;
        (evaluated.outcome == band).then_some(evaluated.likelihood[band])
    };
    for enough in SURELY {
        let fits = |values: &Values| {
            let texts = shown(test, values);
            sure(&texts).filter(|p| *p >= enough).map(|_| texts)
        };
        // What somebody really read, give or take a little.
        let alike: Vec<&Values> = known.iter().filter(|v| fits(v).is_some()).collect();
        if !alike.is_empty() {
            let base = alike[pick(rng, alike.len())];
            let close = (0..20).find_map(|_| fits(&scattered(test, base, 0.02, rng)));
            return close.or_else(|| fits(base));
        }
        if let Some(found) = test.bands.get_index(band).and_then(|(_, b)| {
            let only = (test.value.is_none()).then(|| test.readings.iter().next()).flatten()?;
            (0..50).find_map(|_| fits(&[(only.0.clone(), between(b, test, only.1, rng))].into()))
        }) {
            return Some(found);
        }
        // From there, farther and farther away.
        for attempt in 0..TRIES {
            let base = if known.is_empty() {
                middle(test)
            } else {
                known[pick(rng, known.len())].clone()
            };
            let spread = 0.02 * 1.005_f64.powi(attempt.cast_signed());
            if let Some(found) = fits(&scattered(test, &base, spread, rng)) {
                return Some(found);
            }
        }
    }
    None
}

/// The same reading taken again: off by less than the meter may be.
pub(super) fn again(
    test: &Test,
    first: &BTreeMap<String, String>,
    random: &mut dyn FnMut() -> f64,
) -> BTreeMap<String, String> {
    let mut values = Values::new();
    for (id, text) in first {
        let Some(spec) = test.readings.get(id) else { continue };
        let Ok(Reading::Value(given)) = parse_reading(text, spec.unit) else {
            return first.clone();
        };
        let value = given.quantity.value;
        let off = 0.5 * (2.0 * random() - 1.0) * meter(spec).limit(value);
        let [low, high] = spec.range.unwrap_or([f64::NEG_INFINITY, f64::INFINITY]);
        values.insert(id.clone(), (value + off).clamp(low, high));
    }
    shown(test, &values)
}

/// A display over its range, where that is what the band means.
fn over_range(test: &Test, band: usize) -> Option<BTreeMap<String, String>> {
    let (band, limits) = test.bands.get_index(band)?;
    let (id, spec) = test.readings.iter().find(|(_, spec)| spec.ol.as_ref() == Some(band))?;
    // A band that also has numbers of its own is shown with a number.
    let numbers = limits.from.is_none_or(|from| spec.range.is_none_or(|r| from < r[1]));
    (!numbers && test.readings.len() == 1).then(|| BTreeMap::from([(id.clone(), "OL".to_owned())]))
}

/// Readings of that test in the cases of the knowledge.
fn cases(knowledge: &Knowledge, id: &str, test: &Test) -> Vec<Values> {
    let listed = knowledge.cases.iter().filter_map(|(_, case)| case.readings.get(id));
    listed.filter_map(|listed| values(test, listed)).collect()
}

fn values(test: &Test, listed: &CaseReading) -> Option<Values> {
    let texts: BTreeMap<&str, &str> = match listed {
        CaseReading::Text(text) => test
            .readings
            .keys()
            .take(1)
            .map(|r| (r.as_str(), text.as_str()))
            .collect(),
        CaseReading::Readings(map) => map.iter().map(|(r, t)| (r.as_str(), t.as_str())).collect(),
    };
    test.readings
        .iter()
        .map(|(id, spec)| {
            let read = parse_reading(texts.get(id.as_str())?, spec.unit).ok()?.value()?;
            Some((id.clone(), read))
        })
        .collect()
}

/// The middle of every believable range.
fn middle(test: &Test) -> Values {
    let of = |spec: &ReadingSpec| spec.range.map_or(10.0, |[low, high]| low.midpoint(high));
    test.readings.iter().map(|(id, spec)| (id.clone(), of(spec))).collect()
}

/// A value inside one band of a single reading: not at its limits, and not far from them where it is open to one side.
fn between(band: &Band, test: &Test, spec: &ReadingSpec, rng: &mut ChaCha8Rng) -> f64 {
    let [low, high] = spec.range.unwrap_or([0.0, 100.0]);
    let closed = test.bands.values().filter_map(|b| Some(b.below? - b.from?));
    let width = closed.fold(f64::INFINITY, f64::min);
    let reach = if width.is_finite() { width } else { 0.15 * (high - low) };
    let (from, below) = match (band.from, band.below) {
        (Some(from), Some(below)) => (from, below),
        (Some(from), None) => (from, (from + reach).min(high)),
        (None, Some(below)) => ((below - reach).max(low), below),
        (None, None) => (low, high),
    };
    let at = 0.1 + 0.8 * unit(rng);
    (from + at * (below - from)).clamp(low, high)
}

/// Each value moved by up to `spread` of itself, or of its range where it is near nothing.
fn scattered(test: &Test, base: &Values, spread: f64, rng: &mut ChaCha8Rng) -> Values {
    base.iter()
        .map(|(id, value)| {
            let [low, high] = test.readings[id].range.unwrap_or([0.0, 100.0]);
            let scale = value.abs().max(0.02 * (high - low));
            let moved = value + spread * scale * (2.0 * unit(rng) - 1.0);
            (id.clone(), moved.clamp(low, high))
        })
        .collect()
}

/// As the meter shows them.
fn shown(test: &Test, values: &Values) -> BTreeMap<String, String> {
    values
        .iter()
        .map(|(id, value)| {
            let spec = &test.readings[id];
            (id.clone(), Quantity::new(*value, spec.unit).shown(digit(spec)))
        })
        .collect()
}

fn meter(spec: &ReadingSpec) -> MeterClass {
    spec.meter.unwrap_or_else(|| MeterClass::usual_for(spec.unit))
}

/// Worth of the last digit; things that are counted are whole, shares have two decimals.
fn digit(spec: &ReadingSpec) -> f64 {
    let digit = meter(spec).digit;
    if digit > 0.0 {
        return digit;
    }
    let span = spec.range.map_or(100.0, |[low, high]| high - low);
    if span >= 5.0 { 1.0 } else { 0.01 }
}

fn pick(rng: &mut ChaCha8Rng, most: usize) -> usize {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "from 0 to a short list's length"
    )]
    let at = (unit(rng) * most as f64) as usize;
    at.min(most - 1)
}
