//! One riser, zone or header: what feeds it and what hangs on it, with their days; stating it anew.
use actix_web::{HttpResponse, web};
use askama::Template;
use chrono::NaiveDate;
use terms::{BranchId, FactId, Role, SpaceId, UnitId};
use usecases::register::{self, BranchForm, BranchView, End, NamedLink, NewLink};
use usecases::{Error, Seat, World};
use wording::sentences::{capital, counted, dates, number_word};
use wording::{Choice, Link, Row, Shell};

use crate::Failure;
use crate::form::{Typed, fresh_once, id_of};
use crate::page::{page, see_told, wrong};
use crate::seats::{Desk, Reader};
use crate::state::{State, answer, ask};
use crate::when;

#[derive(Template)]
#[template(path = "buildings/pipe.html")]
struct PipePage {
    shell: Shell,
    branch_id: String,
    building_id: String,
    building_name: String,
    title: String,
    heading: String,
    standing: String,
    feeding: Vec<Row>,
    hanging: Vec<Row>,
    gone: Vec<Row>,
    kinds: Vec<Choice>,
    to_hang: Vec<Choice>,
    to_feed: Vec<Choice>,
    on_it: Vec<Choice>,
    may_write: bool,
    form: Typed,
    once: String,
}

/// The page.
pub(super) async fn show(
    reader: Reader,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let id: BranchId = id_of(&path, "branch")?;
    let seat = reader.seat.clone();
    let may_write = seat.role() == Role::Agent;
    let view = answer(&state, move |world| register::branch_view(world, &seat, id)).await?;
    let form = typed_from(&view, when::local_day(state.world.now()));
    let shell = reader.shell(&state, "buildings");
    page(&pipe_page(shell, &view, form, may_write))
}

/// The forms as they stand.
fn typed_from(view: &BranchView, today: NaiveDate) -> Typed {
    let branch = &view.branch;
    let needed = branch.needed.map_or_else(String::new, |n| n.to_string());
    Typed::starting_with([
        ("once", fresh_once()),
        ("name", branch.name.clone()),
        ("kind", branch.kind.clone()),
        ("needed", needed),
        ("from", dates::machine(today)),
        ("off", dates::machine(today)),
    ])
}

fn pipe_page(shell: Shell, view: &BranchView, form: Typed, may_write: bool) -> PipePage {
    let branch = &view.branch;
    let kinds = [("riser", "Riser"), ("zone", "Zone"), ("header", "Header")]
        .map(|(code, label)| Choice::new(code, label, form.value("kind") == code));
    let lasting: Vec<&NamedLink> = view
        .links
        .iter()
        .filter(|l| l.stay.until_on.is_none())
        .collect();
    let feeds_it = |link: &&&NamedLink| !matches!(link.stay.end, End::Space(_));
    let hangs = |link: &&&NamedLink| matches!(link.stay.end, End::Space(_));
    let mut hanging: Vec<Row> = lasting.iter().filter(hangs).map(|l| link_row(l)).collect();
    hanging.extend(view.feeds.iter().map(|(id, name)| {
        Row::about(
            format!("over-{id}"),
            Link::new(name, format!("/branches/{id}")),
            " is fed by it.",
        )
    }));
    PipePage {
        branch_id: branch.id.to_string(),
        building_id: view.building.id.to_string(),
        building_name: view.building.name.clone(),
        title: branch.name.clone(),
        heading: heading(view),
        standing: standing(view),
        feeding: lasting
            .iter()
            .filter(feeds_it)
            .map(|l| link_row(l))
            .collect(),
        hanging,
        gone: view
            .links
            .iter()
            .filter(|l| l.stay.until_on.is_some())
            .map(link_row)
            .collect(),
        kinds: kinds.to_vec(),
        to_hang: choices(&view.could_hang, "Nothing more", form.value("space")),
        to_feed: choices(&view.could_feed, "Nothing more", form.value("unit")),
        on_it: lasting
            .iter()
            .map(|l| {
                let id = l.stay.id.to_string();
                let chosen = form.value("link") == id;
                Choice::new(id, l.name.clone(), chosen)
            })
            .collect(),
        may_write,
        once: form.once(),
        shell,
        form,
    }
}

fn choices<T: std::fmt::Display>(of: &[(T, String)], none: &str, typed: &str) -> Vec<Choice> {
    let first = Choice::new("", none, typed.is_empty());
    let rest = of.iter().map(|(id, name)| {
        let id = id.to_string();
        let chosen = typed == id;
        Choice::new(id, name, chosen)
    });
    std::iter::once(first).chain(rest).collect()
}

