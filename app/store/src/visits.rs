//! Rows of `visits`.
