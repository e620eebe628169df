//! The cold-night drill: what would be cold on one night, once in how many winters, and what makes it rarer.
mod asked;
mod told;

use actix_web::{HttpResponse, web};
use askama::Template;
use terms::{BuildingId, Role};
use usecases::drill::{self, AskedPart, DrillView};
use wording::sentences::plural;
use wording::{Ask, Drawing, Row, Shell};

use crate::Failure;
use crate::form::{Typed, fresh_once, id_of};
use crate::page::{page, see_told, wrong};
use crate::seats::{Desk, LogReader};
use crate::state::{State, answer, ask};
use crate::when;

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config.service(
        web::resource("/drill")
            .route(web::get().to(show))
            .route(web::post().to(take)),
    );
}

#[derive(Template)]
#[template(path = "drill/drill.html")]
struct DrillPage {
    shell: Shell,
    facts: Vec<String>,
    finding: String,
    standing: String,
    asks: Vec<Ask>,
    picture: Option<Drawing>,
    levels: Vec<Row>,
    changes: Vec<Row>,
    form: Typed,
    parts: Vec<(usize, AskedPart)>,
    building: String,
    may_run: bool,
    once: String,
}

async fn show(
    reader: LogReader,
    state: web::Data<State>,
    query: web::Query<Typed>,
) -> Result<HttpResponse, Failure> {
    let of = building_of(query.value("building"))?;
    let seat = reader.seat.clone();
    let may_run = matches!(seat.role(), Role::Agent | Role::Supervisor);
    let view = answer(&state, move |world| drill::view(world, &seat, of)).await?;
    let shell = Shell {
        here: "drill",
        ..reader.shell(&state)
    };
    page(&page_of(shell, view, &Typed::default(), may_run))
}

async fn take(
    desk: Desk,
    state: web::Data<State>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let of = building_of(form.value("building"))?;
    let seat = desk.seat.clone();
    let view = answer(&state, move |world| drill::view(world, &seat, of)).await?;
    let asked = asked::read(&mut form, &view);
    if let Some(asked) = asked.filter(|_| !form.is_wrong()) {
        let (seat, once) = (desk.seat.clone(), form.once());
        match ask(&state, move |world| drill::run(world, &seat, asked, &once)).await {
            Ok(()) => {
                let back = of.map_or_else(
                    || "/drill".to_owned(),
                    |building| format!("/drill?building={building}"),
                );
                return Ok(see_told(
                    &back,
                    "The drill was run; it stands below with what was asked.",
                ));
            }
            Err(error) => form.take_wrongs(error)?,
        }
    }
    wrong(&page_of(desk.shell(&state, "drill"), view, &form, true))
}

fn building_of(text: &str) -> Result<Option<BuildingId>, Failure> {
    match text {
        "" => Ok(None),
        text => id_of(text, "building").map(Some),
    }
}

fn page_of(shell: Shell, view: DrillView, typed: &Typed, may_run: bool) -> DrillPage {
    let mut form = Typed::from(asked::starting(&view.ask));
    form.lay_over(typed);
    let name = view
        .building
        .as_ref()
        .map_or_else(|| "all buildings together".to_owned(), |b| b.name.clone());
    let mut facts = vec![name.clone(), plural(view.homes as u64, "home", "homes")];
    if let Some(last) = &view.last {
        facts.push(format!("drilled {}", when::day_words(last.made_at)));
    }
    let (finding, standing) = match &view.last {
        None => (
            format!("How cold could one night get in {name}?"),
            "State who and what stands ready, and thousands of winters are tried on what the forecasts say.".to_owned(),
        ),
        Some(last) => told::found(last),
    };
    DrillPage {
        shell,
        facts,
        finding,
        standing,
        asks: asks(&view),
        picture: view.last.as_ref().map(told::picture),
        levels: view.last.as_ref().map(told::levels).unwrap_or_default(),
        changes: view.last.as_ref().map(told::changes).unwrap_or_default(),
        form,
        building: view.building.map_or_else(String::new, |b| b.id.to_string()),
        parts: view.ask.parts.into_iter().enumerate().collect(),
        may_run,
        once: match typed.value("once") {
            "" => fresh_once(),
            key => key.to_owned(),
        },
    }
}

fn asks(view: &DrillView) -> Vec<Ask> {
    let mut all = vec![Ask {
        words: "All buildings together".to_owned(),
        href: "/drill".to_owned(),
        current: view.building.is_none(),
    }];
    all.extend(view.buildings.iter().map(|b| Ask {
        words: b.name.clone(),
        href: format!("/drill?building={}", b.id),
        current: view.building.as_ref().is_some_and(|own| own.id == b.id),
    }));
    all
}
