//! The seam through which time and fresh ids enter: passed down by `program`, fixed in tests.
use std::sync::atomic::{AtomicI64, Ordering};

use chrono::{DateTime, NaiveDate, TimeDelta, Utc};

/// Where "now" comes from.
pub trait Clock: Send + Sync + std::fmt::Debug {
    /// The present instant.
    fn now(&self) -> DateTime<Utc>;

    /// The present day in UTC; pages convert to the building's zone.
    fn today(&self) -> NaiveDate {
        self.now().date_naive()
    }
}

/// A clock that stands still until moved; for tests and for the demo's past.
#[derive(Debug)]
pub struct FixedClock(AtomicI64);

impl FixedClock {
    /// Stands at `at`.
    pub fn at(at: DateTime<Utc>) -> Self {
        Self(AtomicI64::new(at.timestamp_millis()))
    }

    /// Moves to `at`.
    pub fn set(&self, at: DateTime<Utc>) {
        self.0.store(at.timestamp_millis(), Ordering::SeqCst);
    }

    /// Moves on by `span`.
    pub fn advance(&self, span: TimeDelta) {
        self.0.fetch_add(span.num_milliseconds(), Ordering::SeqCst);
    }
}

impl Clock for FixedClock {
    fn now(&self) -> DateTime<Utc> {
        DateTime::from_timestamp_millis(self.0.load(Ordering::SeqCst)).unwrap_or_default()
    }
}
