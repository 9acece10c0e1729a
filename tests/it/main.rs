//! All integration tests in one binary: on two cores, linking many costs more than running them.

mod author;
mod check;
mod cli;
mod consistency;
mod drill;
mod drill_pty;
mod durability;
mod enumeration;
mod exact;
mod explain;
mod export;
mod formula_cel;
mod json_schema;
mod knowledge;
mod optimum;
mod pty;
mod published;
mod readme;
mod report;
mod simulation;
mod site;
mod tables;
mod tape;
mod terminal;
mod walk;
