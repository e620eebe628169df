//! The money a building will need for replacements, year by year, and a flat a month.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::{BuildingId, ExpectedPounds, Role};
use usecases::advice;
use usecases::reserve::{self, Reserve, ReserveAsk, YEARS, YearSpread};
use wording::drawings::reserve as drawn;
use wording::sentences::{money, plural};
use wording::{Ask, Choice, Drawing, Row, Shell};

use crate::Failure;
use crate::form::{Typed, fresh_once, id_of};
use crate::page::{page, see_told, wrong};
use crate::seats::Reader;
use crate::state::{State, answer, ask};

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config
        .service(web::resource("/reserve").route(web::get().to(show)))
        .service(web::resource("/reserve/{building}/share").route(web::post().to(take_share)));
}

#[derive(Template)]
#[template(path = "reserve/reserve.html")]
struct ReservePage {
    shell: Shell,
    building: String,
    building_id: String,
    facts: Vec<String>,
    heading: String,
    standing: String,
    asks: Vec<Ask>,
    drawn: Drawing,
    answers: Vec<Row>,
    spans: Vec<Choice>,
    dearer: String,
    form: Typed,
    share_words: String,
    may_state: bool,
    once: String,
    how: Vec<String>,
}

async fn show(
    reader: Reader,
    state: web::Data<State>,
    query: web::Query<Typed>,
) -> Result<HttpResponse, Failure> {
    page_of(&reader, &state, query.into_inner()).await
}

async fn page_of(
    reader: &Reader,
    state: &web::Data<State>,
    mut typed: Typed,
) -> Result<HttpResponse, Failure> {
    let building = match typed.value("building") {
        "" => None,
        id => Some(id_of::<BuildingId>(id, "building")?),
    };
    let years = typed.value("years").parse::<u32>().ok();
    let years = years.filter(|n| YEARS.contains(n)).unwrap_or(YEARS[1]);
    let dearer = typed.number("dearer", 0.0, 20.0).unwrap_or(0.0);
    let asked = ReserveAsk {
        building,
        years,
        dearer: dearer / 100.0,
    };
    let seat = reader.seat.clone();
    let seen = answer(state, move |world| {
        reserve::reserve_forecast(world, &seat, asked)
    })
    .await?;
    let here = if reader.seat.role() == Role::Landlord {
        "money"
    } else {
        "reserve"
    };
    let built = build(&seen, reader.shell(state, here), &typed);
    if built.form.is_wrong() {
        wrong(&built)
    } else {
        page(&built)
    }
}

/// States the largest share that a leaseholder bears.
async fn take_share(
    reader: Reader,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let building: BuildingId = id_of(&path, "building")?;
    let mut form = form.into_inner();
    let once = form.once();
    let share = form.number("share", 0.0, 100.0);
    if share.is_none() && form.error("share").is_none() {
        form.complain("share", "Say the share, in per cent.");
    }
    if let Some(share) = share {
        let seat = reader.seat.clone();
        let asked = ask(&state, move |world| {
            advice::state_largest_share(world, &seat, (building, share), &once)
        });
        match asked.await {
            Ok(()) => {
                return Ok(see_told(
                    &format!("/reserve?building={building}#share"),
                    "The share is stated; consultations are tested on it.",
                ));
            }
            Err(error) => form.take_wrongs(error)?,
        }
    }
    let mut again = Typed::starting_with([("building", building.to_string())]);
    again.lay_over(&form);
    page_of(&reader, &state, again).await
}

fn share_words(seen: &Reserve) -> String {
    match seen.largest_share {
        Some(share) => format!(
            "The largest share of any one leaseholder is stated as {share} %; works are tested on it for consultation."
        ),
        None => "No largest share is stated, so consultations are tested as if every flat bore the same.".to_owned(),
    }
}

fn build(seen: &Reserve, shell: Shell, typed: &Typed) -> ReservePage {
    let query = format!(
        "years={}&dearer={:.1}",
        seen.ask.years,
        seen.ask.dearer * 100.0
    );
    let finding = heading(seen);
    ReservePage {
        shell,
        building: seen.building.name.clone(),
        building_id: seen.building.id.to_string(),
        facts: vec![
            plural(u64::from(seen.units), "unit reckoned with", "units reckoned with"),
            plural(u64::from(seen.flats), "flat", "flats"),
        ],
        standing: "A year’s money is a spread, not a spike: nobody knows which unit goes when. This is for setting money aside; it never advises a replacement.".to_owned(),
        asks: seen
            .buildings
            .iter()
            .map(|b| Ask {
                words: b.name.clone(),
                href: format!("/reserve?building={}&{query}", b.id),
                current: b.id == seen.building.id,
            })
            .collect(),
        drawn: drawn::Reserve {
            id: "reserve".to_owned(),
            title: format!("Money {} will need for replacements", seen.building.name),
            finding: finding.clone(),
            years: seen.years.iter().map(|y| year_of(seen.first_year, y)).collect(),
        }
        .draw(),
        answers: answers(seen),
        spans: YEARS
            .iter()
            .map(|n| {
                let label = plural(u64::from(*n), "year", "years");
                Choice::new(n.to_string(), label, *n == seen.ask.years)
            })
            .collect(),
        dearer: match typed.value("dearer") {
            "" => "0".to_owned(),
            text => text.to_owned(),
        },
        form: typed.clone(),
        share_words: share_words(seen),
        may_state: seen.may_state,
        once: match typed.value("once") {
            "" => fresh_once(),
            key => key.to_owned(),
        },
        how: how(seen),
        heading: finding,
    }
}

