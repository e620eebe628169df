//! Invented units.
use chrono::NaiveDate;
use terms::Pence;
use wording::drawings::history::{Ahead, Failure, HistoryLine, PartClock, Visit};

fn failed(
    day: NaiveDate,
    words: (&str, &str),
    repaired: Option<NaiveDate>,
    pounds: i64,
) -> Failure {
    Failure {
        on: day,
        words: words.0.into(),
        detail: words.1.into(),
        repaired_on: repaired,
        cost: (pounds > 0).then_some(Pence(pounds * 100)),
    }
}

fn forecast() -> Vec<Ahead> {
    let rows = [
        (on(2027, 1, 25), [0.17, 0.1, 0.25], false),
        (on(2027, 4, 1), [0.34, 0.2, 0.5], true),
        (on(2027, 8, 1), [0.43, 0.26, 0.6], false),
        (on(2027, 11, 25), [0.51, 0.34, 0.66], true),
        (on(2028, 5, 25), [0.66, 0.44, 0.82], false),
        (on(2028, 11, 25), [0.75, 0.5, 0.9], true),
    ];
    rows.into_iter()
        .map(|(by, [chance, low, high], named)| Ahead {
            by,
            chance,
            low,
            high,
            named,
        })
        .collect()
}

/// A combi boiler fitted some time in a winter, with failures close together before today.
pub fn boiler() -> HistoryLine {
    let part = |name: &str, replaced_on| PartClock {
        name: name.into(),
        replaced_on,
    };
    HistoryLine {
        id: "boiler".into(),
        title: "The boiler in flat 22".into(),
        finding: "About 1 in 3 like it would fail again before April.".into(),
        today: on(2026, 11, 25),
        gone: false,
        fitted: (Some(on(2011, 10, 1)), Some(on(2012, 3, 31))),
        register_opened: Some(on(2019, 4, 1)),
        failures: vec![
            failed(
                on(2026, 11, 11),
                ("hot water lukewarm", "plate suspected; £412.00 quoted"),
                None,
                0,
            ),
            failed(
                on(2016, 1, 12),
                ("no heat", "electrode, £118"),
                Some(on(2016, 1, 14)),
                118,
            ),
            failed(
                on(2019, 12, 18),
                ("no heat", "pump, £286"),
                Some(on(2019, 12, 20)),
                286,
            ),
            failed(
                on(2025, 9, 12),
                ("no hot water", "diverter valve, £318"),
                Some(on(2025, 9, 18)),
                318,
            ),
        ],
        visits: (2012..=2026)
            .map(|year| Visit {
                on: on(year, 3, 5),
                readings: year > 2020,
            })
            .collect(),
        parts: vec![
            part("Pump", Some(on(2019, 12, 20))),
            part("Diverter valve", Some(on(2025, 9, 18))),
            part("Expansion vessel", Some(on(2021, 1, 20))),
            part("Hot-water plate", None),
            part("Fan", None),
        ],
        forecast: forecast(),
    }
}

/// A unit of which little is known: no fitting date, many failures, no forecast.
pub fn stranger() -> HistoryLine {
    HistoryLine {
        id: "stranger".into(),
        title: "A store <nobody> wrote down".into(),
        finding: "Nine failures & no fitting date.".into(),
        fitted: (None, None),
        register_opened: Some(on(2018, 1, 1)),
        failures: (0..9)
            .map(|n| Failure {
                on: on(2018 + n, 2, 1 + n as u32),
                words: format!("coil leak {n}"),
                detail: "made safe".into(),
                repaired_on: Some(on(2018 + n, 2, 20)),
                cost: Some(Pence(i64::from(n * 7 % 5) * 10_000)),
            })
            .collect(),
        forecast: Vec::new(),
        ..boiler()
    }
}

/// A store fitted today, one of its parts with a long name.
pub fn store_of_today() -> HistoryLine {
    let today = on(2026, 11, 25);
    let clock = |name: &str| PartClock {
        name: name.into(),
        replaced_on: None,
    };
    HistoryLine {
        id: "store-of-today".into(),
        title: "The store in flat 18".into(),
        finding: "About 1 in 95 like it would fail before April.".into(),
        fitted: (Some(today), Some(today)),
        register_opened: Some(today),
        failures: Vec::new(),
        visits: vec![Visit {
            on: today,
            readings: true,
        }],
        parts: vec![
            clock("Immersion element"),
            clock("Motorised valve on the charging circuit"),
            clock("Blending valve"),
        ],
        forecast: a_year([0.01, 0.025]),
        ..boiler()
    }
}

/// A cylinder of 1998 with a year's forecast: two named days stand close together after today.
pub fn old_cylinder() -> HistoryLine {
    HistoryLine {
        id: "old-cylinder".into(),
        title: "The cylinder in flat 18".into(),
        finding: "About 1 in 7 like it would fail before April.".into(),
        fitted: (Some(on(1998, 1, 1)), Some(on(1998, 12, 31))),
        register_opened: Some(on(2017, 11, 25)),
        failures: vec![failed(
            on(2025, 2, 11),
            ("a leak", "cylinder body"),
            None,
            0,
        )],
        forecast: a_year([0.14, 0.25]),
        ..boiler()
    }
}

/// Next April and twelve months from now.
fn a_year(chances: [f64; 2]) -> Vec<Ahead> {
    [on(2027, 4, 1), on(2027, 11, 25)]
        .into_iter()
        .zip(chances)
        .map(|(by, chance)| Ahead {
            by,
            chance,
            low: chance / 2.0,
            high: chance * 1.6,
            named: true,
        })
        .collect()
}

fn on(year: i32, month: u32, day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(year, month, day).unwrap_or_default()
}
