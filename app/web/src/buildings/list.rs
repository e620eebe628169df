//! The buildings, each with its thumbnail.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::Role;
use usecases::register::{self, BuildingSummary};
use wording::drawings::elevation::{Elevation, Flat, Roof, mini};
use wording::drawings::steps::Shade;
use wording::sentences::{capital, counted, list, plural};
use wording::{Drawing, Link, Row, Shell};

use super::section;
use crate::Failure;
use crate::page::page;
use crate::seats::Reader;
use crate::state::{State, answer};

#[derive(Template)]
#[template(path = "buildings/list.html")]
struct ListPage {
    shell: Shell,
    heading: String,
    standing: String,
    rows: Vec<(Drawing, Row)>,
    may_enter: bool,
}

/// Every building of the reader.
pub(super) async fn show(reader: Reader, state: web::Data<State>) -> Result<HttpResponse, Failure> {
    let seat = reader.seat.clone();
    let found = answer(&state, move |world| {
        register::buildings_overview(world, &seat)
    })
    .await?;
    let flats: usize = found.iter().map(|b| b.flats).sum();
    let troubled: usize = found.iter().map(|b| b.troubled.len()).sum();
    let heading = match found.len() {
        0 => "No building is known yet".to_owned(),
        n => format!(
            "{}, {}",
            capital(&counted(n as u64, "building", "buildings")),
            plural(flats as u64, "flat", "flats")
        ),
    };
    let standing = match (found.len(), troubled) {
        (0, _) => "Start with what you have, however untidy.".to_owned(),
        (_, 0) => "Nothing is reported wrong in any flat now. Ink would mark the flats where something is.".to_owned(),
        (_, n) => format!(
            "Ink marks {} where something is wrong now.",
            counted(n as u64, "flat", "flats")
        ),
    };
    page(&ListPage {
        shell: reader.shell(&state, "buildings"),
        heading,
        standing,
        rows: found.iter().map(row).collect(),
        may_enter: reader.seat.role() == Role::Agent,
    })
}

fn row(summary: &BuildingSummary) -> (Drawing, Row) {
    let id = summary.building.id;
    let drawn = Elevation {
        id: format!("b{}", id.0.simple()),
        title: summary.building.name.clone(),
        storeys: section::storeys(&summary.section, |space, name| {
            let mut flat = Flat::new(section::number(name), "", Shade::Plain);
            if space.is_some_and(|s| summary.troubled.contains(&s)) {
                flat.trouble = Some("something is wrong there now".to_owned());
            }
            flat
        }),
        roof: Roof::Flat,
        ..Elevation::default()
    };
    let built = summary
        .building
        .built_year
        .map_or_else(String::new, |year| format!(", {year}"));
    let kinds: Vec<String> = summary
        .kinds
        .iter()
        .take(3)
        .map(|(one, many, n)| counted(*n as u64, one, many))
        .collect();
    let with = if kinds.is_empty() {
        "; no unit is known yet".to_owned()
    } else {
        format!(" with {}", list(&kinds))
    };
    let wrong = match summary.troubled.len() {
        0 => String::new(),
        n => format!(
            " In {} something is wrong now.",
            counted(n as u64, "flat", "flats")
        ),
    };
    let flats = capital(&counted(summary.flats as u64, "flat", "flats"));
    let mut row = Row::about(
        format!("b-{id}"),
        Link::new(&summary.building.name, format!("/buildings/{id}")),
        format!("{built}. {flats}{with}.{wrong}"),
    );
    row = match (&summary.likely, summary.season_until) {
        (Some(likely), Some(until)) => row.figure(
            format!("{:.0}", likely.expected),
            format!(
                "likely to fail {} ({} to {})",
                section::before(until),
                likely.low,
                likely.high
            ),
        ),
        _ => row.figure(summary.flats.to_string(), "flats"),
    };
    (mini(&drawn), row)
}
