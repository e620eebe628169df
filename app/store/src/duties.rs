//! Rows of `duties`.
