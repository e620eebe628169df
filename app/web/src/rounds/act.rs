//! What a person does with a round: places it, offers visits, moves and pins them.
use actix_web::{HttpResponse, web};
use askama::Template;
use chrono::NaiveDate;
use terms::EngineerId;
use usecases::plan::{self, Afresh, MoveVisit, Placing, PlannedVisit, Rounds};
use usecases::{Error, Seat, World};
use uuid::Uuid;
use wording::sentences::{capital, counted, dates};
use wording::{Choice, Shell};

use super::days::{clock, place as place_words, what};
use crate::Failure;
use crate::form::{Typed, fresh_once, id_of};
use crate::page::{page, see_told, wrong};
use crate::seats::Desk;
use crate::state::{State, answer, ask};

/// Places the visits of the next twelve months.
pub(super) async fn place(
    desk: Desk,
    state: web::Data<State>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    placed(desk, state, form, plan::place_visits).await
}

/// Places them again with the rest of today.
pub(super) async fn place_today(
    desk: Desk,
    state: web::Data<State>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    placed(desk, state, form, plan::place_with_today).await
}

/// Places them as asked, and leads to what moved.
async fn placed(
    desk: Desk,
    state: web::Data<State>,
    form: web::Form<Typed>,
    how: fn(&World, &Seat, &str) -> Result<Placing, Error>,
) -> Result<HttpResponse, Failure> {
    let once = form.once();
    let placing = answer(&state, move |world| how(world, &desk.seat, &once)).await?;
    Ok(told_placing(placing))
}

/// "See there": where one sees what moved, with what the placing came to.
pub(super) fn told_placing(placing: Placing) -> HttpResponse {
    see_told(&where_to(placing), &told_of(placing))
}

/// What a placing came to, in a sentence.
pub(super) fn told_of(placing: Placing) -> String {
    if placing.unchanged {
        return "Every visit stays where it was.".to_owned();
    }
    let moved = match placing.moved as u64 {
        0 => "none moved".to_owned(),
        n => counted(n, "visit moved", "visits moved"),
    };
    format!(
        "{} placed, {moved}; {} no day.",
        capital(&counted(placing.placed as u64, "visit is", "visits are")),
        counted(placing.unplaced as u64, "visit has", "visits have")
    )
}

/// Where one sees what moved.
pub(super) fn where_to(placing: Placing) -> String {
    if placing.moved > 0 {
        "/rounds#moved".to_owned()
    } else {
        "/rounds".to_owned()
    }
}

/// Places every visit anew that is neither booked nor pinned.
pub(super) async fn place_afresh(
    desk: Desk,
    state: web::Data<State>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let once = form.once();
    let afresh = answer(&state, move |world| {
        plan::place_afresh(world, &desk.seat, &once)
    })
    .await?;
    Ok(match afresh {
        Afresh::Placed(placing) => told_placing(placing),
        Afresh::Waits => see_told(
            "/rounds",
            "The visits are being placed afresh. You can leave this page.",
        ),
    })
}

/// Ends the placing that is under way; what it has found is kept.
pub(super) async fn stop(
    desk: Desk,
    state: web::Data<State>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let once = form.once();
    answer(&state, move |world| {
        plan::stop_placing(world, &desk.seat, &once)
    })
    .await?;
    Ok(see_told(
        "/rounds",
        "It stops now and keeps the best round it has found.",
    ))
}

/// Offers one visit to the firm it was placed with.
pub(super) async fn offer(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let visit: Uuid = id_of(&path, "visit")?;
    let once = form.once();
    let job = answer(&state, move |world| {
        plan::offer_visit(world, &desk.seat, visit, &once)
    })
    .await?;
    Ok(see_told(
        &format!("/jobs/{job}"),
        "The visit is a job now, on offer to its firm.",
    ))
}

/// Offers every visit of an engineer's day.
pub(super) async fn offer_day(
    desk: Desk,
    state: web::Data<State>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let once = form.once();
    let day: NaiveDate = form.date("day").ok_or(Failure(Error::NotFound("day")))?;
    let engineer: EngineerId = id_of(form.value("engineer"), "engineer")?;
    let offered = answer(&state, move |world| {
        plan::offer_day(world, &desk.seat, (day, engineer), &once)
    })
    .await?;
    let told = match offered {
        0 => "Every visit of that day was offered before.".to_owned(),
        n => format!(
            "{} on offer.",
            capital(&counted(
                n as u64,
                "visit is a job now,",
                "visits are jobs now,"
            ))
        ),
    };
    Ok(see_told("/rounds", &told))
}

