//! The rounds at least cost, with a lower bound: technician routing and scheduling.
pub mod anneal;
mod asked;
pub mod audit;
mod checks;
pub mod diary;
pub mod exact;
mod forced;
pub mod least;
pub mod model;
pub mod plain;
mod planner;
pub mod prices;
pub mod recreate;
pub mod replan;
pub mod round;
pub mod ruin;
pub mod solve;
pub mod tables;
mod timing;
pub mod visits;
pub mod why;

pub use asked::Prices;
pub use planner::{OptimalRounds, RoundProof, Tally};
