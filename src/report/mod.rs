//! What is written down of a call: the service record, and the page that says why the ranking is what it is.
//!
//! Everything here is a pure function of a [`crate::call::Call`]: no clock, no file, no terminal. [`ServiceRecord`] is
//! plain data; [`markdown`], [`record_page`] and serde write it, so that all forms say the same, and [`customer_page`] is made of it alone. Every text that a person or a pack has given passes
//! through [`plain_text`] on its way in (no control characters, nothing that looks like a code or a PIN) and is escaped on its way out.

mod customer;
mod drawing;
mod ending;
mod gather;
mod html;
mod markdown;
mod phrases;
mod privacy;
mod ranking;
mod reading_lines;
mod reasoning;
mod recommend;
mod record;
mod why;

pub use html::{customer_page, record_page};
pub use markdown::markdown;
pub use privacy::{LEFT_OUT, REDACTED, looks_like_code, plain_text, redacted};
pub use record::{
    BookedVisit, CauseLine, Complaint, DoneRepair, EndingBlock, Gauge, GaugeBand, Labelled, LoadedLine, NoteLine,
    OutOfUseLine, Ranking, RankingLine, RankingPoint, ReadingLine, Recommendation, Reference, RetestLine, RetestResult,
    RuledOut, ServiceRecord, SignAnswer, SignsAsked, Timed,
};
pub use why::render_why;

use crate::call::Call;

/// The causes that a record names, without the rest of it: what was found or, where nothing was, the suspects; likeliest first.
#[must_use]
pub fn named_causes(call: &Call<'_>) -> Vec<CauseLine> {
    reasoning::causes(call).1
}
