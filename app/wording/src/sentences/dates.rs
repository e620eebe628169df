//! Days, months and doubts about them, in words.
use chrono::{Datelike, Months, NaiveDate, NaiveDateTime};

use super::GLUE;

const MONTHS: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];
/// The days of the week, Monday first.
pub const WEEKDAYS: [&str; 7] = [
    "Monday",
    "Tuesday",
    "Wednesday",
    "Thursday",
    "Friday",
    "Saturday",
    "Sunday",
];

/// The month's full name.
pub fn month(day: NaiveDate) -> &'static str {
    MONTHS[day.month0() as usize % 12]
}

/// The month's first three letters.
pub fn month_short(day: NaiveDate) -> &'static str {
    &month(day)[..3]
}

/// The day's full name.
pub fn weekday(day: NaiveDate) -> &'static str {
    WEEKDAYS[day.weekday().num_days_from_monday() as usize % 7]
}

/// "4 December 2026".
pub fn day(day: NaiveDate) -> String {
    format!("{}{GLUE}{}{GLUE}{}", day.day(), month(day), day.year())
}

/// "4 December": where the year is plain from what stands around it.
pub fn day_of_year(day: NaiveDate) -> String {
    format!("{}{GLUE}{}", day.day(), month(day))
}

/// "4 Dec": in drawings and small words.
pub fn day_brief(day: NaiveDate) -> String {
    format!("{}{GLUE}{}", day.day(), month_short(day))
}

/// "Wed 25 Nov 2026": in tables.
pub fn day_short(day: NaiveDate) -> String {
    let name = &weekday(day)[..3];
    let month = month_short(day);
    format!("{name}{GLUE}{}{GLUE}{month}{GLUE}{}", day.day(), day.year())
}

/// "Wednesday 25 November 2026".
pub fn day_full(date: NaiveDate) -> String {
    format!("{} {}", weekday(date), day(date))
}

/// "Wednesday 25 November": in sentences about the coming weeks.
pub fn weekday_day(date: NaiveDate) -> String {
    format!("{} {}", weekday(date), day_of_year(date))
}

/// "Wednesday 25 November 2026, 07:40"; the caller has put the instant into the building's zone.
pub fn moment(at: NaiveDateTime) -> String {
    format!("{}, {}", day_full(at.date()), at.format("%H:%M"))
}

/// "Monday 30 November, 09:15": an appointment.
pub fn appointment(at: NaiveDateTime) -> String {
    format!("{}, {}", weekday_day(at.date()), at.format("%H:%M"))
}

/// "2026-11-25", for `time datetime`.
pub fn machine(date: NaiveDate) -> String {
    date.format("%Y-%m-%d").to_string()
}

/// When something was fitted, with the doubt in words. Either end may be unknown.
///
/// "on 4 December 2012", "in March 2012", "in 2009", "some time between 2005 and 2010",
/// "some time between October 2011 and March 2012", "some time before May 2010", "at an unknown date".
pub fn fitted_when(earliest: Option<NaiveDate>, latest: Option<NaiveDate>) -> String {
    match (earliest, latest) {
        (Some(from), Some(to)) if from > to => fitted_when(Some(to), Some(from)),
        (Some(from), Some(to)) if from == to => format!("on {}", day(from)),
        (Some(from), Some(to)) => doubtful(from, to),
        (None, Some(to)) => format!("some time before {}", edge(to, Edge::Before)),
        (Some(from), None) => format!("some time after {}", edge(from, Edge::After)),
        (None, None) => "at an unknown date".into(),
    }
}

/// The same for a drawing or a plate: "2012", "2005 to 2010", "Oct 2011 to Mar 2012", "unknown".
pub fn fitted_brief(earliest: Option<NaiveDate>, latest: Option<NaiveDate>) -> String {
    let brief = |day: NaiveDate| format!("{}{GLUE}{}", month_short(day), day.year());
    match (earliest, latest) {
        (Some(from), Some(to)) if from.year() == to.year() => from.year().to_string(),
        (Some(from), Some(to)) if starts_year(from) && ends_year(to) => {
            format!("{}{GLUE}to{GLUE}{}", from.year(), to.year())
        }
        (Some(from), Some(to)) => format!("{} to {}", brief(from), brief(to)),
        (None, Some(to)) => format!("before{GLUE}{}", to.year()),
        (Some(from), None) => format!("after{GLUE}{}", from.year()),
        (None, None) => "unknown".into(),
    }
}

fn doubtful(from: NaiveDate, to: NaiveDate) -> String {
    let whole_months = starts_month(from) && ends_month(to);
    if starts_year(from) && ends_year(to) {
        if from.year() == to.year() {
            format!("in{GLUE}{}", from.year())
        } else {
            format!("some time between {} and {}", from.year(), to.year())
        }
    } else if whole_months && from.year() == to.year() && from.month() == to.month() {
        format!("in {}", month_year(from))
    } else if whole_months {
        format!(
            "some time between {} and {}",
            month_year(from),
            month_year(to)
        )
    } else {
        format!("some time between {} and {}", day(from), day(to))
    }
}

enum Edge {
    Before,
    After,
}

