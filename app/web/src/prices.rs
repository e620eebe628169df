//! Dated prices by kind, general or agreed with a firm; the rate; and the figures nobody can look up.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::FirmId;
use terms::trade::{Price, RealRate};
use usecases::advice::{InputLine, Measure};
use usecases::prices::{self, Prices};
use wording::sentences::{capital, dates, money};
use wording::{Ask, Choice, Shell, Table};

use crate::Failure;
use crate::advice::input_words;
use crate::form::{Typed, fresh_once};
use crate::page::{page, see_told, wrong};
use crate::seats::Desk;
use crate::state::{State, answer, ask};

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config
        .service(
            web::resource("/prices")
                .route(web::get().to(show))
                .route(web::post().to(take_price)),
        )
        .service(web::resource("/prices/rate").route(web::post().to(take_rate)))
        .service(web::resource("/prices/figure").route(web::post().to(take_figure)));
}

/// One figure that no list holds, with its own small form.
struct Figure {
    once: String,
    key: String,
    words: String,
    hint: String,
    value: String,
    wrong: Option<String>,
}

#[derive(Template)]
#[template(path = "prices/prices.html")]
struct PricesPage {
    shell: Shell,
    heading: String,
    kind: String,
    asks: Vec<Ask>,
    prices: Table,
    items: Vec<Choice>,
    firms: Vec<Choice>,
    rate_words: String,
    schedule: Table,
    assumed: Vec<Figure>,
    form: Typed,
    once: String,
}

async fn page_of(
    desk: &Desk,
    state: &web::Data<State>,
    kind: &str,
    typed: &Typed,
) -> Result<PricesPage, Failure> {
    let (seat, kind) = (desk.seat.clone(), kind.to_owned());
    let seen = answer(state, move |world| prices::prices(world, &seat, &kind)).await?;
    let today = dates::machine(seen.today);
    let mut form = Typed::starting_with([
        ("vat", "20".to_owned()),
        ("as_at", today.clone()),
        ("rate", format!("{:.2}", seen.rate.rate * 100.0)),
        ("rate_as_at", today),
    ]);
    form.lay_over(typed);
    Ok(PricesPage {
        shell: desk.shell(state, "prices"),
        heading: format!("What {} cost", seen.kind.plural),
        kind: seen.kind.code.clone(),
        asks: seen
            .kinds
            .iter()
            .map(|k| Ask {
                words: capital(&k.name),
                href: format!("/prices?kind={}", k.code),
                current: k.code == seen.kind.code,
            })
            .collect(),
        prices: price_table(&seen),
        items: items(&seen, form.value("item")),
        firms: firms(&seen, form.value("firm")),
        rate_words: rate_words(&seen),
        schedule: schedule(&seen),
        assumed: seen
            .assumed
            .iter()
            .map(|line| figure(line, &form))
            .collect(),
        once: match typed.value("once") {
            "" => fresh_once(),
            key => key.to_owned(),
        },
        form,
    })
}

fn price_table(seen: &Prices) -> Table {
    let mut before: Option<(&str, Option<FirmId>)> = None;
    let mut rows = Vec::new();
    for price in &seen.prices {
        let this = (price.item.as_str(), price.firm);
        let stands = if before == Some(this) {
            "earlier"
        } else {
            "stands"
        };
        before = Some(this);
        let firm = seen.firms.iter().find(|(id, _)| Some(*id) == price.firm);
        let whose = match (price.firm, firm) {
            (None, _) => "anybody".to_owned(),
            (Some(_), Some((_, name))) => name.clone(),
            (Some(_), None) => "a firm no longer here".to_owned(),
        };
        rows.push(vec![
            price.name.clone(),
            whose,
            money::exact(price.low),
            money::exact(price.likely),
            money::exact(price.high),
            format!("{} %", price.vat_percent),
            dates::day(price.as_at),
            stands.to_owned(),
            price.status.clone(),
        ]);
    }
    let heads = [
        "What",
        "With whom",
        "Low",
        "Likely",
        "High",
        "VAT in it",
        "As at",
        "Which stands",
        "How it is known",
    ];
    Table::new(&heads, rows).numbers(&[2, 3, 4, 5])
}

