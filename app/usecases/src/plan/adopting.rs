//! Adopting a plan: recorded with who and why. Nothing is ordered by it; jobs follow one by one, when a person
//! says so.
use chrono::NaiveDate;
use inspection::calendar::add_days;
use serde_json::json;
use store::Tx;
use store::jobs::{Job, NewJob, Which};
use store::plans::KeptPlan;
use terms::{JobId, JobKind, Role, UnitId};
use uuid::Uuid;

use super::demands::in_season;
use super::disruption::Fitting;
use super::figures::years_of;
use super::making::Made;
use super::programme::READERS;
use crate::work::{open_in, wall};
use crate::{Error, Seat, World};

/// Most minutes of a day set aside to fit a unit: what takes longer goes on the day after (common practice, no source).
const DAY_MINUTES: i32 = 420;
/// Days looked back over for the last one before the heating season: a year holds one.
const DAYS_BACK: usize = 366;
/// Days to survey, order and fit in that are left at the least (common practice, no source).
const LEFT_DAYS: i64 = 30;
/// The longest reason.
const LONGEST: usize = 400;

fn kept(tx: &mut Tx<'_>, seat: &Seat, plan: Uuid) -> Result<KeptPlan, Error> {
    let kept = tx.plan(plan)?;
    seat.must_reach(kept.building)?;
    Ok(kept)
}

fn made(plan: &KeptPlan) -> Result<Made, Error> {
    serde_json::from_value(plan.answer.clone())
        .map_err(|e| Error::Internal(format!("plan {} cannot be read: {e}", plan.id)))
}

/// The reason of an adoption, as it is kept.
pub(super) fn reason(why: &str) -> Result<String, Error> {
    let why = why.trim().to_owned();
    if why.is_empty() {
        return Err(Error::field(
            "why",
            "Say why it is adopted; who reads it later will ask.",
        ));
    }
    if why.chars().count() > LONGEST {
        return Err(Error::field(
            "why",
            format!("At most {LONGEST} letters, please."),
        ));
    }
    Ok(why)
}

/// Adopts a plan for its building, as the program's record of what people decided.
///
/// # Errors
/// [`Error::Invalid`] at `why`; [`Error::Conflict`] for a plan whose limits clash.
pub fn adopt_plan(
    world: &World,
    seat: &Seat,
    (plan, why): (Uuid, String),
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&READERS)?;
    let why = reason(&why)?;
    world.acting(seat, |tx| {
        tx.once(once, &("adopt", plan, &why), |tx| {
            adopt_in(tx, seat, plan, &why)
        })
    })
}

/// The same inside a transaction, for one building or for each of several.
pub(super) fn adopt_in(tx: &mut Tx<'_>, seat: &Seat, plan: Uuid, why: &str) -> Result<(), Error> {
    let card = kept(tx, seat, plan)?;
    let made = made(&card)?;
    if !made.proven.stands() {
        return Err(Error::Conflict(
            "What is asked of this plan cannot all be kept, so there is nothing to adopt."
                .to_owned(),
        ));
    }
    tx.adopt_plan(card.building, plan, why)?;
    tx.note(
        "plan adopted",
        &format!("building {}", card.building),
        &json!({ "plan": plan, "name": card.name, "why": why, "cost": made.proven.cost }),
    );
    Ok(())
}

/// Opens the replacement job of a unit of the adopted plan.
///
/// # Errors
/// [`Error::Conflict`] when the plan is not the adopted one, the unit has no year in it, or has its job.
pub fn open_planned_job(
    world: &World,
    seat: &Seat,
    (plan, unit): (Uuid, UnitId),
    once: &str,
) -> Result<JobId, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        tx.once(once, &("planned job", plan, unit), |tx| {
            let card = kept(tx, seat, plan)?;
            let adopted = tx.adoption(card.building)?;
            if adopted.is_none_or(|a| a.plan != plan) {
                return Err(Error::Conflict(
                    "This plan is not the adopted one. Adopt it first; nothing was opened."
                        .to_owned(),
                ));
            }
            let programme = made(&card)?.proven.programme;
            let year = years_of(&programme).get(&unit).copied();
            let replaced = programme
                .years
                .iter()
                .flat_map(|line| &line.replacements)
                .find(|r| r.unit == unit);
            let (Some(year), Some(replaced)) = (year, replaced) else {
                return Err(Error::NotFound("unit"));
            };
            if tx.plan_jobs(plan)?.iter().any(|(u, _)| *u == unit) {
                return Err(Error::Conflict(
                    "Its job is opened already. Nothing was opened by you.".to_owned(),
                ));
            }
            if let Some(job) = open_replacement(tx, unit)? {
                return Err(Error::Conflict(format!(
                    "Job {} to replace this unit is open already, from another plan or by hand. Nothing was opened.",
                    job.number
                )));
            }
            let new = replacement(tx, unit, &replaced.option, year)?;
            let (job, number) = open_in(tx, &new)?;
            tx.tie_plan_job(plan, unit, job)?;
            tx.note(
                "planned job opened",
                &format!("job {job}"),
                &json!({ "plan": plan, "unit": unit, "year": year, "number": number }),
            );
            Ok(job)
        })
    })
}

