//! Rows of `rounds`.
