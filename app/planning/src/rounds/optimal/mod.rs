//! The rounds at least cost, with a lower bound: technician routing and scheduling.
pub mod anneal;
pub mod audit;
pub mod diary;
mod forced;
pub mod least;
pub mod model;
pub mod prices;
pub mod recreate;
pub mod replan;
pub mod round;
pub mod ruin;
pub mod tables;
pub mod visits;
