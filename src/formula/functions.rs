//! What a formula can call.
//!
//! Five functions keep the unit of what they are given: `min(a, b, …)`, `max(a, b, …)`, `abs(x)`, `sqrt(x)`,
//! `clamp(x, low, high)`. The rest are trade functions with units of their own, listed in [`crate::trade::functions`];
//! adding one there is all it takes. Their last arguments may be left out where they have a usual value.

use super::error::{FormulaError, nearest};
use crate::trade::{Function, functions};

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
    PLAIN.iter().map(|(name, _)| *name).chain(functions().map(|f| f.name))
}

impl Callee {
    pub(super) fn find(name: &str, column: usize) -> Result<Self, FormulaError> {
        let plain = PLAIN.iter().find(|(n, _)| *n == name).map(|(_, c)| *c);
        let trade = || functions().find(|f| f.name == name).map(Self::Trade);
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
                (
                    (f.required()..=f.params.len()).contains(&count),
                    format!("{}({})", f.name, params.join(", ")),
                )
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
