//! Names, types and units, before there are values.

use super::ast::{Kind, Node, Operator};
use super::error::{FormulaError, nearest};
use super::functions::Callee;
use super::measure::{Joined, Measure, Mismatch, Scale};
use super::{ValueType, VarType};
use crate::quantity::Unit;

/// What names mean.
#[derive(Clone, Copy)]
pub(super) struct Scope<'a> {
    pub vars: &'a dyn Fn(&str) -> Option<VarType>,
    /// Names to suggest.
    pub known: &'a [String],
}

/// What a piece of a formula gives.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Type {
    Number(Measure),
    Bool,
    /// A text, with the values it can have if they are known.
    Text(Option<Vec<String>>),
}

impl Type {
    fn shown(&self) -> String {
        match self {
            Self::Number(measure) => measure.dimension().to_string(),
            Self::Bool => "yes or no".to_owned(),
            Self::Text(_) => "a text".to_owned(),
        }
    }
}

pub(super) fn value_type(root: &Node, scope: &Scope) -> Result<ValueType, FormulaError> {
    match type_of(root, scope)? {
        Type::Number(measure) => Ok(ValueType::Number(measure.dimension())),
        Type::Bool => Ok(ValueType::Bool),
        Type::Text(_) => Err(FormulaError::new(
            root.column,
            "this gives a text, and a formula gives a number or yes or no".to_owned(),
            "compare the text, as in `power == \"solar\"`".to_owned(),
        )),
    }
}

pub(super) fn unit(root: &Node, scope: &Scope) -> Result<Option<Unit>, FormulaError> {
    value_type(root, scope)?;
    Ok(match type_of(root, scope)? {
        Type::Number(Measure::Of(scale)) => scale.unit,
        Type::Number(Measure::Bare) => Some(Unit::One),
        _ => None,
    })
}

/// The type of a piece, or the first error in reading order.
///
/// One small function for each kind of piece: this recursion is the deepest of all, and an unoptimised build gives
/// every local of a function its own place on the stack.
pub(super) fn type_of(node: &Node, scope: &Scope) -> Result<Type, FormulaError> {
    match &node.kind {
        Kind::Number(_) => Ok(Type::Number(Measure::Bare)),
        Kind::Bool(_) => Ok(Type::Bool),
        Kind::Text(_) => Ok(Type::Text(None)),
        Kind::Name(name) => named(name, node.column, scope),
        Kind::Negate(inner) => number(inner, scope, "only a number can have a minus").map(Type::Number),
        Kind::Not(inner) => boolean(inner, scope),
        Kind::Binary(op, left, right) => match op {
            Operator::And | Operator::Or => boolean(left, scope).and_then(|_| boolean(right, scope)),
            Operator::Plus | Operator::Minus | Operator::Times | Operator::Over => {
                arithmetic(node.column, *op, left, right, scope)
            }
            Operator::Equal | Operator::NotEqual => equality(node.column, left, right, scope),
            _ => order(node.column, left, right, scope),
        },
        Kind::Choose(three) => choose(node.column, three, scope),
        Kind::Call(callee, args) => call(*callee, args, scope),
    }
}

fn named(name: &str, column: usize, scope: &Scope) -> Result<Type, FormulaError> {
    match (scope.vars)(name) {
        Some(VarType::Number(unit)) => Ok(Type::Number(Measure::Of(Scale::of(unit)))),
        Some(VarType::Text) => Ok(Type::Text(None)),
        Some(VarType::Choice(values)) => Ok(Type::Text(Some(values))),
        None => Err(unknown_name(name, column, scope)),
    }
}

fn arithmetic(column: usize, op: Operator, left: &Node, right: &Node, scope: &Scope) -> Result<Type, FormulaError> {
    let a = number(left, scope, "arithmetic is for numbers")?;
    let b = number(right, scope, "arithmetic is for numbers")?;
    match op {
        Operator::Times => Ok(Type::Number(a.times(b).0)),
        Operator::Over => Ok(Type::Number(a.over(b).0)),
        _ => sum(op, column, a, b).map(|joined| Type::Number(joined.measure)),
    }
}

