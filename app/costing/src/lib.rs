//! Room `costing`.
