//! Working a formula out.
//!
//! The tree is checked first with the units that the values arrive in, so what follows cannot meet a unit that does
//! not fit; should it, it says so instead of stopping the program.

use super::ast::{Kind, Node, Operator};
use super::check::{self, Scope, Type};
use super::error::FormulaError;
use super::functions::Callee;
use super::measure::{Change, Measure, Scale};
use super::{Answer, Value, VarType};

/// What a piece gives.
#[derive(Clone, Debug, PartialEq)]
enum Got {
    Number(f64, Measure),
    Bool(bool),
    Text(String),
}

type Vars<'a> = &'a dyn Fn(&str) -> Option<Value>;

pub(super) fn answer(root: &Node, vars: Vars) -> Result<Answer, FormulaError> {
    let mut missing = None;
    root.each_name(&mut |name, column| {
        if missing.is_none() {
            missing = no_value(name, column, vars(name).as_ref());
        }
    });
    if let Some(error) = missing {
        return Err(error);
    }
    let types = |name: &str| {
        vars(name).map(|v| match v {
            Value::Number(_, unit) => VarType::Number(unit),
            Value::Text(_) => VarType::Text,
        })
    };
    let worker = Worker {
        vars,
        scope: Scope {
            vars: &types,
            known: &[],
        },
    };
    check::value_type(root, &worker.scope)?;
    match worker.get(root)? {
        Got::Number(n, _) => Ok(Answer::Number(n)),
        Got::Bool(b) => Ok(Answer::Bool(b)),
        Got::Text(_) => Err(misfit(root)),
    }
}

fn no_value(name: &str, column: usize, value: Option<&Value>) -> Option<FormulaError> {
    match value {
        None => Some(FormulaError::new(
            column,
            format!("there is no value for `{name}`"),
            "answer that reading or fact first".to_owned(),
        )),
        Some(Value::Number(n, _)) if !n.is_finite() => Some(FormulaError::new(
            column,
            format!("`{name}` is not a number that can be calculated with"),
            "take that reading again".to_owned(),
        )),
        Some(_) => None,
    }
}

struct Worker<'a> {
    vars: Vars<'a>,
    scope: Scope<'a>,
}

impl Worker<'_> {
    fn get(&self, node: &Node) -> Result<Got, FormulaError> {
        match &node.kind {
            Kind::Number(n) => Ok(Got::Number(*n, Measure::Bare)),
            Kind::Bool(b) => Ok(Got::Bool(*b)),
            Kind::Text(text) => Ok(Got::Text(text.clone())),
            Kind::Name(name) => match (self.vars)(name) {
                Some(Value::Number(n, unit)) => Ok(Got::Number(n, Measure::Of(Scale::of(unit)))),
                Some(Value::Text(text)) => Ok(Got::Text(text)),
                None => Err(misfit(node)),
            },
            Kind::Negate(inner) => self.number(inner).map(|(n, m)| Got::Number(-n, m)),
            Kind::Not(inner) => self.boolean(inner).map(|b| Got::Bool(!b)),
            Kind::Binary(Operator::And, a, b) => Ok(Got::Bool(self.boolean(a)? && self.boolean(b)?)),
            Kind::Binary(Operator::Or, a, b) => Ok(Got::Bool(self.boolean(a)? || self.boolean(b)?)),
            Kind::Binary(op @ (Operator::Plus | Operator::Minus | Operator::Times | Operator::Over), a, b) => {
                self.arithmetic(node, *op, a, b)
            }
            Kind::Binary(op, a, b) => self.compare(node, *op, a, b),
            Kind::Choose(three) => self.choose(node, three),
            Kind::Call(callee, args) => self.call(node, *callee, args),
        }
    }

    fn number(&self, node: &Node) -> Result<(f64, Measure), FormulaError> {
        match self.get(node)? {
            Got::Number(n, measure) => Ok((n, measure)),
            Got::Bool(_) | Got::Text(_) => Err(misfit(node)),
        }
    }

    fn boolean(&self, node: &Node) -> Result<bool, FormulaError> {
        match self.get(node)? {
            Got::Bool(b) => Ok(b),
            Got::Number(..) | Got::Text(_) => Err(misfit(node)),
        }
    }

    fn arithmetic(&self, node: &Node, op: Operator, left: &Node, right: &Node) -> Result<Got, FormulaError> {
        let a = self.number(left)?;
        let b = self.number(right)?;
        combine(node, op, a, (b, right))
    }

    fn compare(&self, node: &Node, op: Operator, left: &Node, right: &Node) -> Result<Got, FormulaError> {
        let a = self.get(left)?;
        let b = self.get(right)?;
        compared(node, op, a, b).map(Got::Bool)
    }

    /// Only the branch taken is worked out; the other one still has a say in the unit.
    fn choose(&self, node: &Node, [condition, yes, no]: &[Node; 3]) -> Result<Got, FormulaError> {
        let first = self.boolean(condition)?;
        let got = self.get(if first { yes } else { no })?;
        let Got::Number(n, _) = got else {
            return Ok(got);
        };
        match (check::type_of(yes, &self.scope)?, check::type_of(no, &self.scope)?) {
            (Type::Number(a), Type::Number(b)) => {
                let joined = check::beside(node.column, a, b)?;
                let change = if first { joined.left } else { joined.right };
                Ok(Got::Number(change.apply(n), joined.measure))
            }
            _ => Err(misfit(node)),
        }
    }

    fn call(&self, node: &Node, callee: Callee, args: &[Node]) -> Result<Got, FormulaError> {
        let got: Vec<(f64, Measure)> = args.iter().map(|a| self.number(a)).collect::<Result<_, _>>()?;
        called(node, callee, args, &got)
    }
}

