//! How old a unit may be whose fitting date is in doubt: the doubt the register carries, cut into equal parts.
//!
//! A span on record is taken as any day of it being alike likely, as in a forecast. Where nothing is on record, the ages of
//! others of the kind speak: of those in the building, else of those in the estate, that are known to the year, stand still and
//! are at least as old as this one has been known; where too few are, the span the forecast takes (from the building's year, or
//! twice the kind's usual life back). Each distribution is cut into [`PARTS`] parts of one chance, each at its middle; the middle
//! one is the age reckoned with where nothing is on record.
use std::collections::BTreeMap;

use chrono::{Days, NaiveDate};
use store::Tx;
use store::units::Which;
use terms::place::BuildingCard;
use terms::unit::UnitCard;
use terms::{BuildingId, Fate, UnitId};

use super::book::Book;
use crate::Error;
use crate::forecast::{InstalledFrom, possible_span};

/// The first and the last day something may have been fitted.
type Span = (NaiveDate, NaiveDate);

/// Parts of equal chance.
const PARTS: usize = 5;
/// Others of the kind from which their ages speak (ours, no source).
const LEAST: usize = 5;
/// A fitting date is known to the year within so many days.
const KNOWN: i64 = 366;

/// Where the possible ages come from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AgesFrom {
    /// The span on record.
    Record,
    /// So many others of the kind in the building.
    Building(usize),
    /// So many others of the kind in the estate.
    Estate(usize),
    /// From the building's year to the first day anything is known of it.
    BuiltYear,
    /// From twice the kind's usual life before that day.
    UsualLife,
}

/// How old it may be.
#[derive(Clone, Debug, PartialEq)]
pub struct Ages {
    /// Where that comes from.
    pub from: AgesFrom,
    /// Days it may have been fitted on, alike likely, the latest first.
    pub fitted: Vec<NaiveDate>,
    /// The day of the question.
    pub today: NaiveDate,
}

impl Ages {
    /// The youngest and the oldest of them, years.
    pub fn between(&self) -> Option<(f64, f64)> {
        Some((
            self.years(*self.fitted.first()?),
            self.years(*self.fitted.last()?),
        ))
    }

    /// The middle one, years: the age reckoned with where nothing is on record.
    pub(super) fn middle(&self) -> Option<f64> {
        Some(self.years(*self.fitted.get(self.fitted.len() / 2)?))
    }

    fn years(&self, day: NaiveDate) -> f64 {
        (self.today - day).num_days() as f64 / 365.25
    }
}

/// The possible ages of a unit; `None` where it is known to the year.
pub(super) fn ages_of(
    tx: &mut Tx<'_>,
    book: &Book,
    card: &UnitCard,
) -> Result<Option<Ages>, Error> {
    let today = tx.today();
    if let Some(span) = card.installed {
        let doubtful = (span.1 - span.0).num_days() > KNOWN;
        return Ok(doubtful.then(|| Ages {
            from: AgesFrom::Record,
            fitted: over_span(span),
            today,
        }));
    }
    let here: Vec<(UnitId, Span)> = tx
        .units(Which::Building(card.building))?
        .into_iter()
        .filter(|other| other.kind == card.kind && other.fate == Fate::InService)
        .filter_map(|other| Some((other.id, other.installed?)))
        .collect();
    if let Some(ages) = of_others(card, &here, today, AgesFrom::Building) {
        return Ok(Some(ages));
    }
    let all = tx.fitted_of_kind(&card.kind)?;
    if let Some(ages) = of_others(card, &all, today, AgesFrom::Estate) {
        return Ok(Some(ages));
    }
    let built = tx.building(card.building)?.built_year;
    let life = book.kind(&card.kind)?.life_median_years;
    Ok(Some(assumed_ages(card, (built, life), today)))
}

/// The age reckoned with for each unit among all of an estate of which nobody knows when it was fitted, years.
pub(super) fn middles(
    book: &Book,
    cards: &[UnitCard],
    built: &BTreeMap<BuildingId, BuildingCard>,
    today: NaiveDate,
) -> BTreeMap<UnitId, f64> {
    let unknown: Vec<&UnitCard> = cards.iter().filter(|c| c.installed.is_none()).collect();
    let mut by_kind: BTreeMap<&str, Vec<(UnitId, Span)>> = BTreeMap::new();
    let mut here: BTreeMap<(BuildingId, &str), Vec<(UnitId, Span)>> = BTreeMap::new();
    if !unknown.is_empty() {
        for card in cards.iter().filter(|c| c.fate == Fate::InService) {
            if let Some(span) = card.installed {
                let (kind, known) = (card.kind.as_str(), (card.id, span));
                by_kind.entry(kind).or_default().push(known);
                here.entry((card.building, kind)).or_default().push(known);
            }
        }
    }
    let ages = |card: &UnitCard| {
        let kind = card.kind.as_str();
        let near = here.get(&(card.building, kind));
        near.and_then(|units| of_others(card, units, today, AgesFrom::Building))
            .or_else(|| of_others(card, by_kind.get(kind)?, today, AgesFrom::Estate))
            .or_else(|| {
                let life = book.kind(kind).ok()?.life_median_years;
                let year = built.get(&card.building).and_then(|b| b.built_year);
                Some(assumed_ages(card, (year, life), today))
            })
    };
    unknown
        .into_iter()
        .filter_map(|card| Some((card.id, ages(card)?.middle()?)))
        .collect()
}

