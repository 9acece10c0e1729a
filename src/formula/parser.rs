//! Tokens to a tree, by precedence climbing (Pratt, "Top down operator precedence", 1973).

use super::MAX_NESTING;
use super::ast::{Kind, Node, Operator};
use super::error::FormulaError;
use super::functions::Callee;
use super::lexer::{Token, tokens};

/// Reads a whole formula.
pub(super) fn parse(text: &str) -> Result<Node, FormulaError> {
    let mut parser = Parser {
        tokens: tokens(text)?,
        at: 0,
        depth: 0,
    };
    if parser.peek() == &Token::End {
        return Err(FormulaError::new(
            1,
            "there is no formula here".to_owned(),
            "write one, such as `volts / system-volts`, or leave the field out".to_owned(),
        ));
    }
    let node = parser.whole()?;
    match parser.peek() {
        Token::End => Ok(node),
        _ => Err(parser.unexpected("the end or an operator")),
    }
}

struct Parser {
    /// Ends with [`Token::End`], which is never stepped over.
    tokens: Vec<(Token, usize)>,
    at: usize,
    depth: usize,
}

impl Parser {
    fn current(&self) -> &(Token, usize) {
        &self.tokens[self.at.min(self.tokens.len() - 1)]
    }

    fn peek(&self) -> &Token {
        &self.current().0
    }

    fn column(&self) -> usize {
        self.current().1
    }

    fn step(&mut self) {
        self.at += 1;
    }

    fn unexpected(&self, wanted: &str) -> FormulaError {
        let help = match self.peek() {
            Token::Comma => {
                "a decimal number is written with a point, 12.4; commas stand only between arguments".to_owned()
            }
            Token::Name(n) if n == "and" => "write && for and".to_owned(),
            Token::Name(n) if n == "or" => "write || for or".to_owned(),
            Token::Name(n) if n == "in" => "write one comparison for each value and || between".to_owned(),
            Token::Question => "put the inner choice in brackets".to_owned(),
            Token::Close => "count the brackets: each ) needs its (".to_owned(),
            Token::Open => "only a function can stand directly before a bracket; write * to multiply".to_owned(),
            _ => format!("here {wanted} is expected"),
        };
        FormulaError::new(
            self.column(),
            format!("{} is not expected here", self.peek().shown()),
            help,
        )
    }

    fn expect(&mut self, token: &Token) -> Result<(), FormulaError> {
        if self.peek() == token {
            self.step();
            Ok(())
        } else {
            Err(self.unexpected(&token.shown()))
        }
    }

    /// `a`, or `a ? b : c` where only `c` may be another choice without brackets, as in CEL.
    fn whole(&mut self) -> Result<Node, FormulaError> {
        let condition = self.binary(1)?;
        if self.peek() != &Token::Question {
            return Ok(condition);
        }
        let column = self.column();
        self.step();
        let yes = self.binary(1)?;
        self.expect(&Token::Colon)?;
        let no = self.whole()?;
        Ok(Node {
            column,
            kind: Kind::Choose(Box::new([condition, yes, no])),
        })
    }

    /// Operators of at least this strength, all of them left-associative.
    fn binary(&mut self, strength: u8) -> Result<Node, FormulaError> {
        let mut left = self.unary()?;
        while let Token::Operator(op) = *self.peek() {
            if op.strength() < strength {
                break;
            }
            let column = self.column();
            self.step();
            let right = self.binary(op.strength() + 1)?;
            left = Node {
                column,
                kind: Kind::Binary(op, Box::new(left), Box::new(right)),
            };
        }
        Ok(left)
    }

    fn unary(&mut self) -> Result<Node, FormulaError> {
        let mut signs = Vec::new();
        while let sign @ (Token::Not | Token::Operator(Operator::Minus)) = self.peek() {
            signs.push((sign == &Token::Not, self.column()));
            self.step();
        }
        let mut node = self.primary()?;
        for (not, column) in signs.into_iter().rev() {
            let inner = Box::new(node);
            node = Node {
                column,
                kind: if not { Kind::Not(inner) } else { Kind::Negate(inner) },
            };
        }
        Ok(node)
    }

    fn primary(&mut self) -> Result<Node, FormulaError> {
        let column = self.column();
        let kind = match self.peek().clone() {
            Token::Number(n) => Kind::Number(n),
            Token::Text(text) => Kind::Text(text),
            Token::Name(name) => {
                self.step();
                return self.named(name, column);
            }
            Token::Open => {
                self.step();
                self.enter(column)?;
                let inner = self.whole()?;
                self.expect(&Token::Close)?;
                self.depth -= 1;
                return Ok(inner);
            }
            _ => return Err(self.unexpected("a number, a name or a bracket")),
        };
        self.step();
        Ok(Node { column, kind })
    }

    fn enter(&mut self, column: usize) -> Result<(), FormulaError> {
        self.depth += 1;
        if self.depth > MAX_NESTING {
            return Err(FormulaError::new(
                column,
                format!("brackets go more than {MAX_NESTING} deep here"),
                "simplify, or split the formula over two tests".to_owned(),
            ));
        }
        Ok(())
    }

    /// After a name: a call if a bracket follows.
    fn named(&mut self, name: String, column: usize) -> Result<Node, FormulaError> {
        if self.peek() != &Token::Open {
            let kind = match name.as_str() {
                "true" => Kind::Bool(true),
                "false" => Kind::Bool(false),
                _ => Kind::Name(name),
            };
            return Ok(Node { column, kind });
        }
        let callee = Callee::find(&name, column)?;
        self.step();
        self.enter(column)?;
        let mut args = Vec::new();
        if self.peek() != &Token::Close {
            args.push(self.whole()?);
            while self.peek() == &Token::Comma {
                self.step();
                args.push(self.whole()?);
            }
        }
        self.expect(&Token::Close)?;
        self.depth -= 1;
        callee.accepts(args.len(), column)?;
        Ok(Node {
            column,
            kind: Kind::Call(callee, args),
        })
    }
}
