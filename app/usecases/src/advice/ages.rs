//! How old a unit may be whose fitting date is in doubt: the doubt the register carries, cut into equal parts.
//!
//! A span on record is taken as any day of it being alike likely, as in a forecast. Where nothing is on record, the ages of
//! others of the kind speak: of those in the building, else of those in the estate, that are known to the year, stand still and
//! are at least as old as this one has been known; where too few are, the span the forecast takes (from the building's year, or
//! twice the kind's usual life back). Each distribution is cut into [`PARTS`] parts of one chance, each at its middle.
use chrono::{Days, NaiveDate};
use store::Tx;
use store::units::Which;
use terms::unit::UnitCard;
use terms::{Fate, UnitId};

use crate::Error;
use crate::forecast::{InstalledFrom, kept};

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
        let years = |day: &NaiveDate| (self.today - *day).num_days() as f64 / 365.25;
        Some((years(self.fitted.first()?), years(self.fitted.last()?)))
    }
}

/// The possible ages of a unit; `None` where it is known to the year.
pub(super) fn ages_of(tx: &mut Tx<'_>, card: &UnitCard) -> Result<Option<Ages>, Error> {
    let today = tx.today();
    let ages = |from, fitted| {
        Some(Ages {
            from,
            fitted,
            today,
        })
    };
    if let Some(span) = card.installed {
        let doubtful = (span.1 - span.0).num_days() > KNOWN;
        return Ok(doubtful
            .then(|| ages(AgesFrom::Record, over_span(span)))
            .flatten());
    }
    let known = card
        .placed_from
        .map_or(card.watched_from, |day| day.min(card.watched_from));
    let beside = tx.units(Which::Building(card.building))?;
    let here = beside
        .into_iter()
        .filter(|other| other.kind == card.kind && other.fate == Fate::InService)
        .filter_map(|other| Some((other.id, other.installed?)));
    let here = fitted_by(here, card.id, known);
    if here.len() >= LEAST {
        return Ok(ages(AgesFrom::Building(here.len()), quantiles(&here)));
    }
    let all = tx.fitted_of_kind(&card.kind)?.into_iter();
    let all = fitted_by(all, card.id, known);
    if all.len() >= LEAST {
        return Ok(ages(AgesFrom::Estate(all.len()), quantiles(&all)));
    }
    let found = kept::load(tx, Which::Unit(card.id))?.pop();
    let Some(ready) = found.and_then(|facts| facts.ready(today).ok()) else {
        return Ok(None);
    };
    let from = match ready.basis.installed_by {
        InstalledFrom::BuiltYear => AgesFrom::BuiltYear,
        _ => AgesFrom::UsualLife,
    };
    let span = (ready.basis.installed_from, ready.basis.installed_until);
    Ok(ages(from, over_span(span)))
}

/// The middles of those that are known to the year and not fitted after `known`, the latest first.
fn fitted_by(
    others: impl Iterator<Item = (UnitId, (NaiveDate, NaiveDate))>,
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
fn over_span(span: (NaiveDate, NaiveDate)) -> Vec<NaiveDate> {
    let parts = PARTS as i64;
    (0..parts)
        .rev()
        .filter_map(|part| at(span, 2 * part + 1, 2 * parts))
        .collect()
}

/// The day at `part` of `of` parts of a span.
fn at((from, until): (NaiveDate, NaiveDate), part: i64, of: i64) -> Option<NaiveDate> {
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
