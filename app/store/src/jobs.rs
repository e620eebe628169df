//! Rows of `jobs`.
