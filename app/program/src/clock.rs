//! The clock of the real world; every other room is handed one.
use chrono::{DateTime, Utc};
use terms::clock::Clock;

/// The machine's clock.
#[derive(Debug)]
pub struct WorldClock;

impl Clock for WorldClock {
    #[expect(
        clippy::disallowed_methods,
        reason = "the one place that reads the machine's clock"
    )]
    fn now(&self) -> DateTime<Utc> {
        Utc::now()
    }
}
