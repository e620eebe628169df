//! What people ask of the rounds: somebody is away, nobody is to come before a day; each is answered by placing
//! the visits again with the fewest moves.
use actix_web::{HttpResponse, web};
use chrono::NaiveDate;
use terms::EngineerId;
use usecases::plan::{self, AskCard, Placing, Promised, RoundWish, Rounds};
use uuid::Uuid;
use wording::sentences::{capital, dates};
use wording::{Choice, Row, Verb};

use super::act::{MovePage, find, load, told_of, told_placing, where_to};
use super::days::clock;
use super::show::RoundsPage;
use crate::Failure;
use crate::form::{Typed, fresh_once, id_of};
use crate::page::{see_told, wrong};
use crate::seats::Desk;
use crate::state::{State, answer, ask};

/// The asks that stand, each with who, when and why.
pub(super) fn rows(rounds: &Rounds) -> Vec<Row> {
    rounds.asks.iter().map(|card| row(rounds, card)).collect()
}

fn row(rounds: &Rounds, card: &AskCard) -> Row {
    let asked = &card.ask;
    let what = match (&card.unit, asked.engineer) {
        _ if asked.times.is_some() => super::times::words(rounds, card),
        (Some(unit), _) => format!(
            "Nobody comes to {}, {} before {}",
            unit.space_name,
            unit.building_name,
            dates::day(asked.from_on)
        ),
        (_, Some(engineer)) => {
            let name = rounds.names.engineer(engineer);
            match asked.until_on {
                Some(until) if until != asked.from_on => format!(
                    "{name} is away from {} to {}",
                    dates::day(asked.from_on),
                    dates::day(until)
                ),
                _ => format!("{name} is away on {}", dates::day(asked.from_on)),
            }
        }
        _ => "Something was asked of somebody who is gone".to_owned(),
    };
    Row::plain(
        format!("ask-{}", asked.id),
        format!(
            "{}: {}. {}, {}.",
            capital(&what),
            asked.why.trim_end_matches('.'),
            card.by,
            dates::day(asked.said_on)
        ),
    )
    .verb(Verb::post(
        "Take it back",
        format!("/rounds/asks/{}/back", asked.id),
        vec![("once".to_owned(), fresh_once())],
    ))
}

/// Booked visits of somebody who is away by now: a person must settle them.
pub(super) fn struck(rounds: &Rounds) -> Vec<Row> {
    let mut rows = Vec::new();
    let of_round = rounds.visits.iter().filter_map(|v| v.job.as_ref());
    for job in rounds.promised.iter().chain(of_round) {
        let (Some((at, _)), Some(engineer)) = (job.booked, job.engineer) else {
            continue;
        };
        let day = crate::when::local_day(at);
        let away = rounds.asks.iter().any(|card| {
            let until = card.ask.until_on.unwrap_or(card.ask.from_on);
            card.ask.engineer == Some(engineer) && (card.ask.from_on..=until).contains(&day)
        });
        if away {
            rows.push(
                Row::plain(
                    format!("struck-{}", job.id),
                    format!(
                        "{}, {} is promised for {} by {}, who is away then. A promise is not moved by the plan: ring, and \
                         book it anew.{}",
                        job.space_name,
                        job.building_name,
                        dates::weekday_day(day),
                        rounds.names.engineer(engineer),
                        in_their_place(rounds, job)
                    ),
                )
                .urgency(wording::Urgency::Soon)
                .verb(Verb::link("See the job", format!("/jobs/{}", job.id))),
            );
        }
    }
    rows
}

/// Who could come at the promised time, as the last placing found.
fn in_their_place(rounds: &Rounds, job: &Promised) -> String {
    let mut found = rounds.stand_ins.iter();
    let Some((_, call)) = found.find(|(other, _)| other.id == job.id) else {
        return String::new();
    };
    match (call.place, &call.why) {
        (Some(stand), _) => format!(
            " {} of {} could come at that time, {}.",
            rounds.names.engineer(stand.engineer),
            rounds.names.firm(stand.firm),
            clock(i32::try_from(stand.start).unwrap_or(0))
        ),
        (None, Some(why)) => format!(" Nobody else could come at that time: {why}."),
        (None, None) => String::new(),
    }
}

/// The engineers, to choose one.
pub(super) fn engineers(rounds: &Rounds, form: &Typed) -> Vec<Choice> {
    let chosen = form.value("away_engineer").to_owned();
    let all = rounds.names.engineers.iter().map(|e| {
        let id = e.id.to_string();
        let is_chosen = id == chosen;
        let label = format!("{}, {}", e.name, rounds.names.firm(e.firm));
        Choice::new(id, label, is_chosen)
    });
    all.collect()
}

