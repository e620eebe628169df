//! Room for `plan`: to be filled.
