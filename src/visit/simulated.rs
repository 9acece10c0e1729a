//! Visits that nobody made, to hold the promise of a load to what comes of it.

use std::collections::BTreeSet;

use super::things::Truck;
use super::{Wishes, who_goes};
use crate::belief::Hypothesis;
use crate::call::{Call, Engine};
use crate::knowledge::schema::Who;
use crate::lot::unit;
use crate::records::Simulator;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng as _;

/// What came of simulated visits.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Visits {
    /// How many.
    pub visits: usize,
    /// Visits at which it was put right.
    pub fixed: usize,
    /// Sum of the chances that were promised.
    pub promised: f64,
    /// Things loaded, over all visits.
    pub things: usize,
    /// Loads that are proven to be the smallest.
    pub smallest: usize,
}

impl Visits {
    /// Share promised less share fixed; above 0 where too much was promised.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "fewer than 2^52 visits")]
    pub fn too_much(&self) -> f64 {
        (self.promised - self.fixed as f64) / (self.visits as f64).max(1.0)
    }

    /// Both together.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        Self {
            visits: self.visits + other.visits,
            fixed: self.fixed + other.fixed,
            promised: self.promised + other.promised,
            things: self.things + other.things,
            smallest: self.smallest + other.smallest,
        }
    }
}

/// Draws calls on the phone with what is really wrong, loads for each, and draws whether the visit puts it right: every cause that is there has to
/// be cured by what is on the truck, each repair with its own chance.
#[must_use]
pub fn simulate(engine: &Engine, seed: u64, visits: usize, wishes: &Wishes) -> Visits {
    let mut simulator = Simulator::new(engine, seed, 0);
    let mut rng = ChaCha8Rng::seed_from_u64(!seed);
    let mut come_of = Visits::default();
    for _ in 0..visits {
        let (simulated, site) = simulator.phone_call();
        let call = Call::in_memory(engine, simulated.entries);
        let (who, _) = who_goes(&call, wishes);
        let truck = Truck::new(engine, &call.situation().site, who, &wishes.carried);
        let problem = truck.problem(call.situation(), call.belief());
        let load = problem.load(wishes.rate);
        let names: BTreeSet<String> = problem.names(load.things);
        come_of.visits += 1;
        come_of.promised += load.rate;
        come_of.things += names.len();
        come_of.smallest += usize::from(load.smallest);
        let chance = match simulated.truth {
            Hypothesis::NotListed => 0.0,
            truth => {
                let (causes, n) = truth.causes();
                // The site as it is: what nobody could tell on the phone is seen there.
                Truck::new(engine, &site, who.max(Who::Technician), &wishes.carried).settles(&causes[..n], &names)
            }
        };
        come_of.fixed += usize::from(unit(&mut rng) < chance);
    }
    come_of
}
