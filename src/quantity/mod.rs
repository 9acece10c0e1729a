//! Quantities: units, what a person types for a reading, and how far a meter can be believed.
//!
//! Nothing here knows about gates. [`Unit`] and its table, [`parse_reading`] for typed text, [`MeterClass`] and
//! [`in_band`] for the chance that a reading lies in a band.

mod dimension;
mod meter;
mod meters;
mod reading;
mod reading_error;
mod system;
mod table;
mod typed;
mod unit;

pub use dimension::Dimension;
pub use meter::{MeterClass, in_band};
pub use meters::Meters;
pub use reading::{Given, Reading, parse_reading};
pub use reading_error::ReadingError;
pub use system::System;
pub use unit::{Unit, UnknownUnit};

use std::fmt;

/// A number together with the unit it is counted in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Quantity {
    /// The number, counted in `unit`.
    pub value: f64,
    /// The unit.
    pub unit: Unit,
}

impl Quantity {
    /// `value` counted in `unit`.
    #[must_use]
    pub const fn new(value: f64, unit: Unit) -> Self {
        Self { value, unit }
    }

    /// The same quantity in another unit, or `None` when the units do not convert
    /// (pounds of mass to pounds of force, dB to dBm).
    #[must_use]
    pub fn convert(self, to: Unit) -> Option<Self> {
        if self.unit == to {
            return Some(self);
        }
        self.unit
            .converts_to(to)
            .then(|| Self::new(self.unit.express(self.value, to), to))
    }

    /// As a meter shows it whose last digit counts `digit` (in this unit): `12.40 V` for a digit of 0.01.
    ///
    /// The value is rounded to a whole number of digits; a digit of zero or less shows the number as it is.
    #[must_use]
    pub fn shown(self, digit: f64) -> String {
        format!("{}{}", shown_number(self.value, digit), self.unit.suffix())
    }

    /// A length as a tape measure is read, `5 ft 6 1/2 in`, to the nearest 1/`parts` of an inch.
    ///
    /// `parts` is a ruler's division: 1, 2, 4, 8, 16, 32 or 64; any other number is taken as 16.
    /// `None` if this is no length or is too large to count.
    #[must_use]
    pub fn feet_inches(self, parts: u32) -> Option<String> {
        let parts = if matches!(parts, 1 | 2 | 4 | 8 | 16 | 32 | 64) {
            parts
        } else {
            16
        };
        let inches = self.convert(Unit::Inch)?.value;
        let ticks = (inches.abs() * f64::from(parts)).round();
        if !ticks.is_finite() || ticks > f64::from(u32::MAX) {
            return None;
        }
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "bounded just above"
        )]
        let ticks = ticks as u32;
        let (feet, rest) = (ticks / (12 * parts), ticks % (12 * parts));
        let (whole, mut over) = (rest / parts, rest % parts);
        let mut under = parts;
        while over != 0 && over % 2 == 0 {
            over /= 2;
            under /= 2;
        }
        let mut words = Vec::new();
        if feet > 0 {
            words.push(format!("{feet} ft"));
        }
        match (whole, over) {
            (0, 0) if feet > 0 => {}
            (_, 0) => words.push(format!("{whole} in")),
            (0, _) => words.push(format!("{over}/{under} in")),
            _ => words.push(format!("{whole} {over}/{under} in")),
        }
        let sign = if inches < 0.0 && ticks > 0 { "-" } else { "" };
        Some(format!("{sign}{}", words.join(" ")))
    }
}

impl fmt::Display for Quantity {
    /// The shortest text that reads back as the same number, then the unit: `12.4 V`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}", self.value, self.unit.suffix())
    }
}

/// `value` rounded to whole digits, with as many decimals as the digit needs.
fn shown_number(value: f64, digit: f64) -> String {
    if !(digit > 0.0 && digit.is_finite() && value.is_finite()) {
        return format!("{value}");
    }
    let mut decimals = 0_usize;
    let mut scale = 1.0_f64;
    while decimals < 9 && ((digit * scale).round() - digit * scale).abs() > 1e-9 * digit * scale {
        decimals += 1;
        scale *= 10.0;
    }
    let rounded = (value / digit).round() * digit;
    let text = format!("{rounded:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| c == '0' || c == '.') => rest.to_owned(),
        _ => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_meter_shows_every_digit_it_has() {
        assert_eq!(Quantity::new(12.4, Unit::Volt).shown(0.01), "12.40 V");
        assert_eq!(Quantity::new(-0.001, Unit::Volt).shown(0.01), "0.00 V");
        assert_eq!(Quantity::new(20.26, Unit::Celsius).shown(0.5), "20.5 °C");
        assert_eq!(Quantity::new(1234.0, Unit::Ohm).shown(10.0), "1230 Ω");
        assert_eq!(Quantity::new(3.0, Unit::One).shown(1.0), "3");
        assert_eq!(Quantity::new(1.5, Unit::Volt).shown(0.0), "1.5 V");
    }

    #[test]
    fn lengths_read_like_a_tape() {
        let inches = |v| Quantity::new(v, Unit::Inch).feet_inches(16);
        assert_eq!(inches(66.5).as_deref(), Some("5 ft 6 1/2 in"));
        assert_eq!(inches(0.25).as_deref(), Some("1/4 in"));
        assert_eq!(inches(24.0).as_deref(), Some("2 ft"));
        assert_eq!(inches(0.0).as_deref(), Some("0 in"));
        assert_eq!(inches(-12.5).as_deref(), Some("-1 ft 1/2 in"));
        assert_eq!(
            Quantity::new(1.0, Unit::Metre).feet_inches(16).as_deref(),
            Some("3 ft 3 3/8 in")
        );
        assert_eq!(Quantity::new(1.0, Unit::Volt).feet_inches(16), None);
        assert_eq!(inches(1e300), None);
    }

    #[test]
    fn conversion_refuses_what_only_looks_alike() {
        assert_eq!(
            Quantity::new(820.0, Unit::Millivolt).convert(Unit::Volt),
            Some(Quantity::new(0.82, Unit::Volt))
        );
        assert_eq!(Quantity::new(10.0, Unit::Pound).convert(Unit::PoundForce), None);
        assert_eq!(Quantity::new(10.0, Unit::Decibel).convert(Unit::DecibelMilliwatt), None);
        assert_eq!(Quantity::new(10.0, Unit::Percent).convert(Unit::One), None);
    }
}
