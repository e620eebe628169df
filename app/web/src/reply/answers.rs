//! The reply form, read into one of four answers; what cannot be taken comes back with what was typed.
use actix_web::{HttpResponse, web};
use chrono::{DateTime, NaiveDate, NaiveDateTime, NaiveTime, Utc};
use terms::EngineerId;
use usecases::mailed::{self, Day, Found, Proposal, Taken};
use usecases::visit::{PaperSource, PaperVisit};
use usecases::{Error, World};

use super::show::page_of;
use crate::Failure;
use crate::form::Typed;
use crate::jobs::paper::{moment, sheet_of};
use crate::page::{see_told, wrong};
use crate::state::{State, answer, ask};
use crate::when;

/// Carries an answer out and says what was done.
type Act = Box<dyn FnOnce(&World, &Found) -> Result<String, Error> + Send>;

pub(super) async fn take(
    state: web::Data<State>,
    path: web::Path<(String, String)>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let (number, secret) = path.into_inner();
    let mut form = form.into_inner();
    let found = answer(&state, move |world| mailed::find(world, &number, &secret)).await?;
    let now = when::local(state.world.now());
    if let Some(act) = read(&mut form, &found, now)?
        && !form.is_wrong()
    {
        let found = found.clone();
        match ask(&state, move |world| act(world, &found)).await {
            Ok(said) => return Ok(see_told("/replied", &said)),
            Err(error) => form.take_wrongs(error)?,
        }
    }
    let (shown, view) = answer(&state, move |world| {
        let view = mailed::open(world, &found)?;
        Ok((found, view))
    })
    .await?;
    wrong(&page_of(&state, &shown, view, form))
}

fn read(form: &mut Typed, found: &Found, now: NaiveDateTime) -> Result<Option<Act>, Failure> {
    match form.value("act").to_owned().as_str() {
        "take" => Ok(taking(form)),
        "propose" => Ok(proposing(form)),
        "decline" => {
            let reason = form.text("reason", "Say in a word why, so that the office can plan.");
            let once = form.once();
            Ok(Some(Box::new(move |world, found| {
                mailed::decline(world, found, &reason, &once)?;
                Ok("The office knows that you do not take it.".to_owned())
            })))
        }
        "report" => Ok(reporting(form, found, now)?),
        _ => {
            form.complain("act", "Choose one of the answers.");
            Ok(None)
        }
    }
}

/// The day with its hours, under the names of one of the two small forms.
fn day_of(form: &mut Typed, (day, from, until): (&str, &str, &str)) -> Option<Day> {
    let read: (Option<NaiveDate>, Option<NaiveTime>, Option<NaiveTime>) =
        (form.date(day), form.time(from), form.time(until));
    for (given, field) in [
        (read.0.is_some(), day),
        (read.1.is_some(), from),
        (read.2.is_some(), until),
    ] {
        if !given && form.error(field).is_none() {
            form.complain(field, "A day is named with its beginning and its end.");
        }
    }
    Some(Day {
        day: read.0?,
        from: read.1?,
        until: read.2?,
    })
}

fn engineer_of(form: &mut Typed) -> Option<EngineerId> {
    form.text_or_none("engineer")?;
    form.code("engineer", "Choose one of the list.")
}

fn taking(form: &mut Typed) -> Option<Act> {
    let (once, engineer) = (form.once(), engineer_of(form));
    let day = day_of(form, ("day", "from", "until"))?;
    let taken = Taken { day, engineer };
    Some(Box::new(move |world, found| {
        mailed::take(world, found, &taken, &once)?;
        Ok("The job is yours and the day is booked. A mail to report the visit comes on its morning.".to_owned())
    }))
}

fn proposing(form: &mut Typed) -> Option<Act> {
    let (once, words) = (form.once(), form.value("words").to_owned());
    let day = day_of(form, ("other_day", "other_from", "other_until"))?;
    let proposal = Proposal { day, words };
    Some(Box::new(move |world, found| {
        mailed::propose(world, found, &proposal, &once).map_err(at_the_other_day)?;
        Ok("The office reads your day and answers by mail or telephone.".to_owned())
    }))
}

/// The two small forms stand on one page, so their fields have names of their own.
fn at_the_other_day(error: Error) -> Error {
    match error {
        Error::Invalid(mut wrongs) => {
            for wrong in &mut wrongs {
                if matches!(wrong.field.as_str(), "day" | "from" | "until") {
                    wrong.field = format!("other_{}", wrong.field);
                }
            }
            Error::Invalid(wrongs)
        }
        other => other,
    }
}

fn reporting(form: &mut Typed, found: &Found, now: NaiveDateTime) -> Result<Option<Act>, Error> {
    let (once, engineer) = (form.once(), engineer_of(form));
    let arrived: Option<DateTime<Utc>> = moment(form, "arrived", now);
    if arrived.is_none() && form.error("arrived").is_none() {
        form.complain("arrived", "Say when you came.");
    }
    let left_at = moment(form, "left", now);
    let sheet = sheet_of(form)?;
    let Some(arrived_at) = arrived else {
        return Ok(None);
    };
    let visit = PaperVisit {
        job: found.link.job,
        source: PaperSource::Mail,
        arrived_at,
        left_at,
        firm: None,
        engineer,
        sheet,
    };
    Ok(Some(Box::new(move |world, found| {
        let closed = mailed::report(world, found, &visit, &once)?;
        Ok(format!(
            "The visit is written down; the job is {}.",
            closed.state
        ))
    })))
}
