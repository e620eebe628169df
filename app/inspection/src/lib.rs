//! Room `inspection`.
