//! Metric and imperial: in which of them a figure is shown.

use serde::{Deserialize, Serialize};

use super::{Quantity, Unit};

/// Which units lengths, forces, weights, speeds, moments and temperatures are shown in. What was typed stays as it was typed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum System {
    /// Each figure in the unit that its formula counts in.
    #[default]
    AsCounted,
    /// Metric.
    Metric,
    /// Imperial and US customary.
    Imperial,
    /// As counted, with the other in brackets.
    Both,
}

impl System {
    /// Every one.
    pub const ALL: [Self; 4] = [Self::AsCounted, Self::Metric, Self::Imperial, Self::Both];

    /// Its word.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::AsCounted => "as-counted",
            Self::Metric => "metric",
            Self::Imperial => "imperial",
            Self::Both => "both",
        }
    }

    /// A figure as it is shown; `write` gives a number and its unit as text.
    ///
    /// Volts, ohms, hours and whatever else both systems share is left as it is.
    #[must_use]
    pub fn shown(self, value: f64, unit: Unit, write: impl Fn(f64, Unit) -> String) -> String {
        let in_other = |to: Option<Unit>| to.and_then(|to| Quantity::new(value, unit).convert(to));
        let as_counted = || write(value, unit);
        match self {
            _ if !value.is_finite() => as_counted(),
            Self::AsCounted => as_counted(),
            Self::Metric => in_other(metric(unit)).map_or_else(as_counted, |q| write(q.value, q.unit)),
            Self::Imperial => in_other(imperial(unit)).map_or_else(as_counted, |q| write(q.value, q.unit)),
            Self::Both => match in_other(metric(unit).or_else(|| imperial(unit))) {
                Some(q) => format!("{} ({})", as_counted(), write(q.value, q.unit)),
                None => as_counted(),
            },
        }
    }
}

/// The metric unit that stands for an imperial one.
fn metric(unit: Unit) -> Option<Unit> {
    Some(match unit {
        Unit::Inch => Unit::Millimetre,
        Unit::Foot => Unit::Metre,
        Unit::PoundForce => Unit::Newton,
        Unit::Pound => Unit::Kilogram,
        Unit::Fahrenheit => Unit::Celsius,
        Unit::MilePerHour => Unit::KilometrePerHour,
        Unit::PoundFoot => Unit::NewtonMetre,
        _ => return None,
    })
}

/// The imperial unit that stands for a metric one.
fn imperial(unit: Unit) -> Option<Unit> {
    Some(match unit {
        Unit::Millimetre | Unit::Centimetre => Unit::Inch,
        Unit::Metre => Unit::Foot,
        Unit::Newton => Unit::PoundForce,
        Unit::Kilogram => Unit::Pound,
        Unit::Celsius => Unit::Fahrenheit,
        Unit::MetrePerSecond | Unit::KilometrePerHour => Unit::MilePerHour,
        Unit::NewtonMetre => Unit::PoundFoot,
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_system_shows_the_same_length() {
        let write = |v: f64, u: Unit| format!("{v:.2}{}", u.suffix());
        let told: Vec<String> = System::ALL.iter().map(|s| s.shown(10.0, Unit::Foot, write)).collect();
        assert_eq!(told, ["10.00 ft", "3.05 m", "10.00 ft", "10.00 ft (3.05 m)"]);
        assert_eq!(System::Both.shown(20.0, Unit::Celsius, write), "20.00 °C (68.00 °F)");
    }

    #[test]
    fn volts_and_what_has_no_end_stay() {
        let write = |v: f64, u: Unit| format!("{v}{}", u.suffix());
        for system in System::ALL {
            assert_eq!(system.shown(12.5, Unit::Volt, write), "12.5 V");
            assert_eq!(system.shown(f64::INFINITY, Unit::Metre, write), "inf m");
        }
    }
}
