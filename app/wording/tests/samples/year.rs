//! Invented windows and readings.
use chrono::NaiveDate;
use wording::drawings::due_strip::DueStrip;
use wording::drawings::moved::Moved;
use wording::drawings::squares::Squares;
use wording::drawings::year_strip::{StripRow, Window, YearStrip};

fn on(year: i32, month: u32, day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(year, month, day).unwrap_or_default()
}

fn row(name: &str, words: &str, window: Window) -> StripRow {
    StripRow {
        name: name.into(),
        href: format!("/units/{}", name.replace(' ', "-")),
        group: String::new(),
        words: words.into(),
        windows: vec![window],
    }
}

/// Twelve months with one window late, one booked, two done.
pub fn strip() -> YearStrip {
    let open = Window::open;
    YearStrip {
        id: "strip".into(),
        title: "Gas safety checks, Alder House".into(),
        finding: "Flat 40 is late.".into(),
        today: on(2026, 11, 25),
        first_month: on(2026, 9, 1),
        rows: vec![
            row(
                "Flat 18",
                "done 5 Nov; next 28 Nov 2027",
                Window {
                    done: Some(on(2026, 11, 5)),
                    ..open(on(2026, 9, 29), on(2026, 11, 28))
                },
            ),
            row(
                "Flat 7",
                "by 3 Dec; no access twice",
                Window {
                    no_access: vec![on(2026, 10, 24), on(2026, 11, 11)],
                    ..open(on(2026, 10, 4), on(2026, 12, 3))
                },
            ),
            row(
                "Flat 40",
                "late by 3 days; three attempts",
                Window {
                    no_access: vec![on(2026, 10, 12), on(2026, 11, 3), on(2026, 11, 17)],
                    ..open(on(2026, 9, 23), on(2026, 11, 22))
                },
            ),
            row(
                "Flat 19",
                "by 8 Dec; booked 30 Nov",
                Window {
                    booked: Some(on(2026, 11, 30)),
                    ..open(on(2026, 10, 9), on(2026, 12, 8))
                },
            ),
            row(
                "Flat 22",
                "by 18 Mar; opens 19 Jan",
                open(on(2027, 1, 19), on(2027, 3, 18)),
            ),
            row(
                "Tank",
                "summer inlet check, June to July",
                open(on(2027, 6, 1), on(2027, 7, 31)),
            ),
        ],
    }
}

/// Sixty days in one row.
pub fn next_sixty() -> DueStrip {
    let today = on(2026, 11, 25);
    let mut windows: Vec<Window> = strip()
        .rows
        .into_iter()
        .flat_map(|row| row.windows)
        .collect();
    for days in [13, 14, 14, 20, 27, 34, 38, 52, 58, 59] {
        let deadline = today + chrono::TimeDelta::days(days);
        windows.push(Window {
            booked: (days % 4 == 2).then_some(deadline),
            ..Window::open(today, deadline)
        });
    }
    DueStrip {
        id: "sixty".into(),
        title: "Due in 60 days".into(),
        today,
        days: 60,
        windows,
    }
}

/// About 1 in 3, at most 1 in 2.
pub fn squares() -> Squares {
    Squares::of_chance(
        "squares",
        12,
        (0.34, 0.5),
        (
            ("boiler like this one", "boilers like this one"),
            "to fail before April",
        ),
    )
}

/// A rise that fell under its limit.
pub fn moved() -> Moved {
    Moved {
        id: "moved".into(),
        name: "Rise at the hot tap, K".into(),
        from: Some(32.0),
        to: None,
        before: Some(34.0),
        now: 27.0,
    }
}
