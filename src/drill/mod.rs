//! Drills: hidden faults, a site that answers like a real one, an honest debrief.

mod answers;
mod numbers;
mod site;

pub use site::SimulatedSite;
