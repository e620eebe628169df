//! Room for `today`: to be filled.
