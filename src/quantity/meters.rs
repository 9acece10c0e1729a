//! The meters that somebody works with, in the notation of their data sheets.

use serde::{Deserialize, Serialize};

use super::{MeterClass, Unit};

/// Accuracy of somebody's own meters, unit by unit; the usual class of the unit where they have none of their own.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Meters(Vec<OwnMeter>);

/// One of them.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
struct OwnMeter {
    unit: Unit,
    class: MeterClass,
}

impl Meters {
    /// The class assumed for a reading in `unit` of which the author says nothing.
    #[must_use]
    pub fn class(&self, unit: Unit) -> MeterClass {
        let own = self.0.iter().find(|m| m.unit == unit);
        own.map_or_else(|| MeterClass::usual_for(unit), |m| m.class)
    }

    /// Takes up the class of a unit; a later one replaces an earlier one.
    pub fn set(&mut self, unit: Unit, class: MeterClass) {
        self.0.retain(|m| m.unit != unit);
        self.0.push(OwnMeter { unit, class });
    }

    /// Nothing but the usual classes.
    #[must_use]
    pub fn is_usual(&self) -> bool {
        self.0.is_empty()
    }

    /// The units with a class of their own, in the order in which they were given.
    pub fn own(&self) -> impl Iterator<Item = (Unit, MeterClass)> {
        self.0.iter().map(|m| (m.unit, m.class))
    }
}

impl MeterClass {
    /// Reads a class as data sheets print it: `0.5 % + 2`, or with what one count of the last digit is worth, `0.5 % + 2 x 0.01`.
    ///
    /// Where that is left out, the digit of the usual meter for `unit` is taken.
    ///
    /// # Errors
    /// What is wrong with the text, in a sentence.
    ///
    /// ```
    /// use pintle::quantity::{MeterClass, Unit};
    /// let class = MeterClass::from_data_sheet("±(0.5 % + 2)", Unit::Volt).unwrap();
    /// assert_eq!((class.percent, class.counts, class.digit), (0.5, 2.0, 0.01));
    /// ```
    pub fn from_data_sheet(text: &str, unit: Unit) -> Result<Self, String> {
        let form = || format!("`{text}` is no accuracy: write it as the data sheet does, such as 0.5 % + 2 x 0.01");
        let inner = text.trim().trim_start_matches('±').trim();
        let inner = inner.strip_prefix('(').map_or(inner, |t| t.trim_end_matches(')'));
        let (percent, rest) = inner.split_once('%').ok_or_else(form)?;
        let number = |text: &str| text.trim().replace(',', ".").parse::<f64>().map_err(|_| form());
        let counted = rest.trim().strip_prefix('+');
        let (counts, digit) = match counted {
            None if rest.trim().is_empty() => (0.0, 0.0),
            None => return Err(form()),
            Some(counted) => match counted.split_once(['x', '×', '*']) {
                Some((counts, digit)) => (number(counts)?, number(digit)?),
                None => (number(counted)?, Self::usual_for(unit).digit),
            },
        };
        let class = Self {
            percent: number(percent)?,
            counts,
            digit,
        };
        class.problem().map_or(Ok(class), |problem| Err(problem.to_owned()))
    }

    /// The class as [`MeterClass::from_data_sheet`] reads it.
    #[must_use]
    pub fn data_sheet(&self) -> String {
        if self.counts > 0.0 {
            format!("{} % + {} x {}", self.percent, self.counts, self.digit)
        } else {
            format!("{} %", self.percent)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn data_sheets_are_read_and_written() {
        for text in ["0.5 % + 2 x 0.01", "1 %", "0 % + 1 x 0.5"] {
            let class = MeterClass::from_data_sheet(text, Unit::Volt).expect(text);
            assert_eq!(class.data_sheet(), text);
        }
        let comma = MeterClass::from_data_sheet("0,5% + 3", Unit::Ohm).expect("a comma is a point");
        assert_eq!(comma.data_sheet(), "0.5 % + 3 x 0.1");
        for text in [
            "",
            "good",
            "0.5",
            "0.5 % 2",
            "-1 %",
            "200 %",
            "1 % + x",
            "1 % + 2 x",
            "NaN %",
        ] {
            assert!(MeterClass::from_data_sheet(text, Unit::Volt).is_err(), "{text}");
        }
    }

    #[test]
    fn a_meter_of_ones_own_is_for_its_unit_only() {
        let mut meters = Meters::default();
        let own = MeterClass::from_data_sheet("0.1 % + 1", Unit::Volt).expect("a class");
        meters.set(Unit::Volt, MeterClass::EXACT);
        meters.set(Unit::Volt, own);
        assert_eq!(meters.class(Unit::Volt), own);
        assert_eq!(meters.class(Unit::Ohm), MeterClass::usual_for(Unit::Ohm));
        assert_eq!(meters.own().count(), 1);
    }
}
