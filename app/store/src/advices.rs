//! Rows of `advices`.
