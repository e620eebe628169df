//! Invented money.
use terms::{ExpectedPounds, Pence};
use wording::drawings::fork::{Band, Fork, ForkYear};
use wording::drawings::keep_years::{KeepYears, KeptFor};
use wording::drawings::purse::{Purse, PurseYear};
use wording::drawings::reserve::{Reserve, ReserveYear};
use wording::drawings::tornado::{Doubt, Tornado};
use wording::drawings::two_limits::TwoLimits;

/// Ten years of keeping or replacing one boiler.
pub fn fork() -> Fork {
    let years = (0..=10)
        .map(|n| {
            let k = f64::from(n);
            let keep = 412.0 + 280.0 * k + 3.4 * k * k;
            let swap = 2790.0 + 94.0 * k;
            let band = |mid: f64, low: f64, high: f64| Band {
                mid,
                low: mid * low,
                high: mid * high,
            };
            ForkYear {
                year: 2026 + n,
                keep: band(keep, 1.0 - 0.04 * k, 1.0 + 0.047 * k),
                replace: band(swap, 1.0 - 0.003 * k, 1.0 + 0.0056 * k),
            }
        })
        .collect();
    Fork {
        id: "fork".into(),
        title: "Keep or replace".into(),
        finding: "Replacing now is £314.14 cheaper.".into(),
        keep_outlay_words: wording::drawings::fork::outlay("repair", Pence(41_200)),
        replace_outlay_words: wording::drawings::fork::outlay("new boiler fitted", Pence(275_000)),
        years,
        left_in_new: ExpectedPounds(908.0),
        best_year: Some(2029),
        repaired: true,
    }
}

/// Dearer than replacing now, by further years kept.
pub fn keep_years() -> KeepYears {
    let sums = [346, 322, 314, 323, 348, 389, 448, 524, 617, 728];
    let bars = (1..).zip(sums).map(|(years, pounds)| KeptFor {
        years,
        dearer: Pence(pounds * 100),
    });
    KeepYears {
        id: "keep".into(),
        title: "How long, if repaired".into(),
        finding: "Three years, if repaired.".into(),
        bars: bars.collect(),
        repaired: true,
    }
}

/// A quote over both limits.
pub fn two_limits() -> TwoLimits {
    TwoLimits {
        id: "limits".into(),
        quote: Pence(41_200),
        repair_limit: Pence(9_786),
        authority: Pence(25_000),
    }
}

/// Doubts round an advantage of £314.
pub fn tornado() -> Tornado {
    let doubt = |name: &str, low: i64, high: i64, turns: &str| Doubt {
        name: name.into(),
        one_end: Pence(low * 100),
        other_end: Pence(high * 100),
        turns: turns.into(),
    };
    Tornado {
        id: "doubts".into(),
        title: "What would change the answer".into(),
        finding: "Only the faults of this boiler.".into(),
        doubts: vec![
            doubt("Rate, 1.75 % to 5.25 %", 224, 371, "at 8.3 %"),
            doubt(
                "Faults of this boiler, 40 % fewer to 60 % more",
                -209,
                462,
                "at 0.54 a year",
            ),
            doubt(
                "New boiler, 15 % cheaper to 25 % dearer",
                112,
                377,
                "at £3,714",
            ),
            doubt(
                "Faults of the new one, 40 % fewer to 60 % more",
                260,
                344,
                "",
            ),
        ],
        repaired: true,
    }
}

/// Ten years of money.
pub fn purse() -> Purse {
    let planned = [
        14_000, 22_000, 31_000, 18_000, 26_000, 42_000, 24_000, 19_000, 30_000, 22_000,
    ];
    let likely = [
        9_000, 8_500, 7_000, 6_500, 6_000, 5_500, 5_000, 5_000, 5_500, 6_000,
    ];
    let years = (2027..)
        .zip(planned.iter().zip(likely))
        .map(|(year, (planned, likely))| PurseYear {
            year,
            planned: Pence(planned * 100),
            likely: Pence(likely * 100),
            comes_in: Pence(2_800_000),
        })
        .collect();
    Purse {
        id: "purse".into(),
        title: "Money by year".into(),
        finding: "2032 takes the reserve under its floor.".into(),
        opening: Pence(4_100_000),
        floor: Pence(1_500_000),
        years,
    }
}

/// A building's money to set aside, invented.
pub fn reserve() -> Reserve {
    let years = (0..20)
        .map(|n| {
            let mean = 9_000.0 + 400.0 * f64::from(n % 7);
            ReserveYear {
                year: 2027 + n,
                mean,
                eighty: (mean - 5_800.0, mean + 6_100.0),
                fifty: (mean - 2_900.0, mean + 2_900.0),
                units: 3.2,
            }
        })
        .collect();
    Reserve {
        id: "reserve".into(),
        title: "Money to set aside for replacements".into(),
        finding: "Alder House needs about £10,100 a year.".into(),
        years,
    }
}
