//! The programme of several buildings that pay from one purse.
use actix_web::{HttpResponse, web};
use askama::Template;
use chrono::{DateTime, SecondsFormat, Utc};
use terms::{BuildingId, Pence};
use usecases::Error;
use usecases::plan::{
    self, PlainWay, SharedMade, SharedMaking, SharedProgramme, SharedWish, Verdict, YEARS,
};
use wording::drawings::Table;
use wording::sentences::{counted, dates, money, plural};
use wording::{Choice, Link, Row, Shell, Verb, Why};

use super::shared_clash::{clash, name_of};
use super::show::entry;
use super::words::ESTIMATE;
use crate::Failure;
use crate::form::{Typed, fresh_once};
use crate::page::{page, see_told, wrong};
use crate::seats::{Desk, Reader};
use crate::state::{State, answer, ask};
use crate::when;

const HERE: &str = "/programme/shared";

#[derive(Template)]
#[template(path = "programme/shared.html")]
struct SharedPage {
    shell: Shell,
    facts: Vec<String>,
    finding: String,
    standing: String,
    under_way: Option<String>,
    good: Vec<Row>,
    buildings: Vec<Row>,
    totals: Option<Table>,
    purse: Vec<Row>,
    adopts: bool,
    made_at: String,
    may_state: bool,
    choices: Vec<Choice>,
    form: Typed,
    once: String,
    estimate: &'static str,
}

/// The page.
pub(super) async fn show(reader: Reader, state: web::Data<State>) -> Result<HttpResponse, Failure> {
    let shell = reader.shell(&state, entry(reader.seat.role()));
    let found = answer(&state, move |world| {
        plan::shared_programme(world, &reader.seat)
    })
    .await?;
    let form = starting(&found);
    page(&shared_page(shell, &found, form, fresh_once()))
}

/// Makes it.
pub(super) async fn make(
    desk: Desk,
    state: web::Data<State>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let once = form.once();
    let name = form.text("name", "Give it a name, so it can be found again.");
    let (opening, floor) = (form.pounds("opening"), form.pounds("floor"));
    let (comes_in, cap) = (form.pounds("comes_in"), form.pounds("cap"));
    if comes_in.is_none() && form.error("comes_in").is_none() {
        form.complain("comes_in", "Say what comes in; 0 when nothing does.");
    }
    let years = form.number("years", 5.0, 30.0);
    if years.is_none() && form.error("years").is_none() {
        form.complain("years", "From 5 to 30 years, please.");
    }
    let chosen = form.values("buildings").iter();
    let buildings: Vec<BuildingId> = chosen.filter_map(|text| text.parse().ok()).collect();
    if let (Some(comes_in), Some(years), false) = (comes_in, years, form.is_wrong()) {
        let wish = SharedWish {
            name,
            buildings,
            years: years as i32,
            opening: opening.unwrap_or(Pence(0)),
            comes_in,
            floor: floor.unwrap_or(Pence(0)),
            cap,
        };
        let (seat, key) = (desk.seat.clone(), once.clone());
        let made = ask(&state, move |world| {
            plan::make_shared_plan(world, &seat, wish, &key)
        });
        match made.await {
            Ok(SharedMaking::Made) => return Ok(see_told(HERE, "The programme is made.")),
            Ok(SharedMaking::Waits) => {
                let told = "The programme is being made; you can leave this page.";
                return Ok(see_told(HERE, told));
            }
            Err(error) => form.take_wrongs(error)?,
        }
    }
    again(&desk, &state, (form, once)).await
}

async fn again(
    desk: &Desk,
    state: &web::Data<State>,
    (typed, once): (Typed, String),
) -> Result<HttpResponse, Failure> {
    let seat = desk.seat.clone();
    let found = answer(state, move |world| plan::shared_programme(world, &seat)).await?;
    let mut form = starting(&found);
    form.lay_over(&typed);
    let shell = desk.shell(state, "programme");
    wrong(&shared_page(shell, &found, form, once))
}

