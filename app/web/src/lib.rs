//! Room `web`.