fn order(column: usize, left: &Node, right: &Node, scope: &Scope) -> Result<Type, FormulaError> {
    let help = "only numbers have an order; for a range write `low < x && x < high`";
    let a = number(left, scope, help)?;
    let b = number(right, scope, help)?;
    beside(column, a, b).map(|_| Type::Bool)
}

fn equality(column: usize, left: &Node, right: &Node, scope: &Scope) -> Result<Type, FormulaError> {
    let a = type_of(left, scope)?;
    let b = type_of(right, scope)?;
    equal_types(column, (left, a), (right, b))
}

fn equal_types(column: usize, (left, a): (&Node, Type), (right, b): (&Node, Type)) -> Result<Type, FormulaError> {
    match (a, b) {
        (Type::Number(a), Type::Number(b)) => beside(column, a, b).map(|_| Type::Bool),
        (Type::Bool, Type::Bool) => Ok(Type::Bool),
        (Type::Text(a), Type::Text(b)) => {
            allowed(a.as_deref(), right)?;
            allowed(b.as_deref(), left)?;
            Ok(Type::Bool)
        }
        (a, b) => Err(FormulaError::new(
            column,
            format!("{} is compared with {}", a.shown(), b.shown()),
            "texts go with texts in quotes, numbers with numbers".to_owned(),
        )),
    }
}

fn choose(column: usize, [condition, yes, no]: &[Node; 3], scope: &Scope) -> Result<Type, FormulaError> {
    boolean(condition, scope)?;
    let a = type_of(yes, scope)?;
    let b = type_of(no, scope)?;
    either(column, a, b)
}

fn either(column: usize, a: Type, b: Type) -> Result<Type, FormulaError> {
    match (a, b) {
        (Type::Number(a), Type::Number(b)) => {
            let joined = a.alongside(b).map_err(|e| mismatch(e, column, "choose between"))?;
            Ok(Type::Number(joined.measure))
        }
        (Type::Bool, Type::Bool) => Ok(Type::Bool),
        (a, b) => Err(FormulaError::new(
            column,
            format!("the two sides of `:` give {} and {}", a.shown(), b.shown()),
            "both must give numbers of one kind, or both yes or no".to_owned(),
        )),
    }
}

/// How two sides of a comparison come together.
pub(super) fn beside(column: usize, a: Measure, b: Measure) -> Result<Joined, FormulaError> {
    a.alongside(b).map_err(|e| mismatch(e, column, "compare"))
}

/// How two sides of `+` or `-` come together.
pub(super) fn sum(op: Operator, column: usize, a: Measure, b: Measure) -> Result<Joined, FormulaError> {
    let minus = op == Operator::Minus;
    a.plus(b, minus)
        .map_err(|e| mismatch(e, column, if minus { "subtract" } else { "add" }))
}

/// A text in quotes must be one that the other side can have.
fn allowed(values: Option<&[String]>, literal: &Node) -> Result<(), FormulaError> {
    let (Some(values), Kind::Text(text)) = (values, &literal.kind) else {
        return Ok(());
    };
    if values.contains(text) {
        return Ok(());
    }
    let help = match nearest(text, values.iter().map(String::as_str)) {
        Some(near) => format!("did you mean \"{near}\"?"),
        None => format!("it can be {}", values.join(", ")),
    };
    Err(FormulaError::new(
        literal.column,
        format!("\"{text}\" is not a value that this can have"),
        help,
    ))
}

fn call(callee: Callee, args: &[Node], scope: &Scope) -> Result<Type, FormulaError> {
    let help = "functions take numbers";
    let measures: Vec<Measure> = args.iter().map(|a| number(a, scope, help)).collect::<Result<_, _>>()?;
    returned(callee, args, &measures).map(Type::Number)
}

