//! The times in which failures were written down, of a building or of one unit: stated, corrected, taken back.
use actix_web::{HttpResponse, web};
use askama::Template;
use chrono::NaiveDate;
use terms::{BuildingId, UnitId};
use usecases::register::{self, MOST_WINDOWS, RecordWindow, RecordsOf, TimesOfRecords};
use wording::Shell;
use wording::sentences::{dates, list};

use crate::Failure;
use crate::form::{Typed, fresh_once, id_of};
use crate::page::{page, told_unless_wrong, wrong};
use crate::seats::Desk;
use crate::state::{State, answer, ask};

/// Empty lines offered beyond those that stand.
const MORE: usize = 2;

#[derive(Template)]
#[template(path = "buildings/records.html")]
struct RecordsPage {
    shell: Shell,
    address: String,
    back: String,
    name: String,
    standing: String,
    lines: Vec<Line>,
    form: Typed,
    once: String,
}

/// Names of the fields of one stretch.
struct Line {
    number: usize,
    from: String,
    until: String,
    words: String,
}

async fn load(
    desk: &Desk,
    state: &web::Data<State>,
    of: RecordsOf,
) -> Result<TimesOfRecords, Failure> {
    let seat = desk.seat.clone();
    answer(state, move |world| {
        register::times_of_records(world, &seat, of)
    })
    .await
}

/// "from 01/01/2012 to 31/12/2015 and from 01/01/2020 until now".
fn in_words(windows: &[RecordWindow]) -> String {
    let one = |w: &RecordWindow| {
        let until = w.until_on.map_or_else(
            || "until now".to_owned(),
            |day| format!("to {}", dates::day(day)),
        );
        format!("from {} {until}", dates::day(w.from_on))
    };
    let all: Vec<String> = windows.iter().map(one).collect();
    list(&all)
}

fn standing(view: &TimesOfRecords) -> String {
    if !view.stated.is_empty() {
        return format!(
            "Stated: failures were written down {}. Only in these times would one have been seen; one outside them is known, but not counted.",
            in_words(&view.stated)
        );
    }
    match (&view.unit, view.otherwise.as_slice()) {
        (Some(unit), []) => format!(
            "Nothing is stated, so its failures count from {} on, without a gap.",
            dates::day(unit.watched_from)
        ),
        (Some(_), of_building) => format!(
            "Nothing is stated of it alone; that of {} holds: {}.",
            view.building.name,
            in_words(of_building)
        ),
        (None, _) => {
            "Nothing is stated, so each unit’s failures count from its own day on, without a gap."
                .to_owned()
        }
    }
}

/// The page itself, and what it is about.
fn addresses(view: &TimesOfRecords) -> (String, String) {
    let of = match &view.unit {
        Some(unit) => format!("/units/{}", unit.id),
        None => format!("/buildings/{}", view.building.id),
    };
    (format!("{of}/records-kept"), of)
}

fn records_page(shell: Shell, view: &TimesOfRecords, form: Typed) -> RecordsPage {
    let lines = (view.stated.len() + MORE)
        .max(typed_lines(&form))
        .min(MOST_WINDOWS);
    let (address, back) = addresses(view);
    let name = match &view.unit {
        Some(unit) => format!("{}, {}", unit.number, unit.space_name),
        None => view.building.name.clone(),
    };
    RecordsPage {
        standing: standing(view),
        lines: (0..lines)
            .map(|place| Line {
                number: place + 1,
                from: format!("from-{place}"),
                until: format!("until-{place}"),
                words: format!("words-{place}"),
            })
            .collect(),
        once: form.once(),
        address,
        back,
        name,
        shell,
        form,
    }
}

/// Lines of which anything was typed, up to the last of them.
fn typed_lines(form: &Typed) -> usize {
    let typed = |place: &usize| {
        ["from", "until", "words"]
            .iter()
            .any(|field| !form.value(&format!("{field}-{place}")).trim().is_empty())
    };
    (0..MOST_WINDOWS)
        .rev()
        .find(typed)
        .map_or(0, |last| last + 1)
}

