//! One flat or room: its units over time, who lives there, how to get in; and adding one.
use actix_web::{HttpResponse, web};
use askama::Template;
use chrono::NaiveDate;
use terms::unit::UnitCard;
use terms::{BuildingId, Fate, Role, SpaceId, UsedAs};
use usecases::register::{self, NeedForm, NewSpace, ResidentForm, SpaceForm, SpaceView, WayIn};
use wording::sentences::{capital, counted, dates};
use wording::{Choice, Fact, Row, Shell};

use super::asked::floor_words;
use super::needed;
use super::stood;
use super::tenure;
use crate::Failure;
use crate::form::{Typed, fresh_once, id_of};
use crate::page::{page, see_told, wrong};
use crate::seats::{Desk, Reader};
use crate::state::{State, answer, ask};
use crate::when;

#[derive(Template)]
#[template(path = "buildings/space.html")]
struct SpacePage {
    shell: Shell,
    space_id: String,
    building_id: String,
    building_name: String,
    name: String,
    facts: Vec<String>,
    heading: String,
    standing: String,
    units: Vec<Row>,
    needed: Vec<Row>,
    of_kinds: Vec<Choice>,
    way: Vec<Fact>,
    people: Vec<Row>,
    held: Vec<Row>,
    tenures: Vec<Choice>,
    may_write: bool,
    form: Typed,
    letting: Vec<Choice>,
    once: String,
}

/// The page of a space.
pub(super) async fn show(
    reader: Reader,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let id: SpaceId = id_of(&path, "space")?;
    let seat = reader.seat.clone();
    let view = answer(&state, move |world| register::space_view(world, &seat, id)).await?;
    let may_write = reader.seat.role() == Role::Agent;
    let today = when::local_day(state.world.now());
    let form = typed_from(&view, today);
    page(&space_page(
        reader.shell(&state, "buildings"),
        &view,
        may_write,
        form,
    ))
}

/// The forms of a space as they stand.
fn typed_from(view: &SpaceView, today: NaiveDate) -> Typed {
    let way = view.way_in.clone().unwrap_or_default();
    Typed::starting_with([
        ("name", view.space.name.clone()),
        (
            "let_short",
            match view.space.let_short {
                Some(true) => "yes",
                Some(false) => "no",
                None => "unknown",
            }
            .to_owned(),
        ),
        ("stair", view.space.stair.clone().unwrap_or_default()),
        ("from", dates::machine(today)),
        ("needed_from", dates::machine(today)),
        (
            "tenure",
            view.tenures
                .iter()
                .rfind(|row| row.from_on <= today)
                .map_or_else(String::new, |row| row.tenure.code().to_owned()),
        ),
        ("tenure_from", dates::machine(today)),
        ("how", way.how),
        ("opens", way.opens),
        ("stop_tap", way.stop_tap),
        ("isolation", way.isolation),
        ("meter", way.meter),
    ])
}

fn space_page(shell: Shell, view: &SpaceView, may_write: bool, form: Typed) -> SpacePage {
    let space = &view.space;
    let now: Vec<&UnitCard> = view
        .units
        .iter()
        .filter(|u| u.fate == Fate::InService && u.space == space.id)
        .collect();
    let stair = space
        .stair
        .as_ref()
        .map_or_else(String::new, |s| format!(", stair {s}"));
    let heading = match now.as_slice() {
        [] => format!(
            "Nothing is known yet of what heats {}",
            space.name.to_lowercase()
        ),
        some => format!(
            "{} holds {}",
            space.name,
            counted(some.len() as u64, "unit", "units")
        ),
    };
    let letting = [
        (
            "yes",
            "Let, or a lease under seven years",
            "The gas check is then our duty.",
        ),
        (
            "no",
            "A long lease",
            "Ask the leaseholder for a copy of the record.",
        ),
        ("unknown", "Not known", ""),
    ]
    .map(|(value, label, hint)| {
        Choice::new(value, label, form.value("let_short") == value).hint(hint)
    });
    SpacePage {
        space_id: space.id.to_string(),
        building_id: space.building.to_string(),
        building_name: space.building_name.clone(),
        name: space.name.clone(),
        facts: vec![
            format!("{}, {}", space.name, space.building_name),
            format!("{}{stair}", floor_words(space.ordinal)),
        ],
        heading,
        standing: match view.units.len() - now.len() {
            0 => "Its units over time stand below.".to_owned(),
            gone => format!(
                "{} stood here before.",
                capital(&counted(gone as u64, "other unit", "other units"))
            ),
        },
        units: view.units.iter().map(|u| stood::row(view, u)).collect(),
        needed: needed::rows(view),
        of_kinds: needed::kinds(view, &form),
        way: way_facts(view),
        people: people(view),
        held: tenure::rows(view),
        tenures: tenure::choices(&form),
        may_write,
        letting: letting.to_vec(),
        once: fresh_once(),
        shell,
        form,
    }
}

