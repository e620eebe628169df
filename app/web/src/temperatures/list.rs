//! The buildings whose temperatures somebody takes: when the next round is due, and what waits for a word.
use actix_web::{HttpResponse, web};
use askama::Template;
use chrono::NaiveDate;
use terms::Role;
use usecases::water::{self, RoundBuilding};
use wording::sentences::{counted, dates, plural, spans};
use wording::{Link, Row, Shell, Urgency, Verb};

use crate::Failure;
use crate::page::page;
use crate::seats::Walker;
use crate::state::{State, answer};
use crate::when;

#[derive(Template)]
#[template(path = "temperatures/list.html")]
struct ListPage {
    shell: Shell,
    heading: String,
    rows: Vec<Row>,
    desk: bool,
    without: Vec<(String, String)>,
}

/// The page.
pub(super) async fn show(walker: Walker, state: web::Data<State>) -> Result<HttpResponse, Failure> {
    let shell = walker.shell(&state);
    let desk = walker.seat.role() != Role::Site;
    let today = when::local_day(state.world.now());
    let seat = walker.seat.clone();
    let (found, without) = answer(&state, move |world| {
        let found = water::rounds_to_take(world, &seat)?;
        let without = if desk {
            water::buildings_without(world, &seat)?
        } else {
            Vec::new()
        };
        Ok((found, without))
    })
    .await?;
    page(&ListPage {
        shell,
        heading: heading(&found, today),
        rows: found.iter().map(|b| row(b, today)).collect(),
        desk,
        without: without
            .into_iter()
            .map(|b| (b.name, format!("/temperatures/{}/outlets", b.id)))
            .collect(),
    })
}

fn heading(found: &[RoundBuilding], today: NaiveDate) -> String {
    let due = found.iter().filter(|b| due(b, today)).count() as u64;
    match (found.len(), due) {
        (0, _) => "No building has outlets on a round yet".to_owned(),
        (_, 0) => "Every round of this month is taken".to_owned(),
        (_, n) => wording::sentences::capital(&format!(
            "{} to take",
            counted(n, "round is", "rounds are")
        )),
    }
}

/// Whether a round taken today would count for the next date.
fn due(building: &RoundBuilding, today: NaiveDate) -> bool {
    building
        .next
        .is_none_or(|w| w.first.is_none_or(|first| first <= today))
}

fn row(building: &RoundBuilding, today: NaiveDate) -> Row {
    let id = building.building.id;
    let outlets = plural(building.outlets as u64, "outlet", "outlets");
    let last = building.last.map_or_else(
        || " No round is on record.".to_owned(),
        |on| format!(" Last taken on {}.", dates::weekday_day(on)),
    );
    let opens = building
        .next
        .and_then(|w| w.first)
        .filter(|first| *first > today)
        .map_or_else(String::new, |first| {
            format!(" The next counts from {}.", dates::day_of_year(first))
        });
    let waits = match building.open {
        0 => String::new(),
        n => format!(
            " {} out of its limit, and nobody has said what is done.",
            wording::sentences::capital(&counted(n as u64, "outlet is", "outlets are"))
        ),
    };
    let mut row = Row::about(
        format!("b-{id}"),
        Link::new(
            building.building.name.clone(),
            format!("/temperatures/{id}"),
        ),
        format!(": {outlets}.{last}{opens}{waits}"),
    )
    .verb(Verb::link("Take the round", format!("/temperatures/{id}")))
    .other(Verb::link("The log", format!("/temperatures/{id}/log")))
    .other(Verb::link(
        "Its outlets",
        format!("/temperatures/{id}/outlets"),
    ));
    if let Some(window) = building.next {
        row = row
            .figure(spans::due(today, window.last), "for the round")
            .urgency(if window.last < today {
                Urgency::Late
            } else if due(building, today) {
                Urgency::Soon
            } else {
                Urgency::Plain
            });
    }
    row
}
