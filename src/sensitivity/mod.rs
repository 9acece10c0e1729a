//! How far the author's numbers can be off before the start of a walk changes.
//!
//! Two questions. All at once: every rate is multiplied by e^(σz) and every chance moved by σz in log-odds, z standard normal and drawn anew for
//! each number (chances of a test's outcomes by their odds, so that they still add to 1); how often do the leading cause and the first step stay?
//! One at a time: each number up and down by 1 in log-odds; which moves the leading cause's share most, which the expected minutes?
//!
//! Exact: the one-at-a-time changes. Estimated from seeded draws: the shares. A chance of 0 or 1 is meant as it stands and does not move.

mod numbers;
mod shake;

use std::borrow::Cow;

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng as _;
use serde::Serialize;

use crate::belief::Belief;
use crate::call::Engine;
use crate::knowledge::Knowledge;
use crate::model::{CauseId, Model};
use crate::plan::{Action, Costs, Planner, Situation};
use crate::spread::spread;

/// σ of the noise, in log-odds: a chance of one half becomes 44 to 56 %, 38 to 62 %, 27 to 73 %, 12 to 88 % at one σ.
pub const SIGMAS: [f64; 4] = [0.25, 0.5, 1.0, 2.0];

/// How sure the start of a walk is.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Sensitivity {
    /// Version of this format.
    pub version: u32,
    /// The leading cause: its id and share.
    pub lead: (String, f64),
    /// The first step in words.
    pub first_step: String,
    /// Expected minutes to go, as planned.
    pub to_go: f64,
    /// Expected minutes as the numbers are measured by: with the first step, or, where that is a question about the site (dear to price), with
    /// repairs alone.
    pub minutes: f64,
    /// Which of the two it is.
    pub repairs_alone: bool,
    /// Draws a level.
    pub draws: u32,
    /// Seed of the draws.
    pub seed: u64,
    /// For each σ how often things stay.
    pub levels: Vec<Level>,
    /// Each number by itself, the one that moves the leading cause most first: those of causes with 1 % or more, of the planned step, and
    /// the shares of *not listed* and *nothing wrong*.
    pub numbers: Vec<Number>,
}

/// One strength of noise.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Level {
    /// Its σ in log-odds.
    pub sigma: f64,
    /// Share of draws in which the same cause leads.
    pub lead_stays: f64,
    /// Share of draws in which the first step is the same.
    pub first_step_stays: f64,
}

/// What one number does.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Number {
    /// Which it is, in words.
    pub what: String,
    /// Where it stands: "causes.battery-worn.rate".
    pub path: String,
    /// Share of the leading cause with the number down and up by 1 in log-odds.
    pub lead: [f64; 2],
    /// Expected minutes, measured as [`Sensitivity::minutes`], likewise.
    pub minutes: [f64; 2],
    /// Whether another cause leads, likewise.
    pub other_leads: [bool; 2],
}

impl Number {
    /// Largest change of the leading cause's share, from `base`.
    #[must_use]
    pub fn lead_moves(&self, base: f64) -> f64 {
        (self.lead[0] - base).abs().max((self.lead[1] - base).abs())
    }

    /// Largest change of the expected minutes, from `base`.
    #[must_use]
    pub fn minutes_move(&self, base: f64) -> f64 {
        (self.minutes[0] - base).abs().max((self.minutes[1] - base).abs())
    }
}

/// What is looked at: one start and what comes of it.
struct Start<'a> {
    engine: &'a Engine,
    costs: Costs,
    situation: &'a Situation,
    lead: CauseId,
    action: Action,
    minutes: f64,
}

/// Works it out for a situation, with `draws` a level. `done` is told after every draw and every number.
#[must_use]
pub fn sensitivity(
    engine: &Engine,
    situation: &Situation,
    draws: u32,
    seed: u64,
    done: &(dyn Fn() + Sync),
) -> Sensitivity {
    let planner = engine.planner();
    let belief = planner.belief(situation);
    let choice = planner.choose(situation, &belief);
    let (lead, share) = leading(&belief, &engine.model);
    let start = Start {
        engine,
        costs: Costs::new(&engine.knowledge),
        situation,
        lead,
        action: choice.action,
        minutes: minutes(&planner, situation, &belief, choice.action).unwrap_or(choice.cost),
    };
    let levels = (0u32..)
        .zip(SIGMAS)
        .map(|(at, sigma)| start.level(sigma, at, draws, seed, done))
        .collect();
    let mut numbers: Vec<Number> = spread(&numbers::of(engine, &belief, situation, choice.action), |one| {
        let number = start.number(one);
        done();
        Some(number)
    });
    numbers.sort_by(|a, b| {
        b.lead_moves(share)
            .total_cmp(&a.lead_moves(share))
            .then(a.path.cmp(&b.path))
    });
    Sensitivity {
        version: 1,
        lead: (id(&engine.knowledge, lead), share),
        first_step: start.words(choice.action),
        to_go: choice.cost,
        minutes: start.minutes,
        repairs_alone: matches!(choice.action, Action::Fact(_)),
        draws,
        seed,
        levels,
        numbers,
    }
}

