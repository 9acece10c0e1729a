//! Inputs that end in a resistor (edges, some eyes): what a reading at the controller's end says.
//!
//! Read with the lead off the controller and the power off, mains and battery. There is no standard value: 8.2 kΩ is
//! common in European edges, 10 kΩ in some American ones (common practice); it is printed on the edge or in its manual.
//! EN 12978 and ISO 13856-2 (from memory) ask that a break and a short are both noticed.

use super::{OutOfRange, within};
use crate::quantity::Unit;

/// Where the bands come from.
pub const BANDS_SOURCE: &str =
    "common practice (bands); that a break and a short must be noticed, from memory: EN 12978, ISO 13856-2";
/// Where the arithmetic comes from.
pub const OHM_SOURCE: &str = "resistors in parallel and in series, circuit theory";

/// The least and most of a healthy input in percent of its resistor.
pub const HEALTHY_PERCENT: (f64, f64) = (85.0, 115.0);

/// What a reading says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Terminated {
    /// Pressed, crushed or short-circuited.
    Shorted,
    /// Partly pressed, two resistors in parallel, or a heavy leak of water.
    Parallel,
    /// Water leaks beside the resistor.
    Leaking,
    /// At rest, whole.
    Healthy,
    /// A corroded joint, or two resistors in series.
    Series,
    /// A broken lead or resistor.
    Open,
}

impl Terminated {
    /// What `ohms` says of an input that ends in `resistor` ohms; the bands are those of an 8.2 kΩ edge, by share: under 3 kΩ,
    /// 5 kΩ, 7 kΩ, 9.4 kΩ, 30 kΩ.
    ///
    /// Resistor 100 Ω to 100 kΩ; a reading from 0 on, infinite where the meter shows OL.
    ///
    /// # Errors
    /// A value outside its range.
    pub fn of(resistor: f64, ohms: f64) -> Result<Self, OutOfRange> {
        let percent = share_percent(resistor, ohms)?;
        let (least, most) = HEALTHY_PERCENT;
        Ok(match percent {
            p if p < 37.0 => Self::Shorted,
            p if p < 61.0 => Self::Parallel,
            p if p < least => Self::Leaking,
            p if p <= most => Self::Healthy,
            p if p < 366.0 => Self::Series,
            _ => Self::Open,
        })
    }

    /// In words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Shorted => "pressed, or the strip is crushed or shorted",
            Self::Parallel => "partly pressed, two resistors in parallel, or a heavy leak of water",
            Self::Leaking => "water leaks beside the resistor",
            Self::Healthy => "healthy and at rest",
            Self::Series => "a corroded joint, or two resistors in series",
            Self::Open => "open: a broken lead or resistor",
        }
    }
}

/// A reading in percent of the resistor that the input ends in.
///
/// Resistor 100 Ω to 100 kΩ; a reading from 0 on, infinite where the meter shows OL.
///
/// # Errors
/// A value outside its range.
pub fn share_percent(resistor: f64, ohms: f64) -> Result<f64, OutOfRange> {
    let end = within("the resistor at the end", resistor, Unit::Ohm, 100.0, 100_000.0)?;
    Ok(100.0 * within("the reading", ohms, Unit::Ohm, 0.0, f64::INFINITY)? / end)
}

/// Ohms of two resistors in parallel, each 0.1 Ω to 100 MΩ: a leak beside an end resistor, two ends wired together.
///
/// # Errors
/// A value outside its range.
pub fn parallel(one: f64, other: f64) -> Result<f64, OutOfRange> {
    let a = within("one resistor", one, Unit::Ohm, 0.1, 1e8)?;
    let b = within("the other resistor", other, Unit::Ohm, 0.1, 1e8)?;
    Ok(a * b / (a + b))
}

/// Ohms of two resistors in series, each 0 to 100 MΩ: two ends one after the other, an end behind a corroded joint.
///
/// # Errors
/// A value outside its range.
pub fn series(one: f64, other: f64) -> Result<f64, OutOfRange> {
    Ok(within("one resistor", one, Unit::Ohm, 0.0, 1e8)? + within("the other resistor", other, Unit::Ohm, 0.0, 1e8)?)
}

/// Ohms of the leak that pulls an input of `resistor` down to `reading`: 1/(1/reading − 1/resistor).
///
/// Resistor 100 Ω to 100 kΩ, reading from 1 Ω to 99 % of it.
///
/// # Errors
/// A value outside its range.
pub fn leak(resistor: f64, reading: f64) -> Result<f64, OutOfRange> {
    let end = within("the resistor at the end", resistor, Unit::Ohm, 100.0, 100_000.0)?;
    let read = within("the reading", reading, Unit::Ohm, 1.0, 0.99 * end)?;
    Ok(1.0 / (1.0 / read - 1.0 / end))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::close;

    /// Worked by hand: two 8.2 kΩ ends are 4.10 kΩ in parallel; a leak of 20 kΩ beside one 5.82 kΩ, of 100 kΩ 7.58 kΩ.
    #[test]
    fn ends_and_leaks_in_parallel() {
        close(parallel(8200.0, 8200.0).unwrap(), 4100.0, 1e-9);
        close(parallel(8200.0, 20_000.0).unwrap(), 5820.0, 5.0);
        close(parallel(8200.0, 100_000.0).unwrap(), 7580.0, 5.0);
        close(leak(8200.0, 5815.6).unwrap(), 20_000.0, 5.0);
        assert!(leak(8200.0, 8200.0).is_err());
        close(series(8200.0, 8200.0).unwrap(), 16_400.0, 1e-9);
    }

    /// The bands of an 8.2 kΩ edge, and the same shares of a 10 kΩ one.
    #[test]
    fn what_a_reading_says() {
        let readings = [
            (0.5, Terminated::Shorted),
            (2_900.0, Terminated::Shorted),
            (4_100.0, Terminated::Parallel),
            (5_820.0, Terminated::Leaking),
            (8_200.0, Terminated::Healthy),
            (9_300.0, Terminated::Healthy),
            (16_400.0, Terminated::Series),
            (31_000.0, Terminated::Open),
            (f64::INFINITY, Terminated::Open),
        ];
        for (ohms, says) in readings {
            assert_eq!(Terminated::of(8200.0, ohms).unwrap(), says, "{ohms}");
            assert_eq!(Terminated::of(10_000.0, ohms / 0.82).unwrap(), says, "{ohms}");
        }
        assert!(Terminated::of(8200.0, -1.0).is_err() && Terminated::of(8200.0, f64::NAN).is_err());
    }
}
