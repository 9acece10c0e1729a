//! Pintle finds what is wrong with an automatic vehicle gate, step by step, and writes it down.
//!
//! ```text
//! knowledge/*.yaml ──load──▶ Knowledge ──compile──▶ Model ──plan──▶ DecisionGraph
//!    (packs)         │ check                          │                │ walked by
//!                    ▼                                ▼                ▼
//!                 findings                  Belief (posterior) ◀── Call (events → state → step)
//!                                                                      ▲
//!                    one trait answers the steps: ─────────────────────┘
//!                    a person at a terminal · a case file · a simulated site
//! ```
//!
//! The engine never prints and never prompts; [`terminal`] and [`commands`] do.

#![expect(clippy::cast_precision_loss, reason = "counts here are far below 2^52")]

pub mod author;
pub mod belief;
pub mod call;
pub mod chart;
pub mod commands;
pub mod compare;
pub mod coverage;
pub mod drill;
pub mod explain;
pub mod finding;
pub mod formula;
pub mod knowledge;
mod lot;
pub mod model;
pub mod paper;
pub mod plan;
pub mod quantity;
pub mod records;
pub mod report;
pub mod sensitivity;
pub mod settings;
pub mod site;
mod spread;
pub mod terminal;
pub mod trade;
pub mod visit;
pub mod words;