fn way_facts(view: &SpaceView) -> Vec<Fact> {
    let Some(way) = &view.way_in else {
        return Vec::new();
    };
    [
        ("How to get in", &way.how),
        ("Who opens", &way.opens),
        ("Stop tap", &way.stop_tap),
        ("Isolation valves", &way.isolation),
        ("Meter", &way.meter),
    ]
    .into_iter()
    .filter(|(_, value)| !value.is_empty())
    .map(|(name, value)| Fact::new(name, value.clone()))
    .collect()
}

fn people(view: &SpaceView) -> Vec<Row> {
    let mut rows = Vec::new();
    if let Some((name, phone)) = &view.resident {
        let phone = if phone.is_empty() {
            ", no telephone known".to_owned()
        } else {
            format!(", telephone {phone}")
        };
        rows.push(Row::plain("resident", format!("{name} lives here{phone}.")));
    }
    for (n, need) in view.needs.iter().enumerate() {
        let day = if need.same_day {
            " The clock is the short one."
        } else {
            ""
        };
        rows.push(Row::plain(
            format!("need-{n}"),
            format!("{}.{day}", capital(&need.words)),
        ));
    }
    rows
}

/// The page again, with what cannot be taken.
pub(super) async fn again(
    desk: &Desk,
    state: &web::Data<State>,
    id: SpaceId,
    mut form: Typed,
    error: usecases::Error,
) -> Result<HttpResponse, Failure> {
    form.take_wrongs(error)?;
    let seat = desk.seat.clone();
    let view = answer(state, move |world| register::space_view(world, &seat, id)).await?;
    let mut whole = typed_from(&view, when::local_day(state.world.now()));
    whole.lay_over(&form);
    wrong(&space_page(
        desk.shell(state, "buildings"),
        &view,
        true,
        whole,
    ))
}

pub(super) fn back(id: SpaceId, told: &str) -> HttpResponse {
    see_told(&format!("/spaces/{id}"), told)
}

/// States the facts of a space anew.
pub(super) async fn take_facts(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let id: SpaceId = id_of(&path, "space")?;
    let form = form.into_inner();
    let facts = SpaceForm {
        name: form.value("name").to_owned(),
        let_short: match form.value("let_short") {
            "yes" => Some(true),
            "no" => Some(false),
            _ => None,
        },
        stair: form.text_or_none("stair"),
        site: serde_json::Map::new(),
    };
    let (seat, once) = (desk.seat.clone(), form.once());
    let done = ask(&state, move |world| {
        register::correct_space(world, &seat, id, facts, &once)
    });
    match done.await {
        Ok(()) => Ok(back(
            id,
            "It is kept; what stood before stays in the history.",
        )),
        Err(error) => again(&desk, &state, id, form, error).await,
    }
}

/// Enters who lives there.
pub(super) async fn take_resident(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let id: SpaceId = id_of(&path, "space")?;
    let mut form = form.into_inner();
    let today = when::local_day(state.world.now());
    let from_on = form.date("from").unwrap_or(today);
    let resident = ResidentForm {
        name: form.value("resident").to_owned(),
        phone: form.value("phone").to_owned(),
        from_on,
    };
    let (seat, once) = (desk.seat.clone(), form.once());
    let done = ask(&state, move |world| {
        register::add_resident(world, &seat, id, resident, &once)
    });
    match done.await {
        Ok(()) => Ok(back(id, "The resident is entered.")),
        Err(error) => again(&desk, &state, id, form, error).await,
    }
}

