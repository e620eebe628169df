//! Room for `founding`: to be filled.
