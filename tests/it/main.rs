//! All integration tests in one binary: on two cores, linking many costs more than running them.

mod check;
mod cli;
mod compare;
mod consistency;
mod coverage;
mod durability;
mod enumeration;
mod exact;
mod export;
mod formula_cel;
mod knowledge;
mod optimum;
mod pty;
mod published;
mod readme;
mod report;
mod sensitivity;
mod simulation;
mod tables;
mod tape;
mod terminal;
mod walk;
