//! What may leave the call: no control characters, no codes.
//!
//! Codes, PINs and passwords are never asked for. A text in which four or more digits stand near one of the words below is taken for one:
//! a note is left out whole, in any other text the digits are. An honest "error code 1042" goes the same way: better a number too few than a code too many.

use crate::call::{DANGER, Entry, Event};

/// What stands where a text was left out that may name people or places.
pub const REDACTED: &str = "left out";

/// The entries without what may name a customer: name of the site, the caller's words, notes and remarks of every kind, the trainee of a drill.
/// Readings, answers, facts, times and how somebody was verified (by kind) stay: the call means the same.
#[must_use]
pub fn redacted(entries: &[Entry]) -> Vec<Entry> {
    let redact = |entry: &Entry| {
        let mut entry = entry.clone();
        redact(&mut entry.event);
        entry
    };
    entries.iter().map(redact).collect()
}

fn redact(event: &mut Event) {
    match event {
        Event::Opened { site: name, .. } | Event::Drill { trainee: name, .. } => name.iter_mut().for_each(leave_out),
        Event::Complaint { words: text, .. }
        | Event::Note { text }
        | Event::Repaired { note: text, .. }
        | Event::SignsCleared { how: text, .. }
        | Event::Caller { others: text, .. }
        | Event::Remembered { from: text, .. }
        | Event::Answer { said: Some(text), .. }
        | Event::Ended { text, .. } => leave_out(text),
        Event::Retest { note, each, .. } => {
            leave_out(note);
            each.iter_mut().for_each(|one| leave_out(&mut one.what));
        }
        Event::Fitted { what, .. } => what.iter_mut().for_each(leave_out),
        Event::OutOfUse { why, .. } => why.iter_mut().filter(|w| !is_machine_made(w)).for_each(leave_out),
        _ => {}
    }
}

/// An empty text says that there was none: that stays so.
fn leave_out(text: &mut String) {
    if !text.is_empty() {
        REDACTED.clone_into(text);
    }
}

/// A hazard sign by its id, or a danger by its worst.
fn is_machine_made(why: &str) -> bool {
    let id = why.strip_prefix(DANGER).unwrap_or(why);
    id.chars().all(|c| c.is_ascii_lowercase() || c == '-')
}

/// What stands where digits were left out.
pub const LEFT_OUT: &str = "[left out: looked like a code]";

/// Words that make digits near them suspect; an ending such as in `passcode` or `keycode` counts too.
const SECRET: [&str; 4] = ["code", "pin", "password", "combination"];
/// This many words between them are still near.
const NEAR: usize = 8;
/// Fewer digits are no code.
const DIGITS: usize = 4;

