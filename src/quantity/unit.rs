//! Units by name, and conversion between them. The numbers are in [`super::table`].

use super::Dimension;
use super::table::{Row, TABLE};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};
use std::fmt;

/// A unit that a reading or a number may be given in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Unit {
    /// A count or a ratio: no unit.
    One,
    /// Hundredths. Not converted to a plain number: 55 % stays 55.
    Percent,
    /// V
    Volt,
    /// mV
    Millivolt,
    /// A
    Ampere,
    /// mA
    Milliampere,
    /// Ω
    Ohm,
    /// kΩ
    Kilohm,
    /// MΩ
    Megohm,
    /// µH
    Microhenry,
    /// mH
    Millihenry,
    /// Hz
    Hertz,
    /// kHz
    Kilohertz,
    /// MHz
    Megahertz,
    /// N
    Newton,
    /// lbf, a pound of force (what a pull scale shows)
    PoundForce,
    /// kg
    Kilogram,
    /// lb, a pound of mass (what a bathroom scale shows)
    Pound,
    /// mm
    Millimetre,
    /// cm
    Centimetre,
    /// m
    Metre,
    /// in
    Inch,
    /// ft
    Foot,
    /// s
    Second,
    /// min
    Minute,
    /// h
    Hour,
    /// °C
    Celsius,
    /// °F
    Fahrenheit,
    /// W
    Watt,
    /// Ah
    AmpereHour,
    /// dB, a ratio of powers on a logarithmic scale
    Decibel,
    /// dBm, a power over one milliwatt on the same scale
    DecibelMilliwatt,
    /// m/s
    MetrePerSecond,
    /// km/h
    KilometrePerHour,
    /// mph, statute miles an hour
    MilePerHour,
    /// N·m, a moment about a hinge or a shaft
    NewtonMetre,
    /// lbf·ft, the same in pounds of force at one foot
    PoundFoot,
    /// Wh, energy drawn or charged
    WattHour,
    /// nF
    Nanofarad,
    /// µF
    Microfarad,
    /// days of 24 hours
    Day,
    /// °, an angle. Not converted to a plain number: 45° stays 45.
    Degree,
}

impl Unit {
    /// Every unit, in the order of the table.
    pub fn all() -> impl Iterator<Item = Self> {
        TABLE.iter().map(|r| r.unit)
    }