fn returned(callee: Callee, args: &[Node], measures: &[Measure]) -> Result<Measure, FormulaError> {
    match callee {
        Callee::Trade(function) => {
            for ((param, arg), measure) in function.params.iter().zip(args).zip(measures) {
                argument(param.unit, *measure, arg.column, param.name)?;
            }
            Ok(Measure::Of(Scale::of(function.gives)))
        }
        Callee::Sqrt => {
            let (arg, measure) = (&args[0], measures[0]);
            measure.root().map(|(m, _)| m).ok_or_else(|| {
                FormulaError::new(
                    arg.column,
                    format!(
                        "the square root of {} is nothing that can be measured",
                        measure.dimension()
                    ),
                    "divide by a value of the same kind first".to_owned(),
                )
            })
        }
        Callee::Abs | Callee::Min | Callee::Max | Callee::Clamp => common(args, measures),
    }
}

/// The unit that all arguments are brought to: that of the leftmost one that has any.
pub(super) fn common(args: &[Node], measures: &[Measure]) -> Result<Measure, FormulaError> {
    let mut all = Measure::Bare;
    for (arg, measure) in args.iter().zip(measures) {
        all = all
            .alongside(*measure)
            .map_err(|e| mismatch(e, arg.column, "compare"))?
            .measure;
    }
    Ok(all)
}

/// How an argument becomes the number that a trade function wants.
pub(super) fn argument(want: Unit, given: Measure, column: usize, name: &str) -> Result<Joined, FormulaError> {
    Measure::Of(Scale::of(want)).alongside(given).map_err(|_| {
        FormulaError::new(
            column,
            format!("`{name}` is {}, and this is {}", want.dimension(), given.dimension()),
            format!("give it in {want} or a unit that converts to it"),
        )
    })
}

fn number(node: &Node, scope: &Scope, help: &str) -> Result<Measure, FormulaError> {
    match type_of(node, scope)? {
        Type::Number(measure) => Ok(measure),
        other => Err(wanted("a number", node, &other, help)),
    }
}

fn boolean(node: &Node, scope: &Scope) -> Result<Type, FormulaError> {
    match type_of(node, scope)? {
        Type::Bool => Ok(Type::Bool),
        other => Err(wanted(
            "yes or no",
            node,
            &other,
            "write a comparison, such as `volts > 11`",
        )),
    }
}

fn wanted(what: &str, node: &Node, got: &Type, help: &str) -> FormulaError {
    let message = format!("{what} is wanted here, and this gives {}", got.shown());
    FormulaError::new(node.column, message, help.to_owned())
}

fn mismatch(why: Mismatch, column: usize, verb: &str) -> FormulaError {
    match why {
        Mismatch::Dimension(a, b) => FormulaError::new(
            column,
            format!("can't {verb} {a} and {b}"),
            "both sides must measure the same kind of thing; check the names and the units of the readings".to_owned(),
        ),
        Mismatch::PointAndStep => FormulaError::new(
            column,
            format!("can't {verb} a value on a scale and a difference between two such values"),
            "take the difference on both sides, or add the difference to a value first".to_owned(),
        ),
    }
}

fn unknown_name(name: &str, column: usize, scope: &Scope) -> FormulaError {
    let is_known = |n: &str| (scope.vars)(n).is_some() || n.parse::<f64>().is_ok();
    // `volts-drop`, where both are names, was meant as a subtraction.
    let split = name
        .match_indices('-')
        .map(|(i, _)| (&name[..i], &name[i + 1..]))
        .find(|(a, b)| is_known(a) && is_known(b));
    let help = if let Some((a, b)) = split {
        format!("a hyphen without blanks is part of the name; to subtract write `{a} - {b}`")
    } else if let Some(near) = nearest(name, scope.known.iter().map(String::as_str)) {
        format!("did you mean `{near}`?")
    } else if scope.known.is_empty() {
        "use the id of a reading of this test or of a site fact".to_owned()
    } else {
        format!("the names here are {}", scope.known.join(", "))
    };
    FormulaError::new(column, format!("there is no reading or fact `{name}`"), help)
}
