//! Readings, findings, suspected parts, duty dates and completion blocks.
//!
//! Pure: no I/O, no clock, no randomness. What is a limit, a table or a list stands in one rule
//! book (`data/rulebook.json`), which [`RuleBook`] reads and checks; this room applies it. General
//! figures for England as at the book's date: the unit's plate and manual, the current regulations
//! and the judgement of the licensed person on site come first.
mod absent;
pub mod calendar;
pub mod clock;
mod coded;
pub mod completion;
pub mod cover;
pub mod duties;
mod error;
pub mod expr;
pub mod findings;
pub mod formulas;
pub mod makers;
pub mod options;
pub mod outlets;
pub mod readings;
pub mod records;
pub mod rulebook;
pub mod standing;
pub mod suspects;

pub use error::InspectionError;
pub use expr::{Value, Values};
pub use rulebook::{Level, RuleBook};
