//! The outlets of a building, kept by the desk: added, taken off, put in walking order.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::{BuildingId, OutletCard, OutletId, OutletPlace, SpaceId, UnitId};
use usecases::water::{self, NewOutlet, OutletsView, Step};
use usecases::{Error, Seat};
use wording::sentences::{capital, counted, dates};
use wording::{Choice, Row, Shell, Verb};

use super::place_words;
use crate::Failure;
use crate::form::{Typed, fresh_once, id_of};
use crate::page::{page, see_told, wrong};
use crate::seats::Desk;
use crate::state::{State, answer, ask};

#[derive(Template)]
#[template(path = "temperatures/outlets.html")]
struct OutletsPage {
    shell: Shell,
    building: BuildingId,
    name: String,
    heading: String,
    rows: Vec<Row>,
    ended: Vec<Row>,
    places: Vec<Choice>,
    spaces: Vec<Choice>,
    stores: Vec<Choice>,
    form: Typed,
    once: String,
}

async fn load(
    seat: Seat,
    state: &web::Data<State>,
    building: BuildingId,
) -> Result<OutletsView, Failure> {
    answer(state, move |world| {
        water::outlets_view(world, &seat, building)
    })
    .await
}

fn page_of(desk: &Desk, state: &State, view: &OutletsView, form: Typed) -> OutletsPage {
    let place = form.value("place");
    let chosen = |field: &str, value: &str| form.value(field) == value;
    let places = OutletPlace::ALL
        .iter()
        .map(|p| Choice::new(p.code(), capital(p.words()), p.code() == place))
        .collect();
    let mut spaces = vec![Choice::new("", "not said", chosen("space", ""))];
    spaces.extend(view.spaces.iter().map(|s| {
        let id = s.id.to_string();
        let is = chosen("space", &id);
        Choice::new(id, s.name.clone(), is)
    }));
    let mut stores = vec![Choice::new("", "none", chosen("unit", ""))];
    stores.extend(view.stores.iter().map(|u| {
        let id = u.id.to_string();
        let is = chosen("unit", &id);
        Choice::new(id, format!("{}, {}", u.number, u.space_name), is)
    }));
    OutletsPage {
        shell: desk.shell(state, "temperatures"),
        building: view.building.id,
        name: view.building.name.clone(),
        heading: match view.on_round.len() {
            0 => format!("{} has no outlet on its round yet", view.building.name),
            n => format!(
                "{} on the round of {}",
                capital(&counted(n as u64, "outlet is", "outlets are")),
                view.building.name
            ),
        },
        rows: view
            .on_round
            .iter()
            .enumerate()
            .map(|(n, o)| row(view, n + 1, o))
            .collect(),
        ended: view.ended.iter().map(ended).collect(),
        places,
        spaces,
        stores,
        once: match form.value("once") {
            "" => fresh_once(),
            key => key.to_owned(),
        },
        form,
    }
}

fn row(view: &OutletsView, turn: usize, outlet: &OutletCard) -> Row {
    let space = view.spaces.iter().find(|s| Some(s.id) == outlet.space);
    let store = view.stores.iter().find(|u| Some(u.id) == outlet.unit);
    let mut said = vec![place_words(outlet.place).to_owned()];
    said.extend(space.map(|s| s.name.clone()));
    said.extend(store.map(|u| format!("served by {}", u.number)));
    if outlet.little_used {
        said.push("seldom used: flushed on the round".to_owned());
    }
    let to = |act: &str| {
        format!(
            "/temperatures/{}/outlets/{}/{act}",
            outlet.building, outlet.id
        )
    };
    let fields = || vec![("once".to_owned(), fresh_once())];
    Row::plain(
        format!("o-{}", outlet.id),
        format!("{turn}. {}: {}.", outlet.name, said.join(", ")),
    )
    .verb(Verb::post("Walk it earlier", to("up"), fields()))
    .verb(Verb::post("Walk it later", to("down"), fields()))
    .other(Verb::post("Take it off the round", to("end"), fields()))
}

fn ended(outlet: &OutletCard) -> Row {
    let on = outlet.ended_on.map_or_else(String::new, dates::day);
    Row::plain(
        format!("o-{}", outlet.id),
        format!(
            "{}: {}, taken off the round on {on}. Its temperatures are kept.",
            outlet.name,
            place_words(outlet.place)
        ),
    )
}

/// The page.
pub(super) async fn show(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let building: BuildingId = id_of(&path, "building")?;
    let view = load(desk.seat.clone(), &state, building).await?;
    page(&page_of(&desk, &state, &view, Typed::default()))
}

/// A new outlet.
pub(super) async fn take(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let building: BuildingId = id_of(&path, "building")?;
    let mut form = form.into_inner();
    let once = form.once();
    let place: Option<OutletPlace> = form.code("place", "Say what it tells.");
    let name = form.text(
        "name",
        "Say which tap it is, so that somebody new finds it.",
    );
    let space: Option<SpaceId> = form.text_or_none("space").and_then(|id| id.parse().ok());
    let unit: Option<UnitId> = form.text_or_none("unit").and_then(|id| id.parse().ok());
    if let (Some(place), false) = (place, form.is_wrong()) {
        let new = NewOutlet {
            building,
            name,
            place,
            space,
            unit,
            little_used: form.ticked("little_used"),
        };
        let seat = desk.seat.clone();
        match ask(&state, move |world| {
            water::add_outlet(world, &seat, new, &once)
        })
        .await
        {
            Ok(_) => {
                return Ok(see_told(
                    &format!("/temperatures/{building}/outlets"),
                    "It is on the round, at the end of the walk.",
                ));
            }
            Err(error) => form.take_wrongs(error)?,
        }
    }
    let view = load(desk.seat.clone(), &state, building).await?;
    wrong(&page_of(&desk, &state, &view, form))
}

/// Earlier, later, or off the round.
pub(super) async fn change(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<(String, String, String)>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let outlet: OutletId = id_of(&path.1, "outlet")?;
    let (once, act, seat) = (form.once(), path.2.clone(), desk.seat.clone());
    let told = match act.as_str() {
        "up" | "down" => "The walk is changed.",
        "end" => "It is off the round; its temperatures are kept.",
        _ => return Err(Failure(Error::NotFound("page"))),
    };
    let building = answer(&state, move |world| match act.as_str() {
        "up" => water::move_outlet(world, &seat, (outlet, Step::Up), &once),
        "down" => water::move_outlet(world, &seat, (outlet, Step::Down), &once),
        _ => water::end_outlet(world, &seat, outlet, &once),
    })
    .await?;
    Ok(see_told(&format!("/temperatures/{building}/outlets"), told))
}
