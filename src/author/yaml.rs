//! YAML as a person would write it, with comments. Whatever is printable comes back from the loader as it went in.

use std::fmt::Write as _;

/// Columns that a line keeps to where it can.
const WIDTH: usize = 80;

/// A value.
#[derive(Debug, Clone, PartialEq)]
pub enum Node {
    /// Text, quoted where it has to be.
    Text(String),
    /// A number, a word of the language: written as it stands.
    Word(String),
    /// A list on one line.
    List(Vec<Node>),
    /// Texts, each on a line of its own.
    Lines(Vec<String>),
    /// A map on one line.
    Short(Vec<(String, Node)>),
    /// A map of fields, each on a line of its own.
    Map(Vec<Field>),
}

/// A field of a map.
#[derive(Debug, Clone, PartialEq)]
pub struct Field {
    /// Its key.
    pub key: String,
    /// Its value.
    pub value: Node,
    /// Said above it; empty for nothing.
    pub comment: &'static str,
}

impl Field {
    /// A field without a comment.
    #[must_use]
    pub fn new(key: impl Into<String>, value: Node) -> Self {
        Self {
            key: key.into(),
            value,
            comment: "",
        }
    }

    /// The same field with a comment above it.
    #[must_use]
    pub fn saying(self, comment: &'static str) -> Self {
        Self { comment, ..self }
    }
}

/// Words that YAML, in one version or another, takes for something else than text.
const RESERVED: [&str; 12] = [
    "true", "false", "null", "yes", "no", "on", "off", "y", "n", "nan", "inf", "infinity",
];

/// A text as a YAML scalar: bare where it can only be read as that text, in double quotes everywhere else.
#[must_use]
pub fn scalar(text: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || " -_./()'".contains(c);
    let bare = text.chars().next().is_some_and(|c| c.is_ascii_alphabetic())
        && text.chars().all(plain)
        && !text.ends_with(' ')
        && !RESERVED.contains(&text.to_lowercase().as_str());
    if bare { text.to_owned() } else { quoted(text) }
}

/// YAML 1.2.2, 5.7 and 7.3.1: what is not printable, and what some version takes for a line break, is escaped.
fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\t' => out.push_str("\\t"),
            '\u{2028}' | '\u{2029}' | '\u{feff}' | '\u{fffe}' | '\u{ffff}' => {
                let _ = write!(out, "\\u{:04x}", u32::from(c));
            }
            c if c.is_control() => {
                let _ = write!(out, "\\u{:04x}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

/// Fields as lines, each indented by so many blanks.
#[must_use]
pub fn write_map(fields: &[Field], indent: usize) -> String {
    let mut out = String::new();
    let blank = " ".repeat(indent);
    for field in fields {
        if !field.comment.is_empty() {
            let mark = format!("{blank}# ");
            let options = textwrap::Options::new(WIDTH)
                .initial_indent(&mark)
                .subsequent_indent(&mark);
            for line in textwrap::wrap(field.comment, options) {
                let _ = writeln!(out, "{line}");
            }
        }
        let key = scalar(&field.key);
        match &field.value {
            Node::Map(inner) if !inner.is_empty() => {
                let _ = writeln!(out, "{blank}{key}:");
                out += &write_map(inner, indent + 2);
            }
            Node::Lines(lines) if !lines.is_empty() => {
                let _ = writeln!(out, "{blank}{key}:");
                for line in lines {
                    let words = scalar(line);
                    fill(&mut out, &format!("{blank}  - "), &words_of(&words), " ", indent + 4);
                }
            }
            value => {
                let before = format!("{blank}{key}: ");
                match value {
                    Node::Text(text) => fill(&mut out, &before, &words_of(&scalar(text)), " ", indent + 2),
                    Node::Short(map) => {
                        let items: Vec<String> = map.iter().map(pair).collect();
                        fill_in(&mut out, &before, &items, ('{', '}'), indent + 2);
                    }
                    Node::List(list) => {
                        let items: Vec<String> = list.iter().map(short).collect();
                        fill_in(&mut out, &before, &items, ('[', ']'), indent + 2);
                    }
                    _ => {
                        let _ = writeln!(out, "{before}{}", short(value));
                    }
                }
            }
        }
    }
    out
}

/// The words of a scalar. YAML folds one line break between words into one blank, so a line may break there and nowhere else.
fn words_of(scalar: &str) -> Vec<&str> {
    let mut words = Vec::new();
    let mut start = 0;
    for (at, _) in scalar.match_indices(' ') {
        let near = |c: Option<char>| c.is_some_and(|c| c != ' ' && c != '"');
        let between = near(scalar[..at].chars().next_back()) && near(scalar[at + 1..].chars().next());
        if between {
            words.push(&scalar[start..at]);
            start = at + 1;
        }
    }
    words.push(&scalar[start..]);
    words
}

/// Parts one after the other, a new line where the next would not fit.
fn fill(out: &mut String, before: &str, parts: &[&str], gap: &str, indent: usize) {
    let mut used = before.chars().count();
    out.push_str(before);
    for (i, part) in parts.iter().enumerate() {
        let length = part.chars().count();
        if i > 0 && used + gap.len() + length > WIDTH {
            out.push_str(gap.trim_end());
            out.push('\n');
            out.push_str(&" ".repeat(indent));
            used = indent;
        } else if i > 0 {
            out.push_str(gap);
            used += gap.len();
        }
        out.push_str(part);
        used += length;
    }
    out.push('\n');
}

/// A list or a map in brackets, a new line where the next item would not fit.
fn fill_in(out: &mut String, before: &str, items: &[String], (open, close): (char, char), indent: usize) {
    let last = items.len().saturating_sub(1);
    let with_bracket = |(i, item): (usize, &String)| {
        if i == last {
            format!("{item}{close}")
        } else {
            item.clone()
        }
    };
    let mut parts: Vec<String> = items.iter().enumerate().map(with_bracket).collect();
    if parts.is_empty() {
        parts.push(close.to_string());
    }
    let parts: Vec<&str> = parts.iter().map(String::as_str).collect();
    fill(out, &format!("{before}{open}"), &parts, ", ", indent);
}

/// A value on one line.
fn short(node: &Node) -> String {
    let list = |items: Vec<String>| format!("[{}]", items.join(", "));
    match node {
        Node::Text(text) => scalar(text),
        Node::Word(word) => word.clone(),
        Node::List(items) => list(items.iter().map(short).collect()),
        Node::Lines(lines) => list(lines.iter().map(|l| scalar(l)).collect()),
        Node::Short(map) => {
            let items: Vec<String> = map.iter().map(pair).collect();
            format!("{{{}}}", items.join(", "))
        }
        Node::Map(fields) => {
            let fields: Vec<(String, Node)> = fields.iter().map(|f| (f.key.clone(), f.value.clone())).collect();
            short(&Node::Short(fields))
        }
    }
}

fn pair((key, value): &(String, Node)) -> String {
    format!("{}: {}", scalar(key), short(value))
}
