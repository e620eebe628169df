//! One building's forecast: how many failures to expect, and how likely its pipes lose what feeds them.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::BuildingId;
use usecases::forecast::{
    BuildingOutlook, COMMON_SHARE, KindOutlook, PlantOutlook, ThinData, Totals, building_outlook,
};
use usecases::stands_out;
use wording::sentences::{capital, counted, dates, glue, outlook, plural};
use wording::{Ask, Drawing, Row, Shell, Table};

use super::{drawn, pipes, rests};
use crate::Failure;
use crate::buildings::before;
use crate::form::{Typed, id_of};
use crate::page::page;
use crate::seats::Reader;
use crate::state::{State, answer};

#[derive(Template)]
#[template(path = "outlook/building.html")]
struct BuildingPage {
    shell: Shell,
    building_id: String,
    name: String,
    facts: Vec<String>,
    finding: String,
    standing: String,
    nothing: &'static str,
    outs: Vec<Row>,
    picture: Option<Drawing>,
    kinds: Vec<Row>,
    plants: Vec<Row>,
    table: Option<Table>,
    season: String,
    spares: String,
    shares: Vec<Ask>,
    branches: Vec<Row>,
    caution: &'static str,
    rests: Vec<Row>,
    /// Code and plural of each kind.
    by_age: Vec<(String, String)>,
}

/// The page.
pub(super) async fn show(
    reader: Reader,
    state: web::Data<State>,
    path: web::Path<String>,
    query: web::Query<Typed>,
) -> Result<HttpResponse, Failure> {
    let id: BuildingId = id_of(&path, "building")?;
    let asked = query.value("common");
    let (code, common) = pipes::SHARES
        .into_iter()
        .find(|(code, _)| *code == asked)
        .unwrap_or(("tenth", COMMON_SHARE));
    let seat = reader.seat.clone();
    let (view, look) = answer(&state, move |world| {
        let view = building_outlook(world, &seat, id, common)?;
        let look = stands_out::last_look(world, &seat)?;
        Ok((view, look))
    })
    .await?;
    let here: Vec<_> = look
        .stand_outs
        .iter()
        .filter(|s| s.found.buildings.contains(&id))
        .cloned()
        .collect();
    let finding = finding(&view);
    page(&BuildingPage {
        shell: reader.shell(&state, "buildings"),
        building_id: id.to_string(),
        name: view.building.name.clone(),
        facts: vec![
            view.building.name.clone(),
            format!("as known on {}", dates::day(view.today)),
        ],
        standing: glue(&standing(&view)),
        nothing: "No unit here can be forecast yet. Forecasts are made in the night after a unit is entered.",
        outs: super::stands_out::rows(&here, &|kind: &str| kind_name(&view, kind)),
        picture: picture(&view, &finding),
        kinds: view
            .kinds
            .iter()
            .map(|kind| kind_row(&view, kind))
            .collect(),
        plants: view.plants.iter().enumerate().map(plant_row).collect(),
        table: table(&view),
        season: capital(&before(view.season.until)),
        spares: pipes::spares(&view),
        shares: pipes::shares(id, code),
        branches: view.branches.iter().map(pipes::branch_row).collect(),
        caution: "Isolating or draining shared plant leaves homes without heat: say so beforehand, look up who needs heat the same day, and leave the work to those licensed for it.",
        rests: view
            .kinds
            .iter()
            .flat_map(|k| rests::rows(&k.fit, (&k.kind.code, &k.kind.plural)))
            .collect(),
        by_age: view
            .kinds
            .iter()
            .map(|k| (k.kind.code.clone(), k.kind.plural.clone()))
            .collect(),
        finding: glue(&finding),
    })
}

fn kind_name(view: &BuildingOutlook, code: &str) -> String {
    let kind = view.kinds.iter().find(|k| k.kind.code == code);
    kind.map_or_else(|| "units".to_owned(), |k| k.kind.plural.clone())
}

