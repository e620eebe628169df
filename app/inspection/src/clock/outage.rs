//! How much an outage took from homes: homes × hours.
use chrono::{DateTime, Utc};

/// Homes × hours: Σ max(0, end − start) over the homes, in hours, each home from when it lost the function to when it
/// had it back. An end before its start counts as nothing. Common practice, no source.
pub fn home_hours(homes: &[(DateTime<Utc>, DateTime<Utc>)]) -> f64 {
    let seconds: i64 = homes
        .iter()
        .map(|(from, until)| (*until - *from).num_seconds().max(0))
        .sum();
    seconds as f64 / 3600.0
}
