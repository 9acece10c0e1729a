//! One line on a terminal that says how far a long piece of work is.

use std::io::{IsTerminal as _, Write as _};
use std::sync::atomic::{AtomicUsize, Ordering};

/// A line on standard error, rewritten at every step and wiped at the end; nothing where that is no terminal.
#[derive(Debug)]
pub(super) struct Progress {
    what: &'static str,
    all: usize,
    done: AtomicUsize,
    shown: bool,
}

impl Progress {
    /// Begins with nothing done of `all`; `what` names them: "cases".
    #[must_use]
    pub(super) fn new(what: &'static str, all: usize) -> Self {
        let progress = Self {
            what,
            all,
            done: AtomicUsize::new(0),
            shown: std::io::stderr().is_terminal(),
        };
        progress.show(0);
        progress
    }

    /// One more is done.
    pub(super) fn step(&self) {
        let done = self.done.fetch_add(1, Ordering::Relaxed) + 1;
        self.show(done);
    }

    fn show(&self, done: usize) {
        if self.shown {
            // A line that can't be shown is no reason to stop the work.
            let _ = write!(std::io::stderr(), "\r{done} of {} {}", self.all, self.what);
        }
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        wipe(self.shown);
    }
}

/// The same for work in parts: the line says what is worked on.
#[derive(Debug)]
pub(super) struct Note {
    shown: bool,
}

impl Note {
    /// Nothing said yet.
    pub(super) fn new() -> Self {
        Self {
            shown: std::io::stderr().is_terminal(),
        }
    }

    /// This is worked on now.
    pub(super) fn say(&self, what: &str) {
        if self.shown {
            let _ = write!(std::io::stderr(), "\r{what:WIDTH$}");
        }
    }
}

impl Drop for Note {
    fn drop(&mut self) {
        wipe(self.shown);
    }
}

/// No line is longer.
const WIDTH: usize = 60;

fn wipe(shown: bool) {
    if shown {
        let _ = write!(std::io::stderr(), "\r{:WIDTH$}\r", "");
    }
}
