//! A new gas unit's first check may line up once with the date of the flat's other gas unit.
//!
//! Law text read: Gas Safety (Installation and Use) Regulations 1998, regulation 36A (inserted by SI 2018/139).
use std::collections::BTreeMap;

use chrono::NaiveDate;
use inspection::duties::{G3Reason, g3};
use serde_json::json;
use store::Tx;
use store::units::Which;
use terms::trade::DutyRule;
use terms::unit::UnitCard;
use terms::{DutyId, Fate, Role, UnitId};

use super::{add_row, is_gas_check, reckon};
use crate::{Error, Seat, World};

/// How the record of a duty calls the one move.
pub(super) const ALIGNED: &str = "aligned";

/// An offer to the desk: this unit's first check can line up.
#[derive(Clone, Debug, PartialEq)]
pub struct Alignment {
    /// The duty.
    pub duty: DutyId,
    /// The new unit.
    pub unit: UnitCard,
    /// Its rule.
    pub rule: DutyRule,
    /// Its own first date, twelve months after fitting.
    pub own: NaiveDate,
    /// The flat's date it can line up with.
    pub with: NaiveDate,
    /// The latest day the one move may reach.
    pub latest: NaiveDate,
}

/// The earliest deadline of the same duty on another unit in the space.
fn flats_deadline(
    tx: &mut Tx<'_>,
    unit: &UnitCard,
    rule: &DutyRule,
) -> Result<Option<NaiveDate>, Error> {
    let others: Vec<UnitId> = tx
        .units(Which::Space(unit.space))?
        .into_iter()
        .filter(|u| u.id != unit.id && u.fate == Fate::InService && u.space == unit.space)
        .map(|u| u.id)
        .collect();
    let duties: Vec<DutyId> = tx
        .duties_of_units(&others)?
        .into_iter()
        .filter(|d| d.rule == rule.code && d.ended_on.is_none())
        .map(|d| d.id)
        .collect();
    let mut now: BTreeMap<DutyId, Option<NaiveDate>> = BTreeMap::new();
    for row in tx.completions_of(&duties, false)? {
        now.insert(row.duty, row.next_deadline);
    }
    Ok(now.into_values().flatten().min())
}

/// The offer for one duty, if the law allows it and the move was not used.
fn offer(
    tx: &mut Tx<'_>,
    (duty, rule): (DutyId, &DutyRule),
    unit: &UnitCard,
) -> Result<Option<Alignment>, Error> {
    let Some((first, last)) = unit.installed else {
        return Ok(None);
    };
    if !is_gas_check(rule) || first != last || unit.fate != Fate::InService {
        return Ok(None);
    }
    let rows = tx.completions_of(&[duty], true)?;
    let used = rows.iter().any(|row| row.result == ALIGNED);
    let checked = rows
        .iter()
        .any(|row| row.superseded_at.is_none() && row.done_on.is_some());
    let stands = rows.iter().rfind(|row| row.superseded_at.is_none());
    let outcome = g3(first, flats_deadline(tx, unit, rule)?, used, None);
    // A date stated by hand stands: only the date that came from the fitting may be moved.
    let from_fitting = stands.is_some_and(|row| row.next_deadline == Some(outcome.own_deadline));
    if checked || !from_fitting || outcome.reason != G3Reason::Aligned {
        return Ok(None);
    }
    Ok(Some(Alignment {
        duty,
        unit: unit.clone(),
        rule: rule.clone(),
        own: outcome.own_deadline,
        with: outcome.first_check_by,
        latest: outcome.latest_aligned,
    }))
}

/// Every offer of this sort in the seat's reach, by unit number.
pub fn alignments(world: &World, seat: &Seat) -> Result<Vec<Alignment>, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        let rules: BTreeMap<String, DutyRule> = tx
            .duty_rules()?
            .into_iter()
            .filter(is_gas_check)
            .map(|rule| (rule.code.clone(), rule))
            .collect();
        let units: BTreeMap<UnitId, UnitCard> = tx
            .units(Which::All)?
            .into_iter()
            .filter(|u| seat.grant().reaches(u.building))
            .map(|u| (u.id, u))
            .collect();
        // A first check lies at most fourteen months after the fitting: older units are not asked about.
        let since = inspection::calendar::add_months(tx.today(), -14);
        let mut found = Vec::new();
        for card in tx.open_duties()? {
            let unit = card.unit.and_then(|id| units.get(&id));
            let (Some(rule), Some(unit)) = (rules.get(&card.rule), unit) else {
                continue;
            };
            if unit.installed.is_some_and(|(first, _)| first >= since) {
                found.extend(offer(tx, (card.id, rule), unit)?);
            }
        }
        found.sort_by(|a, b| a.unit.number.cmp(&b.unit.number));
        Ok(found)
    })
}

/// Lines the first check of a new unit up with the flat's date. It can be done once. Answers the new date.
///
/// # Errors
/// [`Error::Conflict`] when there is nothing to line up, or the move was used.
pub fn line_up(world: &World, seat: &Seat, duty: DutyId, once: &str) -> Result<NaiveDate, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        tx.once(once, &duty, |tx| {
            let card = tx.duty(duty)?;
            seat.must_reach(card.building)?;
            let unit = tx.unit(card.unit.ok_or(Error::NotFound("unit"))?)?;
            let rule = tx
                .duty_rules()?
                .into_iter()
                .find(|rule| rule.code == card.rule)
                .ok_or(Error::NotFound("duty rule"))?;
            let offer = offer(tx, (duty, &rule), &unit)?.ok_or_else(|| {
                Error::Conflict(
                    "This first check cannot be lined up: its one move was used, a check was made, or the flat’s date \
                     lies too far away. Nothing was changed."
                        .to_owned(),
                )
            })?;
            let (first, _) = unit.installed.ok_or(Error::NotFound("fitting day"))?;
            let outcome = g3(first, Some(offer.with), false, None);
            add_row(tx, duty, (offer.with, first), (ALIGNED, &outcome.sentence()))?;
            reckon(tx, duty, &rule)?;
            tx.note(
                "first check lined up",
                &format!("unit {}", unit.id),
                &json!({ "duty": duty, "own": offer.own, "with": offer.with }),
            );
            Ok(offer.with)
        })
    })
}
