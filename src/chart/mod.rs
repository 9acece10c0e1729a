//! The decision graph of a symptom as a card for the cabinet door: boxes, arrows, cautions, and what holds whatever the chart says.
//!
//! ```text
//! LikelyWalks ──gather──▶ Chart ──page──▶ Sheet (everything placed, in points) ──draw──▶ SVG, HTML
//!                           └───────────────────────dot──────────────────────▶ DOT
//! ```
//!
//! A card has two sides: on the front the boxes under a short head, on the back the hazard signs, how a gate is put out of use, the cautions and
//! the retest.
//!
//! Problem: draw the likeliest part of the walks so that it reads on one printed page without colour. A heuristic: the layered layout is
//! `rust-sugiyama`'s, and of some hundreds of ways to fold it the one with the largest type is taken. Whatever comes of it, boxes and labels lie
//! inside the page and never on each other, and no type is smaller than [`page::SMALLEST`].

mod dot;
mod draw;
mod gather;
mod layout;
mod measure;
pub mod page;

use serde::Serialize;

use crate::call::Engine;
use crate::plan::LikelyWalks;
pub use dot::dot;
pub use draw::{DrawError, html, svg};
pub use gather::{Wanted, gather, grow};
pub use layout::{Block, Drawing, Rect, lay_out};
pub use page::Page;

/// Everything that a card says.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Chart {
    /// The symptom.
    pub title: String,
    /// For whom and for which site it was drawn, and from what.
    pub about: Vec<String>,
    /// How much of the walks is on it.
    pub extent: String,
    /// What the front says before the boxes: the rules that hold for all of them.
    pub front: Vec<String>,
    /// The back: what comes before everything, under its heading.
    pub head: Vec<Part>,
    /// Boxes, in the order of their numbers from 1.
    pub boxes: Vec<Step>,
    /// Arrows between boxes.
    pub arrows: Vec<Arrow>,
    /// The back: cautions, in the order of their numbers from 1.
    pub cautions: Vec<String>,
    /// The back: what comes after the cautions, under its heading.
    pub foot: Vec<Part>,
}

/// Lines under a heading.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Part {
    /// The heading.
    pub heading: String,
    /// The lines, each a point of its own.
    pub lines: Vec<String>,
}

/// What kind of box it is; each has a shape of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// A test.
    Test,
    /// A question about the site.
    Ask,
    /// A repair with its proof.
    Repair,
    /// The walk ends.
    End,
}

/// One box.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Step {
    /// From 1.
    pub number: usize,
    /// What kind.
    pub kind: Kind,
    /// What to do.
    pub title: String,
    /// Where it is done; a question or an ending has no place.
    pub place: Option<String>,
    /// The gate is put out of use before it: why.
    pub stop: Option<String>,
    /// What must hold before it, in words.
    pub conditions: Vec<String>,
    /// Numbers of its cautions.
    pub cautions: Vec<usize>,
    /// Minutes with getting there; an ending takes none.
    pub minutes: Option<f64>,
    /// Chance that a walk gets here, 0 to 1.
    pub reach: f64,
    /// What follows that is no arrow: the good end of a repair, what a formula is made of.
    pub then: Vec<String>,
    /// Answers that lead beyond the card.
    pub beyond: Option<String>,
}

/// An arrow from box to box.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Arrow {
    /// Number of the box it leaves.
    pub from: usize,
    /// Number of the box it enters.
    pub to: usize,
    /// The answer, with its limits.
    pub label: String,
}

/// As many of the likeliest boxes as the front has room for, and both sides; `None` where the front has no room for one box or the back not for its text.
#[must_use]
pub fn on_one_page(engine: &Engine, wanted: &Wanted, walks: &LikelyWalks) -> Option<(Chart, Page)> {
    let try_with = |most: usize| {
        let chart = gather(engine, wanted, &walks.likeliest(most));
        Page::fit(&chart).map(|page| (chart, page))
    };
    let all = walks.graph.node_count();
    if let Some(whole) = try_with(all) {
        return Some(whole);
    }
    // More boxes hardly ever need less room, so halving finds the most or one or two less.
    let (mut fits, mut too_many) = (try_with(1).map(|p| (1, p))?, all);
    while fits.0 + 1 < too_many {
        let half = usize::midpoint(fits.0, too_many);
        match try_with(half) {
            Some(page) => fits = (half, page),
            None => too_many = half,
        }
    }
    Some(fits.1)
}

/// A share of walks as a person reads it.
#[must_use]
pub fn percent(share: f64) -> String {
    if share > 0.0 && share < 0.005 {
        "under 1 %".to_owned()
    } else {
        format!("{:.0} %", share * 100.0)
    }
}
