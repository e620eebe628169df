//! Entering a riser, zone or header with what feeds it and what hangs on it.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::{BuildingId, SpaceId, UnitId};
use usecases::register::{self, BuildingView, NewBranch};
use wording::{Choice, Shell};

use super::section::number;
use crate::Failure;
use crate::form::{Typed, fresh_once, id_of};
use crate::page::{page, see_told, wrong};
use crate::seats::Desk;
use crate::state::{State, answer, ask};
use crate::when;

#[derive(Template)]
#[template(path = "buildings/branch.html")]
struct BranchPage {
    shell: Shell,
    form: Typed,
    once: String,
    building_id: String,
    building_name: String,
    kinds: Vec<Choice>,
    feeders: Vec<Choice>,
    over: Vec<Choice>,
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

fn branch_page(shell: Shell, view: &BuildingView, form: Typed) -> BranchPage {
    let kinds = [("riser", "Riser"), ("zone", "Zone"), ("header", "Header")]
        .map(|(code, label)| Choice::new(code, label, form.value("kind") == code));
    let feeders = view
        .plant
        .iter()
        .map(|p| {
            let id = p.unit.id.to_string();
            let chosen = form.values("unit").contains(&id);
            Choice::new(id, &p.unit.number, chosen)
        })
        .collect();
    let none = Choice::new("", "Nothing above it", form.value("over").is_empty());
    let over = view.branches.iter().map(|b| {
        let id = b.id.to_string();
        let chosen = form.value("over") == id;
        Choice::new(id, &b.name, chosen)
    });
    BranchPage {
        once: form.once(),
        building_id: view.building.id.to_string(),
        building_name: view.building.name.clone(),
        kinds: kinds.to_vec(),
        feeders,
        over: std::iter::once(none).chain(over).collect(),
        shell,
        form,
    }
}

/// The form.
pub(super) async fn new(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let id: BuildingId = id_of(&path, "building")?;
    let view = load(&desk, &state, id).await?;
    let form = Typed::starting_with([("once", fresh_once()), ("kind", "riser".to_owned())]);
    page(&branch_page(desk.shell(&state, "buildings"), &view, form))
}

/// Takes it.
pub(super) async fn take(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let id: BuildingId = id_of(&path, "building")?;
    let mut form = form.into_inner();
    let view = load(&desk, &state, id).await?;
    let spaces = spaces(&mut form, &view);
    let name = form.text("name", "A branch needs a name.");
    let needed = form.number("needed", 0.0, 50.0).map(|n| n as i32);
    let today = when::local_day(state.world.now());
    let from_on = form.date("from").unwrap_or(today);
    if form.is_wrong() {
        return wrong(&branch_page(desk.shell(&state, "buildings"), &view, form));
    }
    let asked = NewBranch {
        building: id,
        name: name.clone(),
        kind: form.value("kind").to_owned(),
        needed,
        spaces,
        fed_by: form
            .values("unit")
            .iter()
            .filter_map(|u| u.parse::<UnitId>().ok())
            .collect(),
        fed_by_branch: form.value("over").parse().ok(),
        from_on,
    };
    let (seat, once) = (desk.seat.clone(), form.once());
    let done = ask(&state, move |world| {
        register::add_branch(world, &seat, asked, &once)
    });
    match done.await {
        Ok(_) => Ok(see_told(
            &format!("/buildings/{id}?ask=pipes"),
            &format!("{name} is entered."),
        )),
        Err(error) => {
            form.take_wrongs(error)?;
            wrong(&branch_page(desk.shell(&state, "buildings"), &view, form))
        }
    }
}

/// "4, 12, 20" or "1-8": flats by their numbers.
fn spaces(form: &mut Typed, view: &BuildingView) -> Vec<SpaceId> {
    let typed = form.value("flats").to_owned();
    let mut found = Vec::new();
    let mut strangers = Vec::new();
    let find = |wanted: &str| {
        view.flats
            .iter()
            .find(|f| number(&f.space.name).eq_ignore_ascii_case(wanted))
            .map(|f| f.space.id)
    };
    for word in typed.split([',', ';', ' ']).filter(|w| !w.is_empty()) {
        let span = word
            .split_once(['-', '–'])
            .and_then(|(a, b)| Some((a.parse::<u32>().ok()?, b.parse::<u32>().ok()?)))
            .filter(|(a, b)| a <= b && b - a < 500);
        let wanted: Vec<String> = match span {
            Some((a, b)) => (a..=b).map(|n| n.to_string()).collect(),
            None => vec![word.to_owned()],
        };
        for one in wanted {
            match find(&one) {
                Some(id) if !found.contains(&id) => found.push(id),
                Some(_) => {}
                None => strangers.push(one),
            }
        }
    }
    if let Some(first) = strangers.first() {
        form.complain(
            "flats",
            format!("There is no flat {first} in this building."),
        );
    }
    found
}
