//! One unit of the programme: why it has its year, and what another year would cost.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::{BuildingId, Pence, UnitId};
use usecases::Error;
use usecases::plan::{self, Binds, BuildingProgramme, UnitInProgramme, WhatIf};
use uuid::Uuid;
use wording::drawings::Table;
use wording::sentences::{list, money, plural};
use wording::{Choice, Link, Row, Shell, Verb};

use super::moved;
use super::show::entry;
use super::words::{ESTIMATE, FLOOR, asks_of, called, called_by_place, last_year};
use super::year::why;
use crate::Failure;
use crate::form::{Typed, fresh_once, id_of};
use crate::page::page;
use crate::seats::Reader;
use crate::state::{State, ask};

#[derive(Template)]
#[template(path = "programme/unit.html")]
struct UnitPage {
    shell: Shell,
    facts: Vec<String>,
    finding: String,
    standing: String,
    reasons: Vec<Row>,
    tried: Vec<Row>,
    /// What of the others is held where another year is tried.
    how: String,
    course: Table,
    years: Vec<Choice>,
    wrong: Option<String>,
    pins: Option<String>,
    building: BuildingId,
    unit: UnitId,
    /// Where another year of this plan is asked about.
    here: String,
    back: Link,
    once: String,
    estimate: &'static str,
}

/// The page.
pub(super) async fn show(
    reader: Reader,
    state: web::Data<State>,
    path: web::Path<(String, String)>,
    query: web::Query<Typed>,
) -> Result<HttpResponse, Failure> {
    let building: BuildingId = id_of(&path.0, "building")?;
    let unit: UnitId = id_of(&path.1, "unit")?;
    answer_of(reader, state, (Of::Stated(building), unit), &query).await
}

/// The same of a kept plan.
pub(super) async fn show_kept(
    reader: Reader,
    state: web::Data<State>,
    path: web::Path<(String, String)>,
    query: web::Query<Typed>,
) -> Result<HttpResponse, Failure> {
    let kept: Uuid = id_of(&path.0, "plan")?;
    let unit: UnitId = id_of(&path.1, "unit")?;
    answer_of(reader, state, (Of::Kept(kept), unit), &query).await
}

/// Of which plan it is asked.
#[derive(Clone, Copy)]
enum Of {
    /// The one of a building as stated.
    Stated(BuildingId),
    /// A kept one.
    Kept(Uuid),
}

async fn answer_of(
    reader: Reader,
    state: web::Data<State>,
    (of, unit): (Of, UnitId),
    query: &Typed,
) -> Result<HttpResponse, Failure> {
    let asked: Option<i32> = query.value("year").parse().ok();
    let shell = reader.shell(&state, entry(reader.seat.role()));
    let look = |asked: Option<i32>| {
        let seat = reader.seat.clone();
        ask(&state, move |world| match of {
            Of::Stated(building) => plan::unit_year(world, &seat, (building, unit), asked),
            Of::Kept(kept) => plan::kept_unit_year(world, &seat, (kept, unit), asked),
        })
    };
    let tried = look(asked).await;
    let (found, wrong) = match tried {
        Ok(found) => (found, None),
        // A year that is no year of the programme: the page without it, and the sentence.
        Err(Error::Invalid(wrongs)) => {
            let found = look(None).await?;
            (found, wrongs.into_iter().next().map(|w| w.sentence))
        }
        Err(other) => return Err(Failure(other)),
    };
    page(&unit_page(shell, &found, wrong)?)
}

fn unit_page(
    shell: Shell,
    view: &UnitInProgramme,
    wrong: Option<String>,
) -> Result<UnitPage, Failure> {
    let found = &view.found;
    let unit = found
        .units
        .get(&view.unit)
        .ok_or(Failure(Error::NotFound("unit")))?;
    let named = format!("{}, {}", unit.space_name, found.building.name);
    let finding = match view.year {
        Some(year) => format!("{} {} is replaced in {year}", unit.space_name, unit.number),
        None => format!(
            "{} {} is kept beyond {}",
            unit.space_name,
            unit.number,
            last_year(found)
        ),
    };
    let mut facts = vec![
        named,
        called(found, &unit.kind).to_owned(),
        format!("{} with a new one", money::whole(unit.capex)),
    ];
    facts.extend(which_plan(found));
    let back = match found.plan.as_ref().filter(|_| found.apart) {
        Some(plan) => Link::new("Back to this plan", format!("/programme/plans/{}", plan.id)),
        None => Link::new(
            "Back to the programme",
            format!("/programme?building={}", found.building.id),
        ),
    };
    let pins = found.may_state && !found.apart;
    Ok(UnitPage {
        shell,
        facts,
        finding,
        standing: standing(view),
        reasons: [Row::plain("course", own_course(view))
            .verb(Verb::link(
                "The unit and its advice",
                format!("/units/{}", unit.unit),
            ))
            .why(why(unit, view.found.input.first_year))]
        .into_iter()
        .chain(adopted_with_others(view))
        .collect(),
        tried: view
            .tried
            .iter()
            .map(|t| moved::row(view, unit, t))
            .collect(),
        how: moved::how(view),
        course: course(view),
        years: years(view),
        wrong,
        // Only the plan as stated follows what is asked from now on.
        pins: pins.then(|| unit.space_name.clone()),
        building: found.building.id,
        unit: view.unit,
        here: asks_of(found, view.unit).unwrap_or_default(),
        back,
        once: fresh_once(),
        estimate: ESTIMATE,
    })
}

