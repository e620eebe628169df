//! One building in section, shaded by one question at a time.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::{BuildingId, Role};
use usecases::register::{self, BuildingView, PlantUnit};
use wording::sentences::{chances, counted, dates, glue};
use wording::{Ask, Drawing, Link, Row, Shell, Urgency};

use super::asked::{self, Answered};
use super::needed;
use super::section::{before, elevation};
use crate::Failure;
use crate::form::{Typed, id_of};
use crate::page::page;
use crate::seats::Reader;
use crate::state::{State, answer};

#[derive(Template)]
#[template(path = "buildings/view.html")]
struct ViewPage {
    shell: Shell,
    name: String,
    facts: Vec<String>,
    asks: Vec<Ask>,
    drawing: Drawing,
    heading: String,
    standing: String,
    rows_heading: &'static str,
    rows_note: String,
    rows: Vec<Row>,
    plant: Vec<Row>,
    may_enter: bool,
    has_log: bool,
    building_id: String,
    outs: Vec<Row>,
}

/// The page.
pub(super) async fn show(
    reader: Reader,
    state: web::Data<State>,
    path: web::Path<String>,
    query: web::Query<Typed>,
) -> Result<HttpResponse, Failure> {
    let id: BuildingId = id_of(&path, "building")?;
    let ask = asked::question_of(query.value("ask"));
    let seat = reader.seat.clone();
    let (view, look) = answer(&state, move |world| {
        let view = register::building_view(world, &seat, id)?;
        Ok((view, usecases::stands_out::last_look(world, &seat)?))
    })
    .await?;
    let here: Vec<_> = look
        .stand_outs
        .into_iter()
        .filter(|s| s.found.buildings.contains(&id))
        .collect();
    let named = |code: &str| {
        let kind = view.kinds.iter().find(|k| k.code == code);
        kind.map_or_else(|| "units".to_owned(), |k| k.plural.clone())
    };
    let outs = crate::outlook::stand_out_rows(&here, &named);
    let Answered {
        heading,
        standing,
        rows_heading,
        rows_note,
        rows,
    } = asked::answered(&view, ask);
    page(&ViewPage {
        shell: reader.shell(&state, "buildings"),
        name: view.building.name.clone(),
        facts: facts(&view),
        asks: asked::asks(&view, ask),
        drawing: elevation(&view, ask, &heading).draw(),
        heading: glue(&heading),
        standing: glue(&standing),
        rows_heading,
        rows_note,
        rows,
        plant: view
            .plant
            .iter()
            .map(|p| plant_row(&view, p))
            .chain(needed::rows_of_building(&view.needed))
            .collect(),
        may_enter: reader.seat.role() == Role::Agent,
        has_log: matches!(
            reader.seat.role(),
            Role::Agent | Role::Supervisor | Role::Landlord
        ),
        building_id: id.to_string(),
        outs,
    })
}

fn facts(view: &BuildingView) -> Vec<String> {
    let building = &view.building;
    let mut facts = vec![building.name.clone()];
    facts.extend(building.built_year.map(|year| format!("Built {year}")));
    facts.push(counted(view.flats.len() as u64, "flat", "flats"));
    if !building.address.is_empty() {
        facts.push(building.address.clone());
    }
    facts.extend(
        building
            .hardness_mg_l
            .map(|h| format!("water {h:.0}\u{a0}mg/l hard")),
    );
    match building.asbestos_register.as_str() {
        "present" => facts.push("asbestos listed: read the register before any work".to_owned()),
        "unknown" => facts.push("asbestos register not seen".to_owned()),
        _ => {}
    }
    if building.higher_risk == Some(true) {
        facts.push("higher-risk building: record every change".to_owned());
    }
    facts.push(format!("as known on {}", dates::day(view.today)));
    facts
}

fn plant_row(view: &BuildingView, item: &PlantUnit) -> Row {
    let unit = &item.unit;
    let kind = view
        .kinds
        .iter()
        .find(|k| k.code == unit.kind)
        .map_or(unit.kind.as_str(), |k| k.name.as_str());
    let (first, last) = unit
        .installed
        .map_or((None, None), |(a, b)| (Some(a), Some(b)));
    let mut said = vec![format!(
        " {} in the {}, fitted {}.",
        unit.number,
        unit.space_name.to_lowercase(),
        dates::fitted_when(first, last)
    )];
    if let Some(reading) = item.readings.first() {
        said.push(format!("Last reading {}.", asked::reading_words(reading)));
    }
    if let Some(check) = &item.next_check {
        let by = if check.deadline < view.today {
            "is late: it was due by"
        } else {
            "by"
        };
        let day = dates::day(check.deadline);
        said.push(format!("{} {by} {day}.", check.name));
    }
    let subject = Link::new(
        wording::sentences::capital(kind),
        format!("/units/{}", unit.id),
    );
    let mut row = Row::about(format!("u-{}", unit.id), subject, said.join(" "));
    if item
        .next_check
        .as_ref()
        .is_some_and(|c| c.deadline < view.today)
    {
        row = row.urgency(Urgency::Late);
    }
    if let (Some((p, low, high)), Some((_, until))) = (item.chance, view.season) {
        let when = before(until);
        let small = chances::range(low, high).map_or(when.clone(), |r| format!("{when} ({r})"));
        row = row.figure(chances::brief(p), small);
    }
    if let Some(trouble) = &item.trouble {
        row.more
            .push(format!("Now: {}.", asked::trouble_words(trouble)));
        row.urgency = row.urgency.max(Urgency::Soon);
    }
    row
}