async fn placed_again(
    desk: &Desk,
    state: &web::Data<State>,
    (once, away): (&str, Option<(NaiveDate, NaiveDate)>),
) -> Result<Placing, Failure> {
    let (seat, key) = (desk.seat.clone(), format!("{once} place"));
    answer(state, move |world| match away {
        Some(days) => plan::place_round_absence(world, &seat, days, &key),
        None => plan::place_visits(world, &seat, &key),
    })
    .await
}

/// Asks it of the rounds and places the visits again; `None` where it could not be taken, with the reason in the form.
pub(super) async fn asked(
    desk: &Desk,
    state: &web::Data<State>,
    wish: Option<RoundWish>,
    (form, once): (&mut Typed, &str),
) -> Result<Option<HttpResponse>, Failure> {
    let Some(wish) = wish.filter(|_| !form.is_wrong()) else {
        return Ok(None);
    };
    let (seat, key) = (desk.seat.clone(), once.to_owned());
    let days = match &wish {
        RoundWish::Away { from, until, .. } => Some((*from, *until)),
        _ => None,
    };
    let taken = ask(state, move |world| {
        plan::ask_of_rounds(world, &seat, wish, &key)
    });
    if let Err(error) = taken.await {
        form.take_wrongs(error)?;
        return Ok(None);
    }
    let placing = placed_again(desk, state, (once, days)).await?;
    Ok(Some(told_placing(placing)))
}

/// The rounds again, with what was typed.
pub(super) async fn rounds_again(
    desk: &Desk,
    state: &web::Data<State>,
    typed: (Typed, String),
) -> Result<HttpResponse, Failure> {
    let rounds = load(desk, state).await?;
    let shell = desk.shell(state, "rounds");
    wrong(&RoundsPage::new(shell, &rounds, (None, None, 1), typed))
}

/// The visit again, with what was typed.
pub(super) fn visit_again(
    desk: &Desk,
    state: &web::Data<State>,
    (rounds, visit): (&Rounds, Uuid),
    (form, once): (Typed, String),
) -> Result<HttpResponse, Failure> {
    let found = find(rounds, visit)?;
    let shell = desk.shell(state, "rounds");
    wrong(&MovePage::new(shell, rounds, found, form, once))
}

/// Somebody is away.
pub(super) async fn away(
    desk: Desk,
    state: web::Data<State>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let once = form.once();
    let engineer: Option<EngineerId> = form.code("away_engineer", "Choose one of the engineers.");
    let from = form.date("away_from");
    if from.is_none() && form.error("away_from").is_none() {
        form.complain("away_from", "Say from which day.");
    }
    let until = form.date("away_until").or(from);
    let why = form.text("why", "Say why, in a few words.");
    let given = engineer.zip(from).zip(until);
    let wish = given.map(|((engineer, from), until)| RoundWish::Away {
        engineer,
        from,
        until,
        why,
    });
    match asked(&desk, &state, wish, (&mut form, &once)).await? {
        Some(taken) => Ok(taken),
        None => rounds_again(&desk, &state, (form, once)).await,
    }
}

/// Access was refused, or somebody asked for later: nobody before a day.
pub(super) async fn hold(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let visit: Uuid = id_of(&path, "visit")?;
    let mut form = form.into_inner();
    let once = form.once();
    let from = form.date("not_before");
    if from.is_none() && form.error("not_before").is_none() {
        form.complain("not_before", "Say before which day nobody is to come.");
    }
    let why = form.text("why", "Say why, in a few words.");
    let rounds = load(&desk, &state).await?;
    let unit = find(&rounds, visit)?.unit.id;
    let wish = from.map(|from| RoundWish::NotBefore { unit, from, why });
    match asked(&desk, &state, wish, (&mut form, &once)).await? {
        Some(taken) => Ok(taken),
        None => visit_again(&desk, &state, (&rounds, visit), (form, once)),
    }
}

/// Takes back what was asked.
pub(super) async fn back(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let id: Uuid = id_of(&path, "ask")?;
    let once = form.once();
    let (seat, key) = (desk.seat.clone(), once.clone());
    answer(&state, move |world| {
        plan::take_back_ask(world, &seat, id, &key)
    })
    .await?;
    let placing = placed_again(&desk, &state, (&once, None)).await?;
    let told = format!("It is taken back. {}", told_of(placing));
    Ok(see_told(&where_to(placing), &told))
}
