//! From a placed visit to a job on offer: the person's act by which a proposal becomes work.
use chrono::{NaiveDate, NaiveTime, TimeDelta};
use serde_json::json;
use store::Tx;
use store::jobs::{NewJob, NewOffer};
use store::rounds::RoundVisit;
use terms::trade::DutyRule;
use terms::{EngineerId, JobId, JobKind, JobState, Role, RoundId, SpaceId};
use uuid::Uuid;

use super::moving::parts_of;
use crate::work::{Names, names_in, open_in, step, wall};
use crate::{Error, Seat, World};

/// Days an offer stands when the visit is not sooner. Common practice, no source.
const OFFER_DAYS: i64 = 7;

/// Opens a job for a placed visit and offers it to the firm it was placed with, at the placed time.
///
/// # Errors
/// [`Error::Conflict`] when it is a job already, or has no day.
pub fn offer_visit(world: &World, seat: &Seat, visit: Uuid, once: &str) -> Result<JobId, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let names = names_in(world, seat.estate())?;
    world.acting(seat, |tx| {
        tx.once(once, &("offer visit", visit), |tx| {
            let (round, _, parts) = parts_of(tx, seat, visit)?;
            offer_parts(tx, round, &parts, &names)
        })
    })
}

/// Opens and offers the jobs of every placed visit of an engineer's day that is not one yet.
pub fn offer_day(
    world: &World,
    seat: &Seat,
    (day, engineer): (NaiveDate, EngineerId),
    once: &str,
) -> Result<usize, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let names = names_in(world, seat.estate())?;
    world.acting(seat, |tx| {
        tx.once(once, &("offer day", day, engineer), |tx| {
            let card = tx.round_now()?.ok_or(Error::NotFound("visit"))?;
            let rows: Vec<RoundVisit> = tx
                .round_visits(card.id)?
                .into_iter()
                .filter(|r| r.on_day == Some(day) && r.engineer == Some(engineer))
                .filter(|r| r.job.is_none() && seat.grant().reaches(r.building))
                // What follows another visit of the same duty waits for it.
                .filter(|r| r.nth == 1)
                .collect();
            let mut offered = 0;
            for chunk in rows.chunk_by(|a, b| a.visit == b.visit) {
                offer_parts(tx, card.id, chunk, &names)?;
                offered += 1;
            }
            Ok(offered)
        })
    })
}

fn offer_parts(
    tx: &mut Tx<'_>,
    round: RoundId,
    parts: &[RoundVisit],
    names: &Names,
) -> Result<JobId, Error> {
    let first = parts.first().ok_or(Error::NotFound("visit"))?;
    if first.job.is_some() {
        return Err(Error::Conflict(
            "This visit is a job already. Nothing was changed by you.".to_owned(),
        ));
    }
    if parts.iter().any(|part| part.nth > 1) {
        return Err(Error::Conflict(
            "This visit follows another for the same duty, and its days are counted from that one. It can be offered once that \
             one is made. Nothing was changed."
                .to_owned(),
        ));
    }
    let (Some(day), Some(start), Some(firm), Some(space)) =
        (first.on_day, first.start_minute, first.firm, first.space)
    else {
        return Err(Error::Conflict(
            "This visit has no day yet, so there is nothing to offer.".to_owned(),
        ));
    };
    if !names.has_firm(firm) {
        return Err(Error::Conflict(
            "The firm gives this estate no time any more. Place the visits again.".to_owned(),
        ));
    }
    let from = NaiveTime::from_num_seconds_from_midnight_opt(
        u32::try_from(start).unwrap_or(0).saturating_mul(60),
        0,
    )
    .and_then(|time| wall::instant(day, time))
    .ok_or_else(|| Error::Internal(format!("{day} has no minute {start}")))?;
    if from <= tx.at() {
        return Err(Error::Conflict(
            "That time has gone by. Place the visits again.".to_owned(),
        ));
    }
    let rules = rules_of(tx, parts)?;
    let new = job_of(first, parts, space, &rules);
    let minutes = new.minutes;
    let (job, number) = open_in(tx, &new)?;
    let until = (tx.at() + TimeDelta::days(OFFER_DAYS)).min(from);
    tx.add_offer(NewOffer {
        job,
        firm,
        until_at: until,
        proposed: Some((from, from + TimeDelta::minutes(i64::from(minutes)))),
    })?;
    let mut held = tx.hold_job(job)?;
    let words = format!(
        "Offered to {} for {}, until {}.",
        names.firm(firm),
        wall::words(from),
        wall::words(until)
    );
    step(tx, &mut held, JobState::Offered, &words)?;
    tx.tie_round_visit(round, first.visit, job)?;
    tx.note(
        "visit offered",
        &format!("job {job}"),
        &json!({ "number": number, "firm": firm, "day": day, "visit": first.visit }),
    );
    Ok(job)
}

/// The job a placed visit becomes.
fn job_of(first: &RoundVisit, parts: &[RoundVisit], space: SpaceId, rules: &[DutyRule]) -> NewJob {
    NewJob {
        kind: if rules.iter().any(|r| r.window_rule == "W1") {
            JobKind::Check
        } else {
            JobKind::Service
        },
        building: first.building,
        space,
        unit: first.unit,
        function_lost: None,
        words: if first.second.is_some() {
            format!("{}; two come together", joined(rules))
        } else {
            joined(rules)
        },
        source: "duty",
        covers: covers(rules),
        minutes: parts.iter().map(|p| p.minutes).sum(),
        due_at: wall::end_of(first.deadline),
        due_why: format!(
            "To be done from {} to {}: the days its duties leave.",
            inspection::calendar::date_words(first.window_first),
            inspection::calendar::date_words(first.deadline)
        ),
        duties: parts.iter().map(|p| p.duty).collect(),
    }
}

fn rules_of(tx: &mut Tx<'_>, parts: &[RoundVisit]) -> Result<Vec<DutyRule>, Error> {
    let rules = tx.duty_rules()?;
    let mut found = Vec::with_capacity(parts.len());
    for part in parts {
        let code = tx.duty(part.duty)?.rule;
        found.extend(rules.iter().find(|r| r.code == code).cloned());
    }
    Ok(found)
}

fn joined(rules: &[DutyRule]) -> String {
    let names: Vec<&str> = rules.iter().map(|r| r.name.as_str()).collect();
    names.join("; ")
}

fn covers(rules: &[DutyRule]) -> String {
    let codes: std::collections::BTreeSet<&str> = rules
        .iter()
        .flat_map(|r| r.covers.split_whitespace())
        .collect();
    codes.into_iter().collect::<Vec<_>>().join(" ")
}
