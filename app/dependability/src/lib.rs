//! Room `dependability`.
