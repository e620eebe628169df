//! Room for `advice`: to be filled.
