//! Entering a building: a few numbers, the section drawn from them, and then keeping it.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::{Country, UsedAs};
use usecases::register::{self, DrawBuilding, Heat, SectionLevel, StoreyForm};
use wording::drawings::elevation::{Elevation, Flat, Plant, Roof, Tank};
use wording::drawings::steps::Shade;
use wording::sentences::{capital, counted};
use wording::{Choice, Drawing, Shell};

use super::section;
use crate::Failure;
use crate::form::{Typed, fresh_once};
use crate::page::{page, see_told, wrong};
use crate::seats::Desk;
use crate::state::{State, ask};

#[derive(Template)]
#[template(path = "buildings/draw.html")]
struct DrawPage {
    shell: Shell,
    form: Typed,
    once: String,
    heading: String,
    heat: Vec<Choice>,
    asbestos: Vec<Choice>,
    countries: Vec<Choice>,
    storeys: Vec<(String, String, u32)>,
    drawing: Option<Drawing>,
    said: String,
}

/// The empty form.
pub(super) async fn show(desk: Desk, state: web::Data<State>) -> Result<HttpResponse, Failure> {
    let form = Typed::starting_with([
        ("once", fresh_once()),
        ("country", Country::England.code().to_owned()),
        ("asbestos", "unknown".to_owned()),
        ("heat", "unknown".to_owned()),
        ("first", "1".to_owned()),
    ]);
    page(&draw_page(desk.shell(&state, "draw"), form, None))
}

/// "Draw it" shows the section; "Keep this building" keeps it. What was typed stays either way.
pub(super) async fn take(
    desk: Desk,
    state: web::Data<State>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let once = form.once();
    let drawn = read(&mut form);
    let shell = desk.shell(&state, "draw");
    let section = register::preview(&drawn);
    let keep = form.value("act") == "keep";
    let section = match section {
        Ok(section) if !form.is_wrong() => section,
        Ok(_) => return wrong(&draw_page(shell, form, None)),
        Err(error) => {
            form.take_wrongs(error)?;
            return wrong(&draw_page(shell, form, None));
        }
    };
    if !keep {
        return page(&draw_page(shell, form, Some((&drawn, &section))));
    }
    let seat = desk.seat.clone();
    let asked = drawn.clone();
    match ask(&state, move |world| {
        register::draw_building(world, &seat, asked, &once)
    })
    .await
    {
        Ok(id) => Ok(see_told(
            &format!("/buildings/{id}"),
            &format!(
                "{} is kept. Nothing is known of its flats yet.",
                drawn.name.trim()
            ),
        )),
        Err(error) => {
            form.take_wrongs(error)?;
            wrong(&draw_page(shell, form, Some((&drawn, &section))))
        }
    }
}

fn read(form: &mut Typed) -> DrawBuilding {
    let whole = |form: &mut Typed, field: &str, missing: &str| match form.number(field, 0.0, 5000.0)
    {
        Some(n) if n.fract() == 0.0 => n as u32,
        Some(_) => {
            form.complain(field, "A whole number is needed.");
            0
        }
        None => {
            if form.error(field).is_none() {
                form.complain(field, missing);
            }
            0
        }
    };
    let name = form.text("name", "A building needs a name.");
    let storeys = whole(form, "storeys", "Say how many storeys there are.");
    let flats = whole(form, "flats", "Say how many flats stand on a storey.");
    let first = form.number("first", 0.0, 99_999.0).unwrap_or(1.0) as u32;
    let stairs = stairs(form);
    let built = form.number("built", 0.0, 9999.0).map(|y| y as i32);
    let hardness = form.number("hardness", 0.0, 1000.0);
    let country = form
        .code("country", "Say which country's rules apply.")
        .unwrap_or(Country::England);
    DrawBuilding {
        name,
        code: form.value("code").trim().to_owned(),
        address: form.value("address").trim().to_owned(),
        country,
        built_year: built,
        storeys,
        flats_a_storey: flats,
        differing: differing(form, storeys.min(60), flats),
        first_number: first,
        stairs_after: stairs,
        plant_below: form.ticked("plant"),
        tank_on_roof: form.ticked("tank"),
        heat: match form.value("heat") {
            "flats" => Heat::Flats,
            "plant" => Heat::Plant,
            _ => Heat::Unknown,
        },
        hardness_mg_l: hardness,
        asbestos_register: form.value("asbestos").to_owned(),
    }
}

/// "2, 6": stairs stand after the second and the sixth.
fn stairs(form: &mut Typed) -> Vec<u32> {
    let typed = form.value("stairs").to_owned();
    let mut found = Vec::new();
    for word in typed
        .split(|c: char| !c.is_alphanumeric())
        .filter(|w| !w.is_empty() && *w != "and")
    {
        if let Ok(after) = word.parse() {
            found.push(after);
        } else {
            form.complain(
                "stairs",
                format!("“{typed}” is not a list of numbers such as 2, 6."),
            );
            break;
        }
    }
    found
}

