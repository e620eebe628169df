//! How a building taken on stands, unit by unit: what is unsafe, what is due in sixty days, what is past its planning age.
use chrono::{Datelike, NaiveDate};
use inspection::calendar::{add_days, days_between};
use store::Tx;
use terms::unit::UnitCard;
use terms::{BuildingId, counting_order};

use super::found::in_service;
use crate::Error;
use crate::duties::dates::by_last_day;

/// Days ahead within which what is due is named (the first report of the trade's notes).
pub const DAYS_AHEAD: i64 = 60;

/// A unit unsafe or isolated.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnsafeHere {
    /// "B1, Flat 14"
    pub unit: String,
    /// "ID" or "AR".
    pub class: String,
    /// Isolated and labelled.
    pub isolated: bool,
    /// What was found.
    pub words: String,
    /// Since when.
    pub since: NaiveDate,
}

/// A duty late or due within [`DAYS_AHEAD`].
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DueHere {
    /// "Gas safety check"
    pub duty: String,
    /// "B1, Flat 14"
    pub unit: String,
    /// The last day that is not late.
    pub by: NaiveDate,
}

/// A unit past the age at which half of its kind have been replaced.
#[derive(Clone, Debug, PartialEq)]
pub struct AgedHere {
    /// "combi gas boiler"
    pub kind: String,
    /// "B1, Flat 14"
    pub unit: String,
    /// Whole years at the least and at the most: since the last and the first day on which it can have been fitted.
    pub years: (i32, i32),
    /// The age at which half of its kind have been replaced.
    pub half_replaced: f64,
}

/// How it stands.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct StandsNow {
    /// Unsafe or isolated, the oldest first.
    pub unsafe_units: Vec<UnsafeHere>,
    /// Late or due soon, by duty, the earliest first.
    pub due: Vec<DueHere>,
    /// Past the planning age, by kind, the oldest first.
    pub aged: Vec<AgedHere>,
}

/// Reads it.
pub(super) fn stands_now(
    tx: &mut Tx<'_>,
    (building, day): (BuildingId, NaiveDate),
) -> Result<StandsNow, Error> {
    let units = in_service(tx, building)?;
    let named = |unit: &UnitCard| format!("{}, {}", unit.number, unit.space_name);
    let of = |id| units.iter().find(|u| u.id == id);
    let unsafe_units = tx
        .open_notices(None)?
        .into_iter()
        .filter_map(|notice| {
            Some(UnsafeHere {
                unit: named(of(notice.unit)?),
                class: notice.class,
                isolated: notice.isolated,
                words: notice.words,
                since: crate::work::wall::day(notice.made_at),
            })
        })
        .collect();
    let rules = tx.duty_rules()?;
    let until = add_days(day, DAYS_AHEAD);
    let duties = by_last_day(&rules, tx.duties_now(Some(building))?);
    let mut due: Vec<DueHere> = duties
        .into_iter()
        .filter_map(|duty| {
            let by = duty.deadline.filter(|by| *by <= until)?;
            let rule = rules.iter().find(|rule| rule.code == duty.rule)?;
            Some(DueHere {
                duty: rule.name.clone(),
                unit: named(of(duty.unit)?),
                by,
            })
        })
        .collect();
    due.sort_by_cached_key(|one| (one.duty.clone(), one.by, counting_order(&one.unit)));
    let kinds = tx.kinds()?;
    let mut aged: Vec<AgedHere> = units
        .iter()
        .filter_map(|unit| {
            let kind = kinds.iter().find(|k| k.code == unit.kind)?;
            let (first, last) = unit.installed?;
            let years = (years_since(last, day), years_since(first, day));
            // Past it for certain, whatever the day was.
            (f64::from(years.0) >= kind.life_median_years).then(|| AgedHere {
                kind: kind.name.clone(),
                unit: named(unit),
                years,
                half_replaced: kind.life_median_years,
            })
        })
        .collect();
    aged.sort_by_cached_key(|one| {
        let (least, most) = one.years;
        (one.kind.clone(), -most, -least, counting_order(&one.unit))
    });
    Ok(StandsNow {
        unsafe_units,
        due,
        aged,
    })
}

/// Whole years from `from` to `day`.
fn years_since(from: NaiveDate, day: NaiveDate) -> i32 {
    if days_between(from, day) < 0 {
        return 0;
    }
    let before = (day.month(), day.day()) < (from.month(), from.day());
    day.year() - from.year() - i32::from(before)
}
