//! Logging a fault call with the resident on the telephone: by keyboard, smell and carbon monoxide first.
use actix_web::{HttpResponse, web};
use askama::Template;
use chrono::NaiveDateTime;
use terms::place::SpaceCard;
use terms::{FunctionLost, OutageId, Role, SpaceId};
use usecases::outages::{self, OutageCard};
use usecases::work::{self, FaultCall, LeakKind, Place};
use usecases::{Error, Seat};
use wording::sentences::counted;
use wording::{Choice, Link, Row, Shell};

use crate::Failure;
use crate::form::{Typed, fresh_once};
use crate::jobs::words;
use crate::outages::proposal_row;
use crate::page::{page, see, see_told, wrong};
use crate::seats::Desk;
use crate::state::{State, answer, ask};
use crate::when;

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config.service(
        web::resource("/calls/new")
            .route(web::get().to(show))
            .route(web::post().to(take)),
    );
}

#[derive(Template)]
#[template(path = "calls/find.html")]
struct FindPage {
    shell: Shell,
    q: String,
    rows: Vec<Row>,
    proposed: Vec<Row>,
}

#[derive(Template)]
#[template(path = "calls/new.html")]
struct CallPage {
    shell: Shell,
    form: Typed,
    place: Place,
    known: Option<Choice>,
    once: String,
}

impl CallPage {
    fn losses(&self) -> Vec<Choice> {
        let typed = self.form.value("lost");
        let order = [
            FunctionLost::GasOrCo,
            FunctionLost::Heating,
            FunctionLost::HotWater,
            FunctionLost::HeatingAndHotWater,
            FunctionLost::Leak,
            FunctionLost::Noise,
            FunctionLost::Other,
        ];
        order
            .into_iter()
            .map(|lost| {
                let hint = match lost {
                    FunctionLost::GasOrCo => "Read the script first.",
                    FunctionLost::Heating => "Taps run hot.",
                    FunctionLost::HotWater => "Rooms are warm.",
                    _ => "",
                };
                Choice::new(lost.code(), words::lost_words(lost), typed == lost.code()).hint(hint)
            })
            .collect()
    }

    fn leaks(&self) -> Vec<Choice> {
        let typed = self.form.value("leak");
        [
            ("contained", "a bucket holds it, or it drips"),
            ("uncontrolled", "nobody can stop it"),
            (
                "on_electrics",
                "it runs over sockets, lamps or the fuse board",
            ),
        ]
        .into_iter()
        .map(|(code, label)| Choice::new(code, label, typed == code))
        .collect()
    }

    /// The rule's own words; none is the first.
    fn hazards(&self) -> Vec<Choice> {
        crate::jobs::hazards(self.form.value("hazard"))
    }

    fn units(&self) -> Vec<Choice> {
        let typed = self.form.value("unit");
        let mut choices = vec![Choice::new("", "not said", typed.is_empty())];
        choices.extend(self.place.units.iter().map(|u| {
            let id = u.id.to_string();
            let chosen = id == typed;
            Choice::new(id, format!("{} {}", u.kind_name, u.number), chosen)
        }));
        choices
    }

    fn open(&self) -> Vec<Row> {
        self.place
            .open
            .iter()
            .map(|job| {
                Row::about(
                    format!("open-{}", job.id),
                    Link::new(job.number.clone(), format!("/jobs/{}", job.id)),
                    format!(" is {}: {}.", job.state, words::what(job, None)),
                )
            })
            .collect()
    }
}

async fn show(
    desk: Desk,
    state: web::Data<State>,
    query: web::Query<Typed>,
) -> Result<HttpResponse, Failure> {
    let form = query.into_inner();
    if form.text_or_none("space").is_some() {
        let place = place(&state, &desk.seat, &form).await?;
        let known = known(&state, &desk.seat, &form, place.space.id).await?;
        return page(&CallPage {
            shell: desk.shell(&state, "call"),
            form,
            place,
            known,
            once: fresh_once(),
        });
    }
    let (seat, q) = (desk.seat.clone(), form.value("q").trim().to_owned());
    let text = q.clone();
    let found: Vec<SpaceCard> = if text.is_empty() {
        Vec::new()
    } else {
        answer(&state, move |world| work::find_places(world, &seat, &text)).await?
    };
    if let [only] = found.as_slice() {
        return Ok(see(&format!("/calls/new?space={}", only.id)));
    }
    let rows = found
        .iter()
        .map(|space| {
            Row::about(
                format!("space-{}", space.id),
                Link::new(space.name.clone(), format!("/calls/new?space={}", space.id)),
                format!(", {}.", space.building_name),
            )
        })
        .collect();
    page(&FindPage {
        shell: desk.shell(&state, "call"),
        q,
        rows,
        proposed: proposed(&desk, &state).await?,
    })
}

