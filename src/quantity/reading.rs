//! What a person types for a reading.
//!
//! Everything a technician is likely to write is taken (`12.4`, `12,4 v`, `820 mV`, `5'6"`, `27 1/2 in`, `OL`,
//! `can't tell`); what could mean two things is questioned, with both ways to write it.

use super::typed::{self, Part, Trouble};
use super::{Quantity, ReadingError, Unit};

/// Longest text that is looked at, in characters.
const LONGEST: usize = 64;

/// One answer to "what does it read?".
#[derive(Clone, Debug, PartialEq)]
pub enum Reading {
    /// A number.
    Value(Given),
    /// The meter shows OL: beyond its range, on ohms usually an open circuit.
    OverLoad,
    /// The person cannot tell. No evidence either way.
    CantTell,
}

impl Reading {
    /// The number in the unit that was expected, if it is one.
    #[must_use]
    pub fn value(&self) -> Option<f64> {
        match self {
            Self::Value(given) => Some(given.quantity.value),
            Self::OverLoad | Self::CantTell => None,
        }
    }
}

/// A number that was read, as it counts and as it was typed.
#[derive(Clone, Debug, PartialEq)]
pub struct Given {
    /// In the unit that was expected.
    pub quantity: Quantity,
    /// In the unit that was typed (feet and inches: in inches; hours and minutes: in the smaller unit).
    pub typed: Quantity,
    /// Digits typed after the decimal mark.
    pub decimals: u8,
    /// What the last digit typed, or one part of the fraction, is worth in the unit that was expected.
    /// The meter's own digit is at most this.
    pub step: f64,
    /// The text, blanks at the ends taken off.
    pub text: String,
}

/// Reads `text` as an answer to a question whose unit is `expected`.
///
/// A bare number is in `expected`; a unit that converts is converted; a single letter after the number may be the
/// prefix alone where that is how people say it (`1.2k` ohms, `820m` volts). A decimal comma is taken;
/// `1,200` is questioned because it may be either.
///
/// # Errors
/// A [`ReadingError`] whose text tells the person what to type.
pub fn parse_reading(text: &str, expected: Unit) -> Result<Reading, ReadingError> {
    let shown: String = text.trim().chars().filter(|c| !c.is_control()).take(LONGEST).collect();
    let plain = typed::plain(&shown);
    if plain.is_empty() {
        return Err(ReadingError::Empty { expected });
    }
    if text.trim().chars().count() > LONGEST {
        return Err(ReadingError::NotANumber {
            text: format!("{shown}…"),
            expected,
        });
    }
    if is_cant_tell(&plain) {
        return Ok(Reading::CantTell);
    }
    if is_over_load(&plain) {
        return Ok(Reading::OverLoad);
    }
    let (negative, parts) = typed::parts(&plain).map_err(|why| explain(why, &shown, &plain, expected))?;
    let (typed, last) = match parts.as_slice() {
        [one] => (Quantity::new(one.number.value, unit_of(&one.unit, expected)?), one),
        [.., last] => (compound(&parts, &shown, expected)?, last),
        [] => {
            return Err(ReadingError::NotANumber { text: shown, expected });
        }
    };
    let is_length = typed.unit.dimension() == super::Dimension::LENGTH;
    if !is_length && parts.iter().any(|p| p.number.fraction.is_some()) {
        return Err(ReadingError::Fraction { text: shown, expected });
    }
    let typed = Quantity::new(if negative { -typed.value } else { typed.value }, typed.unit);
    let quantity = typed
        .convert(expected)
        .ok_or(ReadingError::WrongUnit { given: typed, expected })?;
    if typed.unit.has_zero_point() && typed.unit.to_base(typed.value) < -1e-9 {
        let lowest = Quantity::new(typed.unit.from_base(0.0), typed.unit);
        return Err(ReadingError::BelowAbsoluteZero { text: shown, lowest });
    }
    let step = if typed.unit == expected {
        last.number.step
    } else {
        last.number.step * (typed.unit.factor() / expected.factor())
    };
    Ok(Reading::Value(Given {
        quantity,
        typed,
        decimals: last.number.decimals,
        step,
        text: shown,
    }))
}

fn is_cant_tell(plain: &str) -> bool {
    const WAYS: [&str; 19] = [
        "cant tell",
        "cannot tell",
        "can not tell",
        "cant say",
        "cannot say",
        "cant read",
        "cant read it",
        "cannot read",
        "dont know",
        "do not know",
        "dunno",
        "not sure",
        "no idea",
        "unknown",
        "unsure",
        "cannot",
        "cant",
        "na",
        "n/a",
    ];
    let words: String = plain
        .to_lowercase()
        .chars()
        .filter(|c| !matches!(c, '\'' | '.' | '!'))
        .collect();
    let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
    words.chars().all(|c| c == '?') && !words.is_empty() || WAYS.contains(&words.as_str())
}

/// `OL`, with the point where the range puts it, a zero for the letter, and the unit the meter shows beside it.
fn is_over_load(plain: &str) -> bool {
    const WORDS: [&str; 9] = [
        "overload",
        "over load",
        "overrange",
        "over range",
        "over limit",
        "out of range",
        "infinite",
        "infinity",
        "∞",
    ];
    let plain = plain.trim_start_matches(['-', '+']).trim_start();
    let lower = plain.to_lowercase();
    if WORDS.contains(&lower.as_str()) {
        return true;
    }
    // o, then l, with points and blanks anywhere between; what is left must be nothing or a unit
    let mut wanted = ["o0", "l"].into_iter().peekable();
    for (i, c) in plain.char_indices() {
        match wanted.peek() {
            Some(set) if set.contains(c.to_ascii_lowercase()) => {
                wanted.next();
            }
            _ if matches!(c, '.' | ' ') => {}
            Some(_) => return false,
            None => return Unit::parse(&plain[i..]).is_some(),
        }
    }
    wanted.peek().is_none()
}

