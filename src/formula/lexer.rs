//! Characters to tokens, with the caps on length and operators.

use super::ast::Operator;
use super::error::FormulaError;
use super::{MAX_CHARACTERS, MAX_OPERATORS};

#[derive(Clone, Debug, PartialEq)]
pub(super) enum Token {
    Number(f64),
    Name(String),
    Text(String),
    Operator(Operator),
    Not,
    Question,
    Colon,
    Open,
    Close,
    Comma,
    /// Always the last one.
    End,
}

impl Token {
    /// For messages: what the reader sees at that place.
    pub(super) fn shown(&self) -> String {
        match self {
            Self::Number(n) => format!("the number {n}"),
            Self::Name(name) => format!("`{name}`"),
            Self::Text(text) => format!("the text \"{text}\""),
            Self::Operator(op) => format!("`{}`", op.sign()),
            Self::Not => "`!`".to_owned(),
            Self::Question => "`?`".to_owned(),
            Self::Colon => "`:`".to_owned(),
            Self::Open => "`(`".to_owned(),
            Self::Close => "`)`".to_owned(),
            Self::Comma => "`,`".to_owned(),
            Self::End => "the end".to_owned(),
        }
    }
}

/// Splits `text` into tokens with their columns; the last is [`Token::End`].
pub(super) fn tokens(text: &str) -> Result<Vec<(Token, usize)>, FormulaError> {
    let chars: Vec<char> = text.chars().take(MAX_CHARACTERS + 1).collect();
    if chars.len() > MAX_CHARACTERS {
        return Err(FormulaError::new(
            MAX_CHARACTERS + 1,
            format!("this formula is longer than {MAX_CHARACTERS} characters"),
            "split it over two tests, or let a reading be asked for directly".to_owned(),
        ));
    }
    let mut lexer = Lexer { chars, at: 0 };
    let mut out = Vec::new();
    let mut operators = 0;
    while let Some((token, column)) = lexer.next()? {
        operators += usize::from(matches!(token, Token::Operator(_) | Token::Not | Token::Question));
        if operators > MAX_OPERATORS {
            return Err(FormulaError::new(
                column,
                format!("this formula has more than {MAX_OPERATORS} operators"),
                "split it over two tests".to_owned(),
            ));
        }
        out.push((token, column));
    }
    let end = lexer
        .chars
        .iter()
        .rposition(|c| !c.is_whitespace())
        .map_or(1, |i| i + 2);
    out.push((Token::End, end));
    Ok(out)
}

struct Lexer {
    chars: Vec<char>,
    at: usize,
}

fn starts_name(c: char) -> bool {
    c.is_ascii_alphabetic() || c == '_'
}

fn in_name(c: char) -> bool {
    c.is_ascii_alphanumeric() || c == '_'
}

impl Lexer {
    fn peek(&self, ahead: usize) -> Option<char> {
        self.chars.get(self.at + ahead).copied()
    }

    fn take_while(&mut self, f: impl Fn(char) -> bool) -> String {
        let from = self.at;
        while self.peek(0).is_some_and(&f) {
            self.at += 1;
        }
        self.chars[from..self.at].iter().collect()
    }

    fn next(&mut self) -> Result<Option<(Token, usize)>, FormulaError> {
        self.take_while(char::is_whitespace);
        let Some(c) = self.peek(0) else {
            return Ok(None);
        };
        let column = self.at + 1;
        let next_is_digit = self.peek(1).is_some_and(|c| c.is_ascii_digit());
        let token = if c.is_ascii_digit() || (c == '.' && next_is_digit) {
            self.number(column)?
        } else if starts_name(c) {
            Token::Name(self.name())
        } else if matches!(c, '"' | '\'') {
            self.text(c, column)?
        } else {
            self.sign(c, column)?
        };
        Ok(Some((token, column)))
    }

    /// A hyphen between two name characters belongs to the name.
    fn name(&mut self) -> String {
        let mut name = self.take_while(in_name);
        while self.peek(0) == Some('-') && self.peek(1).is_some_and(in_name) {
            self.at += 1;
            name.push('-');
            name.push_str(&self.take_while(in_name));
        }
        name
    }

