//! All integration tests in one binary: on two cores, linking many costs more than running them.
