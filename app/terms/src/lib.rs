//! The words of the trade as types: typed ids, money, dates, clock, and the short code lists.
//!
//! Floor 0: no I/O, no ambient clock, no ambient randomness.
pub mod clock;
pub mod ids;
pub mod money;

pub use clock::{Clock, FixedClock};
pub use ids::*;
pub use money::{ExpectedPounds, Pence};
