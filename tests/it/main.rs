//! All integration tests in one binary: on two cores, linking many costs more than running them.

mod calibration;
mod check;
mod cli;
mod consistency;
mod durability;
mod enumeration;
mod exact;
mod export;
mod formula_cel;
mod knowledge;
mod learn;
mod optimum;
mod pty;
mod published;
mod readme;
mod records;
mod report;
mod simulation;
mod tables;
mod tape;
mod terminal;
mod walk;