/// Enters a need.
pub(super) async fn take_need(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let id: SpaceId = id_of(&path, "space")?;
    let form = form.into_inner();
    let need = NeedForm {
        words: form.value("need").to_owned(),
        same_day: form.ticked("same_day"),
        from_on: when::local_day(state.world.now()),
    };
    let (seat, once) = (desk.seat.clone(), form.once());
    let done = ask(&state, move |world| {
        register::add_need(world, &seat, id, need, &once)
    });
    match done.await {
        Ok(()) => Ok(back(id, "The need is entered.")),
        Err(error) => again(&desk, &state, id, form, error).await,
    }
}

/// States how to get in.
pub(super) async fn take_way_in(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let id: SpaceId = id_of(&path, "space")?;
    let form = form.into_inner();
    let text = |field: &str| form.value(field).trim().to_owned();
    let way = WayIn {
        how: text("how"),
        opens: text("opens"),
        code: text("code"),
        stop_tap: text("stop_tap"),
        isolation: text("isolation"),
        meter: text("meter"),
    };
    let (seat, once) = (desk.seat.clone(), form.once());
    let done = ask(&state, move |world| {
        register::state_way_in(world, &seat, id, way, &once)
    });
    match done.await {
        Ok(()) => Ok(back(id, "The way in is kept.")),
        Err(error) => again(&desk, &state, id, form, error).await,
    }
}

#[derive(Template)]
#[template(path = "buildings/new-space.html")]
struct NewSpacePage {
    shell: Shell,
    form: Typed,
    once: String,
    building_id: String,
    building_name: String,
    uses: Vec<Choice>,
}

/// The form for one more flat or room.
pub(super) async fn new(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let form = Typed::starting_with([
        ("used_as", UsedAs::Flat.code().to_owned()),
        ("ordinal", "0".to_owned()),
        ("once", fresh_once()),
    ]);
    let id: BuildingId = id_of(&path, "building")?;
    page(&new_page(&desk, &state, id, form).await?)
}

async fn new_page(
    desk: &Desk,
    state: &web::Data<State>,
    id: BuildingId,
    form: Typed,
) -> Result<NewSpacePage, Failure> {
    let seat = desk.seat.clone();
    let view = answer(state, move |world| {
        register::building_view(world, &seat, id)
    })
    .await?;
    let uses = UsedAs::ALL
        .iter()
        .map(|u| {
            Choice::new(
                u.code(),
                capital(u.words()),
                form.value("used_as") == u.code(),
            )
        })
        .collect();
    Ok(NewSpacePage {
        shell: desk.shell(state, "buildings"),
        once: form.once(),
        form,
        building_id: id.to_string(),
        building_name: view.building.name,
        uses,
    })
}

/// Takes it.
pub(super) async fn take_new(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let building: BuildingId = id_of(&path, "building")?;
    let mut form = form.into_inner();
    let ordinal = form.number("ordinal", -3.0, 60.0);
    if ordinal.is_none_or(|n| n.fract() != 0.0) && form.error("ordinal").is_none() {
        form.complain("ordinal", "Say which storey: 0 is the ground.");
    }
    let used_as: Option<UsedAs> = form.code("used_as", "Say what it is used as.");
    let name = form.text("name", "A space needs a name.");
    let (Some(used_as), Some(ordinal), false) = (used_as, ordinal, form.is_wrong()) else {
        return wrong(&new_page(&desk, &state, building, form).await?);
    };
    let asked = NewSpace {
        building,
        ordinal: ordinal as i32,
        name: name.clone(),
        used_as,
        stair: form.text_or_none("stair"),
    };
    let (seat, once) = (desk.seat.clone(), form.once());
    let done = ask(&state, move |world| {
        register::add_space(world, &seat, asked, &once)
    });
    match done.await {
        Ok(id) => Ok(back(id, &format!("{name} is entered."))),
        Err(error) => {
            form.take_wrongs(error)?;
            wrong(&new_page(&desk, &state, building, form).await?)
        }
    }
}