async fn place(state: &web::Data<State>, seat: &Seat, form: &Typed) -> Result<Place, Failure> {
    let space: SpaceId = form
        .value("space")
        .parse()
        .or(Err(Error::NotFound("space")))?;
    let seat = seat.clone();
    answer(state, move |world| work::place_of(world, &seat, space)).await
}

/// What the calls of the last hours point to.
async fn proposed(desk: &Desk, state: &web::Data<State>) -> Result<Vec<Row>, Failure> {
    let seat = desk.seat.clone();
    let found = answer(state, move |world| outages::suspicion(world, &seat)).await?;
    let rows = found.proposals.iter().enumerate();
    Ok(rows.map(|(n, p)| proposal_row(n, p)).collect())
}

/// The outage this home may be in, to be ticked: "no hot water in five homes on Riser 4".
async fn known(
    state: &web::Data<State>,
    seat: &Seat,
    form: &Typed,
    space: SpaceId,
) -> Result<Option<Choice>, Failure> {
    let seat = seat.clone();
    let found: Option<OutageCard> =
        answer(state, move |world| outages::known_at(world, &seat, space)).await?;
    Ok(found.map(|card| {
        let pipe = card.branch_name.as_ref().unwrap_or(&card.building_name);
        let homes = counted(card.homes.len() as u64, "home", "homes");
        let said = format!("{} in {homes} on {pipe}", words::lost_words(card.lost));
        let id = card.id.to_string();
        let chosen = form.value("outage") == id;
        Choice::new(id, said, chosen)
    }))
}

async fn take(
    desk: Desk,
    state: web::Data<State>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let once = form.once();
    let place = place(&state, &desk.seat, &form).await?;
    let now = when::local(state.world.now());
    let call = read(&mut form, place.space.id, now);
    let hazard = crate::jobs::hazard_said(form.value("hazard"));
    if let (false, Some(call)) = (form.is_wrong(), call) {
        let (seat, key) = (desk.seat.clone(), once.clone());
        let outage: Option<OutageId> = form.value("outage").parse().ok();
        match ask(&state, move |world| match outage {
            Some(outage) => outages::log_call_into(world, &seat, (call, hazard, outage), &key),
            None => work::log_call_of(world, &seat, (call, hazard), &key),
        })
        .await
        {
            Ok(logged) => {
                let repeat = logged.repeat.as_ref().map_or_else(String::new, |r| {
                    format!(" The same was put right as {} not long ago.", r.number)
                });
                let said = format!("Tell them: {}{repeat}", logged.tell);
                let href = match desk.seat.role() {
                    Role::OutOfHours => "/calls/new".to_owned(),
                    _ => format!("/jobs/{}", logged.job),
                };
                return Ok(see_told(&href, &said));
            }
            Err(error) => form.take_wrongs(error)?,
        }
    }
    let known = known(&state, &desk.seat, &form, place.space.id).await?;
    wrong(&CallPage {
        shell: desk.shell(&state, "call"),
        form,
        place,
        known,
        once,
    })
}

fn read(form: &mut Typed, space: SpaceId, now: NaiveDateTime) -> Option<FaultCall> {
    let lost: Option<FunctionLost> = form.code(
        "lost",
        "Say what was lost; ask for gas and the alarm first.",
    );
    let leak = match form.value("leak") {
        "contained" => Some(LeakKind::Contained),
        "uncontrolled" => Some(LeakKind::Uncontrolled),
        "on_electrics" => Some(LeakKind::OnElectrics),
        _ => None,
    };
    if lost == Some(FunctionLost::Leak) && leak.is_none() {
        form.complain(
            "leak",
            "Ask whether the leak can be stopped, and whether it is near anything electrical.",
        );
    }
    let since = form.said_moment("since", now).and_then(|wall| {
        let at = when::instant(wall);
        if at.is_none() {
            form.complain(
                "since",
                "That hour does not exist on this day: the clocks go forward.",
            );
        }
        at
    });
    let unit = match form.text_or_none("unit") {
        Some(_) => form.code("unit", "Choose one of its units."),
        None => None,
    };
    Some(FaultCall {
        space,
        function_lost: lost?,
        leak,
        since,
        unit,
        words: form.value("words").trim().to_owned(),
    })
}