fn year_of(first: i32, y: &YearSpread) -> drawn::ReserveYear {
    drawn::ReserveYear {
        year: first + y.year as i32 - 1,
        mean: y.mean,
        eighty: (y.low_80, y.high_80),
        fifty: (y.low_50, y.high_50),
        units: y.units,
    }
}

fn mean_a_year(seen: &Reserve) -> ExpectedPounds {
    let all: f64 = seen.years.iter().map(|y| y.mean).sum();
    ExpectedPounds(all / seen.years.len().max(1) as f64)
}

fn heading(seen: &Reserve) -> String {
    if seen.units == 0 {
        return format!(
            "Nothing is known yet that {} would have to replace",
            seen.building.name
        );
    }
    match seen.a_month {
        Some((mean, covered)) => format!(
            "{} needs about {} a flat a month for replacements; {} covers 9 spans in 10",
            seen.building.name,
            ExpectedPounds(mean).to_pence(),
            ExpectedPounds(covered).to_pence()
        ),
        None => format!(
            "{} needs about {} a year for replacements",
            seen.building.name,
            mean_a_year(seen)
        ),
    }
}

fn answers(seen: &Reserve) -> Vec<Row> {
    let mut rows = vec![
        Row::plain(
            "year",
            format!(
                "Over {} an average year takes about {} for replacements.",
                plural(u64::from(seen.ask.years), "year", "years"),
                mean_a_year(seen)
            ),
        )
        .figure(mean_a_year(seen).to_string(), "a year, expected"),
    ];
    let dearest = seen
        .years
        .iter()
        .max_by(|a, b| a.high_80.total_cmp(&b.high_80));
    if let Some(y) = dearest {
        let year = seen.first_year + y.year as i32 - 1;
        rows.push(
            Row::plain(
                "dearest",
                format!(
                    "The widest year is {year}: {} expected, and 1 chance in 10 of more than {}.",
                    ExpectedPounds(y.mean),
                    ExpectedPounds(y.high_80)
                ),
            )
            .figure(
                ExpectedPounds(y.high_80).to_string(),
                "9 in 10 take no more",
            ),
        );
    }
    if let Some((mean, covered)) = seen.a_month {
        rows.push(
            Row::plain(
                "month",
                format!(
                    "That is {} a flat a month, or {} to be covered 9 times in 10, each flat alike; the leases say each one’s share.",
                    ExpectedPounds(mean).to_pence(),
                    ExpectedPounds(covered).to_pence()
                ),
            )
            .figure(ExpectedPounds(mean).to_pence().to_string(), "a flat a month"),
        );
    }
    rows.push(
        Row::plain(
            "running",
            "Repairs, services and checks come on top; this was paid for them in the last 12 months, as far as it was recorded.",
        )
        .figure(money::whole(seen.running), "paid in 12 months"),
    );
    rows
}

fn how(seen: &Reserve) -> Vec<String> {
    let mut said = vec![
        "Each unit leaves by the published life of its kind, from its age on; what takes its place ages anew and may be replaced in its turn. A year’s money adds up price times chance, unit by unit; the bands are the exact law of that sum, units taken as independent of each other.".to_owned(),
        "Prices are the likely ones of the price list, like for like. A dearer list moves every figure with it.".to_owned(),
    ];
    if seen.decided > 0 {
        said.push(format!(
            "{} decided to be replaced and reckoned as certain in the first year.",
            plural(u64::from(seen.decided), "unit is", "units are")
        ));
    }
    if seen.age_unknown > 0 {
        said.push(format!(
            "The age of {} is not known; ten years, or as long as it was watched, stand in for it.",
            plural(u64::from(seen.age_unknown), "unit", "units")
        ));
    }
    if seen.unpriced > 0 {
        said.push(format!(
            "{} left out: no price for a new one is known.",
            plural(u64::from(seen.unpriced), "unit is", "units are")
        ));
    }
    said.push("The same hard winter or a bad batch moves many units together; that is not in the bands. Money set aside is held on trust: ask whoever keeps the accounts.".to_owned());
    said
}
