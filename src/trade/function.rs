//! What is known of a relation besides its arithmetic: enough to call it in a formula and to show it at the bench.

use super::OutOfRange;
use crate::quantity::Unit;

/// A relation of the trade. The same entry serves knowledge formulas and `pintle calc`.
#[derive(Debug)]
pub struct Function {
    /// As written in a formula.
    pub name: &'static str,
    /// What it is asked for by at the bench.
    pub subject: &'static str,
    /// What it takes, in order; those that have a usual value come last.
    pub params: &'static [Parameter],
    /// Unit of what it gives.
    pub gives: Unit,
    /// One line on what it works out.
    pub about: &'static str,
    /// The relation, in the names of the parameters.
    pub formula: &'static str,
    /// Where the relation comes from.
    pub source: &'static str,
    /// The function; it is called with as many numbers as there are parameters, each finite and in its unit.
    pub call: fn(&[f64]) -> Result<f64, OutOfRange>,
    /// What the result, or an input, is held against.
    pub limit: Option<Limit>,
    /// What these inputs mean, where words say more than the number.
    pub meaning: Option<Meaning>,
}

/// Words for what inputs mean; `None` where they are out of range.
pub type Meaning = fn(&[f64]) -> Option<&'static str>;

/// A parameter of a [`Function`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Parameter {
    /// Its name, in formulas' messages and at the bench.
    pub name: &'static str,
    /// Unit in which the function takes it.
    pub unit: Unit,
    /// The least it may be.
    pub low: f64,
    /// The most it may be.
    pub high: f64,
    /// As a person types it, for messages and for the example of the subject.
    pub example: &'static str,
    /// What it is.
    pub about: &'static str,
    /// Taken where nothing is given.
    pub usual: Option<f64>,
}

/// What a [`Function`] is held against.
#[derive(Debug)]
pub struct Limit {
    /// What is held.
    pub of: Held,
    /// What must be known besides the parameters to judge; without it nothing is judged.
    pub needs: &'static [Parameter],
    /// The limit in words.
    pub about: &'static str,
    /// Where the limit comes from.
    pub source: &'static str,
    /// Least and most, infinite where there is none, from the parameters followed by the needs, and the result.
    /// Both ends are within. In the unit of what is held.
    pub bounds: fn(&[f64], f64) -> (f64, f64),
}

/// What a [`Limit`] holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Held {
    /// The result.
    Result,
    /// An input of this name: a reading that the result says what to expect of.
    Input(&'static str),
}

impl PartialEq for Function {
    /// Names are unique.
    fn eq(&self, other: &Self) -> bool {
        self.name == other.name
    }
}

impl Function {
    /// How many of its parameters must be given.
    #[must_use]
    pub fn required(&self) -> usize {
        self.params.iter().filter(|p| p.usual.is_none()).count()
    }

    /// The result; parameters that are left out at the end take their usual value.
    ///
    /// # Errors
    /// A value outside the range in which the relation holds, or one that is missing.
    pub fn work_out(&self, given: &[f64]) -> Result<f64, OutOfRange> {
        let left_out = self.params.iter().skip(given.len());
        let mut args = given.to_vec();
        // A missing one that has no usual value reads as not-a-number, which every range refuses.
        args.extend(left_out.map(|p| p.usual.unwrap_or(f64::NAN)));
        (self.call)(&args)
    }

    /// Its parameters and what its limit needs, in the order in which [`Limit::bounds`] takes them.
    pub fn inputs(&self) -> impl Iterator<Item = &'static Parameter> {
        let needs: &'static [Parameter] = self.limit.as_ref().map_or(&[], |l| l.needs);
        self.params.iter().chain(needs)
    }
}

impl Parameter {
    /// The same, taken as `value` where nothing is given.
    #[must_use]
    pub const fn usually(mut self, value: f64) -> Self {
        self.usual = Some(value);
        self
    }
}

/// A parameter: its name, unit, range, what a person types, and what it is.
pub(super) const fn param(
    name: &'static str,
    unit: Unit,
    (low, high): (f64, f64),
    example: &'static str,
    about: &'static str,
) -> Parameter {
    Parameter {
        name,
        unit,
        low,
        high,
        example,
        about,
        usual: None,
    }
}