fn heading(view: &BranchView) -> String {
    let branch = &view.branch;
    let homes = counted(branch.spaces.len() as u64, "space", "spaces");
    let feeds = counted(view.feeds.len() as u64, "pipe", "pipes");
    match (branch.spaces.len(), view.feeds.len()) {
        (0, 0) => format!("Nothing hangs on {} yet", branch.name.to_lowercase()),
        (0, _) => format!("{} feeds {feeds}", capital(&branch.name)),
        (_, 0) => format!("{} feeds {homes}", capital(&branch.name)),
        _ => format!("{} feeds {homes} and {feeds}", capital(&branch.name)),
    }
}

/// How many of those fitted it needs, and whether that is known.
fn standing(view: &BranchView) -> String {
    let fitted = view.branch.fed_by.len();
    let units = |n: usize| counted(n as u64, "unit", "units");
    match (fitted, view.branch.needed) {
        (0, _) if view.branch.fed_by_branches.is_empty() => {
            "What feeds it is not known.".to_owned()
        }
        (0, _) => "It is fed through another pipe.".to_owned(),
        (n, None) => format!(
            "{} fitted; how many of them it needs on the coldest day is not known.",
            capital(&counted(n as u64, "unit is", "units are"))
        ),
        (n, Some(needed)) if view.working < needed as usize => format!(
            "It needs {} of {n} fitted on the coldest day, and {} in service: too few.",
            units(needed as usize),
            counted(view.working as u64, "is", "are")
        ),
        (n, Some(needed)) => format!(
            "It needs {} of {n} fitted on the coldest day; {} may be out at a time.",
            units(needed as usize),
            number_word((view.working - needed as usize) as u64)
        ),
    }
}

fn link_row(link: &NamedLink) -> Row {
    let since = dates::day(link.stay.from_on);
    let days = match link.stay.until_on {
        Some(until) => format!("from {since} to {}", dates::day(until)),
        None => format!("since {since}"),
    };
    let (href, verb) = match link.stay.end {
        End::FedBy(unit) => (format!("/units/{unit}"), "feeds it"),
        End::FedByBranch(other) => (format!("/branches/{other}"), "feeds it"),
        End::Space(space) => (format!("/spaces/{space}"), "hangs on it"),
    };
    Row::about(
        format!("l-{}", link.stay.id),
        Link::new(&link.name, href),
        format!(" {verb}, {days}."),
    )
}

type Act = Box<dyn FnOnce(&World, &Seat) -> Result<(), Error> + Send>;

/// One of the small forms: stated anew, hung on, taken off.
pub(super) async fn take(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<(String, String)>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let (id, act) = path.into_inner();
    let id: BranchId = id_of(&id, "branch")?;
    let mut form = form.into_inner();
    let seat = desk.seat.clone();
    let view = answer(&state, move |world| register::branch_view(world, &seat, id)).await?;
    let today = when::local_day(state.world.now());
    let run = read(&act, &view, &mut form, today)?;
    if let (false, Some(run)) = (form.is_wrong(), run) {
        let seat = desk.seat.clone();
        match ask(&state, move |world| run(world, &seat)).await {
            Ok(()) => {
                return Ok(see_told(
                    &format!("/branches/{id}"),
                    "It is kept; what stood before stays in the history.",
                ));
            }
            Err(error) => form.take_wrongs(error)?,
        }
    }
    let mut whole = typed_from(&view, today);
    whole.lay_over(&form);
    wrong(&pipe_page(
        desk.shell(&state, "buildings"),
        &view,
        whole,
        true,
    ))
}

fn read(
    act: &str,
    view: &BranchView,
    form: &mut Typed,
    today: NaiveDate,
) -> Result<Option<Act>, Failure> {
    let once = form.once();
    let id = view.branch.id;
    Ok(match act {
        "correct" => {
            let needed = form.number("needed", 0.0, 50.0).map(|n| n as i32);
            let asked = BranchForm {
                name: form.value("name").to_owned(),
                kind: form.value("kind").to_owned(),
                needed,
            };
            let run: Act = Box::new(move |world, seat| {
                register::correct_branch(world, seat, (id, asked), &once)
            });
            Some(run)
        }
        "hang" => {
            let from_on = form.date("from").unwrap_or(today);
            let link = NewLink {
                building: view.building.id,
                branch: id,
                space: form.value("space").parse::<SpaceId>().ok(),
                unit: form.value("unit").parse::<UnitId>().ok(),
                from_on,
            };
            let run: Act =
                Box::new(move |world, seat| register::link_branch(world, seat, link, &once));
            Some(run)
        }
        "off" => {
            let link: Option<FactId> = form.code("link", "Say what was taken off.");
            let on = form.date("off").unwrap_or(today);
            link.map(|link| -> Act {
                Box::new(move |world, seat| {
                    register::take_off_branch(world, seat, (id, link, on), &once)
                })
            })
        }
        _ => return Err(Failure(Error::NotFound("page"))),
    })
}
