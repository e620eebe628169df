//! Forms of a duty's record: a check from its paper, a stated deadline, a correction; and a job opened for it.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::{DutyId, JobKind, SpaceId, UnitId};
use usecases::Error;
use usecases::duties::{
    self, Correction, DutyAt, GasPaper, Proved, Record, Start, WiringFound, WiringPaper,
};
use usecases::work::{self, OpenJob};
use uuid::Uuid;
use wording::sentences::dates;
use wording::{Choice, Shell};

use super::{NOT_ADVICE, rows};
use crate::Failure;
use crate::form::{Typed, fresh_once, id_of};
use crate::page::{page, see_told, wrong};
use crate::seats::Desk;
use crate::state::{State, answer, ask};

/// Which form.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Act {
    Correct,
    Record,
    Start,
}

impl Act {
    fn of(text: &str) -> Result<Self, Failure> {
        match text {
            "correct" => Ok(Self::Correct),
            "record" => Ok(Self::Record),
            "start" => Ok(Self::Start),
            _ => Err(Failure(Error::NotFound("page"))),
        }
    }

    fn word(self) -> &'static str {
        match self {
            Self::Correct => "correct",
            Self::Record => "record",
            Self::Start => "start",
        }
    }
}

#[derive(Template)]
#[template(path = "duties/write.html")]
struct WritePage {
    shell: Shell,
    act: &'static str,
    heading: String,
    standing: String,
    /// Where the duties stand: the address the form goes to.
    home: String,
    duty: DutyId,
    entries: Vec<Choice>,
    /// Name and label of the fields for a gas safety check's appliances and flues; none for other duties.
    gas: Vec<(String, String)>,
    /// What the report of a wiring inspection may have found; none for other duties.
    wiring: Vec<Choice>,
    form: Typed,
    once: String,
    not_advice: &'static str,
}

impl WritePage {
    fn new(shell: Shell, act: Act, of: (&Held, &Proved), form: Typed, once: String) -> Self {
        let (found, proved) = of;
        let name = rows::inside(&proved.line.rule.name);
        let place = &found.place;
        let heading = match act {
            Act::Correct => format!("Correct an entry: {name}, {place}"),
            Act::Record => format!("Enter a check from its paper: {name}, {place}"),
            Act::Start => format!("State the deadline: {name}, {place}"),
        };
        let standing = match act {
            Act::Correct => "The wrong entry stays readable; the dates after it are reckoned anew.".to_owned(),
            Act::Record => format!("What proves it: {}.", proved.line.rule.evidence),
            Act::Start => "A day that was set elsewhere, with no check to show for it: from the former agent’s list, a \
                 report, a decision. It holds until a check moves it."
                .to_owned(),
        };
        let chosen = form.value("row").to_owned();
        let entries = proved
            .rows
            .iter()
            .rev()
            .filter(|r| r.superseded_at.is_none())
            .filter_map(|r| {
                let id = r.id.to_string();
                let label = format!("{}: {}", dates::day(r.done_on?), r.reason);
                let is_chosen = id == chosen;
                Some(Choice::new(id, label, is_chosen))
            })
            .collect();
        Self {
            shell,
            act: act.word(),
            heading,
            standing,
            home: rows::home_of(found.at),
            duty: proved.line.duty,
            entries,
            wiring: if act == Act::Record && duties::is_wiring(&proved.line.rule) {
                wiring_found(form.value("wiring"))
            } else {
                Vec::new()
            },
            gas: if duties::is_gas_check(&proved.line.rule) {
                gas_fields()
            } else {
                Vec::new()
            },
            form,
            once,
            not_advice: NOT_ADVICE,
        }
    }
}

/// What a form is about: a unit's duties, or those of a home, a plant room or a building.
pub(super) struct Held {
    pub at: DutyAt,
    pub place: String,
    pub duties: Vec<Proved>,
    /// The unit and space a job for one of them is opened in.
    work_at: Option<(SpaceId, Option<UnitId>)>,
}

pub(super) async fn load(
    desk: &Desk,
    state: &web::Data<State>,
    at: DutyAt,
) -> Result<Held, Failure> {
    let seat = desk.seat.clone();
    answer(state, move |world| {
        if let DutyAt::Unit(unit) = at {
            let found = duties::proof(world, &seat, unit)?;
            return Ok(Held {
                at,
                place: format!("{}, {}", found.unit.space_name, found.unit.building_name),
                work_at: Some((found.unit.space, Some(unit))),
                duties: found.duties,
            });
        }
        let found = duties::place_duties(world, &seat, at)?;
        Ok(Held {
            at,
            place: super::place::name(&found),
            work_at: found.work_in.map(|space| (space, None)),
            duties: found.duties,
        })
    })
    .await
}

