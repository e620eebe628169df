//! What is due because of a report the rule book holds times for: an outage of the heat network, danger found in wiring.
use chrono::{DateTime, NaiveDate, Utc};
use inspection::clock::{LocalTime, ResponseQuery, WorkingDays, response};
use inspection::rulebook::ResponseRule;
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::Tx;
use store::event_duties::EventDuty;
use store::outages::{OutageCard, WhichOutages};
use terms::{AccountId, BuildingId, EventDutyId, OutageId, Role, SpaceId};
use uuid::Uuid;

use super::events::{book, happened_at_once};
use crate::work::{wall, working_days};
use crate::{Error, Seat, World};

/// The report of an outage of the heat network.
const NETWORK: &str = "heat_network_outage";
/// The report of wiring in which danger was found.
const DANGER: &str = "eicr_danger_present";

/// What an inspection of wiring found.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum WiringFound {
    /// Nothing to put right.
    #[default]
    Nothing,
    /// Something to put right, or to look into further.
    Faults,
    /// Danger present, among other things or alone.
    Danger,
}

/// What the report of a wiring inspection says beyond that it was made.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct WiringPaper {
    /// What it found.
    pub found: WiringFound,
    /// The shorter time the report itself sets, days.
    pub period_days: Option<i64>,
}

/// The report's row of the rule book, for what is said of an event.
pub(super) fn rule_of(report: &str) -> Option<&'static ResponseRule> {
    book().ok()?.response_rule(report).ok()
}

/// Opens what a report asks for, unless it stands already for that day and place; nothing where no times are held for
/// the country. The first of its times is the one it is due by.
fn raise(
    tx: &mut Tx<'_>,
    days: &WorkingDays,
    (report, words): (&str, &str),
    (building, space, at): (BuildingId, Option<SpaceId>, DateTime<Utc>),
) -> Result<Option<EventDutyId>, Error> {
    let country = tx.building(building)?.country;
    if country.code() != book()?.country() {
        return Ok(None);
    }
    let on = wall::day(at);
    let stands = tx.event_duties()?.into_iter().any(|duty| {
        duty.event == report
            && (duty.building, duty.space, duty.event_on) == (building, space, on)
            && duty.withdrawn.is_empty()
    });
    if stands {
        return Ok(None);
    }
    let query = ResponseQuery {
        country: country.code().to_owned(),
        report: report.to_owned(),
        reported_local: LocalTime(wall::local(at)),
        vulnerable: false,
        council_secure_tenant: false,
    };
    let internal = |e: inspection::InspectionError| Error::Internal(e.to_string());
    let targets = response(book()?, days, &query).map_err(internal)?;
    let rule = book()?.response_rule(report).map_err(internal)?;
    let by = targets
        .attend_by
        .or(targets.finish_by)
        .ok_or_else(|| Error::Internal(format!("report {report} has no time")))?;
    let duty = EventDuty {
        id: EventDutyId(Uuid::nil()),
        building,
        space,
        event: report.to_owned(),
        event_on: on,
        period_days: None,
        due_on: by.day(),
        task: match report {
            DANGER => "Danger in the wiring made safe".to_owned(),
            _ => "Heat network running again".to_owned(),
        },
        sentence: format!("{}: {}", rule.words, targets.sentence()),
        words: words.trim().to_owned(),
        done_on: None,
        evidence: String::new(),
        withdrawn: String::new(),
        recorded_at: DateTime::UNIX_EPOCH,
        recorded_by: AccountId(Uuid::nil()),
    };
    let id = tx.add_event_duty(&duty)?;
    tx.note(
        "report opened",
        &format!("building {building}"),
        &json!({ "report": report, "on": on, "space": space, "due": duty.due_on }),
    );
    Ok(Some(id))
}

/// What the record of a wiring inspection opens: danger is made safe at once; in a home faults are put right in time and
/// the tenant gets a copy.
pub(super) fn wiring_inspected(
    tx: &mut Tx<'_>,
    days: &WorkingDays,
    (paper, words): (&WiringPaper, &str),
    (building, space, on): (BuildingId, Option<SpaceId>, NaiveDate),
) -> Result<(), Error> {
    if paper.found == WiringFound::Nothing {
        return Ok(());
    }
    if paper
        .period_days
        .is_some_and(|days| !(1..=28).contains(&days))
    {
        return Err(Error::field(
            "period_days",
            "A report may only shorten the time: say between 1 and 28 days, or leave it empty.",
        ));
    }
    if paper.found == WiringFound::Danger {
        // Its day is all the paper says: the clock runs from the end of it.
        let at = wall::end_of(on).unwrap_or(tx.at());
        raise(tx, days, (DANGER, words), (building, space, at))?;
    }
    match space {
        Some(space) => happened_at_once(
            tx,
            "wiring_inspected",
            (space, on),
            (words, paper.period_days),
        ),
        None => Ok(()),
    }
}

/// Says that an outage is the heat network's: from its beginning the rule book's time for that runs.
///
/// # Errors
/// [`Error::Conflict`] when it is over, or said before; [`Error::NotFound`] outside the seat's reach.
pub fn network_is_out(
    world: &World,
    seat: &Seat,
    outage: OutageId,
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let days = working_days(world)?;
    world.acting(seat, |tx| {
        tx.once(once, &("network is out", outage), |tx| {
            let card = tx
                .outages(WhichOutages::One(outage))?
                .pop()
                .ok_or(Error::NotFound("outage"))?;
            seat.must_reach(card.building)?;
            if card.until_at.is_some() {
                return Err(Error::Conflict(
                    "This outage has ended. Nothing was changed.".to_owned(),
                ));
            }
            let country = tx.building(card.building)?.country;
            let place = (card.building, None, card.from_at);
            match raise(tx, &days, (NETWORK, &words_of(&card)), place)? {
                Some(_) => Ok(()),
                None if country.code() != book()?.country() => Err(Error::Conflict(format!(
                    "No times are held for {country}; nothing is guessed, and nothing was changed."
                ))),
                None => Err(Error::Conflict(
                    "An outage of the network stands for that day already. Nothing was changed."
                        .to_owned(),
                )),
            }
        })
    })
}

fn words_of(card: &OutageCard) -> String {
    let pipe = card.branch_name.as_ref().unwrap_or(&card.building_name);
    format!("{} homes on {pipe}", card.homes.len())
}

/// The report of an outage, when it was said to be the network's and stands.
pub(crate) fn network_report(
    tx: &mut Tx<'_>,
    card: &OutageCard,
) -> Result<Option<EventDuty>, Error> {
    let on = wall::day(card.from_at);
    Ok(tx.event_duties()?.into_iter().find(|duty| {
        duty.event == NETWORK
            && (duty.building, duty.event_on) == (card.building, on)
            && duty.withdrawn.is_empty()
    }))
}

/// An outage that ends ends its report, with what it was as the evidence.
pub(crate) fn network_is_back(
    tx: &mut Tx<'_>,
    card: &OutageCard,
    (until, cause): (DateTime<Utc>, &str),
) -> Result<(), Error> {
    let Some(duty) = network_report(tx, card)?.filter(|duty| duty.done_on.is_none()) else {
        return Ok(());
    };
    let stated = EventDuty {
        done_on: Some(wall::day(until)),
        evidence: format!("The outage ended at {}: {cause}", wall::words(until)),
        ..duty.clone()
    };
    tx.state_event_duty(duty.id, &stated)?;
    Ok(())
}
