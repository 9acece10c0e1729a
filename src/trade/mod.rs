//! The trade's own physics: wire, loops, batteries. Each relation has its source, its units and the range it holds for.

pub mod batteries;
pub mod loops;
pub mod wire;

use crate::formula::functions::{Function, Parameter};
use crate::quantity::{Quantity, Unit};

/// A value outside the range in which a relation holds.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{what} is {given}, and this holds from {low} to {high}")]
pub struct OutOfRange {
    /// Which value.
    pub what: &'static str,
    /// What it was.
    pub given: Quantity,
    /// The least it may be.
    pub low: Quantity,
    /// The most it may be.
    pub high: Quantity,
}

/// `value` if it lies in `low..=high`.
pub(crate) fn within(what: &'static str, value: f64, unit: Unit, low: f64, high: f64) -> Result<f64, OutOfRange> {
    if value >= low && value <= high {
        return Ok(value);
    }
    let in_unit = |v| Quantity::new(v, unit);
    Err(OutOfRange {
        what,
        given: in_unit(value),
        low: in_unit(low),
        high: in_unit(high),
    })
}

const fn param(name: &'static str, unit: Unit) -> Parameter {
    Parameter { name, unit }
}

/// What formulas can call, besides the plain functions. `call` receives one number for each parameter; a missing
/// one would read as not-a-number and be refused by the range.
pub static FUNCTIONS: [Function; 4] = [
    Function {
        name: "loop_microhenry",
        params: &[param("perimeter_ft", Unit::Foot), param("turns", Unit::One)],
        gives: Unit::Microhenry,
        about: "inductance of a vehicle loop by the trade's rule, without its lead-in",
        source: loops::RULE_SOURCE,
        call: |a| loops::rule_microhenry(arg(a, 0), arg(a, 1)),
    },
    Function {
        name: "float_volts",
        params: &[param("cells", Unit::One), param("temperature_c", Unit::Celsius)],
        gives: Unit::Volt,
        about: "float volts of a sealed lead-acid battery at this temperature",
        source: batteries::FLOAT_SOURCE,
        call: |a| batteries::float_volts(arg(a, 0), arg(a, 1)),
    },
    Function {
        name: "wire_drop_volts",
        params: &[
            param("awg", Unit::One),
            param("one_way_ft", Unit::Foot),
            param("amps", Unit::Ampere),
        ],
        gives: Unit::Volt,
        about: "volts lost there and back in solid copper at 20 °C",
        source: wire::SOURCE,
        call: |a| wire::drop_volts(arg(a, 0), arg(a, 1), arg(a, 2), 20.0),
    },
    Function {
        name: "charge_percent",
        params: &[param("volts_per_12v_block", Unit::Volt)],
        gives: Unit::Percent,
        about: "charge of a rested flooded lead-acid 12 V block, give or take 10 points",
        source: batteries::REST_SOURCE,
        call: |a| batteries::charge_percent(arg(a, 0)),
    },
];

fn arg(args: &[f64], i: usize) -> f64 {
    args.get(i).copied().unwrap_or(f64::NAN)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_function_can_be_written_and_says_where_it_comes_from() {
        for (i, f) in FUNCTIONS.iter().enumerate() {
            assert!(
                f.name
                    .chars()
                    .all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_'),
                "{}",
                f.name
            );
            assert!(
                FUNCTIONS[..i].iter().all(|g| g.name != f.name),
                "{} is there twice",
                f.name
            );
            assert!(!f.about.is_empty() && !f.source.is_empty(), "{}", f.name);
        }
    }

    #[test]
    fn a_missing_or_impossible_argument_is_refused() {
        for f in &FUNCTIONS {
            assert!((f.call)(&[]).is_err(), "{}", f.name);
            assert!((f.call)(&vec![f64::NAN; f.params.len()]).is_err(), "{}", f.name);
            assert!((f.call)(&vec![-1e9; f.params.len()]).is_err(), "{}", f.name);
        }
    }
}
