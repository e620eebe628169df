//! Papers in date: qualifications and calibrations, those that run out soon or would stop a booked visit first.
mod papers;

pub use papers::{Missing, Paper, Papers, SOON_DAYS, Stopped, What, papers};
