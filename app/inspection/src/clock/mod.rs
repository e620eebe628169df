//! Clocks that run from a report or a notice: hours, working days, and the dates law sets.
//!
//! England, as at the date of the rule book. Reminders, not legal advice.
mod awaab;
mod bank_holidays;
mod hours;
mod local;
mod outage;
mod repair;
mod response;
mod section20;
mod section20b;
mod threshold;
mod working_days;

pub use awaab::{AwaabClock, AwaabKind, AwaabReason, awaab};
pub use bank_holidays::england as bank_holidays_england;
pub use hours::{Basis, ClockState, HoursClock, HoursQuery, Pause, hours};
pub use local::{LocalTime, UtcTime};
pub use outage::home_hours;
pub use repair::{RepairClock, RepairReason, right_to_repair};
pub use response::{Deadline, ResponseQuery, ResponseTargets, response};
pub use section20::{Consultation, Flag, Notice, Section20Query, section20};
pub use section20b::{DemandOrNotice, Section20b, section20b};
pub use threshold::{Threshold, ThresholdQuery, section20_threshold};
pub use working_days::WorkingDays;