/// From others of its kind, where enough are known.
fn of_others(
    card: &UnitCard,
    others: &[(UnitId, Span)],
    today: NaiveDate,
    from: impl Fn(usize) -> AgesFrom,
) -> Option<Ages> {
    let found = fitted_by(others.iter().copied(), card.id, first_known(card));
    (found.len() >= LEAST).then(|| Ages {
        from: from(found.len()),
        fitted: quantiles(&found),
        today,
    })
}

/// From the span a forecast takes.
fn assumed_ages(card: &UnitCard, (built, life): (Option<i32>, f64), today: NaiveDate) -> Ages {
    let (from, until, by) = possible_span(first_known(card), built, life);
    Ages {
        from: match by {
            InstalledFrom::BuiltYear => AgesFrom::BuiltYear,
            _ => AgesFrom::UsualLife,
        },
        fitted: over_span((from, until)),
        today,
    }
}

/// The first day the unit is known to have stood there.
fn first_known(card: &UnitCard) -> NaiveDate {
    card.placed_from
        .map_or(card.watched_from, |day| day.min(card.watched_from))
}

/// The middles of those that are known to the year and not fitted after `known`, the latest first.
fn fitted_by(
    others: impl Iterator<Item = (UnitId, Span)>,
    own: UnitId,
    known: NaiveDate,
) -> Vec<NaiveDate> {
    let mut days: Vec<NaiveDate> = others
        .filter(|(id, (from, until))| *id != own && (*until - *from).num_days() <= KNOWN)
        .filter_map(|(_, span)| at(span, 1, 2))
        .filter(|day| *day <= known)
        .collect();
    days.sort_by(|a, b| b.cmp(a));
    days
}

/// The middles of [`PARTS`] equal parts of a span, the latest first.
fn over_span(span: Span) -> Vec<NaiveDate> {
    let parts = PARTS as i64;
    (0..parts)
        .rev()
        .filter_map(|part| at(span, 2 * part + 1, 2 * parts))
        .collect()
}

/// The day at `part` of `of` parts of a span.
fn at((from, until): Span, part: i64, of: i64) -> Option<NaiveDate> {
    let ahead = (until - from).num_days().max(0) * part / of;
    from.checked_add_days(Days::new(u64::try_from(ahead).ok()?))
}

/// The middles of [`PARTS`] parts of equal chance of a sorted list.
fn quantiles(sorted: &[NaiveDate]) -> Vec<NaiveDate> {
    (0..PARTS)
        .filter_map(|part| sorted.get((2 * part + 1) * sorted.len() / (2 * PARTS)))
        .copied()
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    #[test]
    fn a_span_is_cut_into_parts_of_one_chance() {
        // 1,000 days: the middles of its fifths lie 100, 300, 500, 700 and 900 days on.
        let from = day("2010-01-01");
        let until = from + Days::new(1_000);
        let ahead: Vec<i64> = over_span((from, until))
            .iter()
            .map(|d| (*d - from).num_days())
            .collect();
        assert_eq!(ahead, [900, 700, 500, 300, 100]);
    }

    #[test]
    fn others_speak_by_their_quantiles_and_none_is_younger_than_this_one_can_be() {
        let unit = |n: u128| UnitId(uuid::Uuid::from_u128(n));
        let year = |n: u128, y: i32| {
            let from = NaiveDate::from_ymd_opt(y, 1, 1).unwrap();
            (unit(n), (from, from))
        };
        // Ten fitted in 2006 to 2015; one in a decade nobody knows better; one too late; and itself.
        let mut others: Vec<_> = (0..10).map(|n| year(n, 2006 + n as i32)).collect();
        others.push((unit(20), (day("2000-01-01"), day("2009-12-31"))));
        others.push(year(21, 2019));
        others.push(year(22, 2008));
        let found = fitted_by(others.into_iter(), unit(22), day("2017-11-01"));
        assert_eq!(found.len(), 10);
        let years: Vec<String> = quantiles(&found)
            .iter()
            .map(|d| d.format("%Y").to_string())
            .collect();
        assert_eq!(years, ["2014", "2012", "2010", "2008", "2006"]);
        // Five of them are each their own part.
        assert_eq!(quantiles(&found[..5]), found[..5]);
    }
}