    /// Other ways to write it, besides its symbol.
    pub fn other_spellings(self) -> impl Iterator<Item = &'static str> {
        let row = self.row();
        row.exactly.iter().chain(row.also).copied()
    }

    /// All symbols in one line, for messages.
    #[must_use]
    pub fn list() -> String {
        TABLE.iter().map(|r| r.symbol).collect::<Vec<_>>().join(", ")
    }

    /// The unit written `text`: its symbol, or a common other spelling (`ohm`, `uH`, `degC`, `volts`).
    ///
    /// The case is ignored where no unit can be mistaken for another by it. Surrounding blanks are ignored.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let text = text.trim();
        if text.is_empty() || text.len() > 32 {
            return None;
        }
        let exact = TABLE.iter().find(|r| r.symbol == text || r.exactly.contains(&text));
        let lower = text.to_lowercase();
        exact
            .or_else(|| TABLE.iter().find(|r| r.is_written(&lower)))
            .map(|r| r.unit)
    }

    fn row(self) -> &'static Row {
        &TABLE[self as usize]
    }

    /// How it is written: `kΩ`, `°C`; `1` for a plain number.
    #[must_use]
    pub fn symbol(self) -> &'static str {
        self.row().symbol
    }

    /// What follows a number in this unit: a blank and the symbol, nothing for a plain number.
    #[must_use]
    pub fn suffix(self) -> String {
        if self == Self::One {
            String::new()
        } else {
            format!(" {}", self.symbol())
        }
    }

    /// What it measures.
    #[must_use]
    pub fn dimension(self) -> Dimension {
        self.row().dimension
    }

    /// Size of one of this unit in the base unit of its kind, without any zero point: 0.001 for mV, 5/9 for °F.
    #[must_use]
    pub fn factor(self) -> f64 {
        let r = self.row();
        r.times / r.over
    }

    /// True for °C and °F, whose zero is not nothing.
    #[must_use]
    pub fn has_zero_point(self) -> bool {
        self.row().zero != 0.0
    }

    /// `value` of this unit in the base unit of its kind (V, A, Ω, H, Hz, N, kg, m, s, kelvin, W, A·s).
    #[must_use]
    pub fn to_base(self, value: f64) -> f64 {
        let r = self.row();
        (value + r.zero) * r.times / r.over
    }

    /// The inverse of [`Unit::to_base`].
    #[must_use]
    pub fn from_base(self, base: f64) -> f64 {
        let r = self.row();
        base * r.over / r.times - r.zero
    }

    /// `value` of this unit in a unit that it converts to, with as little rounding as the two allow.
    pub(crate) fn express(self, value: f64, to: Self) -> f64 {
        match (self, to) {
            (a, b) if a == b => value,
            (Self::Celsius, Self::Fahrenheit) => value * 9.0 / 5.0 + 32.0,
            (Self::Fahrenheit, Self::Celsius) => (value - 32.0) * 5.0 / 9.0,
            _ => {
                let (a, b) = (self.row(), to.row());
                let (times, over) = (a.times * b.over, a.over * b.times);
                // A whole ratio needs one rounding only.
                if over % times == 0.0 {
                    value / (over / times)
                } else {
                    value * (times / over)
                }
            }
        }
    }

    /// Whether a number in this unit can be told in the other one.
    ///
    /// The same dimension is needed, and the same reference: dB and dBm, or % and a count, or a moment and an energy, are not converted.
    #[must_use]
    pub fn converts_to(self, other: Self) -> bool {
        self == other
            || (self.dimension() == other.dimension()
                && !matches!(self.dimension(), Dimension::NONE | Dimension::LEVEL)
                // A moment is no energy, though both are a force times a length.
                && (self == Self::WattHour) == (other == Self::WattHour))
    }
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.symbol())
    }
}

/// The text names no unit of the table.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("there is no unit `{text}`; the units are {}", Unit::list())]
pub struct UnknownUnit {
    /// What was written.
    pub text: String,
}

impl std::str::FromStr for Unit {
    type Err = UnknownUnit;

    fn from_str(text: &str) -> Result<Self, UnknownUnit> {
        Self::parse(text).ok_or_else(|| UnknownUnit { text: text.to_owned() })
    }
}

impl Serialize for Unit {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(self.symbol())
    }
}

impl<'de> Deserialize<'de> for Unit {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        struct Visitor;

