//! The programme at least expected cost, with a certified lower bound.
pub mod audit;
pub mod estate;
pub mod formulation;
pub mod model;
mod most_spent;
pub mod outcome;
pub mod whole;
