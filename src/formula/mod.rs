//! Formulas that turn readings into one number: a documented subset of the Common Expression Language (CEL).
//!
//! # What may be written
//! Numbers, names of readings and site facts, `+ - * /`, `-x`, `< <= > >= == !=`, `&& || !`, `cond ? a : b`,
//! brackets, `true`/`false`, texts in quotes (only in `fact == "value"` and `!=`), and calls of the functions in
//! [`functions`]. Precedence is CEL's. Lists, maps, `in`, `%`, members, macros and conversions are left out.
//!
//! # How it differs from CEL, on purpose
//! 1. **There are no integers.** Every number is a double, so `amps * 2` means what it says.
//! 2. **Numbers have units** (below): volts minus amperes is an error when the pack is checked, at its column.
//! 3. **Size is capped**: 512 characters, 64 operators, brackets 16 deep; no text can exhaust stack or time.
//!
//! Two smaller things follow from who writes formulas. Ids are in kebab-case, so a hyphen *between letters or digits
//! without blanks* belongs to a name: `system-volts` is one name, `volts - drop` a subtraction. And a result that is
//! not a finite number, a division by zero above all, is an error that names the reading, not infinity.
//!
//! # Units: the rule
//! A formula gives what pencil and paper give with the numbers *as read, each in the unit its reading was declared in*.
//! - `+`, `-`, comparison, `?:`, `min`, `max` and `clamp` need one dimension on all sides. Different units of it (V
//!   and mV) are converted, to the unit of the leftmost side that has one.
//! - A bare literal beside a number with a unit takes that unit: with `drop` declared in mV, `drop > 50` means 50 mV.
//! - `*` and `/` combine units: mV / A is mΩ, mA · kΩ is V. Where the dimensions cancel, so do the prefixes:
//!   mV / V is a true ratio. A percentage is the number as read: 55 % is 55.
//! - °C and °F are points on a scale: the difference of two points is a step; a step can be added to a point, not
//!   compared with one. dBm and dB are likewise point and step. In a product, a temperature is the bare number of its
//!   degrees.
//! - A function with units of its own takes literals in them and converts what has a unit.
//!
//! Text is parsed ([`Formula::parse`]), checked against declarations ([`Formula::check`]) and evaluated
//! ([`Formula::eval`]) apart; every error has a column.

mod ast;
mod check;
mod error;
mod eval;
pub mod functions;
mod lexer;
mod measure;
mod parser;
mod sensitivity;

#[cfg(test)]
mod tests;

pub use error::FormulaError;

use crate::quantity::{Dimension, Quantity, Unit};

/// Longest formula, in characters.
pub const MAX_CHARACTERS: usize = 512;
/// Most operators in one formula (`?:` counts once).
pub const MAX_OPERATORS: usize = 64;
/// Deepest nesting of brackets and calls.
pub const MAX_NESTING: usize = 16;

/// A formula that has been read and is well formed.
#[derive(Clone, Debug, PartialEq)]
pub struct Formula {
    text: String,
    root: ast::Node,
}

/// What is known about a name before there is a value.
#[derive(Clone, Debug, PartialEq)]
pub enum VarType {
    /// A number that will arrive in this unit.
    Number(Unit),
    /// A text, such as the value of a site fact; it can only be compared with `==` and `!=`.
    Text,
    /// A text that is one of these; comparing it with any other is an error.
    Choice(Vec<String>),
}

/// What a formula gives.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ValueType {
    /// A number of this dimension ([`Formula::unit`] tells the unit).
    Number(Dimension),
    /// Yes or no.
    Bool,
}

/// The value of a name.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// A number in the unit that was declared.
    Number(f64, Unit),
    /// The value of a choice.
    Text(String),
}

impl From<Quantity> for Value {
    fn from(q: Quantity) -> Self {
        Self::Number(q.value, q.unit)
    }
}

impl From<&str> for Value {
    fn from(text: &str) -> Self {
        Self::Text(text.to_owned())
    }
}