fn of_duty<'a>(found: &'a Held, form: &Typed) -> Result<&'a Proved, Failure> {
    let duty: DutyId = id_of(form.value("duty"), "duty")?;
    found
        .duties
        .iter()
        .find(|d| d.line.duty == duty)
        .ok_or(Failure(Error::NotFound("duty")))
}

/// The form of a unit's duty.
pub(super) async fn show(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<(String, String)>,
    query: web::Query<Typed>,
) -> Result<HttpResponse, Failure> {
    let at = DutyAt::Unit(id_of(&path.0, "unit")?);
    show_at(&desk, &state, (at, &path.1), query.into_inner()).await
}

/// The form.
pub(super) async fn show_at(
    desk: &Desk,
    state: &web::Data<State>,
    (at, act): (DutyAt, &str),
    form: Typed,
) -> Result<HttpResponse, Failure> {
    let act = Act::of(act)?;
    let found = load(desk, state, at).await?;
    let proved = of_duty(&found, &form)?;
    let shell = desk.shell(state, "duties");
    page(&WritePage::new(
        shell,
        act,
        (&found, proved),
        form,
        fresh_once(),
    ))
}

/// What was typed of a unit's duty.
pub(super) async fn take(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<(String, String)>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let at = DutyAt::Unit(id_of(&path.0, "unit")?);
    take_at(&desk, &state, (at, &path.1), form.into_inner()).await
}

/// What was typed.
pub(super) async fn take_at(
    desk: &Desk,
    state: &web::Data<State>,
    (at, act): (DutyAt, &str),
    mut form: Typed,
) -> Result<HttpResponse, Failure> {
    let act = Act::of(act)?;
    let once = form.once();
    let found = load(desk, state, at).await?;
    let proved = of_duty(&found, &form)?;
    let duty = proved.line.duty;
    let written = match act {
        Act::Record => record(desk, state, duty, &mut form).await,
        Act::Start => start(desk, state, duty, &mut form).await,
        Act::Correct => correct(desk, state, duty, &mut form).await,
    };
    match written {
        Ok(Some(told)) => {
            let back = format!("{}#{}", rows::home_of(at), proved.line.rule.code);
            return Ok(see_told(&back, told));
        }
        Ok(None) => {}
        Err(error) => form.take_wrongs(error)?,
    }
    let shell = desk.shell(state, "duties");
    wrong(&WritePage::new(shell, act, (&found, proved), form, once))
}

/// What the report of a wiring inspection may have found.
fn wiring_found(typed: &str) -> Vec<Choice> {
    [
        ("", "Nothing to put right", ""),
        (
            "faults",
            "Something to put right, or to look into further",
            "Its time starts with the day of the inspection.",
        ),
        (
            "danger",
            "Danger present",
            "Made safe at once; the rest within the same time.",
        ),
    ]
    .map(|(code, words, hint)| Choice::new(code, words, code == typed).hint(hint))
    .to_vec()
}

/// What was typed of it.
fn wiring_paper(form: &mut Typed) -> WiringPaper {
    let found = match form.value("wiring") {
        "" => WiringFound::Nothing,
        "faults" => WiringFound::Faults,
        "danger" => WiringFound::Danger,
        _ => {
            form.complain("wiring", "Choose what the report found.");
            WiringFound::Nothing
        }
    };
    let period = form.number("period_days", 1.0, 400.0);
    WiringPaper {
        found,
        period_days: period.map(|days| days.round() as i64),
    }
}

fn gas_fields() -> Vec<(String, String)> {
    (1..=duties::GAS_ITEMS)
        .flat_map(|n| {
            [
                (format!("gi.{n}.what"), format!("Appliance or flue {n}")),
                (format!("gi.{n}.result"), format!("Its result ({n})")),
            ]
        })
        .collect()
}

/// What the paper of a gas safety check says, as typed; rows left empty are kept so that an error finds its row.
fn gas_paper(form: &Typed) -> GasPaper {
    GasPaper {
        registration: form.value("registration").to_owned(),
        items: (1..=duties::GAS_ITEMS)
            .map(|n| {
                (
                    form.value(&format!("gi.{n}.what")).to_owned(),
                    form.value(&format!("gi.{n}.result")).to_owned(),
                )
            })
            .collect(),
    }
}

