//! The landlord's letter: decisions first, then the money, then what is out of order. Nothing operational.
use actix_web::{HttpResponse, web};
use askama::Template;
use chrono::NaiveDate;
use usecases::advice::{self, AtRisk, Exception, ForDecision, Letter, Listed, Money};
use wording::sentences::{capital, counted, dates, money, plural, spans};
use wording::{Fact, Link, Row, Shell, Urgency, Verb, Why};

use crate::Failure;
use crate::advice::{course, words};
use crate::page::page;
use crate::seats::Owner;
use crate::state::{State, answer};
use crate::when;

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config.service(web::resource("/letter").route(web::get().to(show)));
}

#[derive(Template)]
#[template(path = "letter/letter.html")]
struct LetterPage {
    shell: Shell,
    today: String,
    heading: String,
    greeting: String,
    decisions: Vec<Row>,
    money_words: Vec<String>,
    spent: Vec<Fact>,
    next: Vec<Fact>,
    why: Why,
    exceptions: Vec<Row>,
    decided: Vec<Row>,
    signed: String,
    standing_words: &'static str,
}

/// The letter of today.
pub(crate) async fn show(owner: Owner, state: web::Data<State>) -> Result<HttpResponse, Failure> {
    let seat = owner.seat.clone();
    let letter = answer(&state, move |world| advice::letter(world, &seat)).await?;
    let shell = owner.shell(&state, "letter");
    page(&LetterPage {
        today: when::day_words(state.world.now()),
        heading: heading(&letter),
        greeting: greeting(&letter),
        decisions: letter.decisions.iter().map(decision_row).collect(),
        money_words: money_words(&letter.money),
        spent: vec![
            Fact::new("Repairs", money::whole(letter.money.repairs)),
            Fact::new("Services and checks", money::whole(letter.money.services)),
            Fact::new("Replacements", money::whole(letter.money.replacements)),
            Fact::new(
                "The 12 months before, all",
                money::whole(letter.money.before),
            ),
        ],
        next: vec![
            Fact::new("Failures put right", letter.money.next_failures.to_string()),
            Fact::new("Services", letter.money.next_services.to_string()),
            Fact::new(
                "8 years in 10 within",
                format!("{} to {}", letter.money.low, letter.money.high),
            ),
        ],
        why: why(&letter.money),
        exceptions: exceptions(&letter),
        decided: letter.decided.iter().map(decided_row).collect(),
        signed: shell.estate_name.clone(),
        standing_words: words::STANDING,
        shell,
    })
}

fn heading(letter: &Letter) -> String {
    let all = letter.decisions.len() as u64;
    let late = letter.decisions.iter().filter(|d| d.days_late > 0).count() as u64;
    if all == 0 {
        return "Nothing waits for you".to_owned();
    }
    let waits = capital(&counted(
        all,
        "decision waits for you",
        "decisions wait for you",
    ));
    match late {
        0 => waits,
        1 if all == 1 => format!("{waits}; it is late"),
        n => format!("{waits}; {} late", counted(n, "of them is", "of them are")),
    }
}

fn greeting(letter: &Letter) -> String {
    let about = if letter.buildings.is_empty() {
        String::new()
    } else {
        format!(
            " This is about {}.",
            wording::sentences::list(&letter.buildings)
        )
    };
    format!("Dear {},{about}", letter.to)
}

fn decision_row(d: &ForDecision) -> Row {
    let a = &d.listed;
    let href = format!("/advice/{}", a.id);
    let isolated = a.isolated_since.map(|since| {
        let day = dates::weekday_day(when::local_day(since));
        format!(" It is isolated and off since {day}.")
    });
    let (urgency, small) = match d.by {
        Some(by) if d.days_late > 0 => (
            Urgency::Late,
            format!(
                "late by {}, was {}",
                plural(d.days_late as u64, "day", "days"),
                dates::day_brief(by)
            ),
        ),
        Some(by) => (Urgency::Plain, format!("by {}", dates::day_of_year(by))),
        None => (Urgency::Plain, String::new()),
    };
    let late = match d.by {
        Some(by) if d.days_late > 0 => {
            format!(
                " The decision was due by {}: it is late.",
                dates::weekday_day(by)
            )
        }
        _ => String::new(),
    };
    let urgency = if isolated.is_some() {
        Urgency::Late
    } else {
        urgency
    };
    let asked = a.asks_for().map(money::exact).unwrap_or_default();
    Row::about(
        format!("d-{}", a.id),
        Link::new(course::headline_there(a), &href),
        format!(
            "{}{late} {}",
            isolated.unwrap_or_default(),
            words::weighed(a)
        ),
    )
    .urgency(urgency)
    .figure(asked, small)
    .verb(Verb::link("Decide", format!("{href}#decide")))
    .verb(Verb::link("Read the advice", &href))
    .verb(Verb::link("Read the two pages", format!("{href}/pack")))
}

