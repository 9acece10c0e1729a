//! What a person sees and types. Pages are pure functions of the call; prompting is one thin file.

mod author;
mod calc_page;
mod drill_page;
mod findings;
mod many_calls;
mod on_the_phone;
mod page;
mod person;
mod retest;
mod sheet;
mod site_page;
mod style;
mod trainee;
mod visit_page;

pub use author::Author;
pub use calc_page::{calc_list, calc_page, calc_subject, example as calc_example};
pub use drill_page::{debrief_page, drill_help, drill_list, drill_opening, drill_refusal, drill_told};
pub use findings::{level_word, render_findings};
pub use many_calls::{render_calibration, render_learned};
pub use page::{Page, ranking, render_step};
pub use person::{Person, TerminalError, event_text, pick_one, standing};
pub use sheet::render_sheet;
pub use site_page::{ShownVisit, Taken, known_site, offer_line, offer_page, site_findings, site_page, visit_lines};
pub use style::Style;
pub use trainee::{Left, TrainError, Trainee};
pub use visit_page::render_visit;
