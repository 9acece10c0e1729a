//! YAML as a person would write it, with comments. Whatever is printable comes back from the loader as it went in.

use std::fmt::Write as _;

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
            let _ = writeln!(out, "{blank}# {}", field.comment);
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
                    let _ = writeln!(out, "{blank}  - {}", scalar(line));
                }
            }
            value => {
                let _ = writeln!(out, "{blank}{key}: {}", short(value));
            }
        }
    }
    out
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
            let items: Vec<String> = map
                .iter()
                .map(|(k, v)| format!("{}: {}", scalar(k), short(v)))
                .collect();
            format!("{{{}}}", items.join(", "))
        }
        Node::Map(fields) => {
            let fields: Vec<(String, Node)> = fields.iter().map(|f| (f.key.clone(), f.value.clone())).collect();
            short(&Node::Short(fields))
        }
    }
}
