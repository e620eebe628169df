//! Spans of time in words: how long since, how late, how long left.
use chrono::{DateTime, NaiveDate, TimeDelta, Utc};

use super::{GLUE, plural};

/// "45 min", "26 h 10 min", "27 h", and from 48 hours on "3 days". A negative span reads as nothing passed.
pub fn duration(span: TimeDelta) -> String {
    let minutes = span.num_minutes().max(0);
    match (minutes / 60, minutes % 60) {
        (0, 0) => "less than a minute".into(),
        (hours, _) if hours >= 48 => plural((hours / 24) as u64, "day", "days"),
        (hours, rest) => short(hours, rest),
    }
}

/// The same set apart at the right: "45 min", "26 h 10 min", "3 d".
pub fn duration_brief(span: TimeDelta) -> String {
    let minutes = span.num_minutes().max(0);
    let (hours, rest) = (minutes / 60, minutes % 60);
    if hours >= 48 {
        format!("{}{GLUE}d", hours / 24)
    } else {
        short(hours, rest)
    }
}

fn short(hours: i64, rest: i64) -> String {
    match (hours, rest) {
        (0, rest) => format!("{rest}{GLUE}min"),
        (hours, 0) => format!("{hours}{GLUE}h"),
        (hours, rest) => format!("{hours}{GLUE}h{GLUE}{rest}{GLUE}min"),
    }
}

/// A clock running to `deadline`, set apart at the right: "late by 2 h 10", "late in 45 min", "late in 3 d".
pub fn clock(now: DateTime<Utc>, deadline: DateTime<Utc>) -> String {
    if now > deadline {
        format!("late{GLUE}by{GLUE}{}", clipped(now - deadline))
    } else {
        format!("late{GLUE}in{GLUE}{}", clipped(deadline - now))
    }
}

/// Hours and minutes without the last "min": a figure has room for few letters. Two digits say that they are minutes.
fn clipped(span: TimeDelta) -> String {
    match (span.num_hours(), span.num_minutes() % 60) {
        (hours @ 1..48, rest @ 1..) => format!("{hours}{GLUE}h{GLUE}{rest:02}"),
        _ => duration_brief(span),
    }
}

/// A day to be met: "late by 3 d", "today", "in 8 d".
pub fn due(today: NaiveDate, deadline: NaiveDate) -> String {
    match (deadline - today).num_days() {
        0 => "today".into(),
        days if days < 0 => format!("late{GLUE}by{GLUE}{}{GLUE}d", -days),
        days => format!("in{GLUE}{days}{GLUE}d"),
    }
}

/// The same in a cell of the elevation: "late 3 d", "today", "8 d".
pub fn due_cell(today: NaiveDate, deadline: NaiveDate) -> String {
    match (deadline - today).num_days() {
        0 => "today".into(),
        days if days < 0 => format!("late{GLUE}{}{GLUE}d", -days),
        days => format!("{days}{GLUE}d"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plain(text: String) -> String {
        text.replace('\u{a0}', " ")
    }

    #[test]
    fn spans_in_words() {
        for (minutes, words, brief) in [
            (0, "less than a minute", "0 min"),
            (45, "45 min", "45 min"),
            (60, "1 h", "1 h"),
            (380, "6 h 20 min", "6 h 20 min"),
            (1570, "26 h 10 min", "26 h 10 min"),
            (2879, "47 h 59 min", "47 h 59 min"),
            (2880, "2 days", "2 d"),
            (4600, "3 days", "3 d"),
            (-5, "less than a minute", "0 min"),
        ] {
            assert_eq!(plain(duration(TimeDelta::minutes(minutes))), words);
            assert_eq!(plain(duration_brief(TimeDelta::minutes(minutes))), brief);
        }
    }

    #[test]
    fn clocks_and_days() {
        let now = DateTime::from_timestamp(1_795_592_400, 0).expect("an instant");
        let clock = |minutes| plain(clock(now, now + TimeDelta::minutes(minutes)));
        assert_eq!(clock(340), "late in 5 h 40");
        assert_eq!(clock(-130), "late by 2 h 10");
        assert_eq!(clock(45), "late in 45 min");
        assert_eq!(clock(307), "late in 5 h 07");
        assert_eq!(clock(2700), "late in 45 h");
        let today = now.date_naive();
        let due = |days| plain(due(today, today + TimeDelta::days(days)));
        assert_eq!(due(8), "in 8 d");
        assert_eq!(due(0), "today");
        assert_eq!(due(-3), "late by 3 d");
        assert_eq!(
            plain(due_cell(today, today - TimeDelta::days(3))),
            "late 3 d"
        );
    }
}
