//! Papers in date: qualifications and calibrations that run out soon, or before a booked visit they would stop.
use std::collections::BTreeSet;

use actix_web::{HttpResponse, web};
use askama::Template;
use chrono::NaiveDate;
use terms::{JobId, Role};
use usecases::in_date::{self, Missing, Paper, Papers, SOON_DAYS, Stopped, What};
use usecases::{Error, Seat};
use wording::sentences::{capital, counted, dates, list, spans};
use wording::{Row, Shell, Urgency, Verb};

use crate::Failure;
use crate::page::page;
use crate::seats::Visitor;
use crate::state::{State, answer};
use crate::when;

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config.service(web::resource("/papers").route(web::get().to(show)));
}

#[derive(Template)]
#[template(path = "in-date/papers.html")]
struct PapersPage {
    shell: Shell,
    heading: String,
    standing: String,
    missing: Vec<Row>,
    pressing: Vec<Row>,
    rest: Vec<Row>,
}

async fn show(visitor: Visitor, state: web::Data<State>) -> Result<HttpResponse, Failure> {
    let mut seats = visitor.seats(&[Role::Agent, Role::Supervisor]);
    if seats.is_empty() {
        seats = visitor.seats(&[Role::Office]);
    } else {
        // The desk sees one estate at a time, as on its other pages.
        seats.truncate(1);
    }
    let first = seats.first().cloned();
    let seat: Seat = first.ok_or(Failure(Error::Forbidden("not in this role")))?;
    let desk = seat.role() != Role::Office;
    let found = answer(&state, move |world| in_date::papers(world, &seats)).await?;
    let shell = visitor.shell_as(&state, &seat, "papers");
    let today = when::local_day(state.world.now());
    page(&papers_page(shell, &found, today, desk))
}

fn papers_page(shell: Shell, found: &Papers, today: NaiveDate, desk: bool) -> PapersPage {
    let (pressing, rest): (Vec<&Paper>, Vec<&Paper>) =
        found.papers.iter().partition(|p| p.is_pressing());
    let stopped: BTreeSet<JobId> = pressing
        .iter()
        .flat_map(|p| &p.stops)
        .chain(found.missing.iter().map(|m| &m.visit))
        .map(|visit| visit.job)
        .collect();
    let heading = match (pressing.len(), found.papers.len()) {
        (0, 0) => "No paper is on record yet".to_owned(),
        (0, _) => format!("Every paper is in date for the next {SOON_DAYS}\u{a0}days"),
        (n, _) => capital(&counted(
            n as u64,
            "paper runs out soon or has run out",
            "papers run out soon or have run out",
        )),
    };
    let standing = match stopped.len() {
        0 => "No booked visit is stopped by one. A gas job is not closed without a registration number in date on the day."
            .to_owned(),
        n => format!(
            "{} as things stand: renew the paper, or send somebody else.",
            capital(&counted(
                n as u64,
                "booked visit would be stopped",
                "booked visits would be stopped"
            ))
        ),
    };
    PapersPage {
        shell,
        heading,
        standing,
        missing: found
            .missing
            .iter()
            .enumerate()
            .map(|(n, m)| missing_row(n, m, desk))
            .collect(),
        pressing: pressing
            .iter()
            .enumerate()
            .map(|(n, p)| row(&format!("pressing-{n}"), p, (today, desk)))
            .collect(),
        rest: rest
            .iter()
            .enumerate()
            .map(|(n, p)| row(&format!("paper-{n}"), p, (today, desk)))
            .collect(),
    }
}

fn whose(paper: &Paper) -> String {
    match &paper.engineer {
        Some(engineer) => format!("{engineer}, {}", paper.firm),
        None => paper.firm.clone(),
    }
}

fn row(id: &str, paper: &Paper, (today, desk): (NaiveDate, bool)) -> Row {
    let what = match &paper.what {
        What::Qualification { covers, number } => format!("{covers}, number {number}"),
        What::Calibration { name } => format!("calibration of {name}"),
    };
    let ends = if paper.days_left < 0 {
        format!("ran out on {}", dates::day(paper.until))
    } else {
        format!("in date to {}", dates::day(paper.until))
    };
    let figure = if paper.days_left < 0 {
        "ran out".to_owned()
    } else {
        spans::due(today, paper.until)
    };
    let row = Row::plain(id, format!("{}: {what}, {ends}.", whose(paper)));
    let row =
        row.figure(figure, "last day")
            .urgency(if paper.days_left < 0 || !paper.stops.is_empty() {
                Urgency::Late
            } else if paper.is_pressing() {
                Urgency::Soon
            } else {
                Urgency::Plain
            });
    with_stops(row, &paper.stops, desk)
}

fn with_stops(mut row: Row, stops: &[Stopped], desk: bool) -> Row {
    if stops.is_empty() {
        return row;
    }
    let named: Vec<String> = stops
        .iter()
        .map(|s| {
            let at = dates::appointment(when::local(s.at));
            format!("{} in {} on {at}", s.number, s.place)
        })
        .collect();
    row.more.push(format!("It would stop {}.", list(&named)));
    for stop in stops.iter().take(2).filter(|_| desk) {
        row = row.verb(Verb::link(
            format!("See {}", stop.number),
            format!("/jobs/{}", stop.job),
        ));
    }
    row
}

fn missing_row(n: usize, missing: &Missing, desk: bool) -> Row {
    let visit = &missing.visit;
    let row = Row::plain(
        format!("missing-{n}"),
        format!(
            "{} in {} on {} asks for {}, and no such paper of {}, {}, is on record.",
            visit.number,
            visit.place,
            dates::appointment(when::local(visit.at)),
            missing.covers,
            missing.engineer,
            missing.firm
        ),
    )
    .urgency(Urgency::Late);
    if desk {
        row.verb(Verb::link("See the job", format!("/jobs/{}", visit.job)))
    } else {
        row
    }
}