/// The stretches as typed; an empty line is none, and what follows keeps its own number.
fn typed(form: &mut Typed) -> Vec<(usize, RecordWindow)> {
    let mut found = Vec::new();
    for place in 0..typed_lines(form) {
        let (from, until) = (format!("from-{place}"), format!("until-{place}"));
        let (first, last) = (form.date(&from), form.date(&until));
        let words = form.value(&format!("words-{place}")).trim().to_owned();
        let unsaid = form.value(&from).trim().is_empty();
        match first {
            Some(from_on) => found.push((
                place,
                RecordWindow {
                    from_on,
                    until_on: last,
                    words,
                },
            )),
            None if unsaid && (last.is_some() || !words.is_empty()) => {
                form.complain(&from, "Say from which day on records exist.");
            }
            None => {}
        }
    }
    found
}

async fn show(desk: Desk, state: web::Data<State>, of: RecordsOf) -> Result<HttpResponse, Failure> {
    let view = load(&desk, &state, of).await?;
    let mut form = Typed::starting_with([("once", fresh_once())]);
    let day = |on: NaiveDate| dates::machine(on);
    let stated: Vec<(String, String)> = view
        .stated
        .iter()
        .enumerate()
        .flat_map(|(place, w)| {
            [
                (format!("from-{place}"), day(w.from_on)),
                (
                    format!("until-{place}"),
                    w.until_on.map(day).unwrap_or_default(),
                ),
                (format!("words-{place}"), w.words.clone()),
            ]
        })
        .collect();
    form.lay_over(&Typed::from(stated));
    page(&records_page(desk.shell(&state, "buildings"), &view, form))
}

async fn take(
    desk: Desk,
    state: web::Data<State>,
    of: RecordsOf,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let view = load(&desk, &state, of).await?;
    let mut form = form.into_inner();
    let asked = typed(&mut form);
    if !form.is_wrong() {
        let (places, windows): (Vec<usize>, Vec<RecordWindow>) = asked.into_iter().unzip();
        let (seat, once) = (desk.seat.clone(), form.once());
        let done = ask(&state, move |world| {
            register::state_times_of_records(world, &seat, (of, &windows), &once)
        });
        let done = done.await.map_err(|error| at_their_lines(error, &places));
        let (_, back) = addresses(&view);
        let there = (
            back.as_str(),
            "It is kept; forecasts are made anew with it in the background.",
        );
        if let Some(told) = told_unless_wrong(done, &mut form, there)? {
            return Ok(told);
        }
    }
    wrong(&records_page(desk.shell(&state, "buildings"), &view, form))
}

/// What is wrong with the n-th stretch, at the line it was typed in: empty lines between them are skipped.
fn at_their_lines(error: usecases::Error, places: &[usize]) -> usecases::Error {
    let usecases::Error::Invalid(mut wrongs) = error else {
        return error;
    };
    for wrong in &mut wrongs {
        let moved = wrong.field.split_once('-').and_then(|(field, number)| {
            let place = places.get(number.parse::<usize>().ok()?)?;
            Some(format!("{field}-{place}"))
        });
        if let Some(moved) = moved {
            wrong.field = moved;
        }
    }
    usecases::Error::Invalid(wrongs)
}

/// A building's times.
pub(super) async fn show_building(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let id: BuildingId = id_of(&path, "building")?;
    show(desk, state, RecordsOf::Building(id)).await
}

/// Takes a building's.
pub(super) async fn take_building(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let id: BuildingId = id_of(&path, "building")?;
    take(desk, state, RecordsOf::Building(id), form).await
}

/// A unit's times.
pub(super) async fn show_unit(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let id: UnitId = id_of(&path, "unit")?;
    show(desk, state, RecordsOf::Unit(id)).await
}

/// Takes a unit's.
pub(super) async fn take_unit(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let id: UnitId = id_of(&path, "unit")?;
    take(desk, state, RecordsOf::Unit(id), form).await
}
