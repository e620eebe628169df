//! Room for `visit`: to be filled.
