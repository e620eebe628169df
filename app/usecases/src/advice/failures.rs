//! The failures a case is made with: of the unit that stands there and of a new one, both from its kind's figures as its
//! own records leave them, with the source of each.
use std::collections::BTreeSet;

use dependability::KindPrior;
use dependability::prior::T0;
use store::advices::ToldFailures;
use terms::trade::Kind;
use terms::unit::UnitCard;

use super::as_fitted::AsFitted;
use super::book::{Book, InBuilding, Measure};
use super::case::{Lines, Subject};
use super::outlook::{
    Clocks, by_kind, frailty_variance, new_unit, old_unit, once_renewed, variance_by_kind,
};
use super::staying::{Staying, met_already};
use crate::Error;
use crate::forecast::MakeUp;

/// 80 % of a normal law lie within this many standard deviations.
const EIGHTY: f64 = 1.281_551_565_544_6;

/// Chance of a failure within a year at `rate`, and at the ends of an 80 % range that is log-normal.
pub(super) fn chance_of(rate: f64, sd_log: f64) -> (f64, f64, f64) {
    let at = |factor: f64| -(-rate * factor).exp_m1();
    (
        at(1.0),
        at((-EIGHTY * sd_log).exp()),
        at((EIGHTY * sd_log).exp()),
    )
}

/// What is expected of the unit that stands there.
pub(super) struct OldFailures {
    /// Failures in year 1, 2, … of keeping it.
    pub by_year: Vec<f64>,
    /// Over the next 12 months, and how unsure that is.
    pub level: f64,
    pub variance: f64,
    /// What of them stays when it is replaced.
    pub staying: Staying,
    /// How its kind's figures are known.
    pub known: String,
}

/// Failures of the unit that stands there.
pub(super) fn of_old_unit(
    book: &Book,
    subject: &Subject<'_>,
    (clocks, horizon): (&Clocks, u32),
    lines: &mut Lines,
) -> Result<OldFailures, Error> {
    let card = subject.card;
    let kind = book.kind(&card.kind)?;
    let (prior, own) = book.figures(kind, &MakeUp::of(card, &book.alike(card)));
    let status = status_of(kind, own);
    let source = own.map_or_else(
        || "its kind’s published figures".to_owned(),
        AsFitted::source,
    );
    let renewed = subject.quote.and_then(|q| q.body.part.as_deref());
    let times = book.times_in(&kind.code, card.building);
    let (level, variance) = level_of(
        (&prior, times),
        (&source, &status),
        (clocks, subject.told),
        lines,
    );
    let faults = old_unit(&prior, clocks, level, renewed, horizon);
    if renewed.is_some() {
        let first = faults.first().copied().unwrap_or(level);
        lines.add(
            "failures_repaired",
            (first, Measure::FailuresAYear),
            ("the same, the part of the quote being new", &status),
        );
    }
    let last = faults.last().copied().unwrap_or(level);
    lines.add(
        "failures_last",
        (last, Measure::FailuresAYear),
        ("grown as its parts grow older", &status),
    );
    let after = once_renewed(clocks, renewed);
    Ok(OldFailures {
        staying: Staying::of_unit(book, subject, &prior, (clocks, &after, horizon)),
        by_year: faults,
        level,
        variance,
        known: status,
    })
}

/// Failures expected over the next 12 months, and how unsure that is.
fn level_of(
    (prior, times): (&KindPrior, f64),
    known: (&str, &str),
    (clocks, told): (&Clocks, Option<&ToldFailures>),
    lines: &mut Lines,
) -> (f64, f64) {
    let own = told.filter(|t| t.expected_12m.is_finite() && t.expected_12m >= 0.0);
    let (level, variance, source, status) = match own {
        Some(told) => {
            let (_, low, high) = told.chance_12m;
            let variance = frailty_variance(low, high).unwrap_or_else(|| variance_by_kind(prior));
            let source = format!("forecast of {}", told.made_on.format("%-d %B %Y"));
            (
                told.expected_12m,
                variance,
                source,
                "this unit’s own history with its kind’s".to_owned(),
            )
        }
        None => (
            by_kind(prior, clocks) * times,
            variance_by_kind(prior),
            format!("{}; no forecast of its own", known.0),
            known.1.to_owned(),
        ),
    };
    lines.add(
        "failures_first",
        (level, Measure::FailuresAYear),
        (&source, &status),
    );
    lines.add(
        "variance",
        (variance, Measure::Variance),
        (&source, &status),
    );
    (level, variance)
}

/// Failures of a new unit of a kind in the place of this one, year by year, but for those in things the home has already
/// (`met`), and the chance that it fails in its first year or what stays `beside` it does.
pub(super) fn of_new_unit(
    book: &Book,
    (kind, card): (&Kind, &UnitCard),
    (life, met, beside): (u32, &BTreeSet<&str>, f64),
    lines: &mut Lines,
) -> (Vec<f64>, (f64, f64, f64)) {
    let (prior, own) = book.figures(kind, &MakeUp::of_new(card, &book.alike(card)));
    let times = book.times_in(&kind.code, card.building);
    let mut faults = new_unit(&prior, life);
    let own_parts = |age: f64| 1.0 - met_already(&book.stays, (&kind.code, &prior), met, age);
    for (age, m) in (0u32..).zip(&mut faults) {
        *m *= times * own_parts(f64::from(age) + 0.5);
    }
    let mut source = new_source(own, book.in_building(&kind.code, card.building), times);
    if own_parts(T0) < 1.0 {
        source.push_str("; without what stays in the home");
    }
    lines.about(
        "failures_new",
        &kind.code,
        (
            prior.rate_10y * times * own_parts(T0),
            Measure::FailuresAYear,
        ),
        (&source, &status_of(kind, own)),
    );
    let first = faults.first().copied().unwrap_or(0.0) + beside;
    (faults, chance_of(first, prior.rate_sd_log))
}

/// How a kind's figures are known.
fn status_of(kind: &Kind, own: Option<&AsFitted>) -> String {
    own.map_or_else(|| kind.status.clone(), AsFitted::status)
}

/// Where a new unit's failures come from: its kind, and its block where others of the kind were watched there.
fn new_source(own: Option<&AsFitted>, here: InBuilding, times: f64) -> String {
    let from = own.map_or_else(
        || "its kind’s published figure".to_owned(),
        AsFitted::source,
    );
    let beside = match here {
        InBuilding::Times(_) => {
            return format!(
                "{from}, {times:.2} times as often, as others of the kind fail in this building"
            );
        }
        InBuilding::Watched => {
            "the units of this kind in this building do not tell whether it differs from others"
        }
        InBuilding::NotWatched if own.is_some() => {
            return format!(
                "{from}; no unit of this kind was watched in this building, which may differ: {times:.2} times as often on average"
            );
        }
        InBuilding::NotWatched => "no unit of this kind was watched in this building",
        InBuilding::NotFitted => "the records of this kind were not compared between buildings yet",
    };
    format!("{from}; {beside}")
}