fn combine(
    node: &Node,
    op: Operator,
    (a, of_a): (f64, Measure),
    ((b, of_b), right): ((f64, Measure), &Node),
) -> Result<Got, FormulaError> {
    let (n, measure) = match op {
        Operator::Times => product(a * b, of_a.times(of_b)),
        Operator::Over if b == 0.0 => return Err(division_by_zero(node.column, right)),
        Operator::Over => product(a / b, of_a.over(of_b)),
        _ => {
            let joined = check::sum(op, node.column, of_a, of_b)?;
            let (a, b) = (joined.left.apply(a), joined.right.apply(b));
            (if op == Operator::Minus { a - b } else { a + b }, joined.measure)
        }
    };
    finite(n, node).map(|n| Got::Number(n, measure))
}

fn compared(node: &Node, op: Operator, a: Got, b: Got) -> Result<bool, FormulaError> {
    let (a, b) = match (a, b) {
        (Got::Number(a, of_a), Got::Number(b, of_b)) => {
            let joined = check::beside(node.column, of_a, of_b)?;
            (joined.left.apply(a), joined.right.apply(b))
        }
        (a, b) if op == Operator::Equal => return Ok(a == b),
        (a, b) if op == Operator::NotEqual => return Ok(a != b),
        _ => return Err(misfit(node)),
    };
    #[expect(clippy::float_cmp, reason = "the author wrote an exact comparison")]
    match op {
        Operator::Less => Ok(a < b),
        Operator::LessOrEqual => Ok(a <= b),
        Operator::Greater => Ok(a > b),
        Operator::GreaterOrEqual => Ok(a >= b),
        Operator::Equal => Ok(a == b),
        Operator::NotEqual => Ok(a != b),
        _ => Err(misfit(node)),
    }
}

fn called(node: &Node, callee: Callee, args: &[Node], got: &[(f64, Measure)]) -> Result<Got, FormulaError> {
    let (n, measure) = match (callee, got) {
        (Callee::Trade(function), _) => {
            let mut numbers = Vec::with_capacity(got.len());
            for ((param, arg), (n, measure)) in function.params.iter().zip(args).zip(got) {
                numbers.push(
                    check::argument(param.unit, *measure, arg.column, param.name)?
                        .right
                        .apply(*n),
                );
            }
            let n = function.work_out(&numbers).map_err(|out| {
                FormulaError::new(
                    node.column,
                    format!("`{}` can't be worked out: {out}", function.name),
                    format!("check {}", node.names()),
                )
            })?;
            (n, Measure::Of(Scale::of(function.gives)))
        }
        (Callee::Abs, [(n, measure)]) => (n.abs(), *measure),
        (Callee::Sqrt, [(n, _)]) if *n < 0.0 => {
            return Err(FormulaError::new(
                node.column,
                format!("the square root of a negative number, from {}", args[0].names()),
                "check the sign of that reading".to_owned(),
            ));
        }
        (Callee::Sqrt, [(n, measure)]) => measure
            .root()
            .map(|root| product(n.sqrt(), root))
            .ok_or_else(|| misfit(node))?,
        _ => extreme(node, callee, args, got)?,
    };
    finite(n, node).map(|n| Got::Number(n, measure))
}

/// `min`, `max` and `clamp`, all in the unit of the leftmost argument that has one.
fn extreme(node: &Node, callee: Callee, args: &[Node], got: &[(f64, Measure)]) -> Result<(f64, Measure), FormulaError> {
    let measures: Vec<Measure> = got.iter().map(|(_, m)| *m).collect();
    let all = check::common(args, &measures)?;
    let mut numbers = Vec::with_capacity(got.len());
    for (n, measure) in got {
        numbers.push(check::beside(node.column, all, *measure)?.right.apply(*n));
    }
    let n = match (callee, numbers.as_slice()) {
        (Callee::Min, _) => numbers.iter().copied().fold(f64::INFINITY, f64::min),
        (Callee::Max, _) => numbers.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        (Callee::Clamp, [x, low, high]) if low <= high => x.clamp(*low, *high),
        (Callee::Clamp, [_, low, high]) => {
            return Err(FormulaError::new(
                node.column,
                format!("`clamp` has its limits the wrong way round: {low} is above {high}"),
                format!("write clamp(x, low, high); check {}", node.names()),
            ));
        }
        _ => return Err(misfit(node)),
    };
    Ok((n, all))
}

fn product(n: f64, (measure, change): (Measure, Change)) -> (f64, Measure) {
    (change.apply(n), measure)
}

fn finite(n: f64, node: &Node) -> Result<f64, FormulaError> {
    if n.is_finite() {
        return Ok(n);
    }
    Err(FormulaError::new(
        node.column,
        format!("the result is too large to calculate with, from {}", node.names()),
        "take that reading again".to_owned(),
    ))
}

fn division_by_zero(column: usize, divisor: &Node) -> FormulaError {
    let mut any = false;
    divisor.each_name(&mut |_, _| any = true);
    if any {
        FormulaError::new(
            column,
            format!("division by zero: {} comes to 0", divisor.names()),
            "take that reading again, or guard it, as in `amps > 0 ? volts / amps : 0`".to_owned(),
        )
    } else {
        FormulaError::new(
            column,
            "division by zero".to_owned(),
            "divide by something else".to_owned(),
        )
    }
}

/// The check before makes this unreachable; it is an error rather than a panic all the same.
fn misfit(node: &Node) -> FormulaError {
    FormulaError::new(
        node.column,
        "this does not fit here".to_owned(),
        "check the formula against its readings".to_owned(),
    )
}
