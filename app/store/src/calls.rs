//! Rows of `calls`.
