//! The program on a pseudo-terminal of 80 columns, read page by page as a person would.

use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{Duration, Instant};

use expectrl::process::unix::{Signal, WaitStatus};
use expectrl::session::OsSession;
use expectrl::{Expect as _, Regex};

/// Columns of the terminal: what the library under it gives by default, and asserted below.
pub(crate) const COLUMNS: usize = 80;
/// Longest wait for anything to appear.
const PATIENCE: Duration = Duration::from_secs(20);
/// A prompt is on the screen: input is switched on and the cursor is shown for the first time.
const PROMPT: &str = r"(?s-u)\x1b\[\?2004h.*?\x1b\[\?25h";
const INPUT_ON: &str = "\x1b[?2004h";
const INPUT_OFF: &str = "\x1b[?2004l";

/// Keys that are no letters.
pub(crate) const ENTER: &str = "\r";
pub(crate) const ESC: &str = "\x1b";
pub(crate) const CTRL_C: &str = "\x03";
const BACKSPACE: &str = "\x7f";

/// What is on the screen since the answer before, down to a prompt.
#[derive(Debug, Clone)]
pub(crate) struct Shown {
    /// The page, without colours and cursor movement.
    pub(crate) page: String,
    /// The prompt: everything on its line but what is typed there already.
    pub(crate) prompt: String,
}

/// What comes after an answer.
#[derive(Debug)]
pub(crate) enum Next {
    /// The next question.
    Question(Shown),
    /// The program is done: its last words and its exit code.
    Over(String, i32),
}

/// The program on a terminal.
pub(crate) struct Terminal {
    session: OsSession,
    /// Everything that was written so far.
    screen: Vec<u8>,
}

/// The program with a calls folder and nothing of this machine's habits.
pub(crate) fn pintle(data: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_pintle"));
    command
        .env_clear()
        .env("TERM", "xterm-256color")
        .env("NO_COLOR", "1")
        .env("TZ", "UTC")
        .env("PINTLE_DATA", data)
        .env("PINTLE_SETTINGS", data.join("settings.yaml"));
    command
}

impl Terminal {
    /// Starts a command on a fresh terminal.
    pub(crate) fn start(command: Command) -> Self {
        let session = OsSession::spawn(command).expect("a pseudo-terminal");
        let (columns, _) = session.get_process().get_window_size().expect("a size");
        assert_eq!(usize::from(columns), COLUMNS);
        Self {
            session,
            screen: Vec::new(),
        }
    }

    /// Types.
    pub(crate) fn keys(&mut self, keys: &str) {
        self.session.send(keys).expect("the terminal takes keys");
    }

    /// Waits for the next question or for the end.
    pub(crate) fn next(&mut self) -> Next {
        let deadline = Instant::now() + PATIENCE;
        loop {
            match self.session.check(Regex(PROMPT)) {
                Ok(found) if !found.is_empty() => {
                    self.screen.extend_from_slice(found.as_bytes());
                    return Next::Question(shown(found.as_bytes()));
                }
                Ok(_) => {}
                // On Linux reading from a terminal that its program has left is an I/O error.
                Err(expectrl::Error::Eof | expectrl::Error::IO(_)) => return self.over(),
                Err(error) => panic!("{error}"),
            }
            assert!(
                Instant::now() < deadline,
                "nothing for {PATIENCE:?} after:\n{}",
                plain(&self.screen)
            );
            std::thread::sleep(Duration::from_millis(4));
        }
    }

    fn over(&mut self) -> Next {
        let mut rest = Vec::new();
        let mut buffer = [0; 4096];
        while let Ok(n) = self.session.try_read(&mut buffer) {
            if n == 0 {
                break;
            }
            rest.extend_from_slice(&buffer[..n]);
        }
        self.screen.extend_from_slice(&rest);
        let code = match self.session.get_process().wait() {
            Ok(WaitStatus::Exited(_, code)) => code,
            other => panic!("{other:?}"),
        };
        let text = rest
            .windows(INPUT_OFF.len())
            .rposition(|w| w == INPUT_OFF.as_bytes())
            .map_or(&rest[..], |at| &rest[at + INPUT_OFF.len()..]);
        Next::Over(plain(text), code)
    }

    /// Waits for the next question.
    pub(crate) fn question(&mut self) -> Shown {
        match self.next() {
            Next::Question(shown) => shown,
            Next::Over(text, code) => panic!("it ended with {code} instead of asking:\n{text}"),
        }
    }

    /// Waits for the end; gives the last words.
    pub(crate) fn end(&mut self) -> (String, i32) {
        match self.next() {
            Next::Over(text, code) => (text, code),
            Next::Question(shown) => panic!("it asks {} instead of ending", shown.prompt),
        }
    }

