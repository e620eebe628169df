//! The building's own time: instants are stored in UTC and shown, and typed, in London's.
use chrono::{DateTime, LocalResult, NaiveDate, NaiveDateTime, TimeZone, Utc};
use chrono_tz::Europe::London;
use wording::sentences::dates;

/// The wall time of an instant.
pub(crate) fn local(at: DateTime<Utc>) -> NaiveDateTime {
    at.with_timezone(&London).naive_local()
}

/// The day of an instant.
pub(crate) fn local_day(at: DateTime<Utc>) -> NaiveDate {
    local(at).date()
}

/// "Wednesday 25 November 2026, 07:40"
pub(crate) fn now_words(at: DateTime<Utc>) -> String {
    let at = local(at);
    format!("{}, {}", dates::day_full(at.date()), at.format("%H:%M"))
}

/// "25 November, 07:40": on a phone's narrow head
pub(crate) fn now_brief(at: DateTime<Utc>) -> String {
    let at = local(at);
    format!("{}, {}", dates::day_of_year(at.date()), at.format("%H:%M"))
}

/// "Wednesday 25 November 2026"
pub(crate) fn day_words(at: DateTime<Utc>) -> String {
    dates::day_full(local_day(at))
}

/// The instant of a wall time: the first where it happens twice, `None` where it is skipped.
pub(crate) fn instant(wall: NaiveDateTime) -> Option<DateTime<Utc>> {
    match London.from_local_datetime(&wall) {
        LocalResult::Single(at) | LocalResult::Ambiguous(at, _) => Some(at.with_timezone(&Utc)),
        LocalResult::None => None,
    }
}
