//! One error type for all stages: what is wrong, where, and what to write instead.

/// What is wrong with a formula, or with the values it was given.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{message} (column {column}); {help}")]
pub struct FormulaError {
    /// What is wrong, without a capital or a full stop.
    pub message: String,
    /// Where, in characters from 1.
    pub column: usize,
    /// What to write instead.
    pub help: String,
}

impl FormulaError {
    pub(super) fn new(column: usize, message: String, help: String) -> Self {
        Self { message, column, help }
    }
}

/// The name of `known` most like `name`, if one is like enough to be a slip of the keyboard.
pub(super) fn nearest<'a>(name: &str, known: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let reach = 1.max(name.chars().count() / 3);
    known
        .map(|k| (strsim::osa_distance(name, k), k))
        .filter(|(d, _)| *d <= reach)
        .min()
        .map(|(_, k)| k)
}
