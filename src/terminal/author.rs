//! A person at a terminal who writes new entries.

use std::io::Write;

use super::page::Page;
use super::person::{Line, TerminalError, read_line};
use super::style::Style;
use crate::author::{Ask, Show, Stop};

/// A person before an output.
pub struct Author<'a> {
    style: Style,
    out: &'a mut dyn Write,
}

impl<'a> Author<'a> {
    /// A person who reads this output and types at the process's terminal.
    pub fn new(style: Style, out: &'a mut dyn Write) -> Self {
        Self { style, out }
    }

    /// How pages are painted.
    #[must_use]
    pub fn style(&self) -> &Style {
        &self.style
    }
}

impl Ask for Author<'_> {
    fn show(&mut self, what: Show<'_>) {
        let mut page = Page::new(&self.style);
        match what {
            Show::Title(text) => page.title(text),
            Show::Text(text) => page.line(text),
            Show::Choice(number, text) => page.option(number, text),
            Show::Problem(text) => page.painted("not so", text, Style::caution),
            Show::AsItIs(text) => page.as_it_is(text),
        }
        // A closed output is noticed at the next prompt.
        let _ = self.out.write_all(page.finish().as_bytes());
        let _ = self.out.flush();
    }

    fn line(&mut self, prompt: &str, typed: &str) -> Result<Option<String>, Stop> {
        // A prompt as long as the line leaves no room to type: it is said above, and asked for in short.
        let short = prompt.chars().count() + 4 <= self.style.width * 3 / 4;
        if !short {
            self.show(Show::Text(prompt));
        }
        match read_line(if short { prompt } else { "answer:" }, typed) {
            Ok(Line::Typed(text)) => Ok(Some(text)),
            Ok(Line::Back) => Ok(None),
            Err(TerminalError::Interrupted) => Err(Stop::Interrupted),
            Err(TerminalError::NoTerminal) => Err(Stop::NoTerminal),
            Err(TerminalError::Gone(why)) => Err(Stop::Gone(why)),
        }
    }
}
