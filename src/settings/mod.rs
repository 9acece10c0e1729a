//! What somebody sets once instead of typing it every time: labour rate, meters, tools, packs, where calls are kept.
//!
//! Everything here is pure: the text of the file, the environment and the flags go in, [`Settings`] with an [`Origin`] a
//! value come out. A flag wins over a variable, a variable over the file, the file over the default.

mod edit;
mod file;
mod name;
mod resolve;
mod value;

use std::path::PathBuf;

pub use edit::{EditError, SettingsFileProblem, set, unset};
pub use file::{SettingsFile, read};
pub use name::Name;
pub use resolve::{Flags, Problem, resolve};
pub use value::{Raw, ToolNames};

use crate::call::Terms;
use crate::knowledge::Knowledge;
use crate::knowledge::schema::At;
use crate::quantity::{Meters, System};
use crate::visit::{USUAL_RATE, Wishes};

/// Where a value comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Origin {
    /// A flag, such as `--labour-rate`.
    Flag(&'static str),
    /// An environment variable.
    Variable(String),
    /// The settings file.
    File {
        /// Line, from 1.
        line: usize,
        /// Column, from 1.
        column: usize,
    },
    /// Nobody set it: the packs say it.
    Pack,
    /// Nobody set it.
    Default,
}

/// A value with where it comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct Set<T> {
    /// The value.
    pub value: T,
    /// Where it comes from.
    pub origin: Origin,
}

/// Every setting, resolved.
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    /// Currency per hour; `None`: as the packs say.
    pub labour_rate: Set<Option<f64>>,
    /// What prices are counted in; `None`: not said.
    pub currency: Set<Option<String>>,
    /// Units that figures are shown in.
    pub units: Set<System>,
    /// Tools in the truck; empty: whatever is asked for is there.
    pub tools: Set<Vec<String>>,
    /// Own names of tools, with what tests call them.
    pub tool_names: Set<ToolNames>,
    /// Own meters.
    pub meter: Set<Meters>,
    /// Name for the head of a record.
    pub company: Set<Option<String>>,
    /// Packs laid over the built-in knowledge.
    pub packs: Set<Vec<PathBuf>>,
    /// Folder of the calls; `None`: the platform's.
    pub data: Set<Option<PathBuf>>,
    /// Where calls are usually taken; `None`: asked.
    pub at: Set<Option<At>>,
    /// Share of faults that the first visit puts right, 0 to 1.
    pub first_visit_fix: Set<f64>,
    /// Minutes on the way to a site; `None`: as the packs say.
    pub travel_minutes: Set<Option<f64>>,
}

impl Settings {
    /// Nothing set anywhere.
    #[must_use]
    pub fn unset() -> Self {
        fn nobody<T>(value: T) -> Set<T> {
            Set {
                value,
                origin: Origin::Default,
            }
        }
        fn packs_say<T>() -> Set<Option<T>> {
            Set {
                value: None,
                origin: Origin::Pack,
            }
        }
        Self {
            labour_rate: packs_say(),
            currency: nobody(None),
            units: nobody(System::default()),
            tools: nobody(Vec::new()),
            tool_names: nobody(ToolNames::default()),
            meter: nobody(Meters::default()),
            company: nobody(None),
            packs: nobody(Vec::new()),
            data: nobody(None),
            at: nobody(None),
            first_visit_fix: nobody(USUAL_RATE),
            travel_minutes: packs_say(),
        }
    }

    /// What visits are planned with: the chance aimed at, and the tools that are in the truck beside the kit.
    #[must_use]
    pub fn wishes(&self, knowledge: &Knowledge) -> Wishes {
        Wishes {
            rate: self.first_visit_fix.value,
            carried: self.terms().tools_at_hand(knowledge),
        }
    }

    /// What of it changes a call, to be recorded with the call.
    #[must_use]
    pub fn terms(&self) -> Terms {
        let mut carries = self.tools.value.clone();
        for tool in &self.tools.value {
            carries.extend(self.tool_names.value.called(tool).iter().cloned());
        }
        Terms {
            labour_per_hour: self.labour_rate.value,
            meters: self.meter.value.clone(),
            carries,
        }
    }
}
