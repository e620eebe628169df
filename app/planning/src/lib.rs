//! Programme (which units to replace in which year) and rounds (who goes where on which day).
//!
//! Floor 2, pure: input → plan + report. Planning proposes; a person accepts. Each of the two stands
//! behind a trait ([`rounds::RoundPlanner`], [`programme::ProgrammePlanner`]), so that an optimiser can
//! take the place of the plain constructive method without moving a wall, and each has an audit written
//! apart from the method, from the rules alone.
mod allowance;
pub mod dice;
pub mod programme;
pub mod rounds;
#[cfg(feature = "solver")]
pub mod solver;

pub use allowance::{Allowance, Part, Unhurried};
pub use programme::{PlainProgramme, Programme, ProgrammeInput, ProgrammePlanner};
pub use rounds::{PlainRounds, RoundInput, RoundPlan, RoundPlanner};
