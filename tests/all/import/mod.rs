//! Lists brought in through the use cases: separators, encodings, what changes, what is the same, what contradicts.
mod command;
mod estate;
mod faults;
mod history;
mod pages;
mod reading;
mod undoing;
mod units;

pub use estate::{Estate, block};
