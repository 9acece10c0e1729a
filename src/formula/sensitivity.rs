//! How the uncertainty of readings carries over to the result.
//!
//! Slopes are central differences with the reading's own standard uncertainty as the step, so that
//! ∂v/∂x · σ ≈ [v(x + σ) − v(x − σ)] / 2 (JCGM 100:2008, 5.1.3, note 2). Where one side has no value (a root
//! going negative, a function leaving its range) the other side alone gives the slope.

use super::error::FormulaError;
use super::{Formula, Value};

pub(super) fn propagate(
    formula: &Formula,
    vars: &dyn Fn(&str) -> Option<Value>,
    sigmas: &dyn Fn(&str) -> Option<f64>,
) -> Result<f64, FormulaError> {
    let middle = formula.eval(vars)?;
    let mut variance = 0.0;
    for (name, column) in formula.variables() {
        let Some(sigma) = sigmas(&name).filter(|s| *s > 0.0 && s.is_finite()) else {
            continue;
        };
        let Some(Value::Number(x, unit)) = vars(&name) else {
            continue;
        };
        let at = |x: f64| {
            formula.eval(&|n: &str| {
                if n == name {
                    Some(Value::Number(x, unit))
                } else {
                    vars(n)
                }
            })
        };
        let change = match (at(x + sigma), at(x - sigma)) {
            (Ok(up), Ok(down)) => (up - down) / 2.0,
            (Ok(up), Err(_)) => up - middle,
            (Err(_), Ok(down)) => middle - down,
            (Err(_), Err(_)) => {
                return Err(FormulaError::new(
                    column,
                    format!("the result has no value as near to `{name}` = {x} as its meter can tell"),
                    "take that reading again, with a finer meter if there is one".to_owned(),
                ));
            }
        };
        variance += change * change;
    }
    Ok(variance.sqrt())
}
