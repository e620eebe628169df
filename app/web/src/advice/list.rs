//! The agent's list of advice, each a sentence.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::Role;
use usecases::advice::{self, Listed, Overview, Worth};
use wording::sentences::{counted, dates, money};
use wording::{Link, Row, Shell, Urgency, Verb};

use super::words;
use crate::Failure;
use crate::form::fresh_once;
use crate::page::page;
use crate::seats::Reader;
use crate::state::{State, answer};
use crate::when;

#[derive(Template)]
#[template(path = "advice/list.html")]
struct ListPage {
    shell: Shell,
    by_desk: bool,
    heading: String,
    waiting: Vec<Row>,
    others: Vec<Row>,
    worth: Vec<Row>,
    decided: Vec<Row>,
    standing_words: &'static str,
}

/// Every open advice, what was decided lately, and what nobody asked about yet.
pub(crate) async fn show(reader: Reader, state: web::Data<State>) -> Result<HttpResponse, Failure> {
    let seat = reader.seat.clone();
    let by_desk = seat.role() != Role::Landlord;
    let seen = answer(&state, move |world| advice::overview(world, &seat)).await?;
    let today = when::local_day(state.world.now());
    let (waiting, others): (Vec<&Listed>, Vec<&Listed>) =
        seen.open.iter().partition(|a| a.quote.is_some());
    page(&ListPage {
        by_desk,
        shell: reader.shell(&state, "advice"),
        heading: heading(&seen),
        waiting: waiting.into_iter().map(|a| waiting_row(a, today)).collect(),
        others: others.into_iter().map(other_row).collect(),
        worth: seen.worth.iter().map(|w| worth_row(w, by_desk)).collect(),
        decided: seen.decided.iter().map(decided_row).collect(),
        standing_words: words::STANDING,
    })
}

fn heading(seen: &Overview) -> String {
    let waiting = seen.open.iter().filter(|a| a.quote.is_some()).count() as u64;
    match waiting {
        0 => "No quote waits for a decision".to_owned(),
        n => {
            let words = counted(n, "quote waits", "quotes wait");
            wording::sentences::capital(&format!("{words} for a decision"))
        }
    }
}

/// The figure: by how much, and which way.
pub(crate) fn figure(a: &Listed) -> (String, &'static str) {
    match a.advantage {
        Some(p) if p.0 > 0 => (p.to_string(), "cheaper to replace"),
        Some(p) => (terms::Pence(-p.0).to_string(), "cheaper to repair"),
        None => match a.answer.advice.advantage_replace_now {
            Some(p) if p > 0.0 => (terms::ExpectedPounds(p).to_string(), "cheaper to replace"),
            Some(p) => (terms::ExpectedPounds(-p).to_string(), "cheaper to keep"),
            None => ("not known".to_owned(), "nothing to compare"),
        },
    }
}

fn waiting_row(a: &Listed, today: chrono::NaiveDate) -> Row {
    let (words, small) = figure(a);
    let mut said = vec![".".to_owned()];
    let mut urgency = Urgency::Plain;
    if let Some(since) = a.isolated_since {
        urgency = Urgency::Late;
        let day = dates::weekday_day(when::local_day(since));
        said.push(format!("It is isolated since {day}."));
    }
    said.push(words::weighed(a));
    if let Some(by) = a.decide_by() {
        let day = dates::weekday_day(by);
        if by < today {
            urgency = Urgency::Late;
            said.push(format!("The decision is late: the quote lapsed on {day}."));
        } else {
            said.push(format!("The quote lapses after {day}."));
        }
    }
    if a.needs_landlord() {
        said.push("The landlord decides.".to_owned());
    }
    let href = format!("/advice/{}", a.id);
    Row::about(
        format!("a-{}", a.id),
        Link::new(words::unit_there(a), &href),
        said.join(" "),
    )
    .urgency(urgency)
    .figure(words, small)
    .verb(Verb::link("Decide", format!("{href}#decide")))
    .other(Verb::link("Print the two pages", format!("{href}/pack")))
    .other(Verb::link("See the unit", format!("/units/{}", a.unit.id)))
}

fn other_row(a: &Listed) -> Row {
    let (words, small) = figure(a);
    let href = format!("/advice/{}", a.id);
    Row::about(
        format!("a-{}", a.id),
        Link::new(words::unit_there(a), &href),
        format!(". {}", words::weighed(a)),
    )
    .figure(words, small)
    .verb(Verb::link("Read the advice", href))
}

fn worth_row(w: &Worth, by_desk: bool) -> Row {
    let place = words::place(&w.unit.space_name, &w.unit.building_name);
    let subject = wording::sentences::capital(&format!("{} in {place}", w.kind_name));
    let basis = if w.own_forecast {
        "by its own forecast"
    } else {
        "by its kind’s published figures only"
    };
    let faults = format!("{:.1} failures a year expected {basis}", w.expected_12m);
    let row = Row::about(
        format!("w-{}", w.unit.id),
        Link::new(subject, format!("/units/{}", w.unit.id)),
        format!(
            ". No fault is in hand; {faults}. {} for {} would be the cheaper course.",
            wording::sentences::capital(&words::an(&format!("new {}", w.option_name))),
            money::whole(w.capex)
        ),
    )
    .figure(w.advantage.to_string(), "cheaper to replace");
    if !by_desk {
        return row;
    }
    row.verb(Verb::post(
        "Make an advice",
        format!("/units/{}/advice", w.unit.id),
        vec![("once".to_owned(), fresh_once())],
    ))
}

fn decided_row(a: &Listed) -> Row {
    let said = a.decision.as_ref().map(words::decided).unwrap_or_default();
    let row = Row::about(
        format!("d-{}", a.id),
        Link::new(words::unit_there(a), format!("/advice/{}", a.id)),
        format!(". {said}"),
    );
    match a.quote {
        Some(quote) => row.figure(quote.to_string(), "quoted"),
        None => row,
    }
}
