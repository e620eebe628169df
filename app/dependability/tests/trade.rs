//! The trade's parts table against the trade's rates: one level, shared out.
#![expect(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a broken parts table should stop the test where it is read"
)]
use std::collections::BTreeMap;

use dependability::{KindPrior, PartClock, PartPrior};

/// Failures per unit-year at 3, 10 and 15 years. Source: the trade file UNITS §2, last column (its own tag: common
/// practice, engineering guess, no published source, but for the boiler calibration of its §4).
const RATES: [(&str, [f64; 3]); 18] = [
    ("CB", [0.09, 0.18, 0.24]),
    ("GB", [0.06, 0.13, 0.17]),
    ("EB", [0.05, 0.10, 0.13]),
    ("TS", [0.06, 0.13, 0.18]),
    ("VC", [0.03, 0.06, 0.08]),
    ("UV", [0.06, 0.12, 0.16]),
    ("HIU", [0.10, 0.20, 0.28]),
    ("CP", [0.05, 0.09, 0.12]),
    ("PB", [0.4, 0.8, 1.1]),
    ("PX", [0.03, 0.08, 0.12]),
    ("PS", [0.10, 0.20, 0.28]),
    ("CT", [0.023, 0.04, 0.06]),
    ("TMV", [0.06, 0.12, 0.17]),
    ("HM", [0.035, 0.08, 0.12]),
    ("IH", [0.05, 0.12, 0.17]),
    ("WT", [0.025, 0.05, 0.065]),
    ("BC", [0.07, 0.12, 0.15]),
    ("HP", [0.15, 0.25, 0.35]),
];

fn parts() -> BTreeMap<String, Vec<PartPrior>> {
    let mut kinds: BTreeMap<String, Vec<PartPrior>> = BTreeMap::new();
    let text = include_str!("../../usecases/data/PARTS.csv");
    for row in csv::Reader::from_reader(text.as_bytes()).records() {
        let row = row.unwrap();
        kinds.entry(row[0].to_owned()).or_default().push(PartPrior {
            code: row[1].to_owned(),
            share: row[3].parse().unwrap(),
            shape: row[4].parse().unwrap(),
            clock: match &row[5] {
                "part" => PartClock::Part,
                "unit" => PartClock::Unit,
                "event" => PartClock::Event,
                other => panic!("clock {other}"),
            },
        });
    }
    kinds
}

#[test]
fn summed_part_rates_meet_the_trade_within_15_percent_at_3_10_and_15_years() {
    let kinds = parts();
    assert_eq!(kinds.len(), RATES.len());
    for (kind, rates) in RATES {
        let prior = KindPrior::around(rates[1], 1.0, kinds[kind].clone());
        prior.check().unwrap();
        for (age, rate) in [3.0, 10.0, 15.0].into_iter().zip(rates) {
            let ratio = prior.rate_at(age) / rate;
            assert!((ratio - 1.0).abs() <= 0.15, "{kind} at {age}: {ratio}");
        }
    }
}
