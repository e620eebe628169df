//! Quote → advice → decision, through HTTP where a person acts.
mod adds_up;
mod ages;
mod arithmetic;
mod as_it_stood;
mod called_back;
mod decisions;
mod estate;
mod fits;
mod landlord;
mod money;
mod paid_already;
mod paper;
mod pictures;
mod reckoning;
mod second_device;
mod speed;
mod staying;
mod winter;
mod write_offs;

pub use adds_up::adds_up;
