//! What is not known of a building, who finds it out and by when.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::BuildingId;
use usecases::gaps::{self, FinderForm, Gap, GapsView};
use wording::sentences::{capital, counted, dates, number_word};
use wording::{Choice, Row, Shell, Urgency, Verb};

use crate::Failure;
use crate::form::{Typed, fresh_once, id_of};
use crate::page::{page, see_told, wrong};
use crate::seats::{Desk, Reader};
use crate::state::{State, answer, ask};
use crate::when;

/// Places named before the rest is a number.
const MOST_NAMED: usize = 6;

#[derive(Template)]
#[template(path = "buildings/gaps.html")]
struct GapsPage {
    shell: Shell,
    building_id: String,
    building_name: String,
    heading: String,
    standing: String,
    rows: Vec<Row>,
    choices: Vec<Choice>,
    may_write: bool,
    form: Typed,
    once: String,
}

/// "Flat 1, Flat 2 and four more"
fn named(places: &[String]) -> String {
    let shown: Vec<&str> = places.iter().take(MOST_NAMED).map(String::as_str).collect();
    match places.len().saturating_sub(MOST_NAMED) {
        0 => wording::sentences::list(&shown),
        more => format!("{} and {} more", shown.join(", "), number_word(more as u64)),
    }
}

/// The gap as a row; `acts` adds the way to write it down.
pub(super) fn row(gap: &Gap, today: chrono::NaiveDate, acts: bool) -> Row {
    let mut row = Row::plain(format!("gap-{}", gap.key), gap.sentence.clone());
    row.more.push(gap.matters.to_owned());
    if !gap.places.is_empty() {
        row.more.push(format!("{}.", named(&gap.places)));
        row = row.figure(gap.places.len().to_string(), format!("of {}", gap.of));
    }
    match &gap.finder {
        Some(finder) => {
            let by = dates::day(finder.by_on);
            let late = finder.by_on < today;
            let words = if late { "was to find out" } else { "finds out" };
            row.more
                .push(format!("{} {words} by {by}.", capital(&finder.who)));
            if late {
                row = row.urgency(Urgency::Late);
            }
        }
        None => row.more.push("Nobody is named to find it out.".to_owned()),
    }
    if acts {
        row = row.verb(Verb::link("Write it down", gap.href.clone()));
    }
    row
}

fn gaps_page(shell: Shell, view: &GapsView, form: Typed) -> GapsPage {
    let count = view.gaps.len() as u64;
    let unnamed = view.gaps.iter().filter(|g| g.finder.is_none()).count() as u64;
    let late = view
        .gaps
        .iter()
        .filter_map(|g| g.finder.as_ref())
        .filter(|f| f.by_on < view.today)
        .count() as u64;
    GapsPage {
        building_id: view.building.id.to_string(),
        building_name: view.building.name.clone(),
        heading: match count {
            0 => format!("Nothing that matters is unknown of {}", view.building.name),
            _ => capital(&format!(
                "{} not known of {}",
                counted(count, "thing is", "things are"),
                view.building.name
            )),
        },
        standing: match (unnamed, late) {
            (0, 0) => "Each has somebody who finds it out.".to_owned(),
            (0, n) => format!(
                "{} past the day it was to be known.",
                capital(&counted(n, "is", "are"))
            ),
            (n, 0) => format!(
                "{} nobody to find it out yet.",
                capital(&counted(n, "has", "have"))
            ),
            (n, m) => format!(
                "{} nobody to find it out yet; {} past its day.",
                capital(&counted(n, "has", "have")),
                counted(m, "is", "are")
            ),
        },
        rows: view
            .gaps
            .iter()
            .map(|g| row(g, view.today, view.may_write))
            .collect(),
        choices: view
            .gaps
            .iter()
            .map(|g| Choice::new(g.key, g.sentence.clone(), form.value("gap") == g.key))
            .collect(),
        may_write: view.may_write,
        once: form.once(),
        shell,
        form,
    }
}

/// The list.
pub(super) async fn show(
    reader: Reader,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let id: BuildingId = id_of(&path, "building")?;
    let (seat, day) = (reader.seat.clone(), when::local_day(state.world.now()));
    let view = answer(&state, move |world| {
        gaps::gaps_view(world, &seat, (id, day))
    })
    .await?;
    let form = Typed::starting_with([("once", fresh_once())]);
    page(&gaps_page(reader.shell(&state, "buildings"), &view, form))
}

/// Who finds one out, and by when.
pub(super) async fn take(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let id: BuildingId = id_of(&path, "building")?;
    let mut form = form.into_inner();
    let day = when::local_day(state.world.now());
    let by_on = form.date("by");
    if by_on.is_none() && form.error("by").is_none() {
        form.complain("by", "Say by which day.");
    }
    if let (Some(by_on), false) = (by_on, form.is_wrong()) {
        let asked = FinderForm {
            building: id,
            gap: form.value("gap").to_owned(),
            who: form.value("who").to_owned(),
            by_on,
        };
        let (seat, once) = (desk.seat.clone(), form.once());
        match ask(&state, move |world| {
            gaps::state_finder(world, &seat, (asked, day), &once)
        })
        .await
        {
            Ok(()) => return Ok(see_told(&format!("/buildings/{id}/gaps"), "It is kept.")),
            Err(error) => form.take_wrongs(error)?,
        }
    }
    let seat = desk.seat.clone();
    let view = answer(&state, move |world| {
        gaps::gaps_view(world, &seat, (id, day))
    })
    .await?;
    wrong(&gaps_page(desk.shell(&state, "buildings"), &view, form))
}
