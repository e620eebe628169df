//! Invented buildings, units and money to draw from. Chosen for the picture, not computed.
use chrono::NaiveDate;
use wording::drawings::elevation::{
    Bay, Elevation, Flat, Note, Plant, PlantItem, Riser, Roof, Storey, Tank,
};
use wording::drawings::history::{Ahead, Failure, HistoryLine, PartClock, Visit};
use wording::drawings::steps::{self, Scale, Shade};
use wording::sentences::chances;

/// A slab of six storeys, eight flats each, two stairs; shaded by chance.
pub fn slab() -> Elevation {
    let ones = [
        13, 11, 6, 10, 15, 14, 12, 15, 16, 23, 17, 17, 23, 9, 17, 19, 29, 9, 28, 24, 35, 3, 33, 22,
    ];
    let more = [
        16, 16, 12, 27, 17, 16, 5, 20, 17, 11, 11, 13, 18, 15, 14, 17, 4, 4, 6, 3, 5, 4, 8, 4,
    ];
    let all: Vec<f64> = ones
        .iter()
        .chain(&more)
        .map(|&n| 1.0 / f64::from(n))
        .collect();
    let storeys = (0..6)
        .map(|storey| {
            let mut bays = Vec::new();
            for column in 0..8 {
                if column == 2 || column == 6 {
                    bays.push(Bay::Core);
                }
                let number = storey * 8 + column + 1;
                let p = all[number - 1];
                let mut flat = Flat::new(&number.to_string(), &chances::cell(p), steps::chance(p));
                flat.href = format!("/flats/{number}");
                flat.trouble = match number {
                    14 => Some("no heating since 01:20".into()),
                    31 => Some("isolated, gas".into()),
                    _ => None,
                };
                bays.push(Bay::Flat(flat));
            }
            Storey {
                label: if storey == 0 {
                    "G".into()
                } else {
                    storey.to_string()
                },
                bays,
            }
        })
        .collect();
    Elevation {
        id: "slab".into(),
        title: "Alder House in section".into(),
        finding: "Heat is most likely to fail on the top floor.".into(),
        storeys,
        tank: Some(Tank {
            level: 0.7,
            words: vec!["Tank, 4.5 m³".into(), "17 °C at the inlet".into()],
        }),
        plant: Some(Plant {
            items: vec![PlantItem::Pump, PlantItem::Pump, PlantItem::Vessel],
            words: vec!["2 booster pumps".into(), "gas intake".into()],
            ..Plant::default()
        }),
        scale: Some(Scale::Chance),
        figures_are: "Fails before April".into(),
        ..Elevation::default()
    }
}

/// A tower of 24 storeys on six risers; plain, shows what each unit sees.
pub fn tower() -> Elevation {
    Elevation {
        id: "tower".into(),
        title: "Osier Tower in section".into(),
        finding: "Riser 4 is too cool from floor 16 up.".into(),
        storeys: tower_storeys(),
        plant: Some(Plant {
            items: vec![
                PlantItem::Plate,
                PlantItem::Plate,
                PlantItem::Pump,
                PlantItem::Pump,
                PlantItem::Pump,
                PlantItem::Vessel,
            ],
            words: vec!["2 plate exchangers".into(), "3 pumps, 2 needed".into()],
            mains: "network mains".into(),
            href: "/plant/1".into(),
        }),
        risers: (0..6)
            .map(|column| Riser {
                name: format!("riser {}", column + 1),
                column,
                trouble: (column == 3).then_some((16, 23)),
            })
            .collect(),
        notes: vec![
            Note {
                storeys: (16, 23),
                lines: vec![
                    "Riser 4 is too cool".into(),
                    "from floor 16 up".into(),
                    "in eight flats".into(),
                ],
            },
            Note {
                storeys: (12, 12),
                lines: vec!["1204 sees 61 °C:".into(), "its loss is its own".into()],
            },
        ],
        figures_are: "Flow at the unit".into(),
        caption: "Each flat prints what its unit sees.".into(),
        ..Elevation::default()
    }
}

fn tower_storeys() -> Vec<Storey> {
    (0..24)
        .map(|storey| {
            let bays = (0..7)
                .map(|bay| {
                    if bay == 3 {
                        return Bay::Core;
                    }
                    let column = if bay < 3 { bay + 1 } else { bay };
                    if storey == 0 {
                        return Bay::Room(
                            ["Hall", "Bins", "Bikes", "", "Meters", "Shop", ""][bay].into(),
                            1.0,
                        );
                    }
                    let cool = column == 4 && storey >= 16;
                    let seen = if cool {
                        44 + storey % 3
                    } else {
                        58 + (storey * column) % 4
                    };
                    let mut flat = Flat::new(
                        &format!("{storey}{column:02}"),
                        &format!("{seen}\u{a0}°C"),
                        Shade::Plain,
                    );
                    flat.href = format!("/flats/{storey}{column:02}");
                    flat.trouble =
                        (cool && storey < 21).then(|| "lukewarm, called this morning".into());
                    Bay::Flat(flat)
                })
                .collect();
            Storey {
                label: if storey == 0 {
                    "G".into()
                } else {
                    storey.to_string()
                },
                bays,
            }
        })
        .collect()
}

