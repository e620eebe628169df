//! Room `planning`.
