//! What is due because something happened: the desk enters the event, the rule book says what follows and by when.
use chrono::NaiveDate;
use inspection::RuleBook;
use inspection::calendar::days_between;
use inspection::duties::w4;
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::Tx;
use store::event_duties::EventDuty;
use terms::{AccountId, BuildingId, EventDutyId, Role, SpaceId};
use uuid::Uuid;

use super::reports::rule_of;
use crate::work::wall;
use crate::{Error, FieldError, Seat, World};

/// Something that happens, and the events of the rule book that follow from it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Happening {
    /// Its code.
    pub code: &'static str,
    /// As the desk says it.
    pub words: &'static str,
    /// What it raises, by the rule book's events.
    pub raises: &'static [&'static str],
    /// It is about one flat or room.
    pub of_space: bool,
    /// A report may set a shorter time of its own.
    pub period: bool,
}

/// What the desk may enter, in the order offered.
pub const HAPPENINGS: [Happening; 11] = [
    Happening {
        code: "tenancy_begins",
        words: "A tenancy begins",
        raises: &["gas_record_to_new_tenant", "alarm_test_new_tenancy"],
        of_space: true,
        period: false,
    },
    Happening {
        code: "gas_check_made",
        words: "A gas safety check was made, and somebody lives there",
        raises: &["gas_record_to_existing_tenant"],
        of_space: true,
        period: false,
    },
    Happening {
        code: "dangerous_gas_fitting",
        words: "A dangerous gas fitting was found",
        raises: &["riddor_report"],
        of_space: true,
        period: false,
    },
    Happening {
        code: "unit_replaced",
        words: "A gas boiler or a cylinder was replaced",
        raises: &["replacement_certificate"],
        of_space: true,
        period: false,
    },
    Happening {
        code: "wiring_inspected",
        words: "Wiring was inspected and faults were found",
        raises: &["eicr_copy_to_tenant", "eicr_remedy"],
        of_space: true,
        period: true,
    },
    Happening {
        code: "council_asks",
        words: "The council asks for the wiring report",
        raises: &["eicr_copy_to_council"],
        of_space: true,
        period: false,
    },
    Happening {
        code: "wiring_put_right",
        words: "Wiring faults were put right",
        raises: &["eicr_proof_to_tenant"],
        of_space: true,
        period: false,
    },
    Happening {
        code: "flat_empty",
        words: "A flat stands empty",
        raises: &["void_first_flush"],
        of_space: true,
        period: false,
    },
    Happening {
        code: "alarm_faulty",
        words: "A smoke or carbon monoxide alarm was told of as faulty",
        raises: &["alarm_put_right"],
        of_space: true,
        period: false,
    },
    Happening {
        code: "fire_stopping_disturbed",
        words: "Pipes were led through fire-stopping",
        raises: &["fire_stopping_made_good"],
        of_space: true,
        period: false,
    },
    Happening {
        code: "contract_not_lowest",
        words: "A contract was made that was neither the lowest nor from a nominated firm",
        raises: &["section20_reasons"],
        of_space: false,
        period: false,
    },
];

/// An event about to be entered.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct EnterEvent {
    /// What happened: a code of [`HAPPENINGS`].
    pub happening: String,
    /// Where.
    pub building: BuildingId,
    /// The flat or room.
    pub space: Option<SpaceId>,
    /// The day.
    pub on: NaiveDate,
    /// The shorter time a report itself sets, days.
    pub period_days: Option<i64>,
    /// What else there is to say.
    pub words: String,
}

/// That it was done.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct EventDone {
    /// Which.
    pub id: EventDutyId,
    /// The day.
    pub on: NaiveDate,
    /// What proves it.
    pub evidence: String,
}

/// That the event never happened, or was entered wrongly.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct TakeBackEvent {
    /// Which.
    pub id: EventDutyId,
    /// Why.
    pub reason: String,
}

/// One thing due because of an event, as it stands today.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct EventLine {
    /// What is known of it.
    pub duty: EventDuty,
    /// The building's name.
    pub building_name: String,
    /// The flat's or room's name; empty when it is about the building.
    pub space_name: String,
    /// The law, code or practice behind it, as the rule book says today.
    pub basis: String,
    /// How the rule is known.
    pub status: String,
    /// Days past its day: of today while it is open, of the day it was done after.
    pub days_late: i64,
}

pub(super) fn book() -> Result<&'static RuleBook, Error> {
    RuleBook::shipped().map_err(|e| Error::Internal(e.to_string()))
}