/// Adopts every building's part.
pub(super) async fn adopt(
    reader: Reader,
    state: web::Data<State>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let once = form.once();
    let why = form.value("adopt_why").to_owned();
    let read: DateTime<Utc> = form.value("made_at").parse().unwrap_or_default();
    let (seat, key) = (reader.seat.clone(), once.clone());
    let done = ask(&state, move |world| {
        plan::adopt_shared_plan(world, &seat, (read, &why), &key)
    });
    match done.await {
        Ok(()) => Ok(see_told(
            HERE,
            "Every building’s part is adopted. Nothing is ordered by it: jobs are opened one by one.",
        )),
        Err(Error::Invalid(wrongs)) => {
            for one in wrongs {
                form.complain("adopt_why", one.sentence.clone());
            }
            let shell = reader.shell(&state, entry(reader.seat.role()));
            let found = answer(&state, move |world| {
                plan::shared_programme(world, &reader.seat)
            })
            .await?;
            let mut typed = starting(&found);
            typed.lay_over(&form);
            wrong(&shared_page(shell, &found, typed, once))
        }
        Err(other) => Err(Failure(other)),
    }
}

/// "1250": as one would type it.
fn typed(amount: Pence) -> String {
    match amount.0 % 100 {
        0 => (amount.0 / 100).to_string(),
        rest => format!("{}.{rest:02}", amount.0 / 100),
    }
}

fn starting(found: &SharedProgramme) -> Typed {
    let wish = found.made.as_ref().map(|m| &m.wish);
    let sum = |of: fn(&SharedWish) -> Pence| wish.map_or(String::new(), |w| typed(of(w)));
    let mut form = vec![
        (
            "name".to_owned(),
            wish.map_or("One purse".to_owned(), |w| w.name.clone()),
        ),
        (
            "years".to_owned(),
            wish.map_or(YEARS, |w| w.years).to_string(),
        ),
        ("opening".to_owned(), sum(|w| w.opening)),
        ("comes_in".to_owned(), sum(|w| w.comes_in)),
        ("floor".to_owned(), sum(|w| w.floor)),
        (
            "cap".to_owned(),
            wish.and_then(|w| w.cap).map_or(String::new(), typed),
        ),
    ];
    let all: Vec<BuildingId> = match wish {
        Some(wish) => wish.buildings.clone(),
        None => found.buildings.iter().map(|b| b.id).collect(),
    };
    form.extend(
        all.into_iter()
            .map(|id| ("buildings".to_owned(), id.to_string())),
    );
    Typed::from(form)
}

fn shared_page(shell: Shell, found: &SharedProgramme, form: Typed, once: String) -> SharedPage {
    let made = found.made.as_ref();
    let ticked = form.values("buildings").to_vec();
    let stands = made.is_some_and(|m| !m.parts.is_empty());
    let all_adopted = made.is_some_and(|m| found.adopted.len() == m.parts.len());
    SharedPage {
        shell,
        facts: facts(made),
        finding: finding(made),
        standing: standing(found, made),
        under_way: found.under_way.clone(),
        good: made.filter(|_| stands).map(good).unwrap_or_default(),
        buildings: made.map(|m| buildings(found, m)).unwrap_or_default(),
        totals: made.filter(|_| stands).map(|m| totals(found, m)),
        purse: made.map(purse).unwrap_or_default(),
        adopts: stands && !all_adopted,
        made_at: made.map_or_else(String::new, |m| {
            m.made_at.to_rfc3339_opts(SecondsFormat::Nanos, true)
        }),
        may_state: found.may_state,
        choices: found
            .buildings
            .iter()
            .map(|b| {
                let id = b.id.to_string();
                let chosen = ticked.contains(&id);
                Choice::new(id, b.name.clone(), chosen)
            })
            .collect(),
        form,
        once,
        estimate: ESTIMATE,
    }
}

