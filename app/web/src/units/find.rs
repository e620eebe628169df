//! Finding a flat, unit, building or job by what is written on it.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::Fate;
use usecases::register::{self, Found};
use wording::sentences::{capital, counted, dates, list};
use wording::{Link, Row, Shell};

use crate::Failure;
use crate::buildings::floor_words;
use crate::form::Typed;
use crate::page::page;
use crate::seats::Reader;
use crate::state::{State, answer};

#[derive(Template)]
#[template(path = "units/find.html")]
struct FindPage {
    shell: Shell,
    asked: String,
    heading: String,
    standing: String,
    rows: Vec<Row>,
}

/// The page.
pub(super) async fn show(
    reader: Reader,
    state: web::Data<State>,
    query: web::Query<Typed>,
) -> Result<HttpResponse, Failure> {
    let asked: String = query.value("q").trim().chars().take(100).collect();
    let (seat, text) = (reader.seat.clone(), asked.clone());
    let found = answer(&state, move |world| register::find(world, &seat, &text)).await?;
    let heading = match (asked.is_empty(), found.len()) {
        (true, _) => "What do you look for?".to_owned(),
        (_, 0) => format!("Nothing bears “{asked}”"),
        (_, n) => format!(
            "{} “{asked}”",
            match n {
                1 => "One thing bears".to_owned(),
                n => format!("{} bear", capital(&counted(n as u64, "thing", "things"))),
            }
        ),
    };
    page(&FindPage {
        shell: reader.shell(&state, "find"),
        heading,
        standing: "Flats, buildings, unit and serial numbers and job numbers are found by the beginnings of their words; residents are not.".to_owned(),
        rows: found.iter().map(row).collect(),
        asked,
    })
}

fn row(found: &Found) -> Row {
    match found {
        Found::Building(building) => Row::about(
            format!("b-{}", building.id),
            Link::new(&building.name, format!("/buildings/{}", building.id)),
            ", a building.",
        ),
        Found::Space(space, units) => {
            let here: Vec<&str> = units.iter().map(|u| u.number.as_str()).collect();
            let with = if here.is_empty() {
                "no unit is known there".to_owned()
            } else {
                format!("with {}", list(&here))
            };
            let href = match units.as_slice() {
                [only] => format!("/units/{}", only.id),
                _ => format!("/spaces/{}", space.id),
            };
            Row::about(
                format!("s-{}", space.id),
                Link::new(format!("{}, {}", space.name, space.building_name), href),
                format!(", {}: {with}.", floor_words(space.ordinal)),
            )
        }
        Found::Unit(unit) => {
            let (a, b) = unit
                .installed
                .map_or((None, None), |(a, b)| (Some(a), Some(b)));
            let end = match (unit.fate, unit.fate_on) {
                (Fate::InService, _) | (_, None) => String::new(),
                (fate, Some(on)) => format!("; {fate} on {}", dates::day(on)),
            };
            let serial = if unit.serial.is_empty() {
                String::new()
            } else {
                format!(", serial {}", unit.serial)
            };
            Row::about(
                format!("u-{}", unit.id),
                Link::new(&unit.number, format!("/units/{}", unit.id)),
                format!(
                    ", {} in {}, {}{serial}, fitted {}{end}.",
                    unit.kind,
                    unit.space_name,
                    unit.building_name,
                    dates::fitted_when(a, b)
                ),
            )
        }
        Found::Job(id, number) => Row::about(
            format!("j-{id}"),
            Link::new(number, format!("/jobs/{id}")),
            ", a job.",
        ),
    }
}
