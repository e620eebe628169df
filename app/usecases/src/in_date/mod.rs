//! Papers in date: those of firms, qualifications and calibrations; those that run out soon or would stop a booked visit
//! first.
mod papers;
mod stating;

pub use papers::{Missing, Paper, Papers, SOON_DAYS, Stopped, What, papers};
pub use stating::{StateFirmPaper, state_firm_paper};
