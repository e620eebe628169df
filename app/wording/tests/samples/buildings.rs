//! Invented buildings.
use terms::Pence;
use wording::drawings::elevation::{
    Bay, Elevation, Flat, Note, Plant, PlantItem, Riser, Roof, Storey, Tank,
};
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
                fed: (1..24).map(|storey| (storey, column)).collect(),
                feeders: vec!["P-1".into(), "P-2".into()],
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
                let spent = Pence(pounds * 100);
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
