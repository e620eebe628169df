//! What stops a job from being marked complete, and which other outcomes are open.
//!
//! The program does not diagnose safety: it reminds, records, and refuses to close a job that is
//! unsafe or unproved. "Unproved" counts as not done.
mod blocks;
mod from_readings;
mod sheet;

pub use blocks::{Completion, MustDo, Outcome, WhoMayOverride, check, check_with, words_for};
pub use from_readings::{cylinder_part, electrical_part, gas_part, tmv_part};
pub use sheet::{
    Asbestos, CoAlarm, Cylinder, Electrical, Engineer, FireStopping, FunctionLost, Gas, GasCheck,
    GasCheckItem, Override, Sheet, Tmv, Unsafe, UnsafeClass, Water,
};
