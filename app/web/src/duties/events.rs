//! Something happened: the desk enters it, and what follows from it stands with its day until it is done.
use actix_web::{HttpResponse, web};
use askama::Template;
use chrono::NaiveDate;
use terms::place::{BuildingCard, SpaceCard};
use terms::{BuildingId, EventDutyId, SpaceId};
use usecases::duties::{self, EnterEvent, EventDone, EventLine, HAPPENINGS, TakeBackEvent};
use usecases::register;
use wording::sentences::{counted, dates, list, spans};
use wording::{Ask, Choice, Row, Shell, Urgency, Verb, Why};

use super::NOT_ADVICE;
use crate::Failure;
use crate::form::{Typed, fresh_once, id_of};
use crate::page::{page, see_told, wrong};
use crate::seats::Desk;
use crate::state::{State, answer, ask};
use crate::when;

/// What is said of it, and how heavy.
fn said(line: &EventLine, place: &str, today: NaiveDate) -> (String, Urgency) {
    let duty = &line.duty;
    let words = if duty.words.is_empty() {
        String::new()
    } else {
        format!(" “{}”", duty.words)
    };
    let task = super::rows::inside(&duty.task);
    match duty.done_on {
        Some(on) if line.days_late > 0 => (
            format!(
                "{place}: {task}, done on {}, {} late. {}",
                dates::day(on),
                wording::sentences::plural(line.days_late.unsigned_abs(), "day", "days"),
                duty.evidence
            ),
            Urgency::Plain,
        ),
        Some(on) => (
            format!(
                "{place}: {task}, done on {}. {}",
                dates::day(on),
                duty.evidence
            ),
            Urgency::Plain,
        ),
        None if duty.due_on < today => (
            format!(
                "{place}: {task}, due by {}; it is late.{words}",
                dates::day_full(duty.due_on)
            ),
            Urgency::Late,
        ),
        None => (
            format!(
                "{place}: {task} by {}.{words}",
                dates::day_full(duty.due_on)
            ),
            if (duty.due_on - today).num_days() <= 7 {
                Urgency::Soon
            } else {
                Urgency::Plain
            },
        ),
    }
}

/// One thing due because of an event, as a sentence.
pub(crate) fn row(line: &EventLine, today: NaiveDate, desk: bool) -> Row {
    let duty = &line.duty;
    let place = if line.space_name.is_empty() {
        line.building_name.clone()
    } else {
        format!("{}, {}", line.space_name, line.building_name)
    };
    let (sentence, urgency) = said(line, &place, today);
    let mut row = Row::plain(format!("e-{}", duty.id), sentence)
        .urgency(urgency)
        .why(Why {
            more: desk.then(|| {
                wording::Link::new(
                    "Every such time, and how it is known",
                    "/facts?about=times#events",
                )
            }),
            ..Why::this(vec![
                duty.sentence.clone(),
                format!(
                    "Basis: {}. How the rule is known: {}.",
                    line.basis, line.status
                ),
                NOT_ADVICE.to_owned(),
            ])
        });
    row = match duty.done_on {
        Some(on) => row.figure(dates::day_brief(on), "done"),
        None => row.figure(
            spans::due(today, duty.due_on),
            format!("basis: {}", line.basis),
        ),
    };
    if desk && duty.done_on.is_none() {
        row = row.verb(Verb::link(
            "It is done",
            format!("/duties/events/{}", duty.id),
        ));
    }
    row
}

#[derive(Template)]
#[template(path = "duties/events.html")]
struct EventsPage {
    shell: Shell,
    heading: String,
    rows: Vec<Row>,
    asks: Vec<Ask>,
    building: Option<BuildingId>,
    building_name: String,
    happenings: Vec<Choice>,
    spaces: Vec<Choice>,
    form: Typed,
    once: String,
    not_advice: &'static str,
}

/// What the page needs: the lines, the buildings, the spaces of the one chosen.
struct Loaded {
    lines: Vec<EventLine>,
    buildings: Vec<BuildingCard>,
    chosen: Option<BuildingId>,
    spaces: Vec<SpaceCard>,
}

async fn load(
    desk: &Desk,
    state: &web::Data<State>,
    wanted: Option<BuildingId>,
) -> Result<Loaded, Failure> {
    let seat = desk.seat.clone();
    answer(state, move |world| {
        let lines = duties::event_lines(world, &seat)?;
        let buildings = register::buildings_in_reach(world, &seat)?;
        let only = match buildings.as_slice() {
            [one] => Some(one.id),
            _ => None,
        };
        let chosen = wanted.or(only);
        let spaces = match chosen {
            Some(building) => register::spaces_of(world, &seat, building)?,
            None => Vec::new(),
        };
        Ok(Loaded {
            lines,
            buildings,
            chosen,
            spaces,
        })
    })
    .await
}

