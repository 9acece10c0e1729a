//! The trade's own physics. Each relation has its source, its units and the range it holds for.
//!
//! One file a subject; [`functions`] lists what formulas can call and `pintle calc` shows.

pub mod arm;
pub mod batteries;
pub mod battery_load;
pub mod battery_state;
pub mod bench;
pub mod eyes;
pub mod forces;
mod function;
pub mod hinges;
pub mod inputs;
pub mod loop_rectangle;
pub mod loop_tests;
pub mod loops;
pub mod mains;
pub mod meters;
pub mod motion;
pub mod places;
pub mod radio;
pub mod radio_path;
mod registry;
pub mod run_time;
pub mod solar;
pub mod solar_year;
pub mod sun;
pub mod wind;
pub mod wire;

pub use function::{Function, Held, Limit, Meaning, Parameter};
pub use registry::{Group, functions, groups};

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

/// `x` on the straight lines between the rows of `table`, whose first column rises; the end rows hold beyond the ends.
pub(crate) fn interpolated(table: &[(f64, f64)], x: f64) -> f64 {
    let (Some(first), Some(last)) = (table.first(), table.last()) else {
        return f64::NAN;
    };
    if x <= first.0 {
        return first.1;
    }
    for pair in table.windows(2) {
        let ((x0, y0), (x1, y1)) = (pair[0], pair[1]);
        if x < x1 {
            return y0 + (y1 - y0) * (x - x0) / (x1 - x0);
        }
    }
    last.1
}

#[cfg(test)]
pub(crate) fn close(got: f64, want: f64, tolerance: f64) {
    assert!((got - want).abs() <= tolerance, "{got} against {want}");
}
