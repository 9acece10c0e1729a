//! What closed calls teach.