        impl de::Visitor<'_> for Visitor {
            type Value = Unit;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(
                    f,
                    "a unit, one of {} (a percent sign needs quotes in YAML)",
                    Unit::list()
                )
            }

            fn visit_str<E: de::Error>(self, text: &str) -> Result<Unit, E> {
                text.parse().map_err(E::custom)
            }

            fn visit_u64<E: de::Error>(self, n: u64) -> Result<Unit, E> {
                if n == 1 {
                    Ok(Unit::One)
                } else {
                    Err(E::invalid_value(de::Unexpected::Unsigned(n), &self))
                }
            }

            fn visit_i64<E: de::Error>(self, n: i64) -> Result<Unit, E> {
                if n == 1 {
                    Ok(Unit::One)
                } else {
                    Err(E::invalid_value(de::Unexpected::Signed(n), &self))
                }
            }
        }

        from.deserialize_any(Visitor)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn the_table_is_in_the_order_of_the_variants_and_reads_back() {
        for (i, r) in TABLE.iter().enumerate() {
            assert_eq!(r.unit as usize, i, "{}", r.symbol);
            assert_eq!(Unit::parse(r.symbol), Some(r.unit));
            for other in r.also.iter().chain(r.exactly) {
                assert_eq!(Unit::parse(other), Some(r.unit), "{other}");
            }
        }
    }

    #[test]
    fn no_spelling_names_two_units() {
        let mut seen = std::collections::HashMap::new();
        for r in &TABLE {
            for s in r.also.iter().copied() {
                assert_eq!(seen.insert(s, r.unit), None, "{s} is written twice");
            }
        }
    }

    /// NIST Special Publication 811 (2008), appendix B.8, and the 1959 agreement.
    #[test]
    fn published_factors() {
        let cases = [
            (Unit::Inch, 1.0, Unit::Millimetre, 25.4),
            (Unit::Foot, 1.0, Unit::Metre, 0.3048),
            (Unit::Foot, 1.0, Unit::Inch, 12.0),
            (Unit::PoundForce, 1.0, Unit::Newton, 4.448_221_615_260_5),
            (Unit::Pound, 1.0, Unit::Kilogram, 0.453_592_37),
            (Unit::Fahrenheit, 212.0, Unit::Celsius, 100.0),
            (Unit::Fahrenheit, 32.0, Unit::Celsius, 0.0),
            (Unit::Fahrenheit, -40.0, Unit::Celsius, -40.0),
            (Unit::Celsius, 25.0, Unit::Fahrenheit, 77.0),
            (Unit::Hour, 1.0, Unit::Second, 3600.0),
            (Unit::Millihenry, 0.1, Unit::Microhenry, 100.0),
            (Unit::Megohm, 1.0, Unit::Kilohm, 1000.0),
        ];
        for (from, v, to, expected) in cases {
            let got = to.from_base(from.to_base(v));
            assert!(
                (from.express(v, to) - expected).abs() <= 1e-15 * expected.abs(),
                "{v} {from}"
            );
            assert!(
                (got - expected).abs() <= 1e-12 * expected.abs().max(100.0),
                "{v} {from} is {got} {to}"
            );
        }
        assert!((Unit::Celsius.to_base(-273.15)).abs() < 1e-12);
        // The pound of force is the pound under standard gravity.
        assert!((0.453_592_37_f64 * 9.806_65 - Unit::PoundForce.factor()).abs() < 1e-15 * 5.0);
    }

    #[test]
    fn mass_is_not_force_and_milliohm_is_not_megohm() {
        assert!(!Unit::Pound.converts_to(Unit::PoundForce));
        assert!(!Unit::Kilogram.converts_to(Unit::Newton));
        assert_eq!(Unit::parse("mΩ"), None);
        assert_eq!(Unit::parse("mohm"), None);
        assert_eq!(Unit::parse("Mohm"), Some(Unit::Megohm));
        assert_eq!(Unit::parse(""), None);
        assert_eq!(Unit::parse(&"V".repeat(10_000)), None);
    }

    #[test]
    fn an_unknown_unit_names_the_known_ones() {
        let err = "furlong".parse::<Unit>().unwrap_err().to_string();
        assert!(err.contains("`furlong`") && err.contains("kΩ"), "{err}");
    }

    #[test]
    fn units_in_files_are_written_as_symbols() {
        let read = |json: &str| serde_json::from_str::<Unit>(json).map_err(|e| e.to_string());
        assert_eq!(serde_json::to_string(&Unit::Kilohm).unwrap(), "\"kΩ\"");
        assert_eq!(read("\"kohm\""), Ok(Unit::Kilohm));
        assert_eq!(read("1"), Ok(Unit::One), "a bare 1 in YAML is a number");
        assert!(
            read("\"bar\"")
                .unwrap_err()
                .starts_with("there is no unit `bar`; the units are 1, %, V, mV")
        );
        assert!(read("2").unwrap_err().contains("expected a unit, one of 1, %, V"));
        assert!(read("true").unwrap_err().contains("expected a unit, one of"));
    }

    proptest! {
        #[test]
        fn to_base_and_back(i in 0..TABLE.len(), v in -1e6..1e6_f64) {
            let u = TABLE[i].unit;
            let back = u.from_base(u.to_base(v));
            // Kelvin offsets cost a few units of the last place of 300.
            prop_assert!((back - v).abs() <= 1e-12 * v.abs().max(1000.0), "{u}: {v} became {back}");
        }
    }
}
