//! One outage: its homes with their clocks, what it took, its end. Read by the desk and by the firm that has its job.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::{FaultCallId, OutageId, Role};
use usecases::Seat;
use usecases::duties;
use usecases::outages::{self, EndForm, OutageView, Retest};
use wording::sentences::{capital, counted, dates, spans};
use wording::{Choice, Fact, Link, Row, Shell, Verb, Why};

use super::words;
use crate::Failure;
use crate::form::{Typed, fresh_once, id_of};
use crate::jobs::words::lost_words;
use crate::page::{page, see_told, wrong};
use crate::seats::{Desk, Visitor};
use crate::state::{State, answer, ask};
use crate::when;

/// Who may open the page.
const SEATS: [Role; 5] = [
    Role::Agent,
    Role::Supervisor,
    Role::OutOfHours,
    Role::Contractor,
    Role::Office,
];

#[derive(Template)]
#[template(path = "outages/outage.html")]
struct OutagePage {
    shell: Shell,
    outage_id: OutageId,
    building: String,
    building_name: String,
    heading: String,
    standing: String,
    facts: Vec<Fact>,
    /// The job's page, for the desk.
    job: Option<String>,
    homes: Vec<Row>,
    joinable: Vec<Row>,
    tests: Vec<HomeTest>,
    may_end: bool,
    network: Vec<Row>,
    may_say_network: bool,
    form: Typed,
    once: String,
}

/// What is asked of one home: whether it works there, and what was found.
struct HomeTest {
    works: String,
    found: String,
    label: String,
    said: Vec<Choice>,
}

fn test_of(home: &outages::OutageHome, form: &Typed) -> HomeTest {
    let works = format!("works-{}", home.space);
    let said = form.value(&works);
    HomeTest {
        said: [
            ("yes", "It works"),
            ("no", "It does not work"),
            ("", "Not tested"),
        ]
        .map(|(value, label)| Choice::new(value, label, value == said))
        .to_vec(),
        found: format!("found-{}", home.space),
        label: home.space_name.clone(),
        works,
    }
}

/// The page.
pub(super) async fn show(
    visitor: Visitor,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let (seat, view) = load(&visitor, &state, &path).await?;
    let shell = visitor.shell_as(&state, &seat, "outages");
    page(&outage_page(shell, (&seat, &view), Typed::default()))
}

async fn load(
    visitor: &Visitor,
    state: &web::Data<State>,
    path: &str,
) -> Result<(Seat, OutageView), Failure> {
    let id: OutageId = id_of(path, "outage")?;
    let seats = visitor.seats(&SEATS);
    answer(state, move |world| {
        outages::outage_of_seats(world, &seats, id)
    })
    .await
}

fn outage_page(shell: Shell, (seat, view): (&Seat, &OutageView), form: Typed) -> OutagePage {
    let card = &view.outage;
    let homes = counted(card.homes.len() as u64, "home", "homes");
    let lost = lost_words(card.lost);
    let heading = match card.until_at {
        None => format!(
            "{}: {lost} in {homes} for {}",
            words::place(card),
            spans::duration(view.at - card.from_at)
        ),
        Some(until) => format!(
            "{}: {lost} in {homes}, over after {}",
            words::place(card),
            spans::duration(until - card.from_at)
        ),
    };
    let once = match form.value("once") {
        "" => fresh_once(),
        key => key.to_owned(),
    };
    OutagePage {
        outage_id: card.id,
        building: card.building.to_string(),
        building_name: card.building_name.clone(),
        heading,
        standing: standing(view),
        facts: facts(view),
        job: card
            .job
            .filter(|_| matches!(seat.role(), Role::Agent | Role::Supervisor))
            .map(|job| format!("/jobs/{job}")),
        homes: card
            .homes
            .iter()
            .map(|home| words::home_row(card, home, view.at))
            .collect(),
        joinable: view
            .joinable
            .iter()
            .map(|call| join_row(view, call))
            .collect(),
        tests: card.homes.iter().map(|home| test_of(home, &form)).collect(),
        may_end: view.may_end,
        network: view.network.iter().map(network_row).collect(),
        may_say_network: view.may_say_network,
        shell,
        form,
        once,
    }
}

/// That it is the heat network's, with the day it has.
fn network_row(duty: &outages::EventDuty) -> Row {
    let sentence = match duty.done_on {
        Some(on) => format!(
            "{} It was running again on {}.",
            duty.sentence,
            dates::day(on)
        ),
        None => duty.sentence.clone(),
    };
    Row::plain(format!("network-{}", duty.id), sentence).why(Why::this(vec![
        "The landlord’s own time, a starting value: common practice, no source. What the regulator asks is not settled."
            .to_owned(),
    ]))
}