/// One end of a half-open doubt: the year or month alone where the day says no more.
fn edge(date: NaiveDate, side: Edge) -> String {
    match side {
        Edge::Before if starts_year(date) => date.year().to_string(),
        Edge::Before if starts_month(date) => month_year(date),
        Edge::After if ends_year(date) => date.year().to_string(),
        Edge::After if ends_month(date) => month_year(date),
        Edge::Before | Edge::After => day(date),
    }
}

/// "March 2012".
pub fn month_year(date: NaiveDate) -> String {
    format!("{}{GLUE}{}", month(date), date.year())
}

fn starts_month(day: NaiveDate) -> bool {
    day.day() == 1
}

fn ends_month(day: NaiveDate) -> bool {
    day.succ_opt().is_some_and(starts_month)
}

fn starts_year(day: NaiveDate) -> bool {
    day.ordinal() == 1
}

fn ends_year(day: NaiveDate) -> bool {
    day.succ_opt().is_some_and(starts_year)
}

/// Whole years from `from` to `to`, none if `to` comes first.
pub fn whole_years(from: NaiveDate, to: NaiveDate) -> u32 {
    to.years_since(from).unwrap_or(0)
}

/// Whole months left over after the whole years.
pub fn months_over(from: NaiveDate, to: NaiveDate) -> u32 {
    let years = whole_years(from, to);
    (0..12)
        .rev()
        .find(|&extra| {
            from.checked_add_months(Months::new(years * 12 + extra))
                .is_some_and(|day| day <= to)
        })
        .unwrap_or(0)
}

/// "6 y 11 m", "11 m", "0 m".
pub fn age_brief(from: NaiveDate, to: NaiveDate) -> String {
    match (whole_years(from, to), months_over(from, to)) {
        (0, months) => format!("{months}{GLUE}m"),
        (years, 0) => format!("{years}{GLUE}y"),
        (years, months) => format!("{years}{GLUE}y{GLUE}{months}{GLUE}m"),
    }
}

#[cfg(test)]
mod tests {
    use chrono::NaiveDate;

    use super::*;

    fn on(year: i32, month: u32, day: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(year, month, day).expect("a day of the calendar")
    }

    fn plain(text: String) -> String {
        text.replace('\u{a0}', " ")
    }

    #[test]
    fn days_in_words() {
        // 25 November 2026 is a Wednesday (proleptic Gregorian calendar).
        let today = on(2026, 11, 25);
        assert_eq!(day_short(today), "Wed\u{a0}25\u{a0}Nov\u{a0}2026");
        assert_eq!(day(on(2026, 12, 4)), "4\u{a0}December\u{a0}2026");
        assert_eq!(plain(day_full(today)), "Wednesday 25 November 2026");
        assert_eq!(plain(weekday_day(today)), "Wednesday 25 November");
        assert_eq!(day_brief(today), "25\u{a0}Nov");
        assert_eq!(machine(today), "2026-11-25");
        let at = today.and_hms_opt(7, 40, 0).expect("an hour of the day");
        assert_eq!(plain(moment(at)), "Wednesday 25 November 2026, 07:40");
        assert_eq!(plain(appointment(at)), "Wednesday 25 November, 07:40");
    }

    #[test]
    fn doubtful_fitting_dates() {
        let cases = [
            (
                Some(on(2012, 12, 4)),
                Some(on(2012, 12, 4)),
                "on 4 December 2012",
            ),
            (Some(on(2012, 3, 1)), Some(on(2012, 3, 31)), "in March 2012"),
            (Some(on(2009, 1, 1)), Some(on(2009, 12, 31)), "in 2009"),
            (
                Some(on(2005, 1, 1)),
                Some(on(2010, 12, 31)),
                "some time between 2005 and 2010",
            ),
            (
                Some(on(2010, 12, 31)),
                Some(on(2005, 1, 1)),
                "some time between 2005 and 2010",
            ),
            (
                Some(on(2011, 10, 1)),
                Some(on(2012, 3, 31)),
                "some time between October 2011 and March 2012",
            ),
            (
                Some(on(2011, 10, 2)),
                Some(on(2012, 3, 31)),
                "some time between 2 October 2011 and 31 March 2012",
            ),
            (None, Some(on(2010, 5, 1)), "some time before May 2010"),
            (Some(on(1999, 12, 31)), None, "some time after 1999"),
            (None, None, "at an unknown date"),
        ];
        for (from, to, words) in cases {
            assert_eq!(plain(fitted_when(from, to)), words);
        }
        let brief = |from, to| plain(fitted_brief(from, to));
        assert_eq!(
            brief(Some(on(2008, 1, 1)), Some(on(2011, 12, 31))),
            "2008 to 2011"
        );
        assert_eq!(brief(Some(on(2019, 4, 2)), Some(on(2019, 4, 2))), "2019");
        assert_eq!(brief(None, None), "unknown");
    }

    #[test]
    fn ages() {
        assert_eq!(
            plain(age_brief(on(2019, 12, 20), on(2026, 11, 25))),
            "6 y 11 m"
        );
        assert_eq!(plain(age_brief(on(2026, 11, 25), on(2026, 11, 25))), "0 m");
        assert_eq!(plain(age_brief(on(2024, 11, 25), on(2026, 11, 25))), "2 y");
        assert_eq!(plain(age_brief(on(2027, 1, 1), on(2026, 11, 25))), "0 m");
        assert_eq!(plain(age_brief(on(2026, 8, 31), on(2026, 11, 30))), "3 m");
    }
}