fn items(seen: &Prices, typed: &str) -> Vec<Choice> {
    let choice = |value: String, label: String| {
        let chosen = value == typed;
        Choice::new(value, label, chosen)
    };
    let mut items = vec![
        choice("service".to_owned(), "A yearly service".to_owned()),
        choice("check".to_owned(), "A check alone".to_owned()),
        choice(
            "repair".to_owned(),
            "A repair, part not known yet".to_owned(),
        ),
    ];
    for (code, name) in &seen.parts {
        items.push(choice(
            format!("repair:{code}"),
            format!("A repair: {name}"),
        ));
    }
    for kind in &seen.kinds {
        let name = crate::advice::words::an(&kind.name);
        items.push(choice(
            format!("replace:{}", kind.code),
            format!("Replacing it with {name}"),
        ));
    }
    items
}

fn firms(seen: &Prices, typed: &str) -> Vec<Choice> {
    let mut choices = vec![Choice::new("", "nobody: a general price", typed.is_empty())];
    for (id, name) in &seen.firms {
        let value = id.to_string();
        let chosen = value == typed;
        choices.push(Choice::new(value, name.clone(), chosen));
    }
    choices
}

fn rate_words(seen: &Prices) -> String {
    let rate = &seen.rate;
    format!(
        "Money of later years is brought to today’s at {}: {}, as at {}.{}",
        prices::rates_in_words(rate),
        rate.status,
        dates::day(rate.as_at),
        what_falls(seen)
    )
}

/// What the steps bear on, and how.
fn what_falls(seen: &Prices) -> String {
    let Some(falling) = &seen.falling else {
        return String::new();
    };
    let (last, longest) = (falling.after, falling.longest_life);
    let in_life = if longest > last {
        format!("the longest life reckoned with is {longest} years")
    } else {
        format!("the longest life reckoned with, {longest} years, ends before that")
    };
    format!(
        " The years are counted from the day of the advice. What is paid after year {last} counts by the later steps: {in_life}, and every unit is taken to be followed by others without end, so that a pound a year for ever counts £{:.2} instead of the £{:.2} of the first rate alone. Those that follow are each levelled to a cost a year by the rates counted from the day they are fitted, as whoever buys them then will count.",
        falling.for_ever, falling.for_ever_at_first
    )
}

fn schedule(seen: &Prices) -> Table {
    let rate = &seen.rate;
    let mut rows = Vec::new();
    let (mut from, mut percent) = (1, rate.rate);
    for step in &rate.later {
        let years = format!("{from} to {}", step.after);
        rows.push(vec![years, format!("{:.1} %", percent * 100.0)]);
        (from, percent) = (step.after + 1, step.rate);
    }
    rows.push(vec![
        format!("from {from} on"),
        format!("{:.1} %", percent * 100.0),
    ]);
    Table {
        caption: format!("{}, {}", rate.status, dates::day(rate.as_at)),
        ..Table::new(&["Years from now", "Real rate a year"], rows).numbers(&[1])
    }
}

fn figure(line: &InputLine, form: &Typed) -> Figure {
    let typed_here = form.value("key") == line.code;
    let value = if typed_here {
        form.value("value").to_owned()
    } else if line.source == "estate setting" {
        line.value.to_string()
    } else {
        String::new()
    };
    let measured = match line.measure {
        Measure::Days => "in days",
        Measure::FailuresAYear => "failures a year",
        Measure::KwhAYear => "kWh a year",
        Measure::PenceAKwh => "pence a kWh",
        Measure::Pounds => "in pounds",
        Measure::PoundsAYear => "pounds a year",
        Measure::Rate | Measure::Share => "as a share: 0.15 is 15 in 100",
        Measure::Spread | Measure::Variance => "a plain number",
        Measure::Years => "in years",
    };
    Figure {
        once: fresh_once(),
        words: input_words(line.code.split(':').next().unwrap_or_default()).to_owned(),
        hint: format!(
            "{}; now {}: {}.",
            capital(measured),
            line.value,
            line.status
        ),
        wrong: form.error(&line.code).map(str::to_owned),
        key: line.code.clone(),
        value,
    }
}

