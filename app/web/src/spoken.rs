//! Times as people say them: "now", "07:30", "yesterday 18:00", "3 hours", "2 days", "24/11 18:00"; read against the
//! wall time of the page. One field and few keys, where a date picker takes six stops of Tab.
use chrono::{Datelike, NaiveDate, NaiveDateTime, NaiveTime, TimeDelta};

/// The wall time meant; `None` when it cannot be read. A time of day alone is the last one at or before `now`.
pub(crate) fn moment(said: &str, now: NaiveDateTime) -> Option<NaiveDateTime> {
    let said = said.trim().to_lowercase();
    if matches!(said.as_str(), "now" | "just now") {
        return Some(now);
    }
    if let Some(rest) = said.strip_prefix("yesterday") {
        let day = now.date().pred_opt()?;
        let time = match rest.trim() {
            "" => NaiveTime::from_hms_opt(12, 0, 0),
            rest => time_of(rest),
        };
        return Some(day.and_time(time?));
    }
    if let Some(rest) = said.strip_prefix("today") {
        return Some(now.date().and_time(time_of(rest)?));
    }
    if let Some(time) = time_of(&said) {
        let at = now.date().and_time(time);
        return if at <= now {
            Some(at)
        } else {
            at.checked_sub_signed(TimeDelta::days(1))
        };
    }
    ago(&said, now).or_else(|| day_and_time(&said, now))
}

fn time_of(said: &str) -> Option<NaiveTime> {
    let said = said.trim().replace('.', ":");
    NaiveTime::parse_from_str(&said, "%H:%M").ok()
}

/// "3 hours", "3h", "2 days ago": so long before `now`, at most a year.
fn ago(said: &str, now: NaiveDateTime) -> Option<NaiveDateTime> {
    let said = said.trim_end_matches("ago").trim();
    let digits = said.find(|c: char| !c.is_ascii_digit())?;
    let (number, word) = said.split_at(digits);
    let number = number.parse::<i64>().ok().filter(|n| *n <= 8_784)?;
    let span = match word.trim() {
        "h" | "hour" | "hours" => TimeDelta::hours(number),
        "d" | "day" | "days" if number <= 366 => TimeDelta::days(number),
        "m" | "min" | "minutes" => TimeDelta::minutes(number),
        _ => return None,
    };
    now.checked_sub_signed(span)
}

/// A day with a time, as a browser sends it or as it is written; without its year it is the last such day.
fn day_and_time(said: &str, now: NaiveDateTime) -> Option<NaiveDateTime> {
    for form in ["%Y-%m-%dt%H:%M", "%Y-%m-%d %H:%M", "%d/%m/%Y %H:%M"] {
        if let Ok(at) = NaiveDateTime::parse_from_str(said, form) {
            return Some(at);
        }
    }
    let (day, time) = said.split_once(' ')?;
    let (day, month) = day.split_once('/')?;
    let (day, month): (u32, u32) = (day.parse().ok()?, month.parse().ok()?);
    let time = time_of(time)?;
    [now.year(), now.year() - 1]
        .into_iter()
        .filter_map(|year| NaiveDate::from_ymd_opt(year, month, day))
        .map(|day| day.and_time(time))
        .find(|at| *at <= now)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_said_on_the_telephone_is_read() {
        let now: NaiveDateTime = "2026-11-25T07:40:00".parse().unwrap();
        for (said, meant) in [
            ("now", "2026-11-25T07:40:00"),
            ("07:30", "2026-11-25T07:30:00"),
            ("7.30", "2026-11-25T07:30:00"),
            ("22:15", "2026-11-24T22:15:00"),
            ("yesterday 18:00", "2026-11-24T18:00:00"),
            ("Yesterday", "2026-11-24T12:00:00"),
            ("today 06:00", "2026-11-25T06:00:00"),
            ("3h", "2026-11-25T04:40:00"),
            ("2 days ago", "2026-11-23T07:40:00"),
            ("24/11 18:05", "2026-11-24T18:05:00"),
            ("26/12 10:00", "2025-12-26T10:00:00"),
            ("2026-11-25T01:20", "2026-11-25T01:20:00"),
            ("25/11/2026 01:20", "2026-11-25T01:20:00"),
        ] {
            let read = moment(said, now);
            assert_eq!(read, Some(meant.parse().unwrap()), "{said}");
        }
        for odd in [
            "",
            "soon",
            "25:00",
            "31/02 10:00",
            "99999h",
            "h",
            "400 days",
        ] {
            assert_eq!(moment(odd, now), None, "{odd}");
        }
    }
}