/// Pins a visit where it is, or lets it go.
pub(super) async fn pin(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let visit: Uuid = id_of(&path, "visit")?;
    let (once, pinned) = (form.once(), form.ticked("pinned"));
    answer(&state, move |world| {
        plan::pin_visit(world, &desk.seat, (visit, pinned), &once)
    })
    .await?;
    let told = if pinned {
        "The visit stays there when the visits are placed again."
    } else {
        "The visit may be moved when the visits are placed again."
    };
    Ok(see_told("/rounds", told))
}

/// The page on which a visit is moved, or held back.
#[derive(Template)]
#[template(path = "rounds/move.html")]
pub(super) struct MovePage {
    shell: Shell,
    heading: String,
    standing: String,
    visit: Uuid,
    engineers: Vec<Choice>,
    access_days: Vec<(usize, &'static str, bool)>,
    form: Typed,
    once: String,
}

impl MovePage {
    /// The page of a visit, with a form as typed.
    pub(super) fn new(
        shell: Shell,
        rounds: &Rounds,
        visit: &PlannedVisit,
        form: Typed,
        once: String,
    ) -> Self {
        let now = match (visit.row.on_day, visit.row.start_minute) {
            (Some(day), Some(start)) => format!(
                "It stands on {}, {}.",
                dates::weekday_day(day),
                clock(start)
            ),
            _ => "It has no day yet.".to_owned(),
        };
        let chosen = form.value("engineer").to_owned();
        let mut engineers = vec![Choice::new("", "whoever can", chosen.is_empty())];
        engineers.extend(rounds.names.engineers.iter().map(|e| {
            let id = e.id.to_string();
            let is_chosen = id == chosen;
            let label = format!("{}, {}", e.name, rounds.names.firm(e.firm));
            Choice::new(id, label, is_chosen)
        }));
        Self {
            shell,
            heading: format!("Another day for {}", place_words(visit)),
            standing: format!(
                "{}: {} minutes. {now} Its days run from {} to {}.",
                capital(&what(visit)),
                visit.minutes,
                dates::day(visit.row.window_first),
                dates::day(visit.row.deadline)
            ),
            visit: visit.visit,
            engineers,
            access_days: super::times::days(&form, "access"),
            form,
            once,
        }
    }
}

/// The round as it stands.
pub(super) async fn load(desk: &Desk, state: &web::Data<State>) -> Result<Rounds, Failure> {
    let seat = desk.seat.clone();
    answer(state, move |world| plan::rounds(world, &seat)).await
}

/// One of its visits.
pub(super) fn find(rounds: &Rounds, visit: Uuid) -> Result<&PlannedVisit, Failure> {
    rounds
        .visits
        .iter()
        .find(|v| v.visit == visit)
        .ok_or(Failure(Error::NotFound("visit")))
}

/// The form that moves a visit.
pub(super) async fn show_move(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let visit: Uuid = id_of(&path, "visit")?;
    let rounds = load(&desk, &state).await?;
    let found = find(&rounds, visit)?;
    let day = found.row.on_day.unwrap_or(found.row.window_first);
    let form = Typed::starting_with([
        ("day", dates::machine(day)),
        ("pin", "yes".to_owned()),
        (
            "engineer",
            found
                .row
                .engineer
                .map(|e| e.to_string())
                .unwrap_or_default(),
        ),
    ]);
    let shell = desk.shell(&state, "rounds");
    page(&MovePage::new(shell, &rounds, found, form, fresh_once()))
}

/// Moves a visit.
pub(super) async fn take_move(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let visit: Uuid = id_of(&path, "visit")?;
    let mut form = form.into_inner();
    let once = form.once();
    let day = form.date("day");
    if day.is_none() && form.error("day").is_none() {
        form.complain("day", "Say which day.");
    }
    let start = form.time("start");
    let engineer = match form.text_or_none("engineer") {
        Some(_) => form.code("engineer", "Choose one of the engineers."),
        None => None,
    };
    if let (Some(day), false) = (day, form.is_wrong()) {
        let moving = MoveVisit {
            visit,
            day,
            start,
            engineer,
            pin: form.ticked("pin"),
        };
        let (seat, key) = (desk.seat.clone(), once.clone());
        match ask(&state, move |world| {
            plan::move_visit(world, &seat, moving, &key)
        })
        .await
        {
            Ok(()) => {
                let told = format!("The visit stands on {} now.", dates::weekday_day(day));
                return Ok(see_told(
                    &format!("/rounds?from={}", dates::machine(day)),
                    &told,
                ));
            }
            Err(error) => form.take_wrongs(error)?,
        }
    }
    let rounds = load(&desk, &state).await?;
    let found = find(&rounds, visit)?;
    let shell = desk.shell(&state, "rounds");
    wrong(&MovePage::new(shell, &rounds, found, form, once))
}
