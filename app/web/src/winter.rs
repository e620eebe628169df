//! The winter we would have had: the last twelve months replayed under the advice of then.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::{ExpectedPounds, Role};
use usecases::winter::{self, Ranged, Replayed, Swapped, Winter};
use wording::sentences::{capital, counted, dates, plural};
use wording::{Link, Row, Shell};

use crate::Failure;
use crate::advice::words;
use crate::page::page;
use crate::seats::Reader;
use crate::state::{State, answer};

/// Units named on the page, at most.
const NAMED: usize = 10;

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config.service(web::resource("/winter").route(web::get().to(show)));
}

#[derive(Template)]
#[template(path = "winter/winter.html")]
struct WinterPage {
    shell: Shell,
    period: String,
    heading: String,
    standing: String,
    answers: Vec<Row>,
    swapped: Vec<Row>,
    how: Vec<String>,
}

async fn show(reader: Reader, state: web::Data<State>) -> Result<HttpResponse, Failure> {
    let seat = reader.seat.clone();
    let seen = answer(&state, move |world| winter::winter(world, &seat)).await?;
    let here = if reader.seat.role() == Role::Landlord {
        "letter"
    } else {
        "winter"
    };
    page(&WinterPage {
        shell: reader.shell(&state, here),
        period: format!("{} to {}", dates::day(seen.from), dates::day(seen.until)),
        heading: heading(&seen),
        standing: "Each month is looked at with only what was on record then. It is a telling, not a proof: nobody knows which new unit would have failed.".to_owned(),
        answers: seen.told.as_ref().map(answers).unwrap_or_default(),
        swapped: seen.swapped.iter().take(NAMED).map(swapped_row).collect(),
        how: how(&seen),
    })
}

fn heading(seen: &Replayed) -> String {
    let Some(told) = &seen.told else {
        return format!(
            "Nothing is said yet: {} in twelve months, and below {} luck decides",
            counted(seen.failures as u64, "failure", "failures"),
            seen.least
        );
    };
    if told.replaced == 0 {
        return "The advice would have replaced nothing in these twelve months".to_owned();
    }
    capital(&format!(
        "{} replaced when advised, about {} fewer",
        counted(told.replaced as u64, "unit", "units"),
        days(told.cold_fewer.mid)
    ))
}

/// "19 cold days"; "3 cold days more" is said by its sign elsewhere.
fn days(n: f64) -> String {
    let whole = n.round_ties_even();
    let sign = if whole < 0.0 { "−" } else { "" };
    format!(
        "{sign}{}",
        plural(whole.abs() as u64, "cold day", "cold days")
    )
}

fn pounds(range: &Ranged) -> String {
    format!(
        "{} to {}",
        ExpectedPounds(range.low),
        ExpectedPounds(range.high)
    )
}

fn answers(told: &Winter) -> Vec<Row> {
    vec![
        Row::plain(
            "cold",
            format!(
                "{} were had in all. With the advice followed there would have been about {} fewer ({} to {}).",
                capital(&days(told.cold_days)),
                days(told.cold_fewer.mid),
                days(told.cold_fewer.low),
                days(told.cold_fewer.high)
            ),
        )
        .figure(days(told.cold_fewer.mid), "fewer, about"),
        Row::plain(
            "paid",
            format!(
                "{} was paid for failures. About {} of it would not have been paid ({}).",
                ExpectedPounds(told.paid),
                ExpectedPounds(told.paid_fewer.mid),
                pounds(&told.paid_fewer)
            ),
        )
        .figure(ExpectedPounds(told.paid_fewer.mid).to_string(), "fewer, about"),
        Row::plain(
            "fitting",
            format!(
                "Fitting {} would have cost {}; spread over their lives, {} of it falls to the year. What is left in them counts for the years after.",
                counted(told.replaced as u64, "new unit", "new units"),
                ExpectedPounds(told.fitting),
                ExpectedPounds(told.fitting_a_year)
            ),
        )
        .figure(ExpectedPounds(told.fitting_a_year).to_string(), "the year’s share"),
        Row::plain(
            "spared",
            format!(
                "Of {} that happened, {} came after the day a unit would have been replaced.",
                plural(told.failures as u64, "failure", "failures"),
                plural(told.spared as u64, "failure", "failures")
            ),
        )
        .figure(told.spared.to_string(), "would not have happened"),
    ]
}

fn swapped_row(s: &Swapped) -> Row {
    let place = words::place(&s.unit.space_name, &s.unit.building_name);
    let then = match s.spared {
        0 => "it did not fail again".to_owned(),
        n => format!(
            "it failed {} after that",
            plural(u64::from(n), "more time", "more times")
        ),
    };
    Row::about(
        format!("s-{}", s.unit.id),
        Link::new(s.unit.number.clone(), format!("/units/{}", s.unit.id)),
        format!(
            " in {place}: from {} on replacing it was the cheaper course; {then}.",
            dates::day(s.advised_on)
        ),
    )
    .figure(s.spared.to_string(), "failures after")
}

fn how(seen: &Replayed) -> Vec<String> {
    let mut said = vec![
        "On the first day and on the first of each month, every unit with a forecast of its own was weighed with the forecast, the kind’s figures and the repairs on record that day, at today’s prices and with what is known of the unit and its place today. Replacing counts as advised when it was cheaper by more than £50, and as done after the usual wait.".to_owned(),
        "Failures after that day are taken away, and what a new unit is expected to fail is put back at the mean of what a failure took. The range is what luck with failures does.".to_owned(),
    ];
    if seen.not_cold > 0 {
        said.push(format!(
            "By {} neither heat nor hot water was lost, or nobody said that it was: no cold day is counted for them.",
            plural(seen.not_cold as u64, "failure", "failures")
        ));
    }
    if seen.assumed_days > 0 {
        said.push(format!(
            "For {} no job says when it ended; the usual wait for a repair stands in for its days.",
            plural(seen.assumed_days as u64, "failure", "failures")
        ));
    }
    if seen.unpaid > 0 {
        said.push(format!(
            "Of {} nobody recorded the cost; it counts as nothing.",
            plural(seen.unpaid as u64, "failure", "failures")
        ));
    }
    said
}
