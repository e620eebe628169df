//! What to carry this week: the bag of an engineer, packed on the phone or by the firm's office.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::{EngineerId, EstateId};
use usecases::Error;
use usecases::bag::{self, BagAsk, BagView, KeptBag};
use wording::sentences::{counted, dates, minus, money, plural};
use wording::{Ask, Row, Shell, Why};

use crate::Failure;
use crate::form::{Typed, fresh_once, id_of};
use crate::page::{page, see_told, wrong};
use crate::seats::Road;
use crate::state::{State, answer, ask};
use crate::when;

#[derive(Template)]
#[template(path = "my-day/bag.html")]
struct BagPage {
    shell: Shell,
    heading: String,
    asks: Vec<Ask>,
    bags: Vec<OneBag>,
    form: Typed,
    once: String,
}

/// The bag for one estate.
struct OneBag {
    estate: String,
    estate_name: String,
    engineer: String,
    week_on: String,
    standing: String,
    rows: Vec<Row>,
    sum: Option<Row>,
    purse: String,
    of_hundred: String,
}

pub(super) async fn show(
    road: Road,
    state: web::Data<State>,
    query: web::Query<Typed>,
) -> Result<HttpResponse, Failure> {
    let of = engineer_of(query.value("engineer"))?;
    page(&page_of(&road, &state, of, Typed::default()).await?)
}

pub(super) async fn take(
    road: Road,
    state: web::Data<State>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let engineer: EngineerId = id_of(form.value("engineer"), "engineer")?;
    let estate: EstateId = id_of(form.value("estate"), "estate")?;
    let seat = road.seats.iter().find(|s| s.estate() == estate).cloned();
    let seat = seat.ok_or(Failure(Error::NotFound("estate")))?;
    let week_on = form.date("week_on");
    if week_on.is_none() && form.error("week_on").is_none() {
        form.complain("week_on", "The week is missing; open the page again.");
    }
    let purse = form.pounds("purse");
    let of_hundred = form.number("of_hundred", 0.0, 100.0);
    if purse.is_none() && form.error("purse").is_none() {
        form.complain("purse", "An amount is needed here, such as 400.00.");
    }
    if of_hundred.is_none() && form.error("of_hundred").is_none() {
        form.complain("of_hundred", "A number is needed here.");
    }
    if let (Some(week_on), Some(purse), Some(of_hundred)) = (week_on, purse, of_hundred) {
        let asked = BagAsk {
            engineer,
            week_on,
            purse,
            of_hundred,
        };
        let once = form.once();
        match ask(&state, move |world| bag::pack(world, &seat, &asked, &once)).await {
            Ok(()) => {
                let back = format!("/bag?engineer={engineer}");
                return Ok(see_told(
                    &back,
                    "The bag is packed on paper; it stands below.",
                ));
            }
            Err(error) => form.take_wrongs(error)?,
        }
    }
    wrong(&page_of(&road, &state, Some(engineer), form).await?)
}

fn engineer_of(text: &str) -> Result<Option<EngineerId>, Failure> {
    match text {
        "" => Ok(None),
        text => id_of(text, "engineer").map(Some),
    }
}

async fn page_of(
    road: &Road,
    state: &web::Data<State>,
    of: Option<EngineerId>,
    typed: Typed,
) -> Result<BagPage, Failure> {
    let seats = road.seats.clone();
    let views = answer(state, move |world| bag::view(world, &seats, of)).await?;
    let heading = match views.iter().find_map(|v| v.engineer.as_ref()) {
        Some((_, name)) => format!("What to carry this week: {name}"),
        None => "No engineer of yours is on record yet".to_owned(),
    };
    Ok(BagPage {
        shell: road.shell(state, "my-day"),
        heading,
        asks: asks(&views),
        bags: views.iter().filter_map(|v| one(v, &typed)).collect(),
        once: match typed.value("once") {
            "" => fresh_once(),
            key => key.to_owned(),
        },
        form: typed,
    })
}