async fn record(
    desk: &Desk,
    state: &web::Data<State>,
    duty: DutyId,
    form: &mut Typed,
) -> Result<Option<&'static str>, Error> {
    let (once, on) = (form.once(), form.date("on"));
    if on.is_none() && form.error("on").is_none() {
        form.complain("on", "Say on which day it was done.");
    }
    let whole: Option<String> = form.code("whole", "Say whether every item was examined.");
    let evidence = form.value("evidence").to_owned();
    let wiring = wiring_paper(form);
    let (Some(on), Some(whole), false) = (on, whole, form.is_wrong()) else {
        return Ok(None);
    };
    let typed = Record {
        wiring,
        duty,
        on,
        check_complete: whole == "yes",
        evidence,
        gas: gas_paper(form),
    };
    let seat = desk.seat.clone();
    ask(state, move |world| {
        duties::record(world, &seat, typed, &once)
    })
    .await?;
    Ok(Some("The check is on record."))
}

async fn start(
    desk: &Desk,
    state: &web::Data<State>,
    duty: DutyId,
    form: &mut Typed,
) -> Result<Option<&'static str>, Error> {
    let (once, deadline) = (form.once(), form.date("deadline"));
    if deadline.is_none() && form.error("deadline").is_none() {
        form.complain("deadline", "Say which day.");
    }
    let reason = form.text("reason", "Say where that day comes from.");
    let (Some(deadline), false) = (deadline, form.is_wrong()) else {
        return Ok(None);
    };
    let typed = Start {
        duty,
        deadline,
        reason,
    };
    let seat = desk.seat.clone();
    ask(state, move |world| {
        duties::state_start(world, &seat, typed, &once)
    })
    .await?;
    Ok(Some("The deadline stands as you stated it."))
}

async fn correct(
    desk: &Desk,
    state: &web::Data<State>,
    duty: DutyId,
    form: &mut Typed,
) -> Result<Option<&'static str>, Error> {
    let once = form.once();
    let row: Option<Uuid> = form.code("row", "Choose the entry that is wrong.");
    let never = form.ticked("never");
    let on = if never { None } else { form.date("on") };
    if !never && on.is_none() && form.error("on").is_none() {
        form.complain("on", "Say the right day, or tick that it never happened.");
    }
    let reason = form.text("reason", "Say what was wrong.");
    let (Some(row), false) = (row, form.is_wrong()) else {
        return Ok(None);
    };
    let typed = Correction {
        duty,
        row,
        on,
        check_complete: form.value("whole") != "no",
        evidence: form.value("evidence").to_owned(),
        reason,
        gas: gas_paper(form),
    };
    let seat = desk.seat.clone();
    ask(state, move |world| {
        duties::correct(world, &seat, typed, &once)
    })
    .await?;
    Ok(Some(
        "The entry is corrected; the former one stays readable.",
    ))
}

/// Opens a job that is to meet one duty of a unit.
pub(super) async fn open_job(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let at = DutyAt::Unit(id_of(&path, "unit")?);
    open_job_at(&desk, &state, at, form.into_inner()).await
}

/// Opens a job that is to meet one duty.
pub(super) async fn open_job_at(
    desk: &Desk,
    state: &web::Data<State>,
    at: DutyAt,
    form: Typed,
) -> Result<HttpResponse, Failure> {
    let once = form.once();
    let found = load(desk, state, at).await?;
    let line = &of_duty(&found, &form)?.line;
    if let Some(job) = line.jobs.first() {
        return Ok(see_told(
            &format!("/jobs/{}", job.job),
            "There is a job for it already.",
        ));
    }
    let (space, unit) = found.work_at.ok_or(Failure(Error::Conflict(
        "The building has no room a job could be opened in: enter one first.".to_owned(),
    )))?;
    let open = OpenJob {
        kind: if line.rule.window_rule == "W1" {
            JobKind::Check
        } else {
            JobKind::Service
        },
        space,
        unit,
        words: line.rule.name.clone(),
        due_on: line.last_day(),
        duties: vec![line.duty],
        minutes: Some(line.rule.minutes),
    };
    let seat = desk.seat.clone();
    let job = answer(state, move |world| {
        work::open_job(world, &seat, open, &once)
    })
    .await?;
    Ok(see_told(&format!("/jobs/{job}"), "The job is open."))
}
