//! Rows of `imports`.