/// Enters an event; answers what became due.
///
/// # Errors
/// [`Error::Invalid`] at `happening`, `building`, `space`, `on` or `period_days`.
pub fn enter_event(
    world: &World,
    seat: &Seat,
    form: EnterEvent,
    once: &str,
) -> Result<Vec<EventDutyId>, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            seat.must_reach(form.building)?;
            let happening = HAPPENINGS
                .iter()
                .find(|h| h.code == form.happening)
                .ok_or_else(|| Error::field("happening", "Choose what happened."))?;
            Error::unless_empty(wrongs(tx, happening, &form)?)?;
            raise(tx, happening, &form)
        })
    })
}

/// Writes down what became due.
fn raise(
    tx: &mut Tx<'_>,
    happening: &Happening,
    form: &EnterEvent,
) -> Result<Vec<EventDutyId>, Error> {
    let mut raised = Vec::new();
    for event in happening.raises {
        let outcome = w4(book()?, event, form.on, form.period_days)
            .map_err(|e| Error::field("period_days", e.to_string()))?;
        let duty = EventDuty {
            id: EventDutyId(Uuid::nil()),
            building: form.building,
            space: form.space.filter(|_| happening.of_space),
            event: (*event).to_owned(),
            event_on: form.on,
            period_days: form.period_days.and_then(|d| i32::try_from(d).ok()),
            due_on: outcome.due,
            sentence: outcome.sentence(),
            task: outcome.task,
            words: form.words.trim().to_owned(),
            done_on: None,
            evidence: String::new(),
            withdrawn: String::new(),
            recorded_at: chrono::DateTime::UNIX_EPOCH,
            recorded_by: AccountId(Uuid::nil()),
        };
        raised.push(tx.add_event_duty(&duty)?);
    }
    tx.note(
        "event entered",
        &format!("building {}", form.building),
        &json!({ "happening": happening.code, "on": form.on, "space": form.space, "raised": raised }),
    );
    Ok(raised)
}

/// The clock of this one runs however late its paper comes in: what was dangerous was not always reported.
const DANGEROUS: &str = "dangerous_gas_fitting";

/// What a visit or a record itself shows to have happened in a space raises its clocks at once. Nothing is raised where no
/// times are held for the country, nor twice for one day: the desk may have entered it already. The day may come from an
/// old paper: what was due by now is past, and done or not, unless it was dangerous.
pub(crate) fn happened(
    tx: &mut Tx<'_>,
    code: &str,
    (space, on): (SpaceId, NaiveDate),
    words: &str,
) -> Result<(), Error> {
    follows(tx, code, (space, on), (words, None, code == DANGEROUS))
}

/// The same for what the desk says is still to be put right, however old its paper is; a report may set a shorter time.
pub(super) fn happened_at_once(
    tx: &mut Tx<'_>,
    code: &str,
    (space, on): (SpaceId, NaiveDate),
    (words, period_days): (&str, Option<i64>),
) -> Result<(), Error> {
    follows(tx, code, (space, on), (words, period_days, true))
}

fn follows(
    tx: &mut Tx<'_>,
    code: &str,
    (space, on): (SpaceId, NaiveDate),
    (words, period_days, however_late): (&str, Option<i64>, bool),
) -> Result<(), Error> {
    let Some(happening) = HAPPENINGS.iter().find(|h| h.code == code) else {
        return Err(Error::Internal(format!("happening {code} is unknown")));
    };
    let building = tx.space(space)?.building;
    if tx.building(building)?.country.code() != book()?.country() {
        return Ok(());
    }
    let stands = tx.event_duties()?.into_iter().any(|duty| {
        happening.raises.contains(&duty.event.as_str())
            && (duty.space, duty.event_on) == (Some(space), on)
            && duty.withdrawn.is_empty()
    });
    let past = !however_late && all_past(happening, on, wall::day(tx.at()))?;
    if stands || past {
        return Ok(());
    }
    let form = EnterEvent {
        happening: code.to_owned(),
        building,
        space: Some(space),
        on,
        period_days,
        words: words.to_owned(),
    };
    raise(tx, happening, &form).map(drop)
}

/// Whether everything that follows was due before today.
fn all_past(happening: &Happening, on: NaiveDate, today: NaiveDate) -> Result<bool, Error> {
    for event in happening.raises {
        let outcome = w4(book()?, event, on, None).map_err(|e| Error::Internal(e.to_string()))?;
        if outcome.due >= today {
            return Ok(false);
        }
    }
    Ok(true)
}

