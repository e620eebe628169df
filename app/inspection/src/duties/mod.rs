//! When a recurring duty is next due, by the window rules W1–W6 of the trade file on duties.
//!
//! Dates are local calendar dates. "Within n days **of**" an event: the event's day is day 0;
//! "n days **beginning with**" it: that day is day 1. Reminders, not legal advice.
mod event;
mod interval;
mod keep_date;
mod mixing_valve;
mod records;
mod review;
mod round;

pub use event::{EventReason, W4Outcome, w4};
pub use interval::{Gap, W2Outcome, W2Reason, W2Result, w2, w2_gap};
pub use keep_date::{
    Chain, G3Outcome, G3Reason, W1Outcome, W1Reason, W1Result, g3, w1, w1_chain, window_w1,
};
pub use mixing_valve::{V1Outcome, V1Reason, v1};
pub use records::{
    KeepOutcome, KeepReason, RuleFound, RuleReason, RuleVersion, keep_gas_record,
    keep_legionella_assessment, keep_water_log, rule_as_at,
};
pub use review::{W6Outcome, W6Reason, w6, w6_gap};
pub use round::{Every, Round, W3Outcome, W3Reason, W3Result, w3};