/// A mill whose storeys have columns of their own, with one unknown; shaded by money.
pub fn mill() -> Elevation {
    let storey = |label: &str, left: &[(&str, i64, f64)], right: &[(&str, i64, f64)]| {
        let flat = |&(number, pounds, width): &(&str, i64, f64)| {
            let mut flat = if pounds < 0 {
                Flat::new(number, "unknown", Shade::Unknown)
            } else {
                let spent = terms::Pence(pounds * 100);
                Flat::new(
                    number,
                    &wording::sentences::money::whole(spent),
                    steps::money(spent),
                )
            };
            flat.width = width;
            flat.href = format!("/flats/{number}");
            Bay::Flat(flat)
        };
        let mut bays: Vec<Bay> = left.iter().map(flat).collect();
        bays.push(Bay::Core);
        bays.extend(right.iter().map(flat));
        Storey {
            label: label.into(),
            bays,
        }
    };
    Elevation {
        id: "mill".into(),
        title: "Tenter Mill in section".into(),
        finding: "Three flats took more than half of the repair money.".into(),
        storeys: vec![
            storey(
                "G",
                &[("1", 640, 1.0), ("2", 210, 1.4)],
                &[("3", -1, 1.6), ("4", 90, 1.2), ("5", 310, 1.2)],
            ),
            storey(
                "1",
                &[("6", 1180, 1.2), ("7", 95, 1.2)],
                &[("8", 410, 2.0), ("9", 960, 2.0)],
            ),
            storey(
                "2",
                &[("10", 130, 1.4), ("11", 75, 1.0)],
                &[("12", 520, 2.4), ("13", 0, 1.6)],
            ),
            storey(
                "3",
                &[("14", 270, 1.2), ("15", 2940, 1.2)],
                &[("16", 180, 2.0), ("17", 340, 2.0)],
            ),
            storey(
                "4",
                &[("18", 60, 2.4)],
                &[("19", 780, 2.4), ("20", 150, 1.6)],
            ),
        ],
        roof: Roof::Sheds(5),
        scale: Some(Scale::Money),
        figures_are: "Spent in 36 months".into(),
        ..Elevation::default()
    }
}

/// A house of four flats; names to escape on purpose.
pub fn house() -> Elevation {
    let flat = |number: &str, figure: &str, shade: Shade| {
        let mut flat = Flat::new(number, figure, shade);
        flat.kind = "combi boiler".into();
        Bay::Flat(flat)
    };
    Elevation {
        id: "house".into(),
        title: "9 Garth Row <\"&'> in section".into(),
        finding: "The oldest boiler is in flat 4.".into(),
        storeys: vec![
            Storey {
                label: "G".into(),
                bays: vec![
                    flat("1", "2019", steps::age(7, false)),
                    Bay::Core,
                    flat("2", "2019", steps::age(7, false)),
                ],
            },
            Storey {
                label: "1".into(),
                bays: vec![
                    flat("3", "2008 to 2011", steps::age(15, true)),
                    Bay::Core,
                    flat("4", "2002", steps::age(24, false)),
                ],
            },
        ],
        roof: Roof::Pitched,
        tank: Some(Tank {
            level: 0.6,
            words: vec!["feed cistern for flat 4".into()],
        }),
        notes: vec![Note {
            storeys: (1, 1),
            lines: vec![
                "Flat 4’s boiler is past".into(),
                "planning age; age alone".into(),
                "decides nothing.".into(),
            ],
        }],
        scale: Some(Scale::Age),
        figures_are: "Fitted".into(),
        ..Elevation::default()
    }
}

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
        cost: (pounds > 0).then_some(terms::Pence(pounds * 100)),
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
                cost: Some(terms::Pence(i64::from(n * 7 % 5) * 10_000)),
            })
            .collect(),
        forecast: Vec::new(),
        ..boiler()
    }
}

fn on(year: i32, month: u32, day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(year, month, day).unwrap_or_default()
}

/// Every drawing once.
pub fn all() -> Vec<wording::Drawing> {
    use wording::drawings::elevation::mini;
    vec![
        slab().draw(),
        boiler().draw(),
        stranger().draw(),
        tower().draw(),
        mill().draw(),
        house().draw(),
        mini(&slab()),
        mini(&tower()),
        mini(&mill()),
    ]
}
