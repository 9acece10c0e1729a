//! What kind of thing a number counts.

use std::fmt;

/// Exponents over the base kinds; two numbers may be added or compared only if theirs are equal.
///
/// The first five are those of the SI (The International System of Units, BIPM, 9th edition); `level`
/// is ours: the logarithmic dB and dBm, which add but never mix with plain numbers.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Dimension {
    metre: i16,
    kilogram: i16,
    second: i16,
    ampere: i16,
    kelvin: i16,
    level: i16,
}

impl Dimension {
    /// A plain number: a count, a ratio, a percentage.
    pub const NONE: Self = Self::new([0, 0, 0, 0, 0, 0]);
    /// Volts.
    pub const VOLTAGE: Self = Self::new([2, 1, -3, -1, 0, 0]);
    /// Amperes.
    pub const CURRENT: Self = Self::new([0, 0, 0, 1, 0, 0]);
    /// Ohms.
    pub const RESISTANCE: Self = Self::new([2, 1, -3, -2, 0, 0]);
    /// Henries.
    pub const INDUCTANCE: Self = Self::new([2, 1, -2, -2, 0, 0]);
    /// Hertz.
    pub const FREQUENCY: Self = Self::new([0, 0, -1, 0, 0, 0]);
    /// Newtons, pounds of force.
    pub const FORCE: Self = Self::new([1, 1, -2, 0, 0, 0]);
    /// Kilograms, pounds of mass.
    pub const MASS: Self = Self::new([0, 1, 0, 0, 0, 0]);
    /// Metres, feet, inches.
    pub const LENGTH: Self = Self::new([1, 0, 0, 0, 0, 0]);
    /// Seconds, minutes, hours.
    pub const TIME: Self = Self::new([0, 0, 1, 0, 0, 0]);
    /// Degrees.
    pub const TEMPERATURE: Self = Self::new([0, 0, 0, 0, 1, 0]);
    /// Watts.
    pub const POWER: Self = Self::new([2, 1, -3, 0, 0, 0]);
    /// Ampere-hours.
    pub const CHARGE: Self = Self::new([0, 0, 1, 1, 0, 0]);
    /// Metres a second, miles an hour.
    pub const SPEED: Self = Self::new([1, 0, -1, 0, 0, 0]);
    /// Newton metres; watt-hours too, which are the same thing to the SI.
    pub const MOMENT: Self = Self::new([2, 1, -2, 0, 0, 0]);
    /// Farads.
    pub const CAPACITANCE: Self = Self::new([-2, -1, 4, 2, 0, 0]);
    /// Decibels and decibels over a milliwatt.
    pub const LEVEL: Self = Self::new([0, 0, 0, 0, 0, 1]);

    const NAMED: [(Self, &'static str); 17] = [
        (Self::NONE, "a plain number"),
        (Self::VOLTAGE, "a voltage"),
        (Self::CURRENT, "a current"),
        (Self::RESISTANCE, "a resistance"),
        (Self::INDUCTANCE, "an inductance"),
        (Self::FREQUENCY, "a frequency"),
        (Self::FORCE, "a force"),
        (Self::MASS, "a mass"),
        (Self::LENGTH, "a length"),
        (Self::TIME, "a time"),
        (Self::TEMPERATURE, "a temperature"),
        (Self::POWER, "a power"),
        (Self::CHARGE, "an electric charge"),
        (Self::SPEED, "a speed"),
        (Self::MOMENT, "a moment or an energy"),
        (Self::CAPACITANCE, "a capacitance"),
        (Self::LEVEL, "a level in decibels"),
    ];

    const fn new(e: [i16; 6]) -> Self {
        Self {
            metre: e[0],
            kilogram: e[1],
            second: e[2],
            ampere: e[3],
            kelvin: e[4],
            level: e[5],
        }
    }

    const fn exponents(self) -> [i16; 6] {
        [
            self.metre,
            self.kilogram,
            self.second,
            self.ampere,
            self.kelvin,
            self.level,
        ]
    }

    fn zip(self, other: Self, f: impl Fn(i16, i16) -> i16) -> Self {
        let (a, b) = (self.exponents(), other.exponents());
        Self::new(std::array::from_fn(|i| f(a[i], b[i])))
    }

    /// Dimension of a product.
    #[must_use]
    pub fn times(self, other: Self) -> Self {
        self.zip(other, i16::saturating_add)
    }

    /// Dimension of a quotient.
    #[must_use]
    pub fn per(self, other: Self) -> Self {
        self.zip(other, i16::saturating_sub)
    }

    /// Dimension of a square root, or `None` if it would have a half in it (the root of a voltage).
    #[must_use]
    pub fn root(self) -> Option<Self> {
        let e = self.exponents();
        e.iter().all(|n| n % 2 == 0).then(|| Self::new(e.map(|n| n / 2)))
    }

    /// True for a count, a ratio or a percentage.
    #[must_use]
    pub fn is_none(self) -> bool {
        self == Self::NONE
    }
}

impl fmt::Display for Dimension {
    /// With its article: `a voltage`; a kind with no everyday name is spelt out in base units.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some((_, name)) = Self::NAMED.iter().find(|(d, _)| d == self) {
            return f.write_str(name);
        }
        f.write_str("something in ")?;
        let symbols = ["m", "kg", "s", "A", "K", "dB"];
        let parts: Vec<String> = symbols
            .iter()
            .zip(self.exponents())
            .filter(|(_, n)| *n != 0)
            .map(|(s, n)| if n == 1 { (*s).to_owned() } else { format!("{s}^{n}") })
            .collect();
        f.write_str(&parts.join("·"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn electrical_kinds_follow_from_each_other() {
        assert_eq!(Dimension::VOLTAGE.per(Dimension::CURRENT), Dimension::RESISTANCE);
        assert_eq!(Dimension::VOLTAGE.times(Dimension::CURRENT), Dimension::POWER);
        assert_eq!(Dimension::INDUCTANCE.times(Dimension::FREQUENCY), Dimension::RESISTANCE);
        assert_eq!(Dimension::CURRENT.times(Dimension::TIME), Dimension::CHARGE);
        assert_eq!(
            Dimension::LENGTH.times(Dimension::LENGTH).root(),
            Some(Dimension::LENGTH)
        );
        assert_eq!(Dimension::VOLTAGE.root(), None);
    }

    #[test]
    fn kinds_have_everyday_names() {
        assert_eq!(Dimension::FORCE.to_string(), "a force");
        assert_eq!(
            Dimension::LENGTH.times(Dimension::LENGTH).to_string(),
            "something in m^2"
        );
    }
}
