//! Duties no kind of unit has by itself: wiring, asbestos, the heat network's own. The desk opens each where it holds, on
//! the unit of the home or plant room it goes with, with the date that is known.
use chrono::NaiveDate;
use inspection::calendar::{date_words, days_between};
use serde::{Deserialize, Serialize};
use serde_json::json;
use terms::trade::DutyRule;
use terms::{DutyId, Fate, Role, UnitId};

use super::{add_start, dates, open_duty, opened_by_hand, reckon};
use crate::work::wall;
use crate::{Error, Seat, World};

/// A duty about to be opened.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct OpenByHand {
    /// On which unit.
    pub unit: UnitId,
    /// By which rule.
    pub rule: String,
    /// By when it is due, when that is known.
    pub deadline: Option<NaiveDate>,
}

/// The rules the desk may open on a unit: those no kind has by itself, which do not run there yet. A care valve's tests
/// are opened by their own form, which counts from the day of fitting.
pub fn may_open(world: &World, seat: &Seat, unit: UnitId) -> Result<Vec<DutyRule>, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        let card = tx.unit(unit)?;
        seat.must_reach(card.building)?;
        if card.fate != Fate::InService {
            return Ok(Vec::new());
        }
        let open: Vec<String> = tx
            .duties_of_units(&[unit])?
            .into_iter()
            .filter(|duty| duty.ended_on.is_none())
            .map(|duty| duty.rule)
            .collect();
        Ok(tx
            .duty_rules()?
            .into_iter()
            .filter(|rule| opened_by_hand(rule) && !dates::is_care_valve(rule))
            .filter(|rule| !open.contains(&rule.code))
            .collect())
    })
}

/// Opens a duty on a unit.
///
/// # Errors
/// [`Error::Invalid`] at `rule` or `deadline`; [`Error::Conflict`] when it runs there already.
pub fn open_by_hand(
    world: &World,
    seat: &Seat,
    form: OpenByHand,
    once: &str,
) -> Result<DutyId, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            let card = tx.unit(form.unit)?;
            seat.must_reach(card.building)?;
            let rule = tx
                .duty_rules()?
                .into_iter()
                .filter(|rule| opened_by_hand(rule) && !dates::is_care_valve(rule))
                .find(|rule| rule.code == form.rule)
                .ok_or_else(|| Error::field("rule", "Choose which duty holds here."))?;
            if card.fate != Fate::InService {
                return Err(Error::field("rule", "The unit is no longer in service."));
            }
            let runs = tx
                .duties_of_units(&[form.unit])?
                .iter()
                .any(|duty| duty.rule == rule.code && duty.ended_on.is_none());
            if runs {
                return Err(Error::Conflict(
                    "This duty runs here already. Nothing was changed.".to_owned(),
                ));
            }
            let today = wall::day(tx.at());
            if form
                .deadline
                .is_some_and(|day| days_between(today, day).abs() > 3660)
            {
                return Err(Error::field(
                    "deadline",
                    "That is more than ten years away; check the year.",
                ));
            }
            let duty = open_duty(tx, &card, &rule.code, None)?;
            if let Some(deadline) = form.deadline {
                let reason = format!(
                    "Opened by the desk: due by {}, as stated.",
                    date_words(deadline)
                );
                let holds_from = dates::one_before(&rule, deadline).min(today);
                add_start(tx, duty, (deadline, holds_from), &reason)?;
                reckon(tx, duty, &rule)?;
            }
            tx.note(
                "duty opened",
                &format!("unit {}", form.unit),
                &json!({ "duty": duty, "rule": rule.code, "deadline": form.deadline }),
            );
            Ok(duty)
        })
    })
}
