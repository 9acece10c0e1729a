//! Why a typed reading was not taken, in words for the person who typed it.

use super::Dimension as D;
use super::{Quantity, Unit};

/// Why a typed reading was not taken. Each message says what was wrong and what to type.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ReadingError {
    /// Nothing was typed.
    #[error("Nothing was typed. Type the number you read, such as {}, OL if the meter shows OL, or ? if you can't tell.", example(*.expected))]
    Empty {
        /// The unit that was expected.
        expected: Unit,
    },
    /// No number could be made out.
    #[error("`{text}` is not a number. Type the number you read, such as {}, OL if the meter shows OL, or ? if you can't tell.", example(*.expected))]
    NotANumber {
        /// What was typed.
        text: String,
        /// The unit that was expected.
        expected: Unit,
    },
    /// Two numbers that do not belong together.
    #[error("`{text}` looks like two numbers. Type one, without blanks between its digits, such as {}.", example(*.expected))]
    TwoNumbers {
        /// What was typed.
        text: String,
        /// The unit that was expected.
        expected: Unit,
    },
    /// The unit measures something else.
    #[error("{}", wrong_unit(*.given, *.expected))]
    WrongUnit {
        /// What was typed.
        given: Quantity,
        /// The unit that was expected.
        expected: Unit,
    },
    /// What follows the number is no unit.
    #[error("`{unit}` is not a unit this program knows. This reading is in {}: type it like {}.", unit_words(*.expected), example(*.expected))]
    UnknownUnit {
        /// What followed the number.
        unit: String,
        /// The unit that was expected.
        expected: Unit,
    },
    /// A comma that may set off thousands or decimals.
    #[error(
        "`{text}` can be read two ways. Type {as_thousands} if it is in the thousands, or {as_decimal} if the comma is the decimal mark."
    )]
    Thousands {
        /// What was typed.
        text: String,
        /// How to write it if the comma sets off thousands.
        as_thousands: String,
        /// How to write it if the comma is the decimal mark.
        as_decimal: String,
    },
    /// `4M7`, `2k2`: the notation of circuit diagrams.
    #[error("`{text}` is written as on a circuit diagram. If you mean {meant}, type {meant}.")]
    LetterForPoint {
        /// What was typed.
        text: String,
        /// The same with a decimal point.
        meant: String,
    },
    /// A fraction that no ruler has, or for something that is no length.
    #[error("`{text}`: fractions are taken for lengths, in halves, quarters, eighths, sixteenths, 32nds or 64ths, like 27 1/2 in. Anything else: use a decimal point, like {}.", example(*.expected))]
    Fraction {
        /// What was typed.
        text: String,
        /// The unit that was expected.
        expected: Unit,
    },
    /// Feet and inches, or minutes and seconds, that do not make up one amount.
    #[error("`{text}`: {why}.")]
    Mixed {
        /// What was typed.
        text: String,
        /// What does not fit.
        why: String,
    },
    /// A value that nothing can have.
    #[error("`{text}` is colder than anything can be ({lowest} is the limit). Check the sign and the unit.")]
    BelowAbsoluteZero {
        /// What was typed.
        text: String,
        /// Absolute zero in the unit typed.
        lowest: Quantity,
    },
}

/// What a reading in this unit looks like, for messages.
fn example(unit: Unit) -> String {
    match unit {
        Unit::Inch => "27 1/2 in or 698 mm".to_owned(),
        Unit::Foot => "5 ft 6 in or 1.68 m".to_owned(),
        Unit::One => "3".to_owned(),
        Unit::Percent => "55 %".to_owned(),
        Unit::Celsius => "-3 °C or 27 °F".to_owned(),
        Unit::Fahrenheit => "27 °F or -3 °C".to_owned(),
        unit => format!("12.4 {unit}"),
    }
}

fn unit_words(unit: Unit) -> String {
    match unit {
        Unit::One => "plain numbers, without a unit".to_owned(),
        unit => format!("{unit} ({})", unit.dimension()),
    }
}

fn wrong_unit(given: Quantity, expected: Unit) -> String {
    let asked = format!("This reading is {} in {expected}", expected.dimension());
    match (given.unit, expected) {
        (Unit::Pound, _) if expected.dimension() == D::FORCE => format!(
            "lb is a weight laid on a scale, and this reading is a push or a pull. If your pull scale shows pounds, type {} lbf.",
            given.value
        ),
        (Unit::Kilogram, _) if expected.dimension() == D::FORCE => format!(
            "kg is a weight laid on a scale, and this reading is a push or a pull. If your pull scale shows {} kg, that is {:.1} N: type {:.1} N.",
            given.value,
            given.value * 9.806_65,
            given.value * 9.806_65
        ),
        (Unit::PoundForce, _) if expected.dimension() == D::MASS => {
            format!(
                "lbf is a push or a pull, and this reading is a weight. If it hangs on the scale, type {} lb.",
                given.value
            )
        }
        (Unit::Decibel, Unit::DecibelMilliwatt) | (Unit::DecibelMilliwatt, Unit::Decibel) => {
            format!(
                "{} says how much more or less, dBm how much there is. This reading is in {expected}: look again at what the meter shows.",
                given.unit
            )
        }
        (_, Unit::One) => format!(
            "This reading is a plain number: type {} if that is what you counted.",
            given.value
        ),
        (_, Unit::Percent) => {
            format!(
                "This reading is in percent: type it like 55 %. {given} is {}.",
                given.unit.dimension()
            )
        }
        _ => format!(
            "{asked}, and {given} is {}. Look at what the meter is set to, then type the reading like {}.",
            given.unit.dimension(),
            example(expected)
        ),
    }
}
