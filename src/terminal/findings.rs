//! Findings as a person reads them: where, the line with a mark under the place, what is wrong, what to do.

use std::fmt::Write as _;

use super::style::Style;
use crate::finding::{Finding, Level};
use crate::knowledge::Knowledge;

/// Columns before the line that is shown.
const MARGIN: usize = 4;

/// All findings, one block each, in the order given.
#[must_use]
pub fn render_findings(knowledge: &Knowledge, findings: &[Finding], style: &Style) -> String {
    let mut text = String::new();
    for finding in findings {
        one(&mut text, knowledge, finding, style);
        text.push('\n');
    }
    text
}

fn one(text: &mut String, knowledge: &Knowledge, finding: &Finding, style: &Style) {
    let position = knowledge.sources.position(&finding.location);
    let file = finding.location.file;
    let name = knowledge.sources.files.get(file).map_or("", |f| f.name.as_str());
    let place = format!("{name}:{}:{}", position.line, position.column);
    let _ = writeln!(text, "{}", style.faint(&place));
    let line = knowledge.sources.line(file, position.line);
    if !line.trim().is_empty() {
        let (shown, mark) = excerpt(line, position.column, style);
        let margin = " ".repeat(MARGIN);
        let _ = writeln!(text, "{margin}{shown}");
        let blank = " ".repeat(mark.0);
        let _ = writeln!(
            text,
            "{margin}{blank}{}",
            paint(finding.level(), style, &"^".repeat(mark.1))
        );
    }
    let head = format!("{}[{}]:", level_word(finding.level()), finding.code.name());
    paragraph(
        text,
        &head,
        &paint(finding.level(), style, &head),
        &finding.message,
        style,
    );
    paragraph(text, "do:", &style.action("do:"), &finding.help, style);
}

/// A level as it is written before the code.
#[must_use]
pub fn level_word(level: Level) -> &'static str {
    match level {
        Level::Error => "error",
        Level::Warning => "warning",
    }
}

fn paint(level: Level, style: &Style, text: &str) -> String {
    match level {
        Level::Error => style.danger(text),
        Level::Warning => style.caution(text),
    }
}

/// Label and text, wrapped; further lines are indented by two.
fn paragraph(text: &mut String, label: &str, painted: &str, words: &str, style: &Style) {
    let whole = format!("{label} {words}");
    // Ids are full of hyphens and must stay whole, so that they can be searched for.
    let options = textwrap::Options::new(style.width.max(20))
        .subsequent_indent("  ")
        .word_separator(textwrap::WordSeparator::AsciiSpace)
        .word_splitter(textwrap::WordSplitter::NoHyphenation);
    for (i, line) in textwrap::wrap(&whole, options).iter().enumerate() {
        match line.strip_prefix(label).filter(|_| i == 0) {
            Some(rest) => {
                let _ = writeln!(text, "{painted}{rest}");
            }
            None => {
                let _ = writeln!(text, "{line}");
            }
        }
    }
}

/// The part of a line that fits, and where in it the mark begins and how long it is. Columns count from 1.
fn excerpt(line: &str, column: usize, style: &Style) -> (String, (usize, usize)) {
    let room = style.width.saturating_sub(MARGIN).max(24);
    let cut = if style.unicode { "…" } else { "..." };
    let chars: Vec<char> = line.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    let indent = chars.iter().take_while(|c| **c == ' ').count();
    let at = column.saturating_sub(1).min(chars.len());
    let length = word_length(&chars, at);
    // Indentation goes first; if that is not enough, the line begins a little before the mark.
    let start = if chars.len() - indent <= room || at < indent + room * 2 / 3 {
        indent.min(at)
    } else {
        at - room / 3
    };
    let mut shown = String::new();
    let mut used = 0;
    if start > indent {
        shown.push_str(cut);
        used = cut.chars().count();
    }
    let before = used;
    let rest = &chars[start..];
    if rest.len() > room - used {
        let keep = room - used - cut.chars().count();
        shown.extend(&rest[..keep]);
        shown.push_str(cut);
    } else {
        shown.extend(rest);
    }
    let from = before + at - start;
    let most = room.saturating_sub(from).max(1);
    (shown.trim_end().to_owned(), (from, length.min(most)))
}

/// How far an id, a number or a quoted text goes on from there.
fn word_length(chars: &[char], at: usize) -> usize {
    let rest = &chars[at.min(chars.len())..];
    if let Some(quote @ ('"' | '\'')) = rest.first() {
        return rest[1..].iter().position(|c| c == quote).map_or(1, |end| end + 2);
    }
    let word = |c: &&char| c.is_alphanumeric() || matches!(c, '-' | '_' | '.' | '%');
    rest.iter().take_while(word).count().max(1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_mark_is_under_its_word_however_long_the_line() {
        let line = format!("    {}wrong-id{}", "x, ".repeat(60), ", y".repeat(60));
        for unicode in [false, true] {
            for width in [40, 80, 200] {
                let style = Style {
                    width,
                    colour: false,
                    unicode,
                };
                let (shown, (from, length)) = excerpt(&line, 185, &style);
                let marked: String = shown.chars().skip(from).take(length).collect();
                assert_eq!(marked, "wrong-id", "{shown}");
                assert!(shown.chars().count() <= width, "{shown}");
            }
        }
    }

    #[test]
    fn a_column_past_the_end_is_no_panic() {
        let style = Style::plain(80);
        assert_eq!(excerpt("short", 99, &style).1, (5, 1));
        assert_eq!(excerpt("", 1, &style).1, (0, 1));
    }
}
