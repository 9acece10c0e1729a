//! The simulated site answers the steps of the plan: what a call there comes to when nobody strays from it.

use std::convert::Infallible;

use super::site::SimulatedSite;
use crate::call::{Answerer, Call, Event, Reply, Step, plain_answer};

impl Answerer for SimulatedSite<'_> {
    type Error = Infallible;

    fn answer(&mut self, call: &Call<'_>, step: &Step) -> Result<Reply, Infallible> {
        if let Some(event) = plain_answer(call, step) {
            return Ok(Reply::Events(vec![event]));
        }
        let event = match step {
            Step::Signs => Event::Signs {
                yes: self.signs().to_vec(),
                unsure: Vec::new(),
            },
            Step::Complaint => self.complaint(),
            Step::Fact { fact, .. } => self.fact(fact),
            Step::Now => Event::Now {
                now: self.doing_it(),
                under: self.under().to_vec(),
            },
            Step::Test { test, .. } => self.test(test, call.at()),
            Step::Repair { repair, .. } => self.repaired(repair),
            Step::Proof { symptom, .. } => Event::Proof {
                symptom: symptom.clone(),
                seen: self.proof(symptom),
            },
            Step::Watch => Event::Watched { shown: self.watch() },
            Step::Retest { line } => Event::Retest {
                line: line.clone(),
                passed: Some(self.passes(line)),
                note: String::new(),
                each: Vec::new(),
            },
            _ => return Ok(Reply::Events(Vec::new())),
        };
        Ok(Reply::Events(vec![event]))
    }

    fn now(&self) -> String {
        "2026-01-01T08:00:00Z".to_owned()
    }
}