fn page_of(desk: &Desk, state: &State, found: &Loaded, form: Typed) -> EventsPage {
    let today = when::local_day(state.world.now());
    let open = found
        .lines
        .iter()
        .filter(|l| l.duty.done_on.is_none())
        .count() as u64;
    let typed = form.value("happening").to_owned();
    let space = form.value("space").to_owned();
    let mut spaces = vec![Choice::new("", "the whole building", space.is_empty())];
    spaces.extend(found.spaces.iter().map(|s| {
        let id = s.id.to_string();
        let is = id == space;
        Choice::new(id, s.name.clone(), is)
    }));
    EventsPage {
        shell: desk.shell(state, "events"),
        heading: match open {
            0 => "Nothing waits because of an event".to_owned(),
            n => wording::sentences::capital(&format!(
                "{} because something happened",
                counted(n, "thing is due", "things are due")
            )),
        },
        rows: found.lines.iter().map(|l| row(l, today, true)).collect(),
        asks: found
            .buildings
            .iter()
            .map(|b| Ask {
                words: b.name.clone(),
                href: format!("/duties/events?building={}#enter", b.id),
                current: found.chosen == Some(b.id),
            })
            .collect(),
        building: found.chosen,
        building_name: found
            .buildings
            .iter()
            .find(|b| Some(b.id) == found.chosen)
            .map_or_else(String::new, |b| b.name.clone()),
        happenings: HAPPENINGS
            .iter()
            .map(|h| {
                let raises: Vec<String> =
                    h.raises.iter().filter_map(|event| task_of(event)).collect();
                Choice::new(h.code, h.words, h.code == typed)
                    .hint(format!("Then due: {}.", list(&raises)))
            })
            .collect(),
        spaces,
        once: match form.value("once") {
            "" => fresh_once(),
            key => key.to_owned(),
        },
        form,
        not_advice: NOT_ADVICE,
    }
}

fn task_of(event: &str) -> Option<String> {
    let book = usecases::visit::RuleBook::shipped().ok()?;
    let rule = book.event(event).ok()?;
    Some(super::rows::inside(&rule.task))
}

/// What is due, and the form.
pub(super) async fn show(
    desk: Desk,
    state: web::Data<State>,
    query: web::Query<Typed>,
) -> Result<HttpResponse, Failure> {
    let wanted = query.value("building").parse().ok();
    let found = load(&desk, &state, wanted).await?;
    let today = when::local_day(state.world.now());
    let form = Typed::starting_with([("on", today.to_string())]);
    page(&page_of(&desk, &state, &found, form))
}

/// An event entered.
pub(super) async fn take(
    desk: Desk,
    state: web::Data<State>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let building: BuildingId = id_of(form.value("building"), "building")?;
    let once = form.once();
    let happening = form.text("happening", "Choose what happened.");
    let on = form.date("on");
    if on.is_none() && form.error("on").is_none() {
        form.complain("on", "Say on which day.");
    }
    let period = form.number("period_days", 1.0, 400.0);
    let space: Option<SpaceId> = form.text_or_none("space").and_then(|id| id.parse().ok());
    if let (Some(on), false) = (on, form.is_wrong()) {
        let event = EnterEvent {
            happening,
            building,
            space,
            on,
            period_days: period.map(|d| d.round() as i64),
            words: form.value("words").to_owned(),
        };
        let seat = desk.seat.clone();
        match ask(&state, move |world| {
            duties::enter_event(world, &seat, event, &once)
        })
        .await
        {
            Ok(_) => {
                return Ok(see_told(
                    "/duties/events",
                    "It is entered; what follows from it stands below with its day.",
                ));
            }
            Err(error) => form.take_wrongs(error)?,
        }
    }
    let found = load(&desk, &state, Some(building)).await?;
    wrong(&page_of(&desk, &state, &found, form))
}

#[derive(Template)]
#[template(path = "duties/event.html")]
struct EventPage {
    shell: Shell,
    event: EventDutyId,
    heading: String,
    sentence: String,
    form: Typed,
    once: String,
    not_advice: &'static str,
}

async fn event_page(
    desk: &Desk,
    state: &web::Data<State>,
    id: EventDutyId,
    form: Typed,
) -> Result<EventPage, Failure> {
    let seat = desk.seat.clone();
    let line = answer(state, move |world| {
        duties::event_lines(world, &seat)?
            .into_iter()
            .find(|l| l.duty.id == id && l.duty.done_on.is_none())
            .ok_or(usecases::Error::NotFound("event"))
    })
    .await?;
    let place = if line.space_name.is_empty() {
        line.building_name.clone()
    } else {
        format!("{}, {}", line.space_name, line.building_name)
    };
    Ok(EventPage {
        shell: desk.shell(state, "events"),
        event: id,
        heading: format!("{}, {place}", line.duty.task),
        sentence: line.duty.sentence.clone(),
        once: match form.value("once") {
            "" => fresh_once(),
            key => key.to_owned(),
        },
        form,
        not_advice: NOT_ADVICE,
    })
}

/// The forms of one event: done, or taken back.
pub(super) async fn show_one(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let id: EventDutyId = id_of(&path, "event")?;
    let today = when::local_day(state.world.now());
    let form = Typed::starting_with([("on", today.to_string())]);
    page(&event_page(&desk, &state, id, form).await?)
}

/// Done, or taken back.
pub(super) async fn end(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<(String, String)>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let id: EventDutyId = id_of(&path.0, "event")?;
    let mut form = form.into_inner();
    let (once, seat) = (form.once(), desk.seat.clone());
    let asked = match path.1.as_str() {
        "done" => {
            let on = form.date("on");
            if on.is_none() && form.error("on").is_none() {
                form.complain("on", "Say on which day it was done.");
            }
            let evidence = form.value("evidence").to_owned();
            let Some(on) = on else {
                return wrong(&event_page(&desk, &state, id, form).await?);
            };
            let done = EventDone { id, on, evidence };
            ask(&state, move |world| {
                duties::event_done(world, &seat, done, &once)
            })
            .await
        }
        "take-back" => {
            let reason = form.value("reason").to_owned();
            let back = TakeBackEvent { id, reason };
            ask(&state, move |world| {
                duties::take_back_event(world, &seat, back, &once)
            })
            .await
        }
        _ => return Err(Failure(usecases::Error::NotFound("page"))),
    };
    match asked {
        Ok(()) => Ok(see_told("/duties/events", "It is written down.")),
        Err(error) => {
            form.take_wrongs(error)?;
            wrong(&event_page(&desk, &state, id, form).await?)
        }
    }
}
