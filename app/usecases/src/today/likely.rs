//! The few units most likely to fail in the season, each with what moves it.
use std::collections::BTreeMap;

use dependability::Driver;
use store::Tx;
use store::jobs::Job;
use terms::today::{LikelyUnit, Range, Reason, Today};
use terms::trade::Price;
use terms::unit::UnitCard;
use terms::{ExpectedPounds, UnitId};

use super::{Desk, MOST_LIKELY, Names, place_of};
use crate::Error;
use crate::forecast::{self, FAMILY, HARD_WATER, NO_FILTER, OPEN_SYSTEM, PEOPLE, Told};

/// A factor counts as a reason from here on, either way (judgement).
const WORTH_SAYING: f64 = 1.1;

pub(super) fn read(
    desk: &Desk<'_>,
    tx: &mut Tx<'_>,
    (names, jobs): (&Names, &[Job]),
    today: &mut Today,
) -> Result<(), Error> {
    let found = forecast::likeliest(tx, MOST_LIKELY, |building| desk.reaches(building))?;
    let ids: Vec<UnitId> = found.units.iter().map(|(card, _)| card.id).collect();
    let advices = tx.advice_on(&ids)?;
    let part_names: BTreeMap<(String, String), String> = tx
        .part_shares()?
        .into_iter()
        .map(|p| ((p.kind, p.code), p.name))
        .collect();
    for (card, told) in found.units {
        let prices = tx.prices_of(&card.kind)?;
        let named = |code: &str| {
            let key = (card.kind.clone(), code.to_owned());
            part_names
                .get(&key)
                .cloned()
                .unwrap_or_else(|| code.to_owned())
        };
        today.likely.push(LikelyUnit {
            job: jobs
                .iter()
                .find(|job| job.unit == Some(card.id) && job.closed_at.is_none())
                .map(|job| job.id),
            advice: advices.iter().find(|(u, _)| *u == card.id).map(|(_, a)| *a),
            ..likely_unit(&card, &told, names, (&prices, &named))
        });
    }
    today.too_thin = found
        .too_thin
        .into_iter()
        .filter(|(kind, _)| {
            let here = |c: &&UnitCard| c.kind == *kind && desk.reaches(c.building);
            names.units.values().any(|card| here(&card))
        })
        .map(|(kind, failures)| (names.plural(&kind), u32::try_from(failures).unwrap_or(0)))
        .collect();
    Ok(())
}

fn likely_unit(
    card: &UnitCard,
    told: &Told,
    names: &Names,
    (prices, named): (&[Price], &dyn Fn(&str) -> String),
) -> LikelyUnit {
    let range = |c: store::forecasts::Chance| Range {
        chance: c.chance,
        low: c.low,
        high: c.high,
    };
    LikelyUnit {
        forecast: told.row.id,
        unit: card.id,
        kind_name: names.kind(&card.kind),
        place: place_of(card),
        season: range(told.row.season),
        season_days: (told.row.season_from, told.row.season_until),
        year: range(told.row.year),
        expected_12m: told.row.expected_12m,
        failures: told.kept.forecast.n,
        kind_failures: told.kept.kind_failures,
        own_weight: told.kept.forecast.data_weight,
        made_on: told.row.made_on,
        reasons: reasons(told, named),
        repairs_a_year: repairs_a_year(told, prices),
        job: None,
        advice: None,
    }
}

/// What moves a unit's forecast away from its kind's, in the trade's terms: its own record first, then the rest,
/// strongest first. Age never stands alone: it comes last.
pub fn reasons(told: &Told, named: &dyn Fn(&str) -> String) -> Vec<Reason> {
    let forecast = &told.kept.forecast;
    let Some(horizon) = forecast.horizons.first() else {
        return Vec::new();
    };
    let mut weighed: Vec<(u8, f64, Reason)> = Vec::new();
    for driver in &horizon.drivers {
        let found = match driver {
            Driver::OwnHistory(z) => own_record(told, *z).map(|r| (0, *z, r)),
            Driver::Covariate(code, factor) if *factor >= WORTH_SAYING => {
                goes_along(code).map(|reason| (1, *factor, reason))
            }
            Driver::RenewedParts(factor) if *factor <= 1.0 / WORTH_SAYING => {
                let parts = told.kept.basis.renewed.iter().map(|(p, _)| named(p));
                Some((1, 1.0 / factor, Reason::PartsRenewed(parts.collect())))
            }
            Driver::Age(factor) if *factor >= WORTH_SAYING => {
                Some((2, *factor, Reason::Older(forecast.age)))
            }
            Driver::Age(factor) if *factor <= 1.0 / WORTH_SAYING => {
                Some((2, 1.0 / factor, Reason::Younger(forecast.age)))
            }
            _ => None,
        };
        weighed.extend(found);
    }
    weighed.sort_by(|a, b| a.0.cmp(&b.0).then(b.1.total_cmp(&a.1)));
    weighed.into_iter().map(|(_, _, reason)| reason).collect()
}

/// What of a unit's make-up goes along with more failures.
fn goes_along(code: &str) -> Option<Reason> {
    match code {
        HARD_WATER => Some(Reason::HardWater),
        NO_FILTER => Some(Reason::NoFilter),
        OPEN_SYSTEM => Some(Reason::OpenSystem),
        PEOPLE => Some(Reason::HomeSize),
        other => {
            let family = other.strip_prefix(FAMILY)?;
            Some(Reason::Family(family.to_owned()))
        }
    }
}

fn own_record(told: &Told, z: f64) -> Option<Reason> {
    let forecast = &told.kept.forecast;
    if z <= 1.0 / WORTH_SAYING {
        return Some(Reason::FewFailures(
            forecast.n,
            forecast.mu,
            forecast.watched,
        ));
    }
    if z < WORTH_SAYING {
        return None;
    }
    // The months back to the second-last or only failure say more than the whole record.
    let days = &told.kept.basis.failures;
    let recent = days.len().saturating_sub(3);
    let first = days.get(recent)?;
    let months = (told.row.made_on - *first).num_days().max(0) / 30 + 1;
    let count = u32::try_from(days.len() - recent).unwrap_or(u32::MAX);
    Some(Reason::ManyFailures(
        count,
        u32::try_from(months).unwrap_or(u32::MAX),
    ))
}

/// Failures expected in a year, shared out over the parts as the forecast shares them, each at its likely price; a
/// part without a price of its own costs the kind's general repair. `None` when neither is on record.
fn repairs_a_year(told: &Told, prices: &[Price]) -> Option<ExpectedPounds> {
    let horizon = told.kept.forecast.horizons.first()?;
    let price = |item: &str| {
        prices
            .iter()
            .find(|p| p.item == item)
            .map(|p| p.likely.to_pounds())
    };
    let whole: f64 = horizon.parts.iter().map(|p| p.chance).sum();
    let mut pounds = 0.0;
    for part in &horizon.parts {
        let own = part
            .part
            .as_ref()
            .and_then(|code| price(&format!("repair:{code}")));
        pounds += part.chance * own.or_else(|| price("repair"))?;
    }
    (whole > 0.0).then(|| ExpectedPounds(horizon.expected * pounds / whole))
}
