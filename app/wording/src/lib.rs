//! Room `wording`.
