//! Mixing valves of a care setting: their tests are opened by the desk, and each states how far the water had moved.
//!
//! Scheme D 08 and three makers' manuals, published pages; see `inspection::duties::v1`.
use chrono::NaiveDate;
use inspection::duties::v1;
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::Tx;
use terms::trade::DutyRule;
use terms::unit::UnitCard;
use terms::{DutyId, Role, UnitId};

use super::{Done, add_start, complete_measured, dates, desk, open_duty, reckon};
use crate::{Error, FieldError, Seat, World};

/// One test of a mixing valve, from its paper.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct MixingTest {
    /// The duty.
    pub duty: DutyId,
    /// The day.
    pub on: NaiveDate,
    /// How far the mixed temperature had moved since the valve was set, K, signed.
    pub moved_k: f64,
    /// What proves it.
    pub evidence: String,
}

/// Opens the tests of a mixing valve that serves somebody in care: the first is due eight weeks after it was fitted.
///
/// # Errors
/// [`Error::Conflict`] when the unit is no mixing valve, its day of fitting is not known, or its tests run.
pub fn start_mixing_tests(
    world: &World,
    seat: &Seat,
    unit: UnitId,
    once: &str,
) -> Result<DutyId, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        tx.once(once, &unit, |tx| {
            let card = tx.unit(unit)?;
            seat.must_reach(card.building)?;
            let rule = tx
                .duty_rules()?
                .into_iter()
                .find(dates::is_care_valve)
                .ok_or(Error::NotFound("duty rule"))?;
            let fitted = match card.installed {
                Some((first, last)) if card.kind == "TMV" && first == last => first,
                _ => {
                    return Err(Error::Conflict(
                        "The tests of a care valve are counted from the day it was fitted: correct the unit’s plate \
                         first, so that its kind and that day are known. Nothing was changed."
                            .to_owned(),
                    ));
                }
            };
            let runs = tx
                .duties_of_units(&[unit])?
                .iter()
                .any(|d| d.rule == rule.code && d.ended_on.is_none());
            if runs {
                return Err(Error::Conflict(
                    "Its tests run already. Nothing was changed.".to_owned(),
                ));
            }
            open_tests(tx, &card, &rule, fitted)
        })
    })
}

/// Opens the tests of a valve fitted on a day.
pub(super) fn open_tests(
    tx: &mut Tx<'_>,
    card: &UnitCard,
    rule: &DutyRule,
    fitted: NaiveDate,
) -> Result<DutyId, Error> {
    let duty = open_duty(tx, card, &rule.code, None)?;
    let windows = v1(fitted, None, None);
    add_start(tx, duty, (windows.first.1, fitted), &windows.sentence())?;
    reckon(tx, duty, rule)?;
    tx.note(
        "tests of a care valve opened",
        &format!("unit {}", card.id),
        &json!({ "duty": duty, "fitted": fitted, "first_by": windows.first.1 }),
    );
    Ok(duty)
}

/// Writes down a test; answers the unit it is about.
///
/// # Errors
/// [`Error::Invalid`] at `on`, `moved_k` and `evidence`; [`Error::NotFound`] for a duty of another sort.
pub fn record_mixing_test(
    world: &World,
    seat: &Seat,
    form: MixingTest,
    once: &str,
) -> Result<UnitId, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            let (rule, card) = desk::held(tx, seat, form.duty)?;
            let unit = card.unit.filter(|_| dates::is_care_valve(&rule));
            let unit = unit.ok_or(Error::NotFound("test of a mixing valve"))?;
            let mut wrongs = desk::wrongs(tx, Some(unit), form.on, &form.evidence)?;
            if !form.moved_k.is_finite() || form.moved_k.abs() > 40.0 {
                wrongs.push(FieldError::at(
                    "moved_k",
                    "Say by how many kelvin the mixed water had moved, such as 0.8 or −1.5.",
                ));
            }
            Error::unless_empty(wrongs)?;
            let done = Done {
                on: form.on,
                check_complete: true,
                job: None,
                evidence: form.evidence.trim().to_owned(),
            };
            complete_measured(tx, form.duty, (&rule, &done), Some(form.moved_k))?;
            tx.note(
                "mixing valve tested",
                &format!("unit {unit}"),
                &json!({ "duty": form.duty, "on": form.on, "moved_k": form.moved_k }),
            );
            Ok(unit)
        })
    })
}
