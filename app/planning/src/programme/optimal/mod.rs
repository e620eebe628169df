//! The programme at least expected cost, with a certified lower bound.
//!
//! Parts of the estate that share no fund and no set of units are planned apart. A part is one
//! mixed-integer model where it is small ([`whole`]), else blocks at prices of the shared funds with a
//! master over their plans ([`price_and_branch`]) and neighbourhoods solved exactly ([`neighbourhood`]).
mod asked;
pub mod audit;
pub mod clash;
mod columns;
mod covers;
mod descent;
pub mod estate;
pub mod formulation;
mod joined;
pub mod limits;
mod menu;
pub mod model;
mod most_spent;
mod moves;
pub mod neighbourhood;
pub mod outcome;
mod parallel;
pub mod plain;
mod planner;
pub mod price_and_branch;
mod relaxed;
mod repair;
mod rows;
pub mod shared;
pub mod solve;
mod ties;
mod told;
mod waivers;
pub mod whole;
mod work;

pub use asked::problem_of;
pub use joined::{
    Joint, JointClash, JointPart, Part, SharedPurse, Taken, plain_jointly, prove_jointly,
};
pub use planner::{Clashing, OptimalProgramme, PlainResult, PlainWay, Proven};
pub use solve::Verdict;

/// How to search.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    /// Seed of every choice.
    pub seed: u64,
    /// Threads for blocks that do not wait for each other.
    pub threads: usize,
    /// Gap to which blocks are priced where there are very many.
    pub block_gap: f64,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            seed: 1,
            threads: 1,
            block_gap: 0.0015,
        }
    }
}
