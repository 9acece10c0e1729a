//! A relation worked out from what a person typed: inputs by name, result, what it is held against.

use super::function::{Function, Held, Parameter};
use super::{OutOfRange, functions};
use crate::quantity::{Quantity, Reading, ReadingError, Unit, parse_reading};

/// An input as it counts.
#[derive(Clone, Debug)]
pub struct Input {
    /// Which one.
    pub parameter: &'static Parameter,
    /// In the parameter's unit; infinite where the meter showed OL.
    pub value: f64,
    /// As it was typed, or `None` where the usual value was taken.
    pub typed: Option<String>,
    /// It was typed in another unit.
    pub converted: bool,
}

/// How what is held stands to its limit.
#[derive(Clone, Debug)]
pub enum Judged {
    /// There is no limit: the result is a figure to compare a reading with.
    NoLimit,
    /// These must be known first.
    Needs(Vec<&'static Parameter>),
    /// Judged.
    Held {
        /// What is held, in its unit.
        held: Quantity,
        /// Least and most, infinite where there is none.
        bounds: (f64, f64),
    },
}

impl Judged {
    /// Whether what is held is within its limit; `None` where nothing was judged.
    #[must_use]
    pub fn within(&self) -> Option<bool> {
        match self {
            Self::Held { held, bounds } => Some((bounds.0..=bounds.1).contains(&held.value)),
            _ => None,
        }
    }
}

/// A relation with its inputs and its result.
#[derive(Clone, Debug)]
pub struct Worked {
    /// Which relation.
    pub function: &'static Function,
    /// Its inputs, those that its limit needs included where they are known.
    pub inputs: Vec<Input>,
    /// The result.
    pub result: Quantity,
    /// What it, or an input, is held against.
    pub judged: Judged,
    /// What the inputs mean, where words say more than the number.
    pub meaning: Option<&'static str>,
}

/// Why nothing could be worked out.
#[derive(Debug, thiserror::Error)]
pub enum BenchError {
    /// A word that belongs to no input.
    #[error("`{0}` is no input: inputs are written name=value")]
    NoName(String),
    /// An input that the relation does not have.
    #[error("{subject} has no input `{name}`")]
    NoSuchInput {
        /// The subject.
        subject: &'static str,
        /// What was written.
        name: String,
    },
    /// An input that was given twice.
    #[error("`{0}` is given twice")]
    Twice(&'static str),
    /// Inputs without which nothing can be worked out.
    #[error("{} {} missing", names(.0), if .0.len() == 1 { "is" } else { "are" })]
    Missing(Vec<&'static Parameter>),
    /// A value that could not be read.
    #[error("{}: {why}", .parameter.name)]
    Unread {
        /// Of which input.
        parameter: &'static Parameter,
        /// Why.
        why: ReadingError,
    },
    /// OL, or "can't tell".
    #[error("{}: `{text}` is no number to work with", .parameter.name)]
    NoNumber {
        /// Of which input.
        parameter: &'static Parameter,
        /// What was typed.
        text: String,
    },
    /// A value outside its range.
    #[error("{} is {text}, and {subject} holds from {} to {}", .parameter.name, given(.parameter.low, .parameter.unit), given(.parameter.high, .parameter.unit))]
    Range {
        /// The subject.
        subject: &'static str,
        /// Of which input.
        parameter: &'static Parameter,
        /// What was typed.
        text: String,
    },
    /// Values that do not go together.
    #[error("{} is {}, and with these inputs it can be {} to {}", .0.what, shown(.0.given), shown(.0.low), shown(.0.high))]
    Together(OutOfRange),
}

fn names(parameters: &[&Parameter]) -> String {
    parameters.iter().map(|p| p.name).collect::<Vec<_>>().join(", ")
}

fn shown(quantity: Quantity) -> String {
    figure(quantity.value, quantity.unit)
}

/// A result with its unit, to three figures where it is a fraction; volts to a hundredth, plain numbers to four.
#[must_use]
pub fn figure(value: f64, unit: Unit) -> String {
    if value.is_infinite() {
        return if value > 0.0 { "any" } else { "none" }.to_owned();
    }
    let (value, unit) = readable(value, unit);
    let size = if value.abs() > 0.0 {
        value.abs().log10().floor()
    } else {
        0.0
    };
    let digits = if unit == Unit::One { 3.0 } else { 2.0 };
    let digit = match unit {
        Unit::Volt if value.abs() >= 1.0 => 0.01,
        _ => 10.0_f64.powf(size - digits).clamp(1e-9, 1.0),
    };
    let whole = unit != Unit::Volt && (value - value.round()).abs() < 1e-9;
    Quantity::new(value, unit).shown(if whole { 1.0 } else { digit })
}

/// A number that was given, with its unit, without the noise of conversion in its last places.
#[must_use]
pub fn given(value: f64, unit: Unit) -> String {
    let (value, unit) = readable(value, unit);
    let text = format!("{value:.5e}");
    let rounded = text.parse::<f64>().unwrap_or(value);
    Quantity::new(rounded, unit).to_string()
}

/// Ohms in kΩ and MΩ where there are many.
fn readable(value: f64, unit: Unit) -> (f64, Unit) {
    let larger = match unit {
        Unit::Ohm if value.abs() >= 1e6 => Unit::Megohm,
        Unit::Ohm if value.abs() >= 1e4 => Unit::Kilohm,
        _ => return (value, unit),
    };
    (unit.express(value, larger), larger)
}

/// The relation of that subject.
#[must_use]
pub fn subject(name: &str) -> Option<&'static Function> {
    functions().find(|f| f.subject == name)
}

/// Puts what a person typed together, one text an input: `length=5 ft 6 in` arrives from a shell as four words.
///
/// # Errors
/// A word before the first name.
pub fn typed_inputs(words: &[String]) -> Result<Vec<(String, String)>, BenchError> {
    let mut inputs: Vec<(String, String)> = Vec::new();
    for word in words {
        match (word.split_once('='), inputs.last_mut()) {
            (Some((name, value)), _) => inputs.push((name.trim().to_lowercase(), value.trim().to_owned())),
            (None, Some((_, value))) => {
                value.push(' ');
                value.push_str(word);
            }
            (None, None) => return Err(BenchError::NoName(word.clone())),
        }
    }
    Ok(inputs)
}

/// Works a relation out.
///
/// # Errors
/// An unknown, missing or doubled input, one that can't be read, or one out of range.
pub fn work_out(function: &'static Function, typed: &[(String, String)]) -> Result<Worked, BenchError> {
    for (i, (name, _)) in typed.iter().enumerate() {
        let Some(parameter) = function.inputs().find(|p| p.name == name) else {
            return Err(BenchError::NoSuchInput {
                subject: function.subject,
                name: name.clone(),
            });
        };
        if typed[..i].iter().any(|(other, _)| other == name) {
            return Err(BenchError::Twice(parameter.name));
        }
    }
    let mut inputs = Vec::new();
    let mut unknown = Vec::new();
    for parameter in function.inputs() {
        match typed.iter().find(|(name, _)| parameter.name == name) {
            Some((_, text)) => inputs.push(read(function, parameter, text)?),
            None => match parameter.usual {
                Some(value) => inputs.push(Input {
                    parameter,
                    value,
                    typed: None,
                    converted: false,
                }),
                None => unknown.push(parameter),
            },
        }
    }
    let own = |p: &&Parameter| function.params.iter().any(|q| q.name == p.name);
    let missing: Vec<&'static Parameter> = unknown.iter().copied().filter(|p| own(p)).collect();
    if !missing.is_empty() {
        return Err(BenchError::Missing(missing));
    }
    let values: Vec<f64> = inputs.iter().map(|i| i.value).collect();
    let result = function.work_out(&values[..function.params.len()]);
    let result = result.map_err(BenchError::Together)?;
    let judged = match &function.limit {
        None => Judged::NoLimit,
        Some(_) if !unknown.is_empty() => Judged::Needs(unknown),
        Some(limit) => Judged::Held {
            held: match limit.of {
                Held::Result => Quantity::new(result, function.gives),
                Held::Input(name) => inputs
                    .iter()
                    .find(|i| i.parameter.name == name)
                    .map_or(Quantity::new(result, function.gives), |i| {
                        Quantity::new(i.value, i.parameter.unit)
                    }),
            },
            bounds: (limit.bounds)(&values, result),
        },
    };
    Ok(Worked {
        function,
        meaning: function.meaning.and_then(|words| words(&values)),
        inputs,
        result: Quantity::new(result, function.gives),
        judged,
    })
}

fn read(function: &Function, parameter: &'static Parameter, text: &str) -> Result<Input, BenchError> {
    let reading = parse_reading(text, parameter.unit).map_err(|why| BenchError::Unread { parameter, why })?;
    let (value, converted) = match &reading {
        Reading::Value(given) => (given.quantity.value, given.typed.unit != parameter.unit),
        Reading::OverLoad if parameter.high.is_infinite() => (f64::INFINITY, false),
        Reading::OverLoad | Reading::CantTell => {
            return Err(BenchError::NoNumber {
                parameter,
                text: text.to_owned(),
            });
        }
    };
    if !(parameter.low..=parameter.high).contains(&value) {
        return Err(BenchError::Range {
            subject: function.subject,
            parameter,
            text: text.to_owned(),
        });
    }
    Ok(Input {
        parameter,
        value,
        typed: Some(text.to_owned()),
        converted,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_have_three_places_and_volts_a_hundredth() {
        let cases = [
            (6.0602, Unit::Volt, "6.06 V"),
            (13.65, Unit::Volt, "13.65 V"),
            (0.0123, Unit::Volt, "0.0123 V"),
            (856.8, Unit::Newton, "857 N"),
            (20_023.4, Unit::Ohm, "20.0 kΩ"),
            (1.2276, Unit::One, "1.228"),
            (14.0, Unit::One, "14"),
            (3.647, Unit::Day, "3.65 days"),
            (0.0, Unit::Percent, "0 %"),
            (f64::INFINITY, Unit::Ohm, "any"),
        ];
        for (value, unit, text) in cases {
            assert_eq!(figure(value, unit), text);
        }
        assert_eq!(given(13.411_200_000_1, Unit::MetrePerSecond), "13.4112 m/s");
        assert_eq!(given(1e7, Unit::Ohm), "10 MΩ");
    }

    #[test]
    fn words_of_a_shell_go_to_the_input_before_them() {
        let words = |text: &str| text.split(' ').map(str::to_owned).collect::<Vec<_>>();
        let inputs = typed_inputs(&words("Length=5 ft 6 in amps=1")).unwrap();
        let pairs: Vec<(&str, &str)> = inputs.iter().map(|(n, v)| (n.as_str(), v.as_str())).collect();
        assert_eq!(pairs, [("length", "5 ft 6 in"), ("amps", "1")]);
        assert!(typed_inputs(&words("5 ft")).is_err());
    }
}
