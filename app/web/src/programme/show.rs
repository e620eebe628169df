//! The programme on a page.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::{BuildingId, Pence, Role};
use usecases::plan::{self, BuildingProgramme, Stated};
use wording::drawings::purse::Purse;
use wording::sentences::money;
use wording::{Ask, Choice, Drawing, Row, Shell};

use super::what_ifs::Way;
use super::words::{self, ESTIMATE};
use super::{left_out, proof, ties, what_ifs, year as years_rows};
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
    since: Vec<Row>,
    progress: Option<u32>,
    steps: u32,
    purse: Option<Drawing>,
    /// Purse, reserve and floor, said once.
    what_they_are: Option<String>,
    ways: Vec<Way>,
    adopted: Vec<Row>,
    years: Vec<Year>,
    left_out: Vec<Row>,
    /// Units kept beyond the programme, each to be asked about.
    kept_units: Vec<Row>,
    how_good: Vec<Row>,
    stated: Vec<Row>,
    ties: Vec<Row>,
    building: BuildingId,
    what_choices: Vec<Choice>,
    tie_kinds: Vec<Choice>,
    unit_choices: Vec<Choice>,
    with_choices: Vec<Choice>,
    tie_years: Vec<Choice>,
    year_choices: Vec<Choice>,
    may_state: bool,
    /// The plan shown can be adopted.
    adopts: Option<String>,
    /// A kept plan is shown in place of the one as stated.
    kept: bool,
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
        let kept = found.apart;
        let adopted_now =
            |p: &plan::PlanCard| found.adopted.as_ref().is_some_and(|a| a.plan == p.id);
        Self {
            facts: facts(found, (first, last)),
            shell,
            finding: words::finding(found),
            standing: words::standing(found),
            asks: asks(found),
            since: words::since(found),
            progress: found.under_way.as_deref().map(step_of),
            steps: plan::STEPS,
            purse: (!found.unlimited).then(|| purse(found)),
            what_they_are: (!found.unlimited).then(|| words::what_they_are(found)),
            ways: what_ifs::ways(found),
            adopted: what_ifs::adopted(found),
            years: years.iter().map(|line| year(found, line)).collect(),
            left_out: left_out::left_out(found),
            kept_units: left_out::kept(found),
            how_good: proof::rows(found),
            stated: stated(found),
            ties: ties::rows(found),
            building: found.building.id,
            what_choices: what_ifs::choices(&form),
            tie_kinds: ties::kinds(&form),
            unit_choices: ties::units(found, &form, "units"),
            with_choices: ties::units(found, &form, "with"),
            tie_years: ties::years(found, &form, "tie_year"),
            year_choices: ties::years(found, &form, "year"),
            may_state: found.may_state && !kept,
            adopts: found
                .plan
                .as_ref()
                .filter(|p| p.made.proven.stands() && !adopted_now(p))
                .map(|p| p.id.to_string()),
            kept,
            form,
            once,
            estimate: ESTIMATE,
        }
    }
}

fn facts(found: &BuildingProgramme, (first, last): (i32, i32)) -> Vec<String> {
    let mut facts = vec![
        found.building.name.clone(),
        format!("{first} to {last}"),
        "today’s money, VAT included".to_owned(),
    ];
    if let Some(card) = found.plan.as_ref().filter(|_| found.apart) {
        if let Some(name) = &card.name {
            facts.push(format!("What if: {name}"));
            facts.push(what_ifs::asked(card.what_if));
        } else {
            facts.push("A plan since made anew".to_owned());
        }
    }
    facts
}

/// The step a task says it is at: "…: step 2 of 3, …".
fn step_of(words: &str) -> u32 {
    let after = words.split("step ").nth(1).unwrap_or_default();
    after
        .chars()
        .next()
        .and_then(|c| c.to_digit(10))
        .unwrap_or(0)
}

/// What the forms start with: what stands.
pub(super) fn starting(found: &BuildingProgramme) -> Typed {
    let limits = found.limits;
    let text = |n: Option<i64>| n.map(|n| n.to_string()).unwrap_or_default();
    let first = found.money.first().map_or(found.input.first_year, |m| m.0);
    Typed::starting_with([
        ("year", first.to_string()),
        ("opening", plain(found.purse.0)),
        ("floor", plain(found.purse.1)),
        ("set_up", plain(limits.set_up)),
        ("stair_set_up", plain(limits.stair_set_up)),
        ("homes_a_year", text(limits.homes_a_year.map(i64::from))),
        ("hours_a_year", text(limits.hours_a_year.map(i64::from))),
        (
            "consult_above",
            limits.consult_above.map(plain).unwrap_or_default(),
        ),
        ("consult_costs", plain(limits.consult_costs)),
        ("consult_from", text(limits.consult_from.map(i64::from))),
        ("cap", limits.cap.map(plain).unwrap_or_default()),
        ("years", limits.years_ahead().to_string()),
    ])
}

/// The entry of the masthead a reader of the programme stands at.
pub(super) fn entry(role: Role) -> &'static str {
    if role == Role::Landlord {
        "money"
    } else {
        "programme"
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
    let shell = reader.shell(&state, entry(reader.seat.role()));
    let found = answer(&state, move |world| {
        plan::programme(world, &reader.seat, building)
    })
    .await?;
    let form = starting(&found);
    page(&ProgrammePage::new(shell, &found, form, fresh_once()))
}

/// A kept plan: a what-if, or the adopted one.
pub(super) async fn show_kept(
    reader: Reader,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let id: uuid::Uuid = id_of(&path, "plan")?;
    let shell = reader.shell(&state, entry(reader.seat.role()));
    let found = answer(&state, move |world| {
        plan::kept_plan(world, &reader.seat, id)
    })
    .await?;
    let form = starting(&found);
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
        finding: words::finding(found),
        ..what_ifs::purse_of(
            "purse".to_owned(),
            format!("The purse of {}, year by year", found.building.name),
            &found.input,
            &found.programme,
        )
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
        rows: years_rows::year(found, line),
        sum: years_rows::sum(found, line),
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
            Stated::Carried { pence, from } if Some(*year) == found.money.first().map(|m| m.0) => {
                Some(
                    Row::plain(
                        format!("m-{year}"),
                        format!("Stated for {from} and carried on."),
                    )
                    .figure(money::whole(*pence), "a year"),
                )
            }
            Stated::Carried { .. } | Stated::Nothing => None,
        })
        .collect()
}
