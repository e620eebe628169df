//! Room for `register`: to be filled.
