//! Chances and numbers of failures drawn on one scale.
use usecases::forecast::{HorizonForecast, Total};
use wording::Drawing;
use wording::drawings::axis::ticks;
use wording::drawings::ranges::{Doubt, Figure, Ranges};
use wording::sentences::{chances, outlook};

/// The chance over one stretch of time.
pub(super) fn chance(name: String, horizon: &HorizonForecast) -> Figure {
    let (low, high) = horizon.chance80;
    Figure {
        name,
        value: horizon.chance,
        doubt: Some(Doubt {
            eight: horizon.chance80,
            half: horizon.chance50,
        }),
        words: chances::brief(horizon.chance),
        range: chances::range(low, high).unwrap_or_else(|| chances::brief(low)),
    }
}

/// A number of failures expected.
pub(super) fn number(name: String, total: &Total) -> Figure {
    let wide = |range: (u64, u64)| (range.0 as f64, range.1 as f64);
    Figure {
        name,
        value: total.expected,
        doubt: Some(Doubt {
            eight: wide(total.count80),
            half: wide(total.count50),
        }),
        words: outlook::number(total.expected),
        range: outlook::count_range(total.count80),
    }
}

/// The chances of a unit, drawn from nought to one.
pub(super) fn chances_drawn(title: String, finding: String, figures: Vec<Figure>) -> Drawing {
    let marks = [
        (0.0, "never".to_owned()),
        (0.25, chances::brief(0.25)),
        (0.5, chances::brief(0.5)),
        (0.75, chances::brief(0.75)),
        (1.0, "certain".to_owned()),
    ];
    Ranges {
        id: "outlook".to_owned(),
        title,
        finding,
        heads: ("Within".to_owned(), "Chance of a failure".to_owned()),
        top: 1.0,
        ticks: marks.to_vec(),
        figures,
    }
    .draw()
}

/// Chances of parts, drawn up to the largest.
pub(super) fn parts_drawn(title: String, finding: String, figures: Vec<Figure>) -> Drawing {
    let most = figures.iter().map(|f| f.value).fold(0.02, f64::max);
    let marks = [(0.0, "never".to_owned()), (most, chances::brief(most))];
    Ranges {
        id: "by-part".to_owned(),
        title,
        finding,
        heads: ("Part".to_owned(), "Chance it fails".to_owned()),
        top: most,
        ticks: marks.to_vec(),
        figures,
    }
    .draw()
}

/// Numbers of failures, drawn up to the largest end of a range.
pub(super) fn numbers_drawn(title: String, finding: String, figures: Vec<Figure>) -> Drawing {
    let ends = figures.iter().filter_map(|f| f.doubt.map(|d| d.eight.1));
    let top = ends.fold(1.0, f64::max);
    Ranges {
        id: "how-many".to_owned(),
        title,
        finding,
        heads: ("Kind".to_owned(), "Failures expected".to_owned()),
        top,
        ticks: ticks(0.0, top, 6)
            .into_iter()
            .map(|value| (value, mark(value)))
            .collect(),
        figures,
    }
    .draw()
}

fn mark(value: f64) -> String {
    if value.fract().abs() < 1e-9 {
        format!("{value:.0}")
    } else {
        format!("{value:.1}")
    }
}
