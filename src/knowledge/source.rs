//! The files of the packs, and the way from a path inside one to its line and column.

use saphyr_parser::{Event, Parser, Span};

use crate::finding::Location;

/// One file as it was read.
#[derive(Debug, Clone)]
pub struct SourceFile {
    /// Name shown to a person, with the pack's folder.
    pub name: String,
    /// Its text.
    pub text: String,
    /// Which pack it belongs to, in layering order.
    pub pack: usize,
}

/// All files that were read.
#[derive(Debug, Clone, Default)]
pub struct Sources {
    /// In the order they were read.
    pub files: Vec<SourceFile>,
}

/// A place in a file, both counted from 1, the column in characters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
pub struct Position {
    /// Line.
    pub line: usize,
    /// Column.
    pub column: usize,
}

impl Sources {
    /// Line and column of a location. Scans the file's events; meant for the moment something is shown.
    ///
    /// Where the whole path can't be found (a missing field), its longest part that exists is taken.
    #[must_use]
    pub fn position(&self, location: &Location) -> Position {
        if let Some((line, column)) = location.known {
            return Position { line, column };
        }
        let text = self.files.get(location.file).map_or("", |f| f.text.as_str());
        let mut position = resolve(text, &location.path, location.on_key).1;
        position.column += location.offset;
        position
    }

    /// How many parts of the path exist in that file.
    #[must_use]
    pub fn depth(&self, file: usize, path: &[String]) -> usize {
        self.files.get(file).map_or(0, |f| resolve(&f.text, path, false).0)
    }

    /// The line itself.
    #[must_use]
    pub fn line(&self, file: usize, line: usize) -> &str {
        self.files
            .get(file)
            .and_then(|f| f.text.lines().nth(line.saturating_sub(1)))
            .unwrap_or("")
    }
}

/// One open map or list of the scan.
struct Frame {
    /// List position, or `None` in a map.
    index: Option<usize>,
    /// In a map: the next scalar is a key.
    expects_key: bool,
    /// How many parts of the path lead to this collection, if it lies on the path.
    matched: Option<usize>,
    /// Parts matched by the key or list position just seen.
    child: Option<usize>,
}

/// Longest part of `path` that exists, and where it stands: a scalar at its value (at its key where `on_key`), a map or a list at its key.
fn resolve(text: &str, path: &[String], on_key: bool) -> (usize, Position) {
    let mut best = (0, Position { line: 1, column: 1 });
    let mut stack: Vec<Frame> = Vec::new();
    for event in Parser::new_from_str(text) {
        let Ok((event, span)) = event else { break };
        match event {
            Event::MappingStart(..) | Event::SequenceStart(..) => {
                let matched = enter_value(&mut stack, path, span, &mut best);
                let is_list = matches!(event, Event::SequenceStart(..));
                stack.push(Frame {
                    index: is_list.then_some(0),
                    expects_key: !is_list,
                    matched,
                    child: None,
                });
            }
            Event::MappingEnd | Event::SequenceEnd => {
                stack.pop();
            }
            Event::Scalar(value, ..) => {
                let key_of = stack.last().filter(|f| f.expects_key).map(|f| f.matched);
                if let Some(matched) = key_of {
                    let child = matched
                        .filter(|&d| path.get(d).is_some_and(|p| *p == *value))
                        .map(|d| d + 1);
                    if let Some(depth) = child
                        && depth > best.0
                    {
                        best = (depth, position(span));
                    }
                    if let Some(frame) = stack.last_mut() {
                        frame.child = child;
                        frame.expects_key = false;
                    }
                } else {
                    let matched = enter_value(&mut stack, path, span, &mut best);
                    if matched == Some(path.len()) && !path.is_empty() && !on_key {
                        // The scalar itself says more than its key does.
                        best = (path.len(), position(span));
                    }
                }
            }
            Event::Alias(_) => {
                enter_value(&mut stack, path, span, &mut best);
            }
            _ => {}
        }
        if best.0 == path.len() && !path.is_empty() && stack.last().is_none_or(|f| f.child != Some(path.len())) {
            break;
        }
    }
    best
}

/// A value begins: says how much of the path leads to it, and moves its parent on.
fn enter_value(stack: &mut [Frame], path: &[String], span: Span, best: &mut (usize, Position)) -> Option<usize> {
    let Some(frame) = stack.last_mut() else {
        return Some(0);
    };
    if let Some(index) = frame.index {
        frame.index = Some(index + 1);
        let depth = frame
            .matched
            .filter(|&d| path.get(d).is_some_and(|p| *p == index.to_string()))?
            + 1;
        if depth > best.0 {
            *best = (depth, position(span));
        }
        Some(depth)
    } else {
        frame.expects_key = true;
        frame.child.take()
    }
}

fn position(span: Span) -> Position {
    Position {
        line: span.start.line(),
        column: span.start.col() + 1,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "causes:\n  a:\n    rate: 3\n    shows:\n      t: {low: 0.5, high: oops}\n    list: [x, {k: y}]\n  b:\n    rate: 4\n";

    fn at(path: &[&str]) -> (usize, usize, usize) {
        let path: Vec<String> = path.iter().map(|p| (*p).to_owned()).collect();
        let (depth, p) = resolve(TEXT, &path, false);
        (depth, p.line, p.column)
    }

    fn key(path: &[&str]) -> (usize, usize, usize) {
        let path: Vec<String> = path.iter().map(|p| (*p).to_owned()).collect();
        let (depth, p) = resolve(TEXT, &path, true);
        (depth, p.line, p.column)
    }

    #[test]
    fn a_wrong_key_is_found_at_the_key() {
        assert_eq!(key(&["causes", "a", "shows", "t", "high"]), (5, 5, 21));
        assert_eq!(key(&["causes", "b", "rate"]), (3, 8, 5));
        assert_eq!(key(&["causes", "a", "list", "1", "k"]), (5, 6, 16));
        assert_eq!(key(&["causes", "a", "shows", "t"]), (4, 5, 7));
    }

    #[test]
    fn scalars_are_found_at_their_value() {
        assert_eq!(at(&["causes", "a", "shows", "t", "high"]), (5, 5, 27));
        assert_eq!(at(&["causes", "b", "rate"]), (3, 8, 11));
        assert_eq!(at(&["causes", "a", "list", "1", "k"]), (5, 6, 19));
    }

    #[test]
    fn maps_are_found_at_their_key() {
        assert_eq!(at(&["causes", "b"]), (2, 7, 3));
        assert_eq!(at(&["causes", "a", "shows", "t"]), (4, 5, 7));
    }

    #[test]
    fn a_missing_field_points_at_what_should_have_it() {
        assert_eq!(at(&["causes", "b", "severity"]), (2, 7, 3));
    }
}
