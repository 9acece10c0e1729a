//! Checks over loaded knowledge: one file a kind, each returns findings and formats nothing.