fn facts(made: Option<&SharedMade>) -> Vec<String> {
    let mut facts = vec!["today’s money, VAT included".to_owned()];
    if let Some(made) = made {
        facts.insert(0, made.wish.name.clone());
        if let (Some(first), Some(last)) = (made.years.first(), made.years.last()) {
            facts.push(format!("{} to {}", first.year, last.year));
        }
    }
    facts
}

fn replaced(made: &SharedMade) -> u64 {
    let all = made.parts.iter().flat_map(|p| &p.replaced);
    all.map(|n| u64::from(*n)).sum()
}

fn finding(made: Option<&SharedMade>) -> String {
    match made {
        None => "No programme of several buildings is made yet".to_owned(),
        Some(made) if made.parts.is_empty() => {
            "What is asked of these buildings cannot all be kept".to_owned()
        }
        Some(made) => format!(
            "{} in {} from one purse",
            plural(replaced(made), "replacement", "replacements"),
            plural(made.parts.len() as u64, "building", "buildings")
        ),
    }
}

fn standing(found: &SharedProgramme, made: Option<&SharedMade>) -> String {
    let Some(made) = made else {
        return if found.may_state {
            "Say below which buildings pay from one purse and what comes into it: every unit’s best year is weighed against \
             that, over all of them at once."
                .to_owned()
        } else {
            "Your managing agent makes it.".to_owned()
        };
    };
    if made.parts.is_empty() {
        return clash(found, made);
    }
    let paid: i64 = made.years.iter().map(|y| y.paid.0).sum();
    let lowest = made.years.iter().map(|y| y.reserve.0).min().unwrap_or(0);
    format!(
        "The purse opens with {}, pays {} for replacements in all buildings together and leaves a reserve of {} at the end. At its \
         lowest the reserve stands at {}; its floor, {}, is what it may not end a year under.",
        money::whole(made.wish.opening),
        money::whole(Pence(paid)),
        money::whole(made.years.last().map_or(Pence(0), |y| y.reserve)),
        money::whole(Pence(lowest)),
        money::whole(made.wish.floor)
    )
}

/// The gap, the plain ways beside it, what £1,000 more would buy.
fn good(made: &SharedMade) -> Vec<Row> {
    let when = when::local(made.made_at);
    let left = Pence((made.cost.0 - made.bound.0).max(0));
    let limits = Pence((made.cost.0 - made.unbound.0).max(0));
    let sentence = match made.verdict {
        Verdict::Optimal => format!(
            "No programme of these buildings that keeps what is stated costs less: that is proven. The floor of the shared reserve and \
             the other limits cost {} over the years beside every unit having its best one.",
            money::whole(limits)
        ),
        _ => format!(
            "No programme of these buildings could save more than about {} on this: that is proven.",
            money::whole(left)
        ),
    };
    let figure = match made.verdict {
        Verdict::Optimal => "nothing".to_owned(),
        _ => money::whole(left),
    };
    let mut rows = vec![
        Row::plain("how-good", sentence)
            .figure(figure, "left to find")
            .why(Why::this(vec![format!(
                "All buildings are weighed at once. Made on {}, in {:.1} seconds. Each building’s own limits hold as they \
                 are stated on its own page, its own purse where one is stated.",
                dates::weekday_day(when.date()),
                made.seconds
            )])),
    ];
    for (way, cost, undone) in &made.beside {
        let (id, name) = match way {
            PlainWay::OldestFirst => ("oldest", "Oldest first, from fifteen years on"),
            PlainWay::OnFailure => ("on-failure", "Each unit when it is expected to fail"),
            PlainWay::Nothing => ("nothing", "Replacing nothing in these years"),
        };
        let saved = Pence(cost.0 - made.cost.0);
        let undone = match undone {
            0 => String::new(),
            n => format!(
                ", and leaves {} undone that people asked for",
                counted(u64::from(*n), "unit", "units")
            ),
        };
        rows.push(
            Row::plain(
                format!("beside-{id}"),
                format!(
                    "{name}, in all these buildings together, would cost about {} more over the years{undone}.",
                    money::whole(Pence(saved.0.max(0)))
                ),
            )
            .figure(money::whole(Pence(saved.0.max(0))), "saved by planning"),
        );
    }
    rows.extend(made.thousand_saves.map(thousand));
    rows
}