/// What came out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Answer {
    /// A finite number.
    Number(f64),
    /// Yes or no.
    Bool(bool),
}

impl Formula {
    /// Reads a formula. Names are not looked up yet; functions are.
    ///
    /// # Errors
    /// Anything that is not of the subset or over a cap, with its column.
    pub fn parse(text: &str) -> Result<Self, FormulaError> {
        let root = parser::parse(text)?;
        Ok(Self {
            text: text.to_owned(),
            root,
        })
    }

    /// As written.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Every name used, once, with the column (from 1, in characters) where it first stands, in that order.
    #[must_use]
    pub fn variables(&self) -> Vec<(String, usize)> {
        let mut out: Vec<(String, usize)> = Vec::new();
        self.root.each_name(&mut |name, column| {
            if !out.iter().any(|(n, _)| n == name) {
                out.push((name.to_owned(), column));
            }
        });
        out.sort_by_key(|(_, column)| *column);
        out
    }

    /// Checks names and units against what is declared.
    ///
    /// # Errors
    /// An unknown name, units that do not fit, text where a number belongs: the first in reading order.
    pub fn check(&self, vars: &dyn Fn(&str) -> Option<VarType>) -> Result<ValueType, FormulaError> {
        self.check_among(vars, &[])
    }

    /// [`Formula::check`] that suggests the nearest of `known` for an unknown name.
    ///
    /// # Errors
    /// As [`Formula::check`].
    pub fn check_among(
        &self,
        vars: &dyn Fn(&str) -> Option<VarType>,
        known: &[String],
    ) -> Result<ValueType, FormulaError> {
        check::value_type(&self.root, &check::Scope { vars, known })
    }

    /// The unit in which [`Formula::eval`] counts, if it is one of the table (mV / A is mΩ, which is not).
    /// `None` for a yes-or-no formula as well.
    ///
    /// # Errors
    /// As [`Formula::check`].
    pub fn unit(&self, vars: &dyn Fn(&str) -> Option<VarType>) -> Result<Option<Unit>, FormulaError> {
        check::unit(&self.root, &check::Scope { vars, known: &[] })
    }

    /// The number that the formula gives, by the rule in the module's documentation.
    ///
    /// # Errors
    /// A name without a value, a value that is not a finite number, a division by zero, a root of a negative number,
    /// an argument out of a function's range, units that do not fit, or a formula that gives yes or no.
    pub fn eval(&self, vars: &dyn Fn(&str) -> Option<Value>) -> Result<f64, FormulaError> {
        match self.answer(vars)? {
            Answer::Number(n) => Ok(n),
            Answer::Bool(_) => Err(FormulaError::new(
                self.root.column,
                "this formula gives yes or no, and a number is wanted".to_owned(),
                "write `… ? 1 : 0` to turn it into a number".to_owned(),
            )),
        }
    }

    /// What the formula gives, number or yes-or-no.
    ///
    /// # Errors
    /// As [`Formula::eval`].
    pub fn answer(&self, vars: &dyn Fn(&str) -> Option<Value>) -> Result<Answer, FormulaError> {
        eval::answer(&self.root, vars)
    }

    /// Standard uncertainty of the result, from those of the readings: σ² = Σ (∂v/∂xᵢ · σᵢ)².
    ///
    /// `sigmas` gives σ of each name in its declared unit; a name without one, or with zero, counts as exact. See
    /// the source for how slopes are taken.
    ///
    /// # Errors
    /// As [`Formula::eval`], at the values themselves.
    pub fn propagate(
        &self,
        vars: &dyn Fn(&str) -> Option<Value>,
        sigmas: &dyn Fn(&str) -> Option<f64>,
    ) -> Result<f64, FormulaError> {
        sensitivity::propagate(self, vars, sigmas)
    }
}

impl std::str::FromStr for Formula {
    type Err = FormulaError;

    fn from_str(text: &str) -> Result<Self, FormulaError> {
        Self::parse(text)
    }
}

impl std::fmt::Display for Formula {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(&self.text)
    }
}