/// Which plan it is about, where it is not the one as stated.
fn which_plan(found: &BuildingProgramme) -> Option<String> {
    let plan = found.plan.as_ref().filter(|_| found.apart)?;
    let adopted = found.adopted.as_ref().is_some_and(|a| a.plan == plan.id);
    if let (WhatIf::Shared { .. }, Some(name)) = (plan.what_if, &plan.name) {
        let adopted = if adopted { ", the adopted plan" } else { "" };
        return Some(format!(
            "Part of “{name}”, a programme of several buildings{adopted}"
        ));
    }
    Some(match (&plan.name, adopted) {
        (Some(name), true) => format!("The adopted plan, “{name}”"),
        (None, true) => "The adopted plan".to_owned(),
        (Some(name), false) => format!("What if: {name}"),
        (None, false) => "A plan since made anew".to_owned(),
    })
}

/// Where the plan adopted for the building is its part of a programme of several, and the one shown minds its own purse alone.
fn adopted_with_others(view: &UnitInProgramme) -> Option<Row> {
    let found = &view.found;
    let adopted = found.adopted.as_ref().filter(|a| a.shared)?;
    let elsewhere = found.plan.as_ref().is_some_and(|p| p.id != adopted.plan);
    let name = adopted.name.as_deref().unwrap_or_default();
    let row = Row::plain(
        "adopted-with-others",
        format!(
            "The plan adopted for {} is its part of “{name}”, in which other buildings pay from the same purse. What stands here \
             minds this building’s own purse alone.",
            found.building.name
        ),
    )
    .verb(Verb::link(
        "Ask it of the adopted plan",
        format!("/programme/plans/{}/units/{}", adopted.plan, view.unit),
    ));
    elsewhere.then_some(row)
}

/// Whether what a person tied is of the plan shown: a kept one knows only what was asked when it was made.
fn is_of_plan(found: &BuildingProgramme, unit: UnitId, what: &str) -> bool {
    let Some(plan) = found.plan.as_ref().filter(|_| found.apart) else {
        return true;
    };
    let limits = &plan.asked.limits;
    match what {
        "pin" => limits.pinned.iter().any(|(id, _)| *id == unit),
        _ => limits.together.iter().any(|set| set.contains(&unit)),
    }
}

/// The year its own course would have it, as a calendar year.
fn best(view: &UnitInProgramme) -> Option<i32> {
    let first = view.found.plan.as_ref()?.asked.input.first_year;
    view.course.best_year.map(|t| first + t as i32)
}

/// Why it has its year, in one sentence or two.
fn standing(view: &UnitInProgramme) -> String {
    let found = &view.found;
    let tie = found
        .ties
        .iter()
        .find(|t| t.tie.what == "pin" && t.tie.units.contains(&view.unit))
        .filter(|_| is_of_plan(found, view.unit, "pin"));
    if let Some(card) = tie {
        return format!(
            "{} pinned it to {}: {}.",
            card.by,
            card.tie.year.unwrap_or_default(),
            card.tie.why.trim_end_matches('.')
        );
    }
    let pinned = found.plan.as_ref().filter(|_| found.apart);
    let mut pinned = pinned.into_iter().flat_map(|p| &p.asked.limits.pinned);
    if let Some((_, place)) = pinned.find(|(id, _)| *id == view.unit) {
        return format!(
            "It was pinned to {} when this plan was made; that was taken back since.",
            found.input.first_year + *place as i32
        );
    }
    let bound = found
        .ties
        .iter()
        .find(|t| t.tie.what == "together" && t.tie.units.contains(&view.unit))
        .filter(|_| is_of_plan(found, view.unit, "together"));
    let bound = bound.map_or(String::new(), |card| {
        let others = card.tie.units.iter().filter(|u| **u != view.unit);
        let names: Vec<String> = others.map(|u| called_by_place(found, *u)).collect();
        format!(
            " It goes together with {}, as {} asked: {}.",
            list(&names),
            card.by,
            card.tie.why.trim_end_matches('.')
        )
    });
    let own = match (view.year, best(view)) {
        (Some(year), Some(best)) if year == best => {
            "That is the year in which replacing it costs least, and the plan gives it that year."
                .to_owned()
        }
        (Some(year), Some(best)) if year > best => format!(
            "By itself it would cost least in {best}. It waits {}. {} Below stands what moving it would cost.",
            plural((year - best) as u64, "year", "years"),
            binding(view)
        ),
        (Some(year), Some(best)) => format!(
            "By itself it would cost least in {best}. It is brought forward by {}. {}",
            plural((best - year) as u64, "year", "years"),
            binding(view)
        ),
        (Some(_), None) => format!(
            "By itself it would be kept beyond these years. {}",
            binding(view)
        ),
        (None, Some(best)) if best > last_year(found) => {
            format!("By itself it would cost least in {best}, after these years.")
        }
        (None, Some(best)) => format!(
            "By itself it would cost least in {best}, but what would have to give way for it is worth more. {}",
            binding(view)
        ),
        (None, None) => {
            "Keeping it stays the cheaper course for all that is known today.".to_owned()
        }
    };
    format!("{own}{bound}")
}

