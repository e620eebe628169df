//! Papers in date: those of firms, qualifications and calibrations that run out soon, or before a booked visit they would
//! stop; a firm's own are stated here.
use std::collections::BTreeSet;

use actix_web::{HttpResponse, web};
use askama::Template;
use chrono::NaiveDate;
use terms::{FirmId, FirmPaperSort, JobId, Role};
use usecases::in_date::{self, Missing, Paper, Papers, SOON_DAYS, StateFirmPaper, Stopped, What};
use usecases::{Error, Seat};
use wording::sentences::{capital, counted, dates, list, spans};
use wording::{Choice, Row, Shell, Urgency, Verb};

use crate::Failure;
use crate::form::{Typed, fresh_once};
use crate::page::{page, see_told, wrong};
use crate::seats::Visitor;
use crate::state::{State, answer, ask};
use crate::when;

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config.service(
        web::resource("/papers")
            .route(web::get().to(show))
            .route(web::post().to(take)),
    );
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
    not_asked: Vec<String>,
    firms: Vec<Choice>,
    sorts: Vec<Choice>,
    form: Typed,
    once: String,
}

/// The seats a visitor reads papers with; the first is the one who writes.
fn seats_of(visitor: &Visitor) -> Result<(Vec<Seat>, Seat), Failure> {
    let mut seats = visitor.seats(&[Role::Agent, Role::Supervisor]);
    if seats.is_empty() {
        seats = visitor.seats(&[Role::Office]);
    } else {
        // The desk sees one estate at a time, as on its other pages.
        seats.truncate(1);
    }
    let first = seats.first().cloned();
    let seat: Seat = first.ok_or(Failure(Error::Forbidden("not in this role")))?;
    Ok((seats, seat))
}

async fn show(visitor: Visitor, state: web::Data<State>) -> Result<HttpResponse, Failure> {
    let (seats, seat) = seats_of(&visitor)?;
    let found = answer(&state, move |world| in_date::papers(world, &seats)).await?;
    let form = Typed::starting_with([("once", fresh_once())]);
    page(&papers_page(
        (&visitor, state.get_ref(), &seat),
        &found,
        form,
    ))
}

/// A firm's own paper stated.
async fn take(
    visitor: Visitor,
    state: web::Data<State>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let (seats, seat) = seats_of(&visitor)?;
    let once = form.once();
    let firm: Option<FirmId> = form.code("firm", "Choose a firm.");
    let what: Option<FirmPaperSort> = form.code("what", "Say which paper it is.");
    let number = form.text("number", "Give its number as it stands on it.");
    let (from, until) = (form.date("from"), form.date("until"));
    for (field, day) in [("from", from), ("until", until)] {
        if day.is_none() && form.error(field).is_none() {
            form.complain(field, "Give the day that stands on it.");
        }
    }
    if let (false, Some(firm), Some(what), Some(from_on), Some(until_on)) =
        (form.is_wrong(), firm, what, from, until)
    {
        let paper = StateFirmPaper {
            firm,
            what,
            number,
            from_on,
            until_on,
        };
        let acting = seat.clone();
        let kept = ask(&state, move |world| {
            in_date::state_firm_paper(world, &acting, paper, &once)
        })
        .await;
        match kept {
            Ok(()) => return Ok(see_told("/papers", "The paper is kept.")),
            Err(error) => form.take_wrongs(error)?,
        }
    }
    let found = answer(&state, move |world| in_date::papers(world, &seats)).await?;
    wrong(&papers_page(
        (&visitor, state.get_ref(), &seat),
        &found,
        form,
    ))
}

fn papers_page(
    (visitor, state, seat): (&Visitor, &State, &Seat),
    found: &Papers,
    form: Typed,
) -> PapersPage {
    let shell = visitor.shell_as(state, seat, "papers");
    let (today, desk) = (
        when::local_day(state.world.now()),
        seat.role() != Role::Office,
    );
    let (pressing, rest): (Vec<&Paper>, Vec<&Paper>) =
        found.papers.iter().partition(|p| p.is_pressing());
    let (heading, standing) = said(found, &pressing);
    let choice = |value: String, label: &str, field: &str| {
        let chosen = form.value(field) == value;
        Choice::new(value, label, chosen)
    };
    PapersPage {
        shell,
        heading,
        standing,
        not_asked: found
            .not_asked
            .iter()
            .map(|(firm, sort)| format!("{firm}: no {sort} is on record."))
            .collect(),
        firms: found
            .firms
            .iter()
            .map(|(id, name)| choice(id.to_string(), name, "firm"))
            .collect(),
        sorts: FirmPaperSort::ALL
            .iter()
            .map(|sort| choice(sort.code().to_owned(), &capital(sort.words()), "what"))
            .collect(),
        once: form.once(),
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
        form,
    }
}

/// The heading, and what follows for booked visits.
fn said(found: &Papers, pressing: &[&Paper]) -> (String, String) {
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
    (heading, standing)
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
        What::OfFirm { sort, number } => format!("{sort}, number {number}"),
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