fn finding(view: &BuildingOutlook) -> String {
    match &view.whole {
        Some(whole) => format!(
            "{}: {} are to be expected over the next twelve months",
            view.building.name,
            outlook::failures(whole.year.expected, whole.year.count80),
        ),
        None => format!("Nothing can be forecast in {} yet", view.building.name),
    }
}

fn standing(view: &BuildingOutlook) -> String {
    let Some(whole) = &view.whole else {
        return String::new();
    };
    let mut said = vec![format!(
        "{}, {}.",
        capital(&before(view.season.until)),
        outlook::failures(whole.season.expected, whole.season.count80),
    )];
    said.push("The range in brackets holds 8 cases in 10.".to_owned());
    if view.unreadable > 0 {
        said.push(format!(
            "{} left out: what is on record of it cannot be.",
            capital(&counted(view.unreadable as u64, "unit is", "units are")),
        ));
    }
    said.join(" ")
}

fn picture(view: &BuildingOutlook, finding: &str) -> Option<Drawing> {
    let whole = view.whole.as_ref()?;
    let mut figures: Vec<_> = view
        .kinds
        .iter()
        .map(|k| drawn::number(capital(&k.kind.plural), &k.totals.year))
        .collect();
    if figures.len() > 1 {
        figures.push(drawn::number("All together".to_owned(), &whole.year));
    }
    let title = format!("Failures expected in {}", view.building.name);
    Some(drawn::numbers_drawn(title, finding.to_owned(), figures))
}

fn kind_row(view: &BuildingOutlook, one: &KindOutlook) -> Row {
    let units = plural(one.units as u64, &one.kind.name, &one.kind.plural);
    let year = &one.totals.year;
    let mut said = vec![format!(
        "{units}: {} within twelve months.",
        outlook::failures(year.expected, year.count80)
    )];
    if let Some(factor) = one.factor {
        said.push(format!(
            "Those of {} fail {} as those of a middling building ({}).",
            view.building.name,
            outlook::often(factor.mean),
            outlook::factor_range(factor.low, factor.high),
        ));
    }
    if matches!(one.fit.thin, ThinData::PublishedOnly | ThinData::Few) {
        said.push(rests::thin(&one.fit, &one.kind.plural));
    }
    Row::plain(format!("kind-{}", one.kind.code), glue(&said.join(" "))).figure(
        outlook::number(year.expected),
        outlook::count_range(year.count80),
    )
}

fn plant_row((place, one): (usize, &PlantOutlook)) -> Row {
    let (year, season) = (&one.year, &one.season);
    let said = format!(
        "{}, {}: {} within twelve months, {} in the heating season ahead.",
        one.name,
        counted(one.units as u64, "unit", "units"),
        outlook::failures(year.expected, year.count80),
        outlook::failures(season.expected, season.count80),
    );
    Row::plain(format!("plant-{place}"), glue(&said)).figure(
        outlook::number(year.expected),
        outlook::count_range(year.count80),
    )
}

fn table(view: &BuildingOutlook) -> Option<Table> {
    let whole = view.whole.as_ref()?;
    let cells = |name: String, totals: &Totals| {
        let all = [
            &totals.quarter,
            &totals.season,
            &totals.year,
            &totals.three_years,
        ];
        let words = all.map(|t| {
            format!(
                "{} ({})",
                outlook::number(t.expected),
                outlook::count_range(t.count80)
            )
        });
        std::iter::once(name).chain(words).collect::<Vec<String>>()
    };
    let mut rows: Vec<Vec<String>> = view
        .kinds
        .iter()
        .map(|k| cells(capital(&k.kind.plural), &k.totals))
        .collect();
    if rows.len() > 1 {
        rows.push(cells("All together".to_owned(), whole));
    }
    let season = capital(&before(view.season.until));
    let heads = [
        "Kind",
        "Within three months",
        season.as_str(),
        "Within twelve months",
        "Within three years",
    ];
    Some(Table {
        caption: "Failures expected, and in brackets where 8 cases in 10 fall. Three years reckon with no part renewed on the way: fewer if some are.".to_owned(),
        ..Table::new(&heads, rows).numbers(&[1, 2, 3, 4])
    })
}
