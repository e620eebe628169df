//! What is known of a building, stated anew.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::BuildingId;
use terms::place::BuildingCard;
use usecases::register::{self, BuildingFacts, BuildingView};
use wording::{Choice, Shell};

use crate::Failure;
use crate::form::{Typed, fresh_once, id_of};
use crate::page::{page, told_unless_wrong, wrong};
use crate::seats::Desk;
use crate::state::{State, answer, ask};

#[derive(Template)]
#[template(path = "buildings/facts.html")]
struct FactsPage {
    shell: Shell,
    building_id: String,
    building_name: String,
    asbestos: Vec<Choice>,
    height: Vec<Choice>,
    roof: Vec<Choice>,
    form: Typed,
    once: String,
}

async fn load(
    desk: &Desk,
    state: &web::Data<State>,
    id: BuildingId,
) -> Result<BuildingView, Failure> {
    let seat = desk.seat.clone();
    answer(state, move |world| {
        register::building_view(world, &seat, id)
    })
    .await
}

fn facts_page(shell: Shell, card: &BuildingCard, form: Typed) -> FactsPage {
    let choice = |field: &str, value: &str, label: &str| {
        Choice::new(value, label, form.value(field) == value)
    };
    FactsPage {
        building_id: card.id.to_string(),
        building_name: card.name.clone(),
        asbestos: vec![
            choice("asbestos", "unknown", "Not seen yet"),
            choice(
                "asbestos",
                "none",
                "There is none to keep: built after 1999",
            ),
            choice("asbestos", "clear", "Seen, nothing listed where we work"),
            choice("asbestos", "present", "Seen, asbestos is listed"),
        ],
        height: vec![
            choice("height", "yes", "18 metres, or seven storeys, and more"),
            choice("height", "no", "Lower"),
            choice("height", "unknown", "Not known"),
        ],
        roof: vec![
            choice("roof", "flat", "Flat, with a parapet"),
            choice("roof", "pitched", "Pitched"),
            choice("roof", "sheds", "A row of sheds, as on a mill"),
        ],
        once: form.once(),
        shell,
        form,
    }
}

/// The form as it stands.
pub(super) async fn show(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let view = load(&desk, &state, id_of(&path, "building")?).await?;
    let card = &view.building;
    let height = match card.higher_risk {
        Some(true) => "yes",
        Some(false) => "no",
        None => "unknown",
    };
    let number = |n: Option<String>| n.unwrap_or_default();
    let form = Typed::starting_with([
        ("once", fresh_once()),
        ("address", card.address.clone()),
        ("built", number(card.built_year.map(|y| y.to_string()))),
        (
            "hardness",
            number(card.hardness_mg_l.map(|h| h.to_string())),
        ),
        ("asbestos", card.asbestos_register.clone()),
        ("height", height.to_owned()),
        ("roof", view.roof.clone()),
    ]);
    page(&facts_page(desk.shell(&state, "buildings"), card, form))
}

/// Takes it.
pub(super) async fn take(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let id: BuildingId = id_of(&path, "building")?;
    let view = load(&desk, &state, id).await?;
    let card = &view.building;
    let mut form = form.into_inner();
    let built_year = form.number("built", 0.0, 9999.0).map(|y| y as i32);
    let hardness_mg_l = form.number("hardness", 0.0, 1000.0);
    if !form.is_wrong() {
        let asked = BuildingFacts {
            address: form.value("address").to_owned(),
            built_year,
            higher_risk: match form.value("height") {
                "yes" => Some(true),
                "no" => Some(false),
                _ => None,
            },
            hardness_mg_l,
            asbestos_register: form.value("asbestos").to_owned(),
            roof: match form.value("roof") {
                "" => view.roof.clone(),
                shape => shape.to_owned(),
            },
        };
        let (seat, once) = (desk.seat.clone(), form.once());
        let done = ask(&state, move |world| {
            register::correct_building(world, &seat, (id, asked), &once)
        });
        let building = format!("/buildings/{id}");
        let there = (
            building.as_str(),
            "It is kept; what stood before stays in the history.",
        );
        if let Some(told) = told_unless_wrong(done.await, &mut form, there)? {
            return Ok(told);
        }
    }
    wrong(&facts_page(desk.shell(&state, "buildings"), card, form))
}
