//! Quote → advice → decision, through HTTP where a person acts.
mod adds_up;
mod arithmetic;
mod decisions;
mod estate;
mod fits;
mod landlord;
mod money;
mod paid_already;
mod paper;
mod pictures;
mod reckoning;
mod speed;
mod winter;

pub use adds_up::adds_up;
