//! Knowledge as dense tables: numbers instead of ids, distributions instead of words.
//!
//! A [`Model`] does not depend on the site. What is known of the site enters through [`SiteFacts`] as the rates of
//! the causes ([`Model::rates`]), so that learning a fact late only re-weighs the prior.

mod ids;
mod rates;
mod tables;

pub use ids::{CauseId, FactId, RepairId, SymptomId, TestId};
pub use rates::{Rates, SiteFacts};
pub(crate) use rates::{facts_of, site_factor};
pub use tables::{Model, RepairTable, ShowTable, TestTable};
