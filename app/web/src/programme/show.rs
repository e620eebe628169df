//! The programme on a page.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::{BuildingId, Pence, Role};
use usecases::plan::{self, BuildingProgramme, Stated};
use wording::drawings::purse::{Purse, PurseYear};
use wording::sentences::money;
use wording::{Ask, Choice, Drawing, Row, Shell};

use super::words::{self, ESTIMATE};
use crate::Failure;
use crate::form::{Typed, fresh_once, id_of};
use crate::page::page;
use crate::seats::Reader;
use crate::state::{State, answer};

/// One year on the page.
pub(super) struct Year {
    pub id: String,
    pub heading: String,
    pub note: String,
    pub rows: Vec<Row>,
    pub sum: String,
}

#[derive(Template)]
#[template(path = "programme/programme.html")]
pub(super) struct ProgrammePage {
    shell: Shell,
    facts: Vec<String>,
    finding: String,
    standing: String,
    asks: Vec<Ask>,
    purse: Option<Drawing>,
    years: Vec<Year>,
    left_out: Vec<Row>,
    how_good: Vec<Row>,
    stated: Vec<Row>,
    building: BuildingId,
    year_choices: Vec<Choice>,
    may_state: bool,
    form: Typed,
    once: String,
    estimate: &'static str,
}

impl ProgrammePage {
    /// The page of what was found, with a form as typed.
    pub(super) fn new(shell: Shell, found: &BuildingProgramme, form: Typed, once: String) -> Self {
        let years = &found.programme.years;
        let (first, last) = (
            years.first().map_or(0, |y| y.year),
            years.last().map_or(0, |y| y.year),
        );
        let chosen = form.value("year").to_owned();
        Self {
            facts: vec![
                found.building.name.clone(),
                format!("{first} to {last}"),
                "today’s money, VAT included".to_owned(),
            ],
            shell,
            finding: words::finding(found),
            standing: words::standing(found),
            asks: asks(found),
            purse: (!found.unlimited).then(|| purse(found)),
            years: years.iter().map(|line| year(found, line)).collect(),
            left_out: words::left_out(found),
            how_good: words::how_good(found),
            stated: stated(found),
            building: found.building.id,
            year_choices: (first..=last)
                .map(|y| Choice::new(y.to_string(), y.to_string(), y.to_string() == chosen))
                .collect(),
            may_state: found.may_state,
            form,
            once,
            estimate: ESTIMATE,
        }
    }
}

/// The page.
pub(super) async fn show(
    reader: Reader,
    state: web::Data<State>,
    query: web::Query<Typed>,
) -> Result<HttpResponse, Failure> {
    let query = query.into_inner();
    let building: Option<BuildingId> = match query.value("building") {
        "" => None,
        text => Some(id_of(text, "building")?),
    };
    let here = if reader.seat.role() == Role::Landlord {
        "money"
    } else {
        "programme"
    };
    let shell = reader.shell(&state, here);
    let found = answer(&state, move |world| {
        plan::programme(world, &reader.seat, building)
    })
    .await?;
    let form = Typed::starting_with([
        ("year", found.input.first_year.to_string()),
        ("opening", plain(found.input.opening)),
        ("floor", plain(found.input.floor)),
    ]);
    page(&ProgrammePage::new(shell, &found, form, fresh_once()))
}

/// "1250" or "1250.50": as one would type it.
fn plain(amount: Pence) -> String {
    if amount.0 % 100 == 0 {
        (amount.0 / 100).to_string()
    } else {
        format!("{}.{:02}", amount.0 / 100, amount.0 % 100)
    }
}

fn asks(found: &BuildingProgramme) -> Vec<Ask> {
    found
        .buildings
        .iter()
        .map(|(id, name)| Ask {
            words: name.clone(),
            href: format!("/programme?building={id}"),
            current: *id == found.building.id,
        })
        .collect()
}

fn purse(found: &BuildingProgramme) -> Drawing {
    Purse {
        id: "purse".to_owned(),
        title: format!("The purse of {}, year by year", found.building.name),
        finding: words::finding(found),
        opening: found.input.opening,
        floor: found.input.floor,
        years: found
            .programme
            .years
            .iter()
            .map(|line| PurseYear {
                year: line.year,
                planned: line.spent,
                likely: line.set_aside,
                comes_in: line.comes_in,
            })
            .collect(),
    }
    .draw()
}

fn year(found: &BuildingProgramme, line: &plan::YearLine) -> Year {
    let note = match line.replacements.len() {
        0 => "No replacement".to_owned(),
        n => format!(
            "{} for {}",
            money::whole(line.spent),
            wording::sentences::plural(n as u64, "replacement", "replacements")
        ),
    };
    Year {
        id: format!("y-{}", line.year),
        heading: line.year.to_string(),
        note,
        rows: words::year(found, line),
        sum: words::sum(found, line),
    }
}

/// What was stated for each year, years of the same figure together.
fn stated(found: &BuildingProgramme) -> Vec<Row> {
    found
        .money
        .iter()
        .filter_map(|(year, stated)| match stated {
            Stated::Here(pence) => Some(
                Row::plain(
                    format!("m-{year}"),
                    format!("From {year} on, until another year is stated."),
                )
                .figure(money::whole(*pence), "a year"),
            ),
            Stated::Carried { pence, from } if *year == found.input.first_year => Some(
                Row::plain(
                    format!("m-{year}"),
                    format!("Stated for {from} and carried on."),
                )
                .figure(money::whole(*pence), "a year"),
            ),
            Stated::Carried { .. } | Stated::Nothing => None,
        })
        .collect()
}
