//! The building's wall time (Europe/London): days are its days, bookings are typed in it.
use chrono::{DateTime, LocalResult, NaiveDate, NaiveDateTime, NaiveTime, TimeZone, Utc};
use chrono_tz::Europe::London;

/// The wall time of an instant.
pub fn local(at: DateTime<Utc>) -> NaiveDateTime {
    at.with_timezone(&London).naive_local()
}

/// The day of an instant.
pub fn day(at: DateTime<Utc>) -> NaiveDate {
    local(at).date()
}

/// The instant of a wall time: the first where it happens twice, `None` where it is skipped.
pub fn instant(on: NaiveDate, time: NaiveTime) -> Option<DateTime<Utc>> {
    match London.from_local_datetime(&on.and_time(time)) {
        LocalResult::Single(at) | LocalResult::Ambiguous(at, _) => Some(at.with_timezone(&Utc)),
        LocalResult::None => None,
    }
}

/// The last minute of a day.
pub fn end_of(on: NaiveDate) -> Option<DateTime<Utc>> {
    instant(on, NaiveTime::from_hms_opt(23, 59, 0)?)
}

/// "14:30 on 25 November 2026"
pub fn words(at: DateTime<Utc>) -> String {
    local(at).format("%H:%M on %-d %B %Y").to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    // Summer time in the United Kingdom begins on the last Sunday of March at 01:00 GMT and ends on the
    // last Sunday of October at 01:00 GMT: Summer Time Act 1972 as amended in 2002 (from memory).
    #[test]
    fn the_skipped_hour_is_no_instant_and_the_doubled_one_is_the_first() {
        let at = |d: &str, t: &str| instant(d.parse().unwrap(), t.parse().unwrap());
        assert_eq!(at("2027-03-28", "01:30:00"), None);
        let first = at("2026-10-25", "01:30:00").unwrap();
        assert_eq!(first.to_rfc3339(), "2026-10-25T00:30:00+00:00");
        assert_eq!(
            at("2026-07-01", "09:00:00").unwrap().to_rfc3339(),
            "2026-07-01T08:00:00+00:00"
        );
        assert_eq!(day(first), "2026-10-25".parse().unwrap());
    }
}
