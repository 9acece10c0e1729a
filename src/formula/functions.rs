//! What a formula can call.
//!
//! Five functions keep the unit of what they are given: `min(a, b, …)`, `max(a, b, …)`, `abs(x)`, `sqrt(x)`,
//! `clamp(x, low, high)`. The rest are trade functions with units of their own, listed in [`crate::trade::FUNCTIONS`];
//! adding one there is all it takes.

use super::error::{FormulaError, nearest};
use crate::quantity::Unit;
use crate::trade::{FUNCTIONS, OutOfRange};

/// A function with units of its own.
#[derive(Debug)]
pub struct Function {
    /// As written in a formula.
    pub name: &'static str,
    /// What it takes, in order.
    pub params: &'static [Parameter],
    /// Unit of what it gives.
    pub gives: Unit,
    /// One line on what it works out.
    pub about: &'static str,
    /// Where the relation comes from.
    pub source: &'static str,
    /// The function; it is called with as many numbers as there are parameters, each finite and in its unit.
    pub call: fn(&[f64]) -> Result<f64, OutOfRange>,
}

/// A parameter of a [`Function`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Parameter {
    /// Its name in messages.
    pub name: &'static str,
    /// Unit in which the function takes it.
    pub unit: Unit,
}

impl PartialEq for Function {
    /// Names are unique.
    fn eq(&self, other: &Self) -> bool {
        self.name == other.name
    }
}

/// What a call in the tree calls.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Callee {
    Min,
    Max,
    Abs,
    Sqrt,
    Clamp,
    Trade(&'static Function),
}

const PLAIN: [(&str, Callee); 5] = [
    ("min", Callee::Min),
    ("max", Callee::Max),
    ("abs", Callee::Abs),
    ("sqrt", Callee::Sqrt),
    ("clamp", Callee::Clamp),
];

/// The names of all functions.
pub fn names() -> impl Iterator<Item = &'static str> {
    PLAIN
        .iter()
        .map(|(name, _)| *name)
        .chain(FUNCTIONS.iter().map(|f| f.name))
}

impl Callee {
    pub(super) fn find(name: &str, column: usize) -> Result<Self, FormulaError> {
        let plain = PLAIN.iter().find(|(n, _)| *n == name).map(|(_, c)| *c);
        let trade = || FUNCTIONS.iter().find(|f| f.name == name).map(Self::Trade);
        plain.or_else(trade).ok_or_else(|| {
            let help = match nearest(name, names()) {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("the functions are {}", names().collect::<Vec<_>>().join(", ")),
            };
            FormulaError::new(column, format!("there is no function `{name}`"), help)
        })
    }

    pub(super) fn name(self) -> &'static str {
        match self {
            Self::Trade(f) => f.name,
            plain => PLAIN.iter().find(|(_, c)| *c == plain).map_or("", |(n, _)| n),
        }
    }

    /// Checks the number of arguments.
    pub(super) fn accepts(self, count: usize, column: usize) -> Result<(), FormulaError> {
        let (fits, how) = match self {
            Self::Min | Self::Max => (count >= 2, format!("{}(a, b, …)", self.name())),
            Self::Abs | Self::Sqrt => (count == 1, format!("{}(x)", self.name())),
            Self::Clamp => (count == 3, "clamp(x, low, high)".to_owned()),
            Self::Trade(f) => {
                let params: Vec<&str> = f.params.iter().map(|p| p.name).collect();
                (count == f.params.len(), format!("{}({})", f.name, params.join(", ")))
            }
        };
        if fits {
            return Ok(());
        }
        let given = if count == 1 {
            "1 argument".to_owned()
        } else {
            format!("{count} arguments")
        };
        Err(FormulaError::new(
            column,
            format!("`{}` does not take {given}", self.name()),
            format!("write {how}"),
        ))
    }
}
