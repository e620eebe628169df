//! Quote → advice → decision, through HTTP where a person acts.
mod arithmetic;
mod decisions;
mod estate;
mod reckoning;