/// What £1,000 more in the purse would save.
fn thousand(saves: Pence) -> Row {
    let what = money::whole(Pence(100_000));
    let (sentence, figure) = if saves.0 > 0 {
        (
            format!(
                "{what} more in the purse before the first year would save {} over the years: made again with it.",
                money::whole(saves)
            ),
            money::whole(saves),
        )
    } else {
        (
            format!(
                "{what} more in the purse before the first year would save nothing over the years: made again with it, no \
                 cheaper programme was found."
            ),
            "nothing".to_owned(),
        )
    };
    Row::plain("more-money", sentence).figure(figure, format!("what {what} buys"))
}

/// A row a building, with its part.
fn buildings(found: &SharedProgramme, made: &SharedMade) -> Vec<Row> {
    let row = |part: &plan::SharedPart| {
        let count: u64 = part.replaced.iter().map(|n| u64::from(*n)).sum();
        let paid: i64 = part.paid.iter().map(|p| p.0).sum();
        let own = if part.own_purse {
            " It keeps to its own purse too."
        } else {
            ""
        };
        let adopted = if found.adopted.contains(&part.building) {
            " Adopted."
        } else {
            ""
        };
        Row::about(
            format!("b-{}", part.building),
            Link::new(
                name_of(found, part.building),
                format!("/programme?building={}", part.building),
            ),
            format!(
                ": {} in all years.{own}{adopted}",
                plural(count, "replacement", "replacements")
            ),
        )
        .figure(money::whole(Pence(paid)), "from the shared purse")
        .verb(Verb::link(
            "Read its part, unit by unit",
            format!("/programme/plans/{}", part.plan),
        ))
    };
    made.parts.iter().map(row).collect()
}

/// What each building pays in each year, and their sum.
fn totals(found: &SharedProgramme, made: &SharedMade) -> Table {
    let mut headers: Vec<&str> = vec!["Year"];
    headers.extend(made.parts.iter().map(|p| name_of(found, p.building)));
    headers.push("All");
    let mut rows = Vec::new();
    let sum_of = |part: &plan::SharedPart| part.paid.iter().map(|p| p.0).sum::<i64>();
    for (t, line) in made.years.iter().enumerate() {
        let mut row = vec![line.year.to_string()];
        let each = made.parts.iter().map(|p| p.paid.get(t).copied());
        row.extend(each.map(|p| money::whole(p.unwrap_or(Pence(0)))));
        row.push(money::whole(line.paid));
        rows.push(row);
    }
    let mut last = vec!["All years".to_owned()];
    last.extend(made.parts.iter().map(|p| money::whole(Pence(sum_of(p)))));
    let all: i64 = made.years.iter().map(|y| y.paid.0).sum();
    last.push(money::whole(Pence(all)));
    rows.push(last);
    let numbers: Vec<usize> = (1..headers.len()).collect();
    Table {
        caption: "What each building pays in each year".to_owned(),
        ..Table::new(&headers, rows).numbers(&numbers)
    }
}

/// The shared purse year by year, in lines that add up.
fn purse(made: &SharedMade) -> Vec<Row> {
    let line = |y: &plan::SharedYear| {
        Row::plain(
            format!("y-{}", y.year),
            format!(
                "{}: {} at the start + {} in − {} set aside − {} for replacements = a reserve of {} at its end.",
                y.year,
                money::whole(y.opening),
                money::whole(y.comes_in),
                money::whole(y.set_aside),
                money::whole(y.paid),
                money::whole(y.reserve)
            ),
        )
        .figure(money::whole(y.reserve), "reserve")
    };
    made.years.iter().map(line).collect()
}