async fn show(
    desk: Desk,
    state: web::Data<State>,
    query: web::Query<Typed>,
) -> Result<HttpResponse, Failure> {
    page(&page_of(&desk, &state, query.value("kind"), &Typed::default()).await?)
}

fn read_price(form: &mut Typed, kind: &str) -> Option<Price> {
    let (low, likely, high) = (
        form.pounds("low"),
        form.pounds("likely"),
        form.pounds("high"),
    );
    let vat = form.number("vat", 0.0, 30.0);
    let as_at = form.date("as_at");
    for field in ["low", "likely", "high", "vat", "as_at"] {
        if form.value(field).trim().is_empty() {
            form.complain(field, "This is needed.");
        }
    }
    let firm = form.value("firm").trim().to_owned();
    let firm = if firm.is_empty() {
        None
    } else {
        Some(form.code::<FirmId>("firm", "Choose a firm from the list.")?)
    };
    Some(Price {
        firm,
        kind: kind.to_owned(),
        item: form.value("item").to_owned(),
        name: form.value("name").trim().to_owned(),
        low: low?,
        likely: likely?,
        high: high?,
        vat_percent: vat?,
        status: form.value("status").trim().to_owned(),
        as_at: as_at?,
    })
}

async fn take_price(
    desk: Desk,
    state: web::Data<State>,
    query: web::Query<Typed>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let (once, kind) = (form.once(), query.value("kind").to_owned());
    if let Some(price) = read_price(&mut form, &kind) {
        let seat = desk.seat.clone();
        let asked = ask(&state, move |world| {
            prices::state_price(world, &seat, &price, &once)
        });
        match asked.await {
            Ok(()) => {
                return Ok(see_told(
                    &format!("/prices?kind={kind}"),
                    "The price is stated; what stood before stays on record.",
                ));
            }
            Err(error) => form.take_wrongs(error)?,
        }
    }
    wrong(&page_of(&desk, &state, &kind, &form).await?)
}

async fn take_rate(
    desk: Desk,
    state: web::Data<State>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let once = form.once();
    let (rate, as_at) = (form.number("rate", 0.0, 20.0), form.date("rate_as_at"));
    for (field, missing) in [("rate", rate.is_none()), ("rate_as_at", as_at.is_none())] {
        if missing && form.error(field).is_none() {
            form.complain(field, "This is needed.");
        }
    }
    if let (Some(rate), Some(as_at)) = (rate, as_at) {
        let seat = desk.seat.clone();
        let later = form.value("rate_later").to_owned();
        let stated = RealRate {
            rate: rate / 100.0,
            later: Vec::new(),
            status: form.value("rate_status").to_owned(),
            as_at,
        };
        let asked = ask(&state, move |world| {
            prices::state_rate(world, &seat, (stated, &later), &once)
        });
        match asked.await {
            Ok(()) => return Ok(see_told("/prices#rate", "The rate is stated.")),
            Err(error) => form.take_wrongs(error)?,
        }
    }
    wrong(&page_of(&desk, &state, "", &form).await?)
}

async fn take_figure(
    desk: Desk,
    state: web::Data<State>,
    query: web::Query<Typed>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let (once, kind) = (form.once(), query.value("kind").to_owned());
    let key = form.value("key").to_owned();
    let typed = form.value("value").trim().to_owned();
    let value = typed.parse::<f64>().ok().filter(|v| v.is_finite());
    if value.is_none() && !typed.is_empty() {
        form.complain(&key, format!("“{typed}” is not a number."));
    } else {
        let (seat, key) = (desk.seat.clone(), key.clone());
        let asked = ask(&state, move |world| {
            prices::state_assumption(world, &seat, (&key, value), &once)
        });
        match asked.await {
            Ok(()) => {
                return Ok(see_told(
                    &format!("/prices?kind={kind}#figures"),
                    "The figure is stated.",
                ));
            }
            Err(error) => form.take_wrongs(error)?,
        }
    }
    wrong(&page_of(&desk, &state, &kind, &form).await?)
}