    fn number(&mut self, column: usize) -> Result<Token, FormulaError> {
        let digit = |c: char| c.is_ascii_digit();
        let mut text = self.take_while(digit);
        if self.peek(0) == Some('.') && self.peek(1).is_some_and(digit) {
            self.at += 1;
            text.push('.');
            text.push_str(&self.take_while(digit));
        }
        if matches!(self.peek(0), Some('e' | 'E')) {
            let signed = usize::from(matches!(self.peek(1), Some('+' | '-')));
            if self.peek(1 + signed).is_some_and(digit) {
                text.extend(&self.chars[self.at..=self.at + signed]);
                self.at += 1 + signed;
                text.push_str(&self.take_while(digit));
            }
        }
        if let Some(c) = self
            .peek(0)
            .filter(|c| starts_name(*c) || matches!(c, '.' | '°' | 'µ' | 'Ω'))
        {
            return Err(FormulaError::new(
                self.at + 1,
                format!("`{c}` stands directly after a number"),
                "write the bare number: beside a reading it takes the unit of that reading".to_owned(),
            ));
        }
        match format!("0{text}").parse::<f64>() {
            Ok(n) if n.is_finite() => Ok(Token::Number(n)),
            _ => Err(FormulaError::new(
                column,
                format!("{text} is too large to calculate with"),
                "write a number that a reading could have".to_owned(),
            )),
        }
    }

    fn text(&mut self, quote: char, column: usize) -> Result<Token, FormulaError> {
        self.at += 1;
        let text = self.take_while(|c| c != quote && c != '\\');
        if self.peek(0) != Some(quote) {
            return Err(FormulaError::new(
                column,
                "this text has no closing quote".to_owned(),
                "put the same quote at both ends and no backslash between".to_owned(),
            ));
        }
        self.at += 1;
        Ok(Token::Text(text))
    }

    fn sign(&mut self, c: char, column: usize) -> Result<Token, FormulaError> {
        use Operator as Op;
        let next = self.peek(1);
        let (token, length) = match (c, next) {
            ('|', Some('|')) => (Token::Operator(Op::Or), 2),
            ('&', Some('&')) => (Token::Operator(Op::And), 2),
            ('<', Some('=')) => (Token::Operator(Op::LessOrEqual), 2),
            ('>', Some('=')) => (Token::Operator(Op::GreaterOrEqual), 2),
            ('=', Some('=')) => (Token::Operator(Op::Equal), 2),
            ('!', Some('=')) => (Token::Operator(Op::NotEqual), 2),
            ('<', _) => (Token::Operator(Op::Less), 1),
            ('>', _) => (Token::Operator(Op::Greater), 1),
            ('+', _) => (Token::Operator(Op::Plus), 1),
            ('-', _) => (Token::Operator(Op::Minus), 1),
            ('*', _) => (Token::Operator(Op::Times), 1),
            ('/', _) => (Token::Operator(Op::Over), 1),
            ('!', _) => (Token::Not, 1),
            ('?', _) => (Token::Question, 1),
            (':', _) => (Token::Colon, 1),
            ('(', _) => (Token::Open, 1),
            (')', _) => (Token::Close, 1),
            (',', _) => (Token::Comma, 1),
            _ => return Err(unknown_sign(c, column)),
        };
        self.at += length;
        Ok(token)
    }
}

fn unknown_sign(c: char, column: usize) -> FormulaError {
    let help = match c {
        '=' => "write == to compare",
        '&' => "write && for and",
        '|' => "write || for or",
        '^' => "there is no power: multiply, x * x",
        '%' => "there is no remainder; for a percentage multiply by 100",
        '\u{2212}' | '\u{2013}' => "write a plain minus, -",
        '×' | '·' => "write * to multiply",
        '÷' => "write / to divide",
        '≤' => "write <=",
        '≥' => "write >=",
        '[' | ']' | '{' | '}' => "lists and maps are not part of these formulas; use round brackets",
        '.' => "names have no parts; a decimal number starts with a digit",
        _ => "allowed are numbers, names, + - * / < <= > >= == != && || ! ? : ( ) , and texts in quotes",
    };
    FormulaError::new(
        column,
        format!("`{}` has no meaning here", c.escape_debug()),
        help.to_owned(),
    )
}