fn money_words(m: &Money) -> Vec<String> {
    let spent = terms::Pence(m.repairs.0 + m.services.0 + m.replacements.0);
    let next = terms::ExpectedPounds(m.next_failures.0 + m.next_services.0);
    vec![
        format!(
            "In the last 12 months {} was spent on heating and hot water; in the 12 months before it was {}.",
            money::whole(spent),
            money::whole(m.before)
        ),
        format!(
            "The next 12 months are expected to cost about {next} ({} to {}, 8 years in 10), replacements apart.",
            m.low, m.high
        ),
    ]
}

fn why(m: &Money) -> Why {
    let (units, own) = m.units;
    Why::this(vec![
        "Spent: what was recorded as paid for failures, services and replacements of your buildings, VAT in it. What nobody recorded is missing.".to_owned(),
        format!(
            "To come: the failures expected of {}, each at the price of a repair of its kind, and one service each. {} by a forecast of their own, the rest by their kind’s published figures.",
            plural(units as u64, "unit", "units"),
            capital(&plural(own as u64, "is reckoned", "are reckoned"))
        ),
        "The range holds 8 years in 10 as far as failures fall by chance, unit by unit; a hard winter moves all of them together and is not in it.".to_owned(),
    ])
}

fn exceptions(letter: &Letter) -> Vec<Row> {
    let mut rows: Vec<Row> = (1..)
        .zip(&letter.exceptions)
        .map(|(n, e)| exception(&format!("e-{n}"), e, letter))
        .collect();
    let (late, all) = letter.checks;
    if all > 0 {
        let fine = all - late;
        let words = if late == 0 {
            format!(
                "All {} the law asks for are inside their time.",
                plural(all as u64, "check", "checks")
            )
        } else {
            format!(
                "The other {} the law asks for are inside their time.",
                plural(fine as u64, "check", "checks")
            )
        };
        rows.push(Row::plain("e-rest", words).figure(format!("{fine} of {all}"), "legal checks"));
    } else {
        rows.push(Row::plain(
            "e-rest",
            "No check the law asks for is on record yet.",
        ));
    }
    rows
}

fn exception(id: &str, e: &Exception, letter: &Letter) -> Row {
    match e {
        Exception::Unsafe {
            number,
            space,
            building,
            since,
            isolated,
        } => {
            let place = words::place(space, building);
            let day = dates::weekday_day(when::local_day(*since));
            let state = if *isolated {
                "is isolated as unsafe"
            } else {
                "was found unsafe"
            };
            let days = (letter.today - when::local_day(*since)).num_days().max(0);
            Row::plain(
                id,
                format!("Unit {number} in {place} {state} since {day}; it stays so until a registered engineer clears it."),
            )
            .urgency(Urgency::Late)
            .figure(plural(days as u64, "day", "days"), "unsafe")
        }
        Exception::Late {
            check,
            place,
            deadline,
        } => Row::plain(
            id,
            format!(
                "{check} is late: {place}, due by {}.",
                dates::weekday_day(*deadline)
            ),
        )
        .urgency(Urgency::Late)
        .figure(spans::due(letter.today, *deadline), "check"),
        Exception::Cover { place, kind, risk } => cover(id, (place, kind), risk, letter.today),
        Exception::Outage {
            place,
            homes,
            home_hours,
            since,
            until,
            cause,
        } => {
            let day = dates::weekday_day(when::local_day(*since));
            let homes = counted(*homes as u64, "home", "homes");
            let cause = match cause.trim_end_matches('.') {
                "" => String::new(),
                cause => format!(" {}.", capital(cause)),
            };
            let (lasted, urgency) = match until {
                Some(until) => (
                    format!("for {}; it is put right", spans::duration(*until - *since)),
                    Urgency::Plain,
                ),
                None => ("and it is not put right yet".to_owned(), Urgency::Late),
            };
            Row::plain(
                id,
                format!("One cause took heat or hot water from {homes} on {place} on {day}, {lasted}.{cause}"),
            )
            .urgency(urgency)
            .figure(format!("{home_hours:.1}"), "home-hours")
        }
    }
}

/// A warranty that hangs on a duty due soon.
fn cover(id: &str, (place, kind): (&str, &str), risk: &AtRisk, today: NaiveDate) -> Row {
    Row::plain(
        id,
        format!(
            "{}: {} by {}, or cover of the {kind} worth about {} until {} ends.",
            capital(place),
            risk.duty,
            dates::weekday_day(risk.by),
            risk.worth,
            dates::day(risk.until)
        ),
    )
    .urgency(Urgency::Soon)
    .figure(spans::due(today, risk.by), "warranty")
}

fn decided_row(a: &Listed) -> Row {
    let said = a.decision.as_ref().map(words::decided).unwrap_or_default();
    Row::about(
        format!("done-{}", a.id),
        Link::new(words::unit_there(a), format!("/advice/{}", a.id)),
        format!(". {said}"),
    )
}
