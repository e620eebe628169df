//! Room for `work`: to be filled.
