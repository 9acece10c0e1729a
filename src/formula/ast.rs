//! The tree of a formula. At most [`super::MAX_OPERATORS`] operators and [`super::MAX_NESTING`] brackets deep, so
//! walking it by recursion is safe on any stack.

use super::functions::Callee;

/// A piece of a formula and the column of its first sign (of the sign itself for operators).
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Node {
    pub column: usize,
    pub kind: Kind,
}

#[derive(Clone, Debug, PartialEq)]
pub(super) enum Kind {
    Number(f64),
    Bool(bool),
    Text(String),
    Name(String),
    Negate(Box<Node>),
    Not(Box<Node>),
    Binary(Operator, Box<Node>, Box<Node>),
    Choose(Box<[Node; 3]>),
    Call(Callee, Vec<Node>),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Operator {
    Or,
    And,
    Less,
    LessOrEqual,
    Greater,
    GreaterOrEqual,
    Equal,
    NotEqual,
    Plus,
    Minus,
    Times,
    Over,
}

impl Operator {
    /// Binding strength, CEL's order: `||`, `&&`, comparison, sums, products.
    pub(super) fn strength(self) -> u8 {
        match self {
            Self::Or => 1,
            Self::And => 2,
            Self::Less | Self::LessOrEqual | Self::Greater | Self::GreaterOrEqual | Self::Equal | Self::NotEqual => 3,
            Self::Plus | Self::Minus => 4,
            Self::Times | Self::Over => 5,
        }
    }

    pub(super) fn sign(self) -> &'static str {
        match self {
            Self::Or => "||",
            Self::And => "&&",
            Self::Less => "<",
            Self::LessOrEqual => "<=",
            Self::Greater => ">",
            Self::GreaterOrEqual => ">=",
            Self::Equal => "==",
            Self::NotEqual => "!=",
            Self::Plus => "+",
            Self::Minus => "-",
            Self::Times => "*",
            Self::Over => "/",
        }
    }
}

impl Node {
    /// Calls `f` with every name and its column.
    pub(super) fn each_name(&self, f: &mut impl FnMut(&str, usize)) {
        match &self.kind {
            Kind::Name(name) => f(name, self.column),
            Kind::Number(_) | Kind::Bool(_) | Kind::Text(_) => {}
            Kind::Negate(a) | Kind::Not(a) => a.each_name(f),
            Kind::Binary(_, a, b) => {
                a.each_name(f);
                b.each_name(f);
            }
            Kind::Choose(three) => three.iter().for_each(|n| n.each_name(f)),
            Kind::Call(_, args) => args.iter().for_each(|n| n.each_name(f)),
        }
    }

    /// The names below this node for a message: `` `volts` and `amps` ``, or `this` when there is none.
    pub(super) fn names(&self) -> String {
        let mut names: Vec<String> = Vec::new();
        self.each_name(&mut |name, _| {
            let name = format!("`{name}`");
            if !names.contains(&name) {
                names.push(name);
            }
        });
        match names.split_last() {
            None => "this".to_owned(),
            Some((only, [])) => only.clone(),
            Some((last, others)) => format!("{} and {last}", others.join(", ")),
        }
    }
}
