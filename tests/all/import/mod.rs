//! Lists brought in through the use cases: separators, encodings, what changes, what is the same, what contradicts.
mod beside;
mod command;
mod duty_dates;
mod estate;
mod faults;
mod handover;
mod history;
mod pages;
mod reading;
mod records;
mod sources;
mod undoing;
mod units;
mod waiting;

pub use estate::{Estate, block};