/// Which limit keeps it from its best year, found by letting each go in turn.
fn binding(view: &UnitInProgramme) -> String {
    let name = |binds: &Binds| match binds {
        Binds::Floor | Binds::Purse => FLOOR,
        Binds::SharedFloor | Binds::SharedPurse => {
            "the floor of the shared reserve, with the other buildings kept to their plan"
        }
        Binds::SharedCap => {
            "what the other buildings leave of the most that may be paid from the shared purse in a year"
        }
        Binds::Cap => "the most that may be paid in a year",
        Binds::Homes => "the most replacements in a year",
        Binds::Hours => "the most home-hours without heating in a year",
        Binds::SettingUp => "setting up, which is paid once for all that is done in a year",
        Binds::Consultation => "consultation",
        Binds::Apart => "plant that must not all be out at once",
        Binds::Together => "the unit it goes together with",
        Binds::Forbidden => "the year people keep it out of",
        Binds::Latest => "the year it must go by",
    };
    match view.binds.as_deref() {
        Some([only]) => format!(
            "What keeps it from there is {}: {} it would stand there at no loss.",
            name(only),
            match only {
                Binds::Floor | Binds::SharedFloor => "were that lower",
                Binds::Purse | Binds::SharedPurse => "with more in the purse",
                _ => "without that",
            }
        ),
        Some([]) => "No one sort of limit keeps it from there.".to_owned(),
        Some(some) => {
            let mut names: Vec<&str> = some.iter().map(name).collect();
            names.dedup();
            format!("What keeps it from there is {}.", list(&names))
        }
        None => "Which limit keeps it from there was not settled in the time a page may take."
            .to_owned(),
    }
}

fn own_course(view: &UnitInProgramme) -> String {
    let extra = view
        .year
        .zip(view.found.plan.as_ref())
        .and_then(|(year, plan)| {
            let place = u32::try_from(year - plan.asked.input.first_year).ok()?;
            view.course.extra(place)
        });
    match extra {
        Some(pounds) if pounds >= 1.0 => format!(
            "In its year it is expected to cost about {} more over the years than in its best one: repairs, running, the new \
             unit and what comes after it.",
            money::whole(Pence((pounds * 100.0).round() as i64))
        ),
        Some(_) => "In its year it is expected to cost as little as it can: repairs, running, the new unit and what comes \
                    after it."
            .to_owned(),
        None => "Every year is weighed by repairs, running, the new unit and what comes after it.".to_owned(),
    }
}

/// Every year beside the best one.
fn course(view: &UnitInProgramme) -> Table {
    let first = view
        .found
        .plan
        .as_ref()
        .map_or(0, |p| p.asked.input.first_year);
    let all = view.course.by_year.iter().flatten().map(|w| w.0);
    let least = all.fold(f64::INFINITY, f64::min);
    let last = last_year(&view.found);
    let rows = view.course.by_year.iter().enumerate().map(|(t, w)| {
        let year = first + t as i32;
        let name = if year > last {
            format!("beyond {last}")
        } else {
            year.to_string()
        };
        let cost = w.map_or("not open".to_owned(), |w| {
            money::whole(Pence(((w.0 - least) * 100.0).round() as i64))
        });
        let plan = if Some(year) == view.year || (year > last && view.year.is_none()) {
            "the plan’s"
        } else {
            ""
        };
        vec![name, cost, plan.to_owned()]
    });
    Table {
        caption: "What each year would cost it, beside its best one".to_owned(),
        ..Table::new(
            &["Replaced in", "Costs more than its best", "Which"],
            rows.collect(),
        )
        .numbers(&[1])
    }
}

fn years(view: &UnitInProgramme) -> Vec<Choice> {
    let plan = view.found.plan.as_ref();
    let (first, count) = plan.map_or((0, 0), |p| {
        (p.asked.input.first_year, p.asked.input.years.len() as i32)
    });
    (first..first + count)
        .filter(|y| Some(*y) != view.year)
        .map(|y| Choice::new(y.to_string(), y.to_string(), Some(y) == view.asked))
        .collect()
}