    /// Types a line and waits for the next question.
    pub(crate) fn answer(&mut self, text: &str) -> Shown {
        self.line(text);
        self.question()
    }

    /// Types a line.
    pub(crate) fn line(&mut self, text: &str) {
        self.keys(&format!("{text}{ENTER}"));
    }

    /// Wipes what stands on the line for mending.
    pub(crate) fn wipe(&mut self, characters: usize) {
        self.keys(&BACKSPACE.repeat(characters));
    }

    /// Presses a key and waits for the next question.
    pub(crate) fn press(&mut self, key: &str) -> Shown {
        self.keys(key);
        self.question()
    }

    /// Ends the program as a power cut would.
    pub(crate) fn kill(mut self) {
        let process = self.session.get_process_mut();
        process.kill(Signal::SIGKILL).expect("it runs");
        let _ = process.wait();
    }

    /// Everything that was on the screen, without colours and cursor movement.
    pub(crate) fn screen(&self) -> String {
        plain(&self.screen)
    }

    /// Asserts that no line is wider than the terminal.
    pub(crate) fn assert_fits(&self) {
        let wide: Vec<String> = self
            .screen()
            .split(['\n', '\r'])
            .filter(|line| line.chars().count() > COLUMNS)
            .map(str::to_owned)
            .collect();
        assert!(wide.is_empty(), "wider than {COLUMNS} columns: {wide:#?}");
    }
}

fn shown(bytes: &[u8]) -> Shown {
    let text = String::from_utf8_lossy(bytes);
    let (before, prompt) = text.rsplit_once(INPUT_ON).unwrap_or((&text, ""));
    let page = before.rsplit_once(INPUT_OFF).map_or(before, |(_, page)| page);
    let prompt = plain(prompt.as_bytes());
    Shown {
        page: plain(page.as_bytes()).replace('\r', ""),
        prompt: prompt.trim().trim_start_matches("> ").to_owned(),
    }
}

impl Shown {
    /// The part of the page under its last rule, with the title in that rule.
    fn last_block(&self) -> (&str, &str) {
        let rule = self.page.rfind("\n── ").or_else(|| self.page.rfind("\n-- "));
        let Some(at) = rule else {
            return ("", &self.page);
        };
        let block = &self.page[at + 1..];
        let (first, rest) = block.split_once('\n').unwrap_or((block, ""));
        let title = first.trim_matches(['─', '-', ' ']);
        (title, rest)
    }

    /// Title of the page.
    pub(crate) fn title(&self) -> &str {
        self.last_block().0
    }

    /// The page without its line breaks, to look for a sentence in.
    pub(crate) fn flat(&self) -> String {
        flat(self.last_block().1)
    }

    /// Whether the page has that sentence, wherever its lines break.
    pub(crate) fn says(&self, sentence: &str) -> bool {
        flat(&self.page).contains(&flat(sentence))
    }

    /// Numbered lines of the page, whole.
    pub(crate) fn options(&self) -> Vec<(usize, String)> {
        let mut found: Vec<(usize, String)> = Vec::new();
        for line in self.last_block().1.lines() {
            let number = line
                .get(..5)
                .filter(|n| n.ends_with("  "))
                .and_then(|n| n.trim().parse().ok());
            match (number, found.last_mut()) {
                (Some(number), _) => found.push((number, line[5..].trim().to_owned())),
                (None, Some((_, text))) if line.starts_with("     ") => {
                    text.push(' ');
                    text.push_str(line.trim());
                }
                _ => {}
            }
        }
        found
    }

    /// The number to type for the option that reads like this.
    pub(crate) fn number_of(&self, text: &str) -> Option<usize> {
        let wanted = flat(text);
        self.options()
            .into_iter()
            .find(|(_, option)| flat(option) == wanted)
            .map(|(n, _)| n)
    }
}

/// Words with one space between them. A word may break after a dash where the line ends.
pub(crate) fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ").replace("- ", "-")
}

/// Text without escape sequences.
pub(crate) fn plain(bytes: &[u8]) -> String {
    let text = String::from_utf8_lossy(bytes);
    let mut out = String::new();
    let mut chars = text.chars();
    while let Some(c) = chars.next() {
        if c != '\x1b' {
            out.push(c);
            continue;
        }
        // CSI: parameters, then one letter. Anything else is two characters.
        if chars.next() == Some('[') {
            for c in chars.by_ref() {
                if ('@'..='~').contains(&c) {
                    break;
                }
            }
        }
    }
    out
}

/// Journals in a calls folder, by name.
pub(crate) fn journals(data: &Path) -> Vec<PathBuf> {
    let mut found: Vec<PathBuf> = std::fs::read_dir(data)
        .map(|folder| folder.flatten().map(|e| e.path()).collect())
        .unwrap_or_default();
    found.sort();
    found
}
