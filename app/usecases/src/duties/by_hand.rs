//! Duties no kind of unit has by itself: wiring, asbestos, the heat network's own. The desk opens each where it holds, on
//! the unit of the home or plant room it goes with, with the date that is known.
use std::collections::BTreeMap;

use chrono::NaiveDate;
use inspection::calendar::{date_words, days_between};
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::Tx;
use store::duties::DutyCard;
use store::units::Which;
use terms::trade::DutyRule;
use terms::unit::UnitCard;
use terms::{DutyId, Fate, Role, UnitId};

use super::mixing::open_tests;
use super::places::DutyAt;
use super::{add_start, dates, duty_card, open_duty, opened_by_hand, reckon};
use crate::founding::holds_on;
use crate::work::wall;
use crate::{Error, Seat, World};

/// The wiring of a home is inspected as a whole: once, whichever of its units the duty stands on.
const ONCE_A_HOME: [&str; 1] = ["E1"];
/// The plant examined to its written scheme: another kind of plant is not under that scheme.
const OF_THE_KIND: [&str; 1] = ["P1"];

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
        let mut may = Vec::new();
        let held = holds_on()?;
        for rule in tx.duty_rules()? {
            let by_form = opened_by_hand(&rule)
                && !dates::is_care_valve(&rule)
                && on_units(&held, &rule.code);
            if by_form && runs_on(tx, &card, &rule)?.is_none() {
                may.push(rule);
            }
        }
        Ok(may)
    })
}

/// Whether a rule's duty may stand on a unit at all; the data names where those do that hold of a place.
fn on_units(held: &BTreeMap<String, Vec<String>>, code: &str) -> bool {
    held.get(code)
        .is_none_or(|words| words.is_empty() || words.iter().any(|w| w == "unit"))
}

/// The unit a duty runs on that would be opened on `card`: itself, or another of the home where once is enough. Where the
/// home itself has it, the unit stands for it.
fn runs_on(tx: &mut Tx<'_>, card: &UnitCard, rule: &DutyRule) -> Result<Option<UnitId>, Error> {
    let mut units = vec![card.id];
    if ONCE_A_HOME.contains(&rule.code.as_str()) {
        let of_the_home = tx.duties_of_places(card.building)?.into_iter().any(|duty| {
            duty.space == Some(card.space) && duty.rule == rule.code && duty.ended_on.is_none()
        });
        if of_the_home {
            return Ok(Some(card.id));
        }
        let here = tx.units(Which::Space(card.space))?;
        units.extend(here.iter().filter(|u| u.space == card.space).map(|u| u.id));
    }
    Ok(tx
        .duties_of_units(&units)?
        .into_iter()
        .find(|duty| duty.rule == rule.code && duty.ended_on.is_none())
        .and_then(|duty| duty.unit))
}

/// The duties the desk opened on a unit, as they stand: to be handed on to the one that comes in its place.
pub(crate) fn opened_on(tx: &mut Tx<'_>, unit: UnitId) -> Result<Vec<DutyCard>, Error> {
    let rules = tx.duty_rules()?;
    let by_hand = |duty: &DutyCard| {
        rules
            .iter()
            .any(|rule| rule.code == duty.rule && opened_by_hand(rule))
    };
    let mut duties = tx.duties_of_units(&[unit])?;
    duties.retain(|duty| duty.ended_on.is_none() && by_hand(duty));
    Ok(duties)
}

/// Hands on to the unit that came what the desk had opened on the one that went: no rule of its kind would open it again.
/// A date goes on; a care valve's tests begin anew with the valve.
pub(crate) fn hand_on(
    tx: &mut Tx<'_>,
    (old, new): (&UnitCard, UnitId),
    opened: &[DutyCard],
) -> Result<(), Error> {
    let card = tx.unit(new)?;
    let rules = tx.duty_rules()?;
    for duty in opened {
        let Some(rule) = rules.iter().find(|rule| rule.code == duty.rule) else {
            continue;
        };
        if dates::is_care_valve(rule) {
            let fitted = card.placed_from.or(card.installed.map(|(first, _)| first));
            if let (true, Some(fitted)) = (card.kind == "TMV", fitted) {
                open_tests(tx, &card, rule, fitted)?;
            }
            continue;
        }
        let of_another = OF_THE_KIND.contains(&rule.code.as_str()) && card.kind != old.kind;
        if of_another || runs_on(tx, &card, rule)?.is_some() {
            continue;
        }
        let last = tx
            .completions_of(&[duty.id], false)?
            .into_iter()
            .next_back();
        let next = match last {
            // Met, and it does not come again.
            Some(row) if row.next_deadline.is_none() && row.check_complete => continue,
            Some(row) => row.next_deadline.map(|due| (row, due)),
            None => None,
        };
        let handed = open_duty(tx, &card, &rule.code, None)?;
        if let Some((row, due)) = next {
            let reason = format!(
                "Handed on from {}, in whose place this unit came. {}",
                old.number, row.reason
            );
            add_start(tx, handed, (due, row.happened_on), &reason)?;
            reckon(tx, handed, rule)?;
        }
        tx.note(
            "duty handed on",
            &format!("unit {new}"),
            &json!({ "duty": handed, "rule": rule.code, "from": old.id }),
        );
    }
    Ok(())
}

/// Opens a duty where the desk says it holds, with the date it states, if any.
///
/// # Errors
/// [`Error::Invalid`] at `deadline`.
pub(super) fn opened_by_desk(
    tx: &mut Tx<'_>,
    card: &DutyCard,
    (rule, deadline): (&DutyRule, Option<NaiveDate>),
) -> Result<DutyId, Error> {
    let today = wall::day(tx.at());
    if deadline.is_some_and(|day| days_between(today, day).abs() > 3660) {
        return Err(Error::field(
            "deadline",
            "That is more than ten years away; check the year.",
        ));
    }
    let duty = tx.add_duty(card)?;
    if let Some(deadline) = deadline {
        let reason = format!(
            "Opened by the desk: due by {}, as stated.",
            date_words(deadline)
        );
        let holds_from = dates::one_before(rule, deadline).min(today);
        add_start(tx, duty, (deadline, holds_from), &reason)?;
        reckon(tx, duty, rule)?;
    }
    tx.note(
        "duty opened",
        &DutyAt::of(card).to_string(),
        &json!({ "duty": duty, "rule": rule.code, "deadline": deadline }),
    );
    Ok(duty)
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
            let held = holds_on()?;
            let rule = tx
                .duty_rules()?
                .into_iter()
                .filter(|rule| opened_by_hand(rule) && !dates::is_care_valve(rule))
                .filter(|rule| on_units(&held, &rule.code))
                .find(|rule| rule.code == form.rule)
                .ok_or_else(|| Error::field("rule", "Choose which duty holds here."))?;
            if card.fate != Fate::InService {
                return Err(Error::field("rule", "The unit is no longer in service."));
            }
            if let Some(on) = runs_on(tx, &card, &rule)? {
                let words = if on == form.unit {
                    "This duty runs here already. Nothing was changed.".to_owned()
                } else {
                    format!(
                        "This duty runs in this home already, on {}: once is enough. Nothing was changed.",
                        tx.unit(on)?.number
                    )
                };
                return Err(Error::Conflict(words));
            }
            opened_by_desk(tx, &duty_card(&card, &rule.code, None), (&rule, form.deadline))
        })
    })
}