/// A job to replace the unit that is neither done nor stood down, whoever opened it.
fn open_replacement(tx: &mut Tx<'_>, unit: UnitId) -> Result<Option<Job>, Error> {
    let open = tx.jobs(&Which::Open)?;
    let mut open = open.into_iter();
    Ok(open.find(|j| j.unit == Some(unit) && j.kind == JobKind::Replacement))
}

/// The last day of a year of the plan: heat goes off for a new unit, so the last one before the heating season; where no whole
/// month is left before it, the last day of the year.
fn last_day_of(year: i32, today: NaiveDate) -> NaiveDate {
    let last = NaiveDate::from_ymd_opt(year, 12, 31).unwrap_or(today);
    let mut back = last.iter_days().rev().take(DAYS_BACK);
    let before_season = back.find(|day| !in_season(*day));
    before_season
        .filter(|day| *day >= add_days(today, LEFT_DAYS))
        .unwrap_or(last)
}

/// Minutes of the day on which a unit is fitted.
fn fitting_minutes(kind: &str, option: &str) -> i32 {
    let hours = i32::try_from(Fitting::shipped().hours(kind, option)).unwrap_or(i32::MAX / 60);
    (hours * 60).min(DAY_MINUTES)
}

fn replacement(tx: &mut Tx<'_>, unit: UnitId, option: &str, year: i32) -> Result<NewJob, Error> {
    let card = tx.unit(unit)?;
    let kinds = tx.kinds()?;
    let new = kinds.iter().find(|k| k.code == option);
    let how = if option == card.kind {
        "like for like".to_owned()
    } else {
        let name = new.map_or(option, |k| k.name.as_str());
        format!("with another kind: {name}")
    };
    Ok(NewJob {
        kind: JobKind::Replacement,
        building: card.building,
        space: card.space,
        unit: Some(unit),
        function_lost: None,
        words: format!(
            "Replace {} {how}, as the adopted plan has it in {year}. Get a survey before ordering.",
            card.number
        ),
        source: "agent",
        covers: new.map(|k| k.covers.clone()).unwrap_or_default(),
        minutes: fitting_minutes(&card.kind, option),
        due_at: wall::end_of(last_day_of(year, wall::day(tx.at()))),
        due_why: format!("The adopted plan has it in {year}."),
        duties: Vec::new(),
    })
}

/// Takes a what-if off the page; it stays readable where it was adopted.
pub fn put_plan_away(world: &World, seat: &Seat, plan: Uuid, once: &str) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        tx.once(once, &("put away", plan), |tx| {
            let card = kept(tx, seat, plan)?;
            if card.name.is_none() || tx.put_plan_away(plan)? == 0 {
                return Err(Error::NotFound("what-if"));
            }
            tx.note(
                "what-if put away",
                &format!("building {}", card.building),
                &json!({ "plan": plan, "name": card.name }),
            );
            Ok(())
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    // The season is 1 October to 31 March (common practice, no source).
    #[test]
    fn a_year_ends_before_its_heating_season_where_that_leaves_a_month() {
        let day = |text: &str| -> NaiveDate { text.parse().unwrap() };
        let last = |year, today| last_day_of(year, day(today));
        assert_eq!(last(2033, "2026-11-25"), day("2033-09-30"));
        assert_eq!(last(2026, "2026-08-31"), day("2026-09-30"));
        assert_eq!(last(2026, "2026-09-01"), day("2026-12-31"));
        assert_eq!(last(2026, "2026-11-25"), day("2026-12-31"));
        assert_eq!(last(2026, "2027-02-01"), day("2026-12-31"));
    }
}
