//! Question and answer, whoever answers.
//!
//! Every good answer goes on a tape. Going back takes the last one off and plays the dialogue from the start again, silently, up
//! to the question before: so a dialogue is written as straight code and can still be walked backwards.

use super::draft::Draft;
use crate::knowledge::Knowledge;

/// What is put before whoever answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Show<'t> {
    /// A new part of the dialogue.
    Title(&'t str),
    /// Something to know.
    Text(&'t str),
    /// A choice, with the number to type for it.
    Choice(usize, &'t str),
    /// What was wrong with an answer.
    Problem(&'t str),
    /// Text to be shown line by line as it is.
    AsItIs(&'t str),
}

/// Why a dialogue ends before its end.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Stop {
    /// The last answer is taken back; the dialogue sees to it itself.
    #[error("taken back")]
    Back,
    /// Ctrl-C: nothing is written.
    #[error("left")]
    Interrupted,
    /// There is nobody to ask.
    #[error("there is no terminal to ask questions on")]
    NoTerminal,
    /// Whoever answered is gone.
    #[error("the terminal does not answer: {0}")]
    Gone(String),
}

/// Whoever answers.
pub trait Ask {
    /// Shows something.
    fn show(&mut self, what: Show<'_>);

    /// One line of typing; `typed` is put there for mending. `None` is "back".
    ///
    /// # Errors
    /// [`Stop`] when nobody answers any more.
    fn line(&mut self, prompt: &str, typed: &str) -> Result<Option<String>, Stop>;
}

/// A dialogue with its answers so far.
pub struct Interview<'a> {
    ask: &'a mut dyn Ask,
    pub(super) knowledge: &'a Knowledge,
    /// What was said so far, as entries.
    pub draft: Draft,
    /// Tests written on the way.
    pub(super) new_tests: Vec<super::test::KnownTest>,
    tape: Vec<String>,
    /// Answers of the tape that were played.
    at: usize,
    /// An answer that was taken back, for mending.
    mend: Option<String>,
}

/// A question: what stands before the cursor, what stands there to be mended, what `?` says.
#[derive(Debug, Clone, Copy)]
pub(super) struct Question<'q> {
    pub(super) prompt: &'q str,
    pub(super) typed: &'q str,
    pub(super) help: &'q str,
}

impl<'q> Question<'q> {
    pub(super) fn new(prompt: &'q str, help: &'q str) -> Self {
        Self {
            prompt,
            typed: "",
            help,
        }
    }

    pub(super) fn typed(self, typed: &'q str) -> Self {
        Self { typed, ..self }
    }
}

impl<'a> Interview<'a> {
    /// A dialogue about new entries over this knowledge.
    #[must_use]
    pub fn new(ask: &'a mut dyn Ask, knowledge: &'a Knowledge) -> Self {
        Self {
            ask,
            knowledge,
            draft: Draft::default(),
            new_tests: Vec::new(),
            tape: Vec::new(),
            at: 0,
            mend: None,
        }
    }

    /// Runs a dialogue to its end, going back where that is asked.
    pub(super) fn run(&mut self, dialogue: fn(&mut Interview<'_>) -> Result<(), Stop>) -> Result<(), Stop> {
        loop {
            self.at = 0;
            self.draft = Draft::default();
            self.new_tests.clear();
            match dialogue(self).and_then(|()| self.confirm()) {
                Err(Stop::Back) => {}
                end => return end,
            }
        }
    }

    /// Shows what will be written and asks whether it is.
    fn confirm(&mut self) -> Result<(), Stop> {
        self.title("This is what will be written");
        let text = self.draft.so_far();
        self.show(Show::AsItIs(&text));
        let question = Question::new(
            "write it? (y/n, Esc goes back)",
            "Into new files of your pack; nothing that exists is changed.",
        );
        if self.yes(question)? {
            Ok(())
        } else {
            Err(Stop::Interrupted)
        }
    }

    /// Shows something, unless the tape is being played.
    pub(super) fn show(&mut self, what: Show<'_>) {
        if self.at >= self.tape.len() {
            self.ask.show(what);
        }
    }

    pub(super) fn title(&mut self, text: &str) {
        self.show(Show::Title(text));
    }

    pub(super) fn say(&mut self, text: &str) {
        self.show(Show::Text(text));
    }

    pub(super) fn choices<'t>(&mut self, texts: impl Iterator<Item = &'t str>) {
        for (i, text) in texts.enumerate() {
            self.show(Show::Choice(i + 1, text));
        }
    }

    /// Asks until the answer can be read. A bad one stays on the line for mending.
    pub(super) fn answer<T>(
        &mut self,
        question: Question<'_>,
        read: &dyn Fn(&str) -> Result<T, String>,
    ) -> Result<T, Stop> {
        if let Some(text) = self.tape.get(self.at) {
            if let Ok(value) = read(text) {
                self.at += 1;
                return Ok(value);
            }
            self.tape.truncate(self.at);
        }
        let mut typed = self.mend.take().unwrap_or_else(|| question.typed.to_owned());
        loop {
            let Some(text) = self.ask.line(question.prompt, &typed)? else {
                if let Some(last) = self.tape.pop() {
                    self.mend = Some(last);
                    return Err(Stop::Back);
                }
                self.ask.show(Show::Problem(
                    "This is the first question: there is nothing to go back to.",
                ));
                continue;
            };
            if text == "?" {
                self.ask.show(Show::Text(question.help));
                typed.clear();
                continue;
            }
            match read(&text) {
                Ok(value) => {
                    self.tape.push(text);
                    self.at += 1;
                    return Ok(value);
                }
                Err(problem) => {
                    self.ask.show(Show::Problem(&problem));
                    typed = text;
                }
            }
        }
    }
}
