//! All integration tests in one binary: on two cores, linking many costs more than running them.

mod consistency;
mod enumeration;
mod exact;
mod export;
mod formula_cel;
mod optimum;
mod published;
mod tape;
mod walk;