fn explain(why: Trouble, shown: &str, plain: &str, expected: Unit) -> ReadingError {
    let text = shown.to_owned();
    match why {
        Trouble::NotANumber => ReadingError::NotANumber { text, expected },
        Trouble::Fraction => ReadingError::Fraction { text, expected },
        Trouble::Thousands(before, after) => {
            let both = format!("{before},{after}");
            ReadingError::Thousands {
                text,
                as_thousands: plain.replacen(&both, &format!("{before}{after}"), 1),
                as_decimal: plain.replacen(&both, &format!("{before}.{after}"), 1),
            }
        }
    }
}

/// The unit that `written` means when `expected` was asked for.
fn unit_of(written: &str, expected: Unit) -> Result<Unit, ReadingError> {
    use Unit as U;
    let family = |units: &[Unit]| units.contains(&expected);
    let unit = match written {
        "" => Some(expected),
        "k" | "K" if family(&[U::Ohm, U::Kilohm, U::Megohm]) => Some(U::Kilohm),
        "M" if family(&[U::Ohm, U::Kilohm, U::Megohm]) => Some(U::Megohm),
        "k" | "K" if family(&[U::Hertz, U::Kilohertz, U::Megahertz]) => Some(U::Kilohertz),
        "M" if family(&[U::Hertz, U::Kilohertz, U::Megahertz]) => Some(U::Megahertz),
        "m" if family(&[U::Volt, U::Millivolt]) => Some(U::Millivolt),
        "m" if family(&[U::Ampere, U::Milliampere]) => Some(U::Milliampere),
        "m" if family(&[U::Second, U::Minute, U::Hour]) => Some(U::Minute),
        "m" if family(&[U::Microhenry, U::Millihenry]) => Some(U::Millihenry),
        "M" if expected.dimension() == super::Dimension::LENGTH => Some(U::Metre),
        "u" | "µ" | "\u{3bc}" if family(&[U::Microhenry, U::Millihenry]) => Some(U::Microhenry),
        "°" | "º" | "deg" | "degrees" if expected.has_zero_point() => Some(expected),
        other => Unit::parse(other)
            .or_else(|| Unit::parse(other.trim_end_matches('.')))
            .or_else(|| Unit::parse(&other.replace(' ', ""))),
    };
    unit.ok_or_else(|| ReadingError::UnknownUnit {
        unit: written.to_owned(),
        expected,
    })
}

/// Feet with inches, hours with minutes, minutes with seconds: one amount in the smallest unit.
fn compound(parts: &[Part], shown: &str, expected: Unit) -> Result<Quantity, ReadingError> {
    let next_below = |unit| match unit {
        Unit::Foot => Some((Unit::Inch, 12.0)),
        Unit::Hour => Some((Unit::Minute, 60.0)),
        Unit::Minute => Some((Unit::Second, 60.0)),
        _ => None,
    };
    let mixed = |why: String| ReadingError::Mixed {
        text: shown.to_owned(),
        why,
    };
    if parts.iter().all(|p| p.unit.is_empty()) {
        return Err(ReadingError::TwoNumbers {
            text: shown.to_owned(),
            expected,
        });
    }
    if let [a, b] = parts
        && matches!(a.unit.as_str(), "k" | "K" | "M" | "R")
        && a.number.decimals == 0
    {
        let unit = match a.unit.as_str() {
            "R" => Unit::Ohm,
            "M" => Unit::Megohm,
            _ => Unit::Kilohm,
        };
        let number = shown.replacen(&a.unit, ".", 1);
        let meant = format!("{} {unit}", number.trim_end_matches(&b.unit).trim_end());
        return Err(ReadingError::LetterForPoint {
            text: shown.to_owned(),
            meant,
        });
    }
    let mut total = Quantity::new(0.0, unit_of(&parts[0].unit, expected)?);
    let mut below: Option<f64> = None;
    for (i, part) in parts.iter().enumerate() {
        if i > 0 {
            let Some((smaller, many)) = next_below(total.unit) else {
                return Err(ReadingError::TwoNumbers {
                    text: shown.to_owned(),
                    expected,
                });
            };
            let unit = if part.unit.is_empty() {
                smaller
            } else {
                unit_of(&part.unit, smaller)?
            };
            if unit != smaller {
                return Err(mixed(format!("after {} comes {smaller}, not {unit}", total.unit)));
            }
            total = Quantity::new(total.value * many, smaller);
            below = Some(many);
        }
        let last = i + 1 == parts.len();
        if !last && (part.number.decimals > 0 || part.number.fraction.is_some()) {
            return Err(mixed(format!(
                "only the last part, in the smallest unit, can have a fraction; {} can't",
                total.unit
            )));
        }
        if let Some(many) = below.filter(|many| part.number.value >= *many) {
            return Err(mixed(format!(
                "{} {} is {many} or more: carry it over",
                part.number.value, total.unit
            )));
        }
        total.value += part.number.value;
    }
    Ok(total)
}

#[cfg(test)]
#[path = "reading_tests.rs"]
mod tests;