/// It is the heat network's.
pub(super) async fn take_network(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let id: OutageId = id_of(&path, "outage")?;
    let (seat, once) = (desk.seat.clone(), form.into_inner().once());
    answer(&state, move |world| {
        duties::network_is_out(world, &seat, id, &once)
    })
    .await?;
    Ok(see_told(
        &format!("/outages/{id}"),
        "Its time runs from the beginning of the outage.",
    ))
}

fn standing(view: &OutageView) -> String {
    let card = &view.outage;
    let took = words::hours(view.home_hours);
    match (&view.job, card.until_at) {
        (_, Some(_)) => {
            let cause = capital(card.cause.trim_end_matches('.'));
            let proof = if card.proof.is_empty() {
                "Every home was tested again.".to_owned()
            } else {
                let sample = card.proof.trim_end_matches('.');
                format!("Proved by a sample: {sample}.")
            };
            format!("{cause}. It took {took}. {proof}")
        }
        (Some(job), None) => format!(
            "Job {} answers it and stands at “{}”. So far it took {took}.",
            job.number, job.state
        ),
        (None, None) => format!("So far it took {took}."),
    }
}

fn facts(view: &OutageView) -> Vec<Fact> {
    let card = &view.outage;
    let mut facts = vec![
        Fact::new("Since", dates::moment(when::local(card.from_at))),
        Fact::new("Homes that called", words::names(card)),
        Fact::new("Homes on the pipe", view.served.to_string()),
        Fact::new(
            match card.until_at {
                None => "Taken so far",
                Some(_) => "Taken",
            },
            words::hours(view.home_hours),
        ),
    ];
    if let Some(until) = card.until_at {
        facts.insert(1, Fact::new("Until", dates::moment(when::local(until))));
    }
    if !card.cause.is_empty() {
        facts.push(Fact::new("Cause", card.cause.clone()));
    }
    if let Some(job) = &view.job {
        facts.push(Fact::typed("Job", job.number.clone()));
        facts.push(Fact::new("Where to look", job.space_name.clone()));
    }
    facts
}

fn join_row(view: &OutageView, call: &outages::LooseCall) -> Row {
    let since = dates::moment(when::local(call.since_at));
    let fields = vec![
        ("once".to_owned(), fresh_once()),
        ("call".to_owned(), call.call.to_string()),
    ];
    Row::about(
        format!("call-{}", call.call),
        Link::new(call.space_name.clone(), format!("/spaces/{}", call.space)),
        format!(": {} since {since}.", lost_words(call.lost)),
    )
    .verb(Verb::post(
        "It is the same: join it",
        format!("/outages/{}/join", view.outage.id),
        fields,
    ))
}

/// One more call joins.
pub(super) async fn take_call(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let id: OutageId = id_of(&path, "outage")?;
    let form = form.into_inner();
    let call: FaultCallId = id_of(form.value("call"), "call")?;
    let (seat, once) = (desk.seat.clone(), form.once());
    let done = ask(&state, move |world| {
        outages::join_call(world, &seat, (id, call), &once)
    });
    let said = match done.await {
        Ok(()) => "It has joined.".to_owned(),
        Err(usecases::Error::Invalid(wrongs)) => wrongs
            .into_iter()
            .map(|w| w.sentence)
            .collect::<Vec<_>>()
            .join(" "),
        Err(other) => return Err(Failure(other)),
    };
    Ok(see_told(&format!("/outages/{id}"), &said))
}

/// It ends.
pub(super) async fn take_end(
    visitor: Visitor,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let (seat, view) = load(&visitor, &state, &path).await?;
    let mut form = form.into_inner();
    let now = when::local(state.world.now());
    let until = form.said_moment("until", now).and_then(|wall| {
        let at = when::instant(wall);
        if at.is_none() {
            form.complain(
                "until",
                "That hour does not exist on this day: the clocks go forward.",
            );
        }
        at
    });
    let tested: Vec<Retest> = view
        .outage
        .homes
        .iter()
        .map(|home| Retest {
            space: home.space,
            works: match form.value(&format!("works-{}", home.space)) {
                "yes" => Some(true),
                "no" => Some(false),
                _ => None,
            },
            found: form.value(&format!("found-{}", home.space)).to_owned(),
        })
        .collect();
    let asked = EndForm {
        outage: view.outage.id,
        until,
        cause: form.value("cause").to_owned(),
        tested,
        sample: form.value("sample").to_owned(),
    };
    if !form.is_wrong() {
        let (who, once) = (seat.clone(), form.once());
        match ask(&state, move |world| {
            outages::end_outage(world, &who, asked, &once)
        })
        .await
        {
            Ok(()) => {
                return Ok(see_told(
                    &format!("/outages/{}", view.outage.id),
                    "It is over: every home’s clock has stopped.",
                ));
            }
            Err(error) => form.take_wrongs(error)?,
        }
    }
    let shell = visitor.shell_as(&state, &seat, "outages");
    wrong(&outage_page(shell, (&seat, &view), form))
}