fn wrongs(
    tx: &mut Tx<'_>,
    happening: &Happening,
    form: &EnterEvent,
) -> Result<Vec<FieldError>, Error> {
    let mut wrongs = Vec::new();
    let building = tx.building(form.building)?;
    let rules_of = book()?.country();
    if building.country.code() != rules_of {
        wrongs.push(FieldError::at(
            "building",
            format!(
                "{} stands in {}. The times held for this are England’s; none are held for {}, and nothing is guessed.",
                building.name, building.country, building.country
            ),
        ));
    }
    match form.space {
        None if happening.of_space => {
            wrongs.push(FieldError::at("space", "Say in which flat or room."));
        }
        Some(space) if tx.space(space)?.building != form.building => {
            wrongs.push(FieldError::at("space", "That flat is in another building."));
        }
        _ => {}
    }
    let today = wall::day(tx.at());
    if days_between(today, form.on).abs() > 3660 {
        wrongs.push(FieldError::at(
            "on",
            "That is more than ten years away; check the year.",
        ));
    }
    let too_long = form
        .period_days
        .is_some_and(|days| !(1..=28).contains(&days));
    if happening.period && too_long {
        wrongs.push(FieldError::at(
            "period_days",
            "A report may only shorten the time: say between 1 and 28 days, or leave it empty.",
        ));
    }
    Ok(wrongs)
}

fn held(tx: &mut Tx<'_>, seat: &Seat, id: EventDutyId) -> Result<EventDuty, Error> {
    let duty = tx
        .event_duties()?
        .into_iter()
        .find(|d| d.id == id)
        .ok_or(Error::NotFound("event"))?;
    seat.must_reach(duty.building)?;
    if duty.done_on.is_some() || !duty.withdrawn.is_empty() {
        return Err(Error::Conflict(
            "It was done, or taken back, before you. Nothing was changed by you.".to_owned(),
        ));
    }
    Ok(duty)
}

/// Writes down that it was done.
///
/// # Errors
/// [`Error::Invalid`] at `on` and `evidence`; [`Error::Conflict`] when it was done before.
pub fn event_done(world: &World, seat: &Seat, form: EventDone, once: &str) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            let duty = held(tx, seat, form.id)?;
            let mut wrongs = Vec::new();
            if form.on > wall::day(tx.at()) {
                wrongs.push(FieldError::at("on", "That day has not come yet."));
            }
            if form.evidence.trim().is_empty() {
                wrongs.push(FieldError::at(
                    "evidence",
                    "Say what proves it: how it was given, sent or tested.",
                ));
            }
            Error::unless_empty(wrongs)?;
            let stated = EventDuty {
                done_on: Some(form.on),
                evidence: form.evidence.trim().to_owned(),
                ..duty
            };
            tx.state_event_duty(form.id, &stated)?;
            tx.note(
                "event met",
                &format!("building {}", stated.building),
                &json!({ "event": stated.event, "on": form.on, "due": stated.due_on }),
            );
            Ok(())
        })
    })
}

/// Takes an event back; what was entered stays readable.
///
/// # Errors
/// [`Error::Invalid`] without a reason; [`Error::Conflict`] when it was done before.
pub fn take_back_event(
    world: &World,
    seat: &Seat,
    form: TakeBackEvent,
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            let duty = held(tx, seat, form.id)?;
            let reason = form.reason.trim();
            if reason.is_empty() {
                return Err(Error::field("reason", "Say why it does not hold."));
            }
            let stated = EventDuty {
                withdrawn: reason.to_owned(),
                ..duty
            };
            tx.state_event_duty(form.id, &stated)?;
            tx.note(
                "event taken back",
                &format!("building {}", stated.building),
                &json!({ "event": stated.event, "reason": reason }),
            );
            Ok(())
        })
    })
}

/// What is due because of events in the seat's reach, and what was done in the last thirty days, soonest first.
pub fn event_lines(world: &World, seat: &Seat) -> Result<Vec<EventLine>, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor, Role::Landlord])?;
    let today = wall::day(world.now());
    world.acting(seat, |tx| {
        let buildings = tx.buildings()?;
        let spaces = tx.spaces(None)?;
        let found = tx.event_duties()?.into_iter().filter(|duty| {
            let lately = duty
                .done_on
                .is_none_or(|on| (0..=30).contains(&days_between(on, today)));
            seat.grant().reaches(duty.building) && duty.withdrawn.is_empty() && lately
        });
        found
            .map(|duty| {
                let rule = book()?.event(&duty.event).ok();
                let report = rule_of(&duty.event);
                let building = buildings.iter().find(|b| b.id == duty.building);
                let space = spaces.iter().find(|s| Some(s.id) == duty.space);
                let until = duty.done_on.unwrap_or(today);
                Ok(EventLine {
                    building_name: building.map_or_else(String::new, |b| b.name.clone()),
                    space_name: space.map_or_else(String::new, |s| s.name.clone()),
                    basis: rule
                        .map(|r| r.basis.clone())
                        .or_else(|| report.map(|r| r.basis.clone()))
                        .unwrap_or_else(|| "law".to_owned()),
                    status: rule
                        .map(|r| r.status.clone())
                        .or_else(|| report.map(|r| r.status.clone()))
                        .unwrap_or_default(),
                    days_late: days_between(duty.due_on, until).max(0),
                    duty,
                })
            })
            .collect()
    })
}