/// The text on one line, without control characters and without marks that turn the direction of writing or can't be seen.
fn visible(text: &str) -> String {
    let shown: String = text
        .chars()
        .filter(
            |c| !matches!(c, '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{2069}' | '\u{feff}'),
        )
        .map(|c| {
            if c.is_control() || matches!(c, '\u{2028}' | '\u{2029}') {
                ' '
            } else {
                c
            }
        })
        .collect();
    shown.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A person's or a pack's text as it may be shown: one line, no control characters, digits that look like a code left out.
///
/// ```
/// use pintle::report::{LEFT_OUT, plain_text};
/// assert_eq!(plain_text("code 4 3 2 1 is\u{1b}[31m gone"), format!("code {LEFT_OUT} is [31m gone"));
/// assert_eq!(plain_text("pulled 1200 mm of cable"), "pulled 1200 mm of cable");
/// ```
#[must_use]
pub fn plain_text(text: &str) -> String {
    let text = visible(text);
    let mut shown = String::with_capacity(text.len());
    let mut from = 0;
    for (start, end) in suspects(&text) {
        // Two suspect runs may share a word: what was left out stays left out.
        if start >= from {
            shown.push_str(&text[from..start]);
            shown.push_str(LEFT_OUT);
        }
        from = from.max(end);
    }
    shown.push_str(&text[from..]);
    shown
}

/// Whether a text holds four or more digits near a word like code, PIN, password or combination.
///
/// ```
/// use pintle::report::looks_like_code;
/// assert!(looks_like_code("gate PIN: 12-34"));
/// assert!(looks_like_code("4711, the new keycode"));
/// assert!(!looks_like_code("serial 883120, hinge greased"));
/// assert!(!looks_like_code("code read off the display: E7"));
/// ```
#[must_use]
pub fn looks_like_code(text: &str) -> bool {
    !suspects(&visible(text)).is_empty()
}

/// One word or one run of digits.
struct Token {
    start: usize,
    end: usize,
    digits: usize,
    secret: bool,
}

/// Byte ranges to leave out: runs of digits near a telling word, with the letters grown together with them.
fn suspects(text: &str) -> Vec<(usize, usize)> {
    let tokens = tokens(text);
    let mut ranges = Vec::new();
    for (i, token) in tokens.iter().enumerate().filter(|(_, t)| t.digits >= DIGITS) {
        let near = &tokens[i.saturating_sub(NEAR)..(i + NEAR + 1).min(tokens.len())];
        if near.iter().any(|t| t.secret) {
            let grown = |c: &char| c.is_alphanumeric();
            let before: usize = text[..token.start]
                .chars()
                .rev()
                .take_while(grown)
                .map(char::len_utf8)
                .sum();
            let after: usize = text[token.end..].chars().take_while(grown).map(char::len_utf8).sum();
            ranges.push((token.start - before, token.end + after));
        }
    }
    ranges
}

/// Words, and runs of digits with at most one other mark between two digits.
fn tokens(text: &str) -> Vec<Token> {
    let chars: Vec<(usize, char)> = text.char_indices().collect();
    let end_of = |i: usize| chars.get(i).map_or(text.len(), |(at, _)| *at);
    let mut tokens = Vec::new();
    let mut i = 0;
    while i < chars.len() {
        let (start, first) = chars[i];
        let begin = i;
        let mut digits = 0;
        if first.is_numeric() {
            while let Some(&(_, c)) = chars.get(i) {
                let joins = !c.is_alphanumeric() && chars.get(i + 1).is_some_and(|(_, c)| c.is_numeric());
                if c.is_numeric() {
                    digits += 1;
                } else if !joins {
                    break;
                }
                i += 1;
            }
        } else if first.is_alphabetic() {
            while chars.get(i).is_some_and(|(_, c)| c.is_alphabetic()) {
                i += 1;
            }
        } else {
            i += 1;
            continue;
        }
        debug_assert!(i > begin, "every token has a character");
        let word = text[start..end_of(i)].to_lowercase();
        let word = word.strip_suffix('s').unwrap_or(&word);
        tokens.push(Token {
            start,
            end: end_of(i),
            digits,
            secret: digits == 0 && SECRET.iter().any(|s| word == *s || (*s != "pin" && word.ends_with(s))),
        });
    }
    tokens
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_redacted_call_names_nobody_and_means_the_same() {
        let entry = |event| Entry {
            time: "2026-03-04T09:30:00+01:00".to_owned(),
            event,
        };
        let text = || "Mrs Example, 3 Mill Lane".to_owned();
        let symptoms = vec!["slow".to_owned()];
        let entries = [
            entry(Event::Complaint {
                words: text(),
                symptoms: symptoms.clone(),
            }),
            entry(Event::Note { text: text() }),
            entry(Event::Repaired {
                repair: "fix-worn-battery".to_owned(),
                note: String::new(),
            }),
        ];
        let shown = redacted(&entries);
        assert!(shown.iter().all(|e| e.time == entries[0].time), "times stay");
        assert!(!format!("{shown:?}").contains("Mill"), "{shown:?}");
        let words = REDACTED.to_owned();
        assert_eq!(shown[0].event, Event::Complaint { words, symptoms });
        assert_eq!(shown[2].event, entries[2].event, "an empty remark stays empty");
    }

    #[test]
    fn a_code_is_found_however_it_is_written() {
        for text in [
            "code 1234",
            "1234 code",
            "PIN1234",
            "Pins: 1*2*3*4",
            "the passwords are gate2024",
            "code\n4\t3 2 1",
            "combination 10-20",
        ] {
            assert!(looks_like_code(text), "{text}");
            let shown = plain_text(text);
            assert!(shown.contains(LEFT_OUT) && !looks_like_code(&shown), "{shown}");
        }
    }

    #[test]
    fn a_code_hidden_by_invisible_marks_is_found() {
        assert!(looks_like_code("co\u{200b}de 12\u{2060}34"));
    }

    #[test]
    fn readings_and_years_stay() {
        for text in [
            "built 2019, 24.71 V at rest",
            "spin 2000 times",
            "code E7",
            "pinned the leaf at 1500 mm",
        ] {
            assert_eq!(plain_text(text), text);
        }
    }
}