/// How much work there is: what `done` of [`sensitivity`] is told.
#[must_use]
pub fn pieces(engine: &Engine, situation: &Situation, draws: u32) -> usize {
    let planner = engine.planner();
    let belief = planner.belief(situation);
    // Whatever the first step is: its own numbers are few.
    numbers::of(engine, &belief, situation, Action::Refer).len() + SIGMAS.len() * draws as usize
}

impl Start<'_> {
    fn level(&self, sigma: f64, at: u32, draws: u32, seed: u64, done: &(dyn Fn() + Sync)) -> Level {
        let all: Vec<u32> = (0..draws).collect();
        let stays: Vec<(bool, bool)> = spread(&all, |&draw| {
            let mut rng = ChaCha8Rng::seed_from_u64(seed);
            // Every draw has a stream of its own, so that it does not matter which core does it.
            rng.set_stream((u64::from(at) << 32) | u64::from(draw));
            let knowledge = shake::all(&self.engine.knowledge, &self.engine.model, sigma, &mut rng);
            let model = Model::compile(&knowledge);
            let planner = Planner::with_costs(&knowledge, &model, Cow::Borrowed(&self.costs));
            let belief = planner.belief(self.situation);
            let first = planner.choose(self.situation, &belief).action;
            done();
            Some((leading(&belief, &model).0 == self.lead, first == self.action))
        });
        let share = |of: &dyn Fn(&(bool, bool)) -> bool| {
            stays.iter().filter(|s| of(s)).count() as f64 / f64::from(draws.max(1))
        };
        Level {
            sigma,
            lead_stays: share(&|s| s.0),
            first_step_stays: share(&|s| s.1),
        }
    }

    fn number(&self, one: &numbers::One) -> Number {
        let [down, up] = [-1.0, 1.0].map(|by| {
            let mut knowledge = self.engine.knowledge.clone();
            one.shift(&mut knowledge, &self.engine.model, by);
            let model = Model::compile(&knowledge);
            let planner = Planner::with_costs(&knowledge, &model, Cow::Borrowed(&self.costs));
            let belief = planner.belief(self.situation);
            let minutes = minutes(&planner, self.situation, &belief, self.action);
            let share = belief.causes(&model)[self.lead.index()];
            (
                share,
                minutes.unwrap_or(self.minutes),
                leading(&belief, &model).0 != self.lead,
            )
        });
        Number {
            what: one.words(&self.engine.knowledge),
            path: one.path(&self.engine.knowledge),
            lead: [down.0, up.0],
            minutes: [down.1, up.1],
            other_leads: [down.2, up.2],
        }
    }

    fn words(&self, action: Action) -> String {
        match (action, action.entry_title(&self.engine.knowledge)) {
            (Action::Repair(_), Some(title)) => format!("repair: {title}"),
            (_, Some(title)) => title.to_owned(),
            (Action::NoFaultFound, None) => "run and watch".to_owned(),
            (_, None) => "refer".to_owned(),
        }
    }
}

fn minutes(planner: &Planner<'_>, situation: &Situation, belief: &Belief, action: Action) -> Option<f64> {
    match action {
        Action::Fact(_) => Some(planner.repairs_only(situation, belief)),
        other => planner.price(situation, belief, other),
    }
}

/// The likeliest cause and its share; the first of equals.
fn leading(belief: &Belief, model: &Model) -> (CauseId, f64) {
    let mut best = (CauseId(0), f64::NEG_INFINITY);
    for (at, p) in belief.causes(model).into_iter().enumerate() {
        if p > best.1 + 1e-12 {
            best = (CauseId::at(at), p);
        }
    }
    best
}

fn id(knowledge: &Knowledge, cause: CauseId) -> String {
    knowledge
        .causes
        .get_index(cause.index())
        .map_or_else(String::new, |(id, _)| id.clone())
}
