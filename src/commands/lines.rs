//! Pages made of sections, lists and paragraphs, wrapped at the width of the page.

use crate::terminal::Style;

/// A page as it grows.
pub(super) struct Lines<'a> {
    style: &'a Style,
    /// What was written so far.
    pub(super) text: String,
}

impl<'a> Lines<'a> {
    pub(super) fn new(style: &'a Style) -> Self {
        Self {
            style,
            text: String::new(),
        }
    }

    /// The first line of the page.
    pub(super) fn heading(&mut self, text: &str) {
        let line = self.style.strong(text);
        self.row(&line);
    }

    /// A section with how many there are; an empty one says "none".
    pub(super) fn section(&mut self, title: &str, many: usize) {
        self.blank();
        let head = self.style.strong(title);
        let count = if many == 0 { "none".to_owned() } else { many.to_string() };
        self.row(&format!("{head}: {count}"));
    }

    /// An item of a list.
    pub(super) fn item(&mut self, text: &str) {
        self.wrap(text, "- ", "  ");
    }

    /// Something about the item before it.
    pub(super) fn under(&mut self, text: &str) {
        self.wrap(text, "    ", "    ");
    }

    /// Says how many of a list were left out.
    pub(super) fn more(&mut self, all: usize, shown: usize) {
        if all > shown {
            self.row(&format!("  and {} more (--json lists all)", all - shown));
        }
    }

    pub(super) fn paragraph(&mut self, text: &str) {
        self.wrap(text, "", "");
    }

    /// A line that is laid out already.
    pub(super) fn row(&mut self, text: &str) {
        self.text.push_str(text.trim_end());
        self.text.push('\n');
    }

    pub(super) fn blank(&mut self) {
        self.text.push('\n');
    }

    fn wrap(&mut self, text: &str, first: &str, rest: &str) {
        // Ids are full of hyphens and must stay whole, so that they can be searched for.
        let options = textwrap::Options::new(self.style.width.max(20))
            .initial_indent(first)
            .subsequent_indent(rest)
            .word_separator(textwrap::WordSeparator::AsciiSpace)
            .word_splitter(textwrap::WordSplitter::NoHyphenation);
        for line in textwrap::wrap(text, options) {
            self.row(&line);
        }
    }
}
