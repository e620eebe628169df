//! "Prove it": one dated letter for a flat or a building, each duty in a sentence with the evidence behind it.
mod words;

use actix_web::{HttpResponse, web};
use askama::Template;
use chrono::{DateTime, Utc};
use terms::Role;
use usecases::Error;
use usecases::duties::{self, Known, Of, ProofLetter};
use wording::sentences::{capital, counted, dates};
use wording::{Fact, Link, Row, Shell};

use crate::Failure;
use crate::duties::NOT_ADVICE;
use crate::form::{Typed, id_of};
use crate::page::{page, wrong};
use crate::seats::Reader;
use crate::state::{State, answer};
use crate::when;

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config.service(web::resource("/prove/{what}/{id}").route(web::get().to(show)));
}

/// The duties of one place.
struct Place {
    id: String,
    name: String,
    rows: Vec<Row>,
}

#[derive(Template)]
#[template(path = "prove/letter.html")]
struct ProvePage {
    shell: Shell,
    heading: String,
    standing: String,
    sender: Vec<String>,
    places: Vec<Place>,
    empty: String,
    links: Vec<Link>,
    sign: Vec<Fact>,
    form: Typed,
    today: String,
    known_now: bool,
    address: String,
    not_advice: &'static str,
}

fn of(path: &(String, String)) -> Result<Of, Failure> {
    match path.0.as_str() {
        "flat" => Ok(Of::Space(id_of(&path.1, "space")?)),
        "building" => Ok(Of::Building(id_of(&path.1, "building")?)),
        _ => Err(Failure(Error::NotFound("page"))),
    }
}

/// The letter of the day asked for; today's without one.
async fn show(
    reader: Reader,
    state: web::Data<State>,
    path: web::Path<(String, String)>,
    query: web::Query<Typed>,
) -> Result<HttpResponse, Failure> {
    let of = of(&path)?;
    let mut form = query.into_inner();
    let today = when::local_day(state.world.now());
    let on = form.date("on").unwrap_or(today);
    let known = if form.value("known") == "now" {
        Known::Now
    } else {
        Known::Then
    };
    let address = format!("/prove/{}/{}", path.0, path.1);
    let shell = reader.shell(&state, "duties");
    if on > today {
        form.complain("on", "That day has not come yet.");
    }
    let bad = form.is_wrong();
    let (seat, day) = (reader.seat.clone(), if bad { today } else { on });
    let letter = answer(&state, move |world| {
        duties::prove(world, &seat, of, (day, known))
    })
    .await?;
    let now = state.world.now();
    let shown = prove_page(shell, &letter, (form, now), (reader.seat.role(), address));
    if bad { wrong(&shown) } else { page(&shown) }
}

fn prove_page(
    shell: Shell,
    letter: &ProofLetter,
    (form, now): (Typed, DateTime<Utc>),
    (role, address): (Role, String),
) -> ProvePage {
    let then = letter.known == Known::Then;
    let known = dates::moment(when::local(letter.known_at));
    let mut places: Vec<Place> = Vec::new();
    for line in &letter.lines {
        let row = words::sentence(line, letter.on, role != Role::Landlord);
        match places.last_mut() {
            Some(place) if place.name == line.space_name => place.rows.push(row),
            _ => places.push(Place {
                id: format!("place-{}", places.len() + 1),
                name: line.space_name.clone(),
                rows: vec![row],
            }),
        }
    }
    let duties = counted(letter.lines.len() as u64, "duty was", "duties were");
    ProvePage {
        heading: format!(
            "{}: what was in force on {}",
            letter.about,
            dates::day(letter.on)
        ),
        standing: if then {
            format!(
                "{} in force that day, as known then: on {known}.",
                capital(&duties)
            )
        } else {
            format!(
                "{} in force that day, as known on {known}.",
                capital(&duties)
            )
        },
        sender: [
            &letter.sender.name,
            &letter.sender.address,
            &letter.sender.telephone,
        ]
        .into_iter()
        .filter(|line| !line.is_empty())
        .cloned()
        .collect(),
        empty: if letter.head_then.is_none() {
            "Nothing was on record here yet on that day.".to_owned()
        } else {
            "No duty held here on that day.".to_owned()
        },
        links: letter.lines.iter().filter_map(words::opens).collect(),
        places,
        sign: signed(letter, known, now),
        today: dates::machine(when::local_day(now)),
        known_now: !then,
        address,
        not_advice: NOT_ADVICE,
        shell,
        form,
    }
}

/// What is signed: premises, day, knowledge, and the heads of the audit.
fn signed(letter: &ProofLetter, known: String, now: DateTime<Utc>) -> Vec<Fact> {
    vec![
        Fact::new("About", premises(letter)),
        Fact::new("On", dates::day_full(letter.on)),
        Fact::new("As known on", known),
        Fact::new("Printed", dates::moment(when::local(now))),
        Fact::typed(
            "Head of the audit then",
            letter
                .head_then
                .as_deref()
                .map_or_else(|| "none yet".to_owned(), shorter),
        ),
        Fact::typed("Head of the audit now", shorter(&letter.head_now)),
        Fact::new("Signed", "\u{a0}"),
    ]
}

fn premises(letter: &ProofLetter) -> String {
    if letter.address.is_empty() {
        letter.about.clone()
    } else {
        format!("{}, {}", letter.about, letter.address)
    }
}

/// The first 24 characters: enough to compare by eye.
fn shorter(text: &str) -> String {
    text.chars().take(24).collect()
}
