//! What a person sees and types. Pages are pure functions of the call; prompting is one thin file.

mod author;
mod findings;
mod page;
mod person;
mod sheet;
mod style;

pub use author::Author;
pub use findings::{level_word, render_findings};
pub use page::{Page, ranking, render_step};
pub use person::{Person, TerminalError, event_text, standing};
pub use sheet::render_sheet;
pub use style::Style;