/// Storeys whose fields say something else than the rest.
fn differing(form: &mut Typed, storeys: u32, usual: u32) -> Vec<StoreyForm> {
    (0..storeys)
        .filter_map(|ordinal| {
            let (flats, rooms) = (format!("flats-{ordinal}"), format!("rooms-{ordinal}"));
            let count = form.number(&flats, 0.0, 40.0).map(|n| n as u32);
            let rooms: Vec<String> = form
                .value(&rooms)
                .split(',')
                .map(|r| r.trim().to_owned())
                .filter(|r| !r.is_empty())
                .take(8)
                .collect();
            (count.is_some() || !rooms.is_empty()).then(|| StoreyForm {
                ordinal,
                flats: count.unwrap_or(usual),
                rooms,
            })
        })
        .collect()
}

fn draw_page(
    shell: Shell,
    form: Typed,
    drawn: Option<(&DrawBuilding, &[SectionLevel])>,
) -> DrawPage {
    let choice = |field: &str, value: &str, label: &str| {
        Choice::new(value, label, form.value(field) == value)
    };
    let count: u32 = form.value("storeys").trim().parse().unwrap_or(0);
    let storeys = (0..count.min(60))
        .rev()
        .map(|n| {
            let label = if n == 0 {
                "Ground".to_owned()
            } else {
                format!("Storey {n}")
            };
            (label, n.to_string(), n)
        })
        .collect();
    let heat = vec![
        choice("heat", "flats", "A unit in each flat"),
        choice("heat", "plant", "A plant room, by risers")
            .hint("The building then gets a plant room below and a riser for each stack."),
        choice("heat", "unknown", "I do not know yet"),
    ];
    let asbestos = vec![
        choice("asbestos", "unknown", "Not seen yet"),
        choice(
            "asbestos",
            "none",
            "There is none to keep: built after 1999",
        ),
        choice("asbestos", "clear", "Seen, nothing listed where we work"),
        choice("asbestos", "present", "Seen, asbestos is listed")
            .hint("Every job here then says: read the register first."),
    ];
    let countries = Country::ALL
        .iter()
        .map(|c| choice("country", c.code(), c.words()))
        .collect();
    let (heading, said, drawing) = match drawn {
        None => (
            "How does the building stand?".to_owned(),
            String::new(),
            None,
        ),
        Some((asked, section)) => {
            let flats = flats_in(section);
            let storeys = counted(u64::from(asked.storeys), "storey", "storeys");
            (
                format!(
                    "{} has {storeys} and {}, and nothing is known of them yet",
                    asked.name.trim(),
                    counted(flats, "flat", "flats")
                ),
                said(asked, flats),
                Some(drawing_of(asked, section)),
            )
        }
    };
    DrawPage {
        once: form.once(),
        shell,
        form,
        heading,
        heat,
        asbestos,
        countries,
        storeys,
        drawing,
        said,
    }
}

fn flats_in(section: &[SectionLevel]) -> u64 {
    section
        .iter()
        .flat_map(|l| &l.spaces)
        .filter(|s| s.used_as == UsedAs::Flat)
        .count() as u64
}

fn said(asked: &DrawBuilding, flats: u64) -> String {
    let mut parts = vec![
        capital(&counted(u64::from(asked.storeys), "storey", "storeys")),
        counted(flats, "flat", "flats"),
        counted(asked.stairs_after.len() as u64, "stair", "stairs"),
    ];
    if asked.plant_below || asked.heat == Heat::Plant {
        parts.push("a plant room below".to_owned());
    }
    if asked.tank_on_roof {
        parts.push("a tank under the roof".to_owned());
    }
    format!("{}.", parts.join(", "))
}

fn drawing_of(asked: &DrawBuilding, section: &[SectionLevel]) -> Drawing {
    Elevation {
        id: "drawn".to_owned(),
        title: format!("{} in section", asked.name.trim()),
        finding: "Nothing is known of its flats yet.".to_owned(),
        storeys: section::storeys(section, |_, name| {
            Flat::new(section::number(name), "unknown", Shade::Unknown)
        }),
        roof: Roof::Flat,
        tank: section::has(section, UsedAs::Roof).then(|| Tank {
            level: 0.6,
            words: vec!["Tank".to_owned()],
        }),
        plant: section::has(section, UsedAs::Plant).then(|| Plant {
            words: vec!["plant room".to_owned()],
            ..Plant::default()
        }),
        figures_are: "Known of it".to_owned(),
        caption: "Numbers run from the left, lowest storey first.".to_owned(),
        ..Elevation::default()
    }
    .draw()
}
