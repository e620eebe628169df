//! Deciding upon an advice, going ahead inside both limits, and asking for an advice.
use actix_web::{HttpResponse, web};
use terms::{AdviceId, Choice, Role, UnitId};
use usecases::Error;
use usecases::advice::{self, Beside, DecideForm, Decided};

use super::show;
use crate::Failure;
use crate::form::{Typed, id_of};
use crate::page::{see, see_told, wrong};
use crate::seats::{Desk, Reader, Road};
use crate::state::{State, answer, ask};

/// Takes a decision.
pub(crate) async fn take(
    reader: Reader,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut typed = form.into_inner();
    let id: AdviceId = id_of(&path, "advice")?;
    let by_desk = reader.seat.role() != Role::Landlord;
    if let Some(form) = read(&mut typed, id) {
        let (seat, once, choice) = (reader.seat.clone(), typed.once(), form.choice);
        let beside = Beside {
            password: typed.value("password").to_owned(),
            digits: typed.value("digits").to_owned(),
            asked_maker: typed.ticked("asked_maker"),
            asked_firm: typed.ticked("asked_firm"),
        };
        match ask(&state, move |world| {
            advice::decide_with(world, &seat, &form, &beside, &once)
        })
        .await
        {
            Ok(done) => return Ok(told(&done, choice, id, by_desk)),
            Err(error) => typed.take_wrongs(error).map_err(Failure)?,
        }
    }
    let seen = show::load(&reader, &state, &path).await?;
    wrong(&show::build(
        &seen,
        reader.shell(&state, "advice"),
        (by_desk, state.sets_papers()),
        typed,
    ))
}

fn read(typed: &mut Typed, advice: AdviceId) -> Option<DecideForm> {
    let chosen = typed.value("choice").to_owned();
    let (choice, option) = match chosen.split_once(':') {
        Some(("replace", code)) => (Some(Choice::Replace), Some(code.to_owned())),
        Some(_) => (None, None),
        None => (chosen.parse().ok(), None),
    };
    let Some(choice) = choice else {
        typed.complain("choice", "Choose one of the courses.");
        return None;
    };
    let how = match typed.value("how") {
        "" => "page".to_owned(),
        how => how.to_owned(),
    };
    Some(DecideForm {
        advice,
        choice,
        option,
        reason: typed.value("reason").to_owned(),
        how,
        on_behalf_of: typed.value("on_behalf_of").to_owned(),
    })
}

/// The desk is told where the job stands; the landlord, what follows.
fn told(done: &Decided, choice: Choice, id: AdviceId, by_desk: bool) -> HttpResponse {
    if by_desk {
        let job = match &done.job {
            Some((_, number, state)) => format!(" Job {number} is {state}."),
            None => String::new(),
        };
        let sentence = format!("Decided for {}.{job}", done.unit_number);
        return see_told(&format!("/advice/{id}"), &sentence);
    }
    let follows = match choice {
        Choice::Repair => "The firm that quoted goes on with the repair.",
        Choice::Replace => {
            "Your agent orders the replacement; a repair, if one was asked for, is not done."
        }
        Choice::Keep => "Nothing is ordered.",
        Choice::AnotherQuote => "Another quote is asked for.",
    };
    see_told(
        "/letter",
        &format!("Decided, with your reason kept. {follows}"),
    )
}

/// The quoting firm goes ahead inside both limits.
pub(crate) async fn go_ahead(
    road: Road,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let typed = form.into_inner();
    let id: AdviceId = id_of(&path, "advice")?;
    let (seats, once) = (road.seats.clone(), typed.once());
    let done = answer(&state, move |world| {
        for seat in &seats {
            match advice::go_ahead(world, seat, id, &once) {
                Err(Error::NotFound(_)) => {}
                other => return other,
            }
        }
        Err(Error::NotFound("advice"))
    })
    .await?;
    let sentence = "Gone ahead inside both limits; the agent is told.";
    Ok(match done.job {
        Some((job, _, _)) => see_told(&format!("/sheet/{job}"), sentence),
        None => see_told("/my-day", sentence),
    })
}

/// The agent asks for an advice without a quote.
pub(crate) async fn make(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let typed = form.into_inner();
    let unit: UnitId = id_of(&path, "unit")?;
    let (seat, once) = (desk.seat.clone(), typed.once());
    let id = answer(&state, move |world| {
        advice::make_advice(world, &seat, unit, &once)
    })
    .await?;
    Ok(see(&format!("/advice/{id}")))
}

/// The agent or the landlord asks for a quote of the new unit.
pub(crate) async fn quote_new(
    reader: Reader,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let typed = form.into_inner();
    let id: AdviceId = id_of(&path, "advice")?;
    let (seat, once) = (reader.seat.clone(), typed.once());
    let number = answer(&state, move |world| {
        advice::ask_new_quote(world, &seat, id, &once)
    })
    .await?;
    Ok(see_told(
        &format!("/advice/{id}#unknown"),
        &format!("Asked for: job {number} is open, and the agent places it with a firm."),
    ))
}
