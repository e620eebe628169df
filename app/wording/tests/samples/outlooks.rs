//! Doubtful figures on one scale.
use wording::drawings::ranges::{Doubt, Figure, Ranges};

/// Three chances with their ranges.
pub fn ranges() -> Ranges {
    let figure = |name: &str, value: f64, words: &str| Figure {
        name: name.into(),
        value,
        doubt: Some(Doubt {
            eight: (value * 0.6, value * 1.5),
            half: (value * 0.8, value * 1.2),
        }),
        words: words.into(),
        range: "half as much to half as much again".into(),
    };
    Ranges {
        id: "outlook".into(),
        title: "Chance of a failure".into(),
        finding: "About 1 in 2 within three years.".into(),
        heads: ("Stretch of time".into(), "Chance of a failure".into()),
        top: 1.0,
        ticks: vec![
            (0.0, "never".into()),
            (0.5, "1 in 2".into()),
            (1.0, "certain".into()),
        ],
        figures: vec![
            figure("within three months", 0.17, "1 in 6"),
            figure("within a year", 0.33, "1 in 3"),
            figure("within three years", 0.6, "3 in 5"),
        ],
    }
}

/// Two figures without a range.
pub fn few() -> Ranges {
    let figure = |name: &str, value: f64, words: &str| Figure {
        name: name.into(),
        value,
        doubt: None,
        words: words.into(),
        range: String::new(),
    };
    Ranges {
        id: "parts".into(),
        title: "Which part".into(),
        finding: "The pump first.".into(),
        heads: ("Part".into(), "Chance of a failure".into()),
        top: 0.2,
        ticks: vec![(0.0, "never".into()), (0.2, "1 in 5".into())],
        figures: vec![
            figure("Circulating pump", 0.17, "1 in 6"),
            figure("Control board", 0.08, "1 in 12"),
        ],
    }
}