/// The engineers to choose among; none where there is no choice.
fn asks(views: &[BagView]) -> Vec<Ask> {
    let Some(view) = views.first().filter(|v| v.engineers.len() > 1) else {
        return Vec::new();
    };
    view.engineers
        .iter()
        .map(|(id, name)| Ask {
            words: name.clone(),
            href: format!("/bag?engineer={id}"),
            current: view.engineer.as_ref().is_some_and(|own| own.0 == *id),
        })
        .collect()
}

fn one(view: &BagView, typed: &Typed) -> Option<OneBag> {
    let asked = view.ask.as_ref()?;
    let estate = view.estate.to_string();
    let own = typed.value("estate") == estate;
    let kept = |field: &str, standing: String| {
        if own && !typed.value(field).is_empty() {
            typed.value(field).to_owned()
        } else {
            standing
        }
    };
    let (faults, planned) = view.visits;
    let standing = format!(
        "Week of {}: {} booked, {} planned.",
        dates::day(view.week_on),
        plural(faults as u64, "fault", "faults"),
        plural(planned as u64, "visit", "visits")
    );
    Some(OneBag {
        estate_name: view.estate_name.clone(),
        engineer: asked.engineer.to_string(),
        week_on: dates::machine(view.week_on),
        standing,
        rows: view.kept.as_ref().map(rows).unwrap_or_default(),
        sum: view.kept.as_ref().map(sum),
        purse: kept("purse", format!("{:.2}", asked.purse.to_pounds())),
        of_hundred: kept("of_hundred", asked.of_hundred.to_string()),
        estate,
    })
}

fn rows(kept: &KeptBag) -> Vec<Row> {
    let answer = &kept.answer;
    answer
        .bag
        .carried
        .iter()
        .enumerate()
        .filter_map(|(place, carried)| {
            let part = answer.parts.get(carried.part)?;
            let copies = match carried.copies {
                1 => String::new(),
                n => format!("{n} of: "),
            };
            Some(
                Row::plain(
                    format!("part-{place}"),
                    format!(
                        "{copies}{}. {} a week like this it spares a second visit.",
                        part.name,
                        wording::sentences::capital(&often(carried.gain))
                    ),
                )
                .figure(money::exact(terms::Pence(carried.price)), "to carry"),
            )
        })
        .collect()
}

/// "about 1 time in 4", "about 2 times".
fn often(gain: f64) -> String {
    if gain >= 1.5 {
        format!("about {gain:.0} times")
    } else if gain > 0.75 {
        "about once".to_owned()
    } else {
        format!("about 1 time in {:.0}", 1.0 / gain.max(0.001))
    }
}

fn sum(kept: &KeptBag) -> Row {
    let (answer, bag) = (&kept.answer, &kept.answer.bag);
    let visits = bag.visits as f64 + answer.to_come;
    let proven = if bag.best {
        "No bag within this price does better: it was proven by trying.".to_owned()
    } else {
        format!(
            "It is at least half as good as the best bag can be, and no bag within this price finishes more than {:.1}.",
            bag.at_most
        )
    };
    let said = format!(
        "With it about {:.1} of {visits:.0} visits are finished first time, without it {:.1}; it comes to {}.",
        bag.with,
        bag.without,
        money::exact(terms::Pence(bag.price))
    );
    let why = Why::this(vec![
        format!(
            "{} booked by what was reported and the unit's own past, {} of which {} in a hundred find a part to renew, and about {:.1} faults that may come where you will be.",
            counted(answer.jobs.len() as u64, "fault", "faults"),
            plural(answer.planned as u64, "planned visit", "planned visits"),
            kept.ask.of_hundred,
            answer.to_come
        ),
        "A part helps only the visits that need it; the second of a kind helps only where two visits need it. Prices are a share of the usual repair price: judgement, no source.".to_owned(),
        proven,
        format!("Packed {}.", when::day_words(kept.made_at)),
    ]);
    Row::plain("sum", said)
        .figure(
            minus(&format!("{:+.1}", bag.with - bag.without)),
            "visits finished first time",
        )
        .why(why)
}
