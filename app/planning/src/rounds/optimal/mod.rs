//! The rounds at least cost, with a lower bound: technician routing and scheduling.
pub mod anneal;
pub mod audit;
pub mod dice;
pub mod diary;
pub mod model;
pub mod recreate;
pub mod round;
pub mod ruin;
pub mod tables;
