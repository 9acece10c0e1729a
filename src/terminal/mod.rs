//! What a person sees and types. Pages are pure functions of the call; prompting is one thin file.

mod findings;
mod many_calls;
mod page;
mod person;
mod style;

pub use findings::{level_word, render_findings};
pub use many_calls::{render_calibration, render_learned};
pub use page::{Page, ranking, render_step};
pub use person::{Person, TerminalError, event_text, standing};
pub use style::Style;
