//! What is said of a round, at once: what is out of its limit, what to do about it, and what was done.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::{BuildingId, Level, TemperatureRoundId};
use usecases::water::{self, RoundSaid, SaidLine, StateAction};
use uuid::Uuid;
use wording::Shell;
use wording::sentences::{capital, dates, number_word};

use super::{degrees, place_words};
use crate::Failure;
use crate::form::{Typed, fresh_once, id_of};
use crate::page::{page, see_told, wrong};
use crate::seats::Walker;
use crate::state::{State, answer, ask};

/// One temperature as it is said.
struct Said {
    id: Uuid,
    /// "Act", "Watch"; empty when it is inside its limit.
    level: String,
    /// "Cleaner’s sink, ground floor, hot tap: 46.2 °C"
    what: String,
    sentence: String,
    what_to_do: &'static str,
    action: String,
    asks: bool,
    typed: String,
    wrong: Option<String>,
}

#[derive(Template)]
#[template(path = "temperatures/said.html")]
struct SaidPage {
    shell: Shell,
    building: BuildingId,
    round: TemperatureRoundId,
    name: String,
    heading: String,
    out: Vec<Said>,
    fine: Vec<Said>,
    duties: Vec<String>,
    kept: String,
    form: Typed,
    once: String,
}

async fn load(
    walker: &Walker,
    state: &web::Data<State>,
    at: (BuildingId, TemperatureRoundId),
) -> Result<RoundSaid, Failure> {
    let seat = walker.seat.clone();
    answer(state, move |world| water::round_said(world, &seat, at)).await
}

fn said(line: &SaidLine, form: &Typed) -> Said {
    let t = &line.temperature;
    let read = t.temp_c.map_or_else(|| "not taken".to_owned(), degrees);
    let key = format!("a.{}", t.id);
    let flushed = match t.flushed {
        Some(true) => " Flushed.",
        Some(false) => " Not flushed: water stands in it. Flush it this week.",
        None => "",
    };
    Said {
        id: t.id,
        level: t.level.map_or_else(String::new, |l| capital(l.words())),
        what: format!("{}, {}: {read}", t.outlet_name, place_words(t.place)),
        sentence: format!("{}{flushed}", t.words),
        what_to_do: line.what_to_do,
        asks: t.is_open(),
        action: t.action.clone(),
        typed: form.value(&key).to_owned(),
        wrong: form.error(&key).map(str::to_owned),
    }
}

fn heading(found: &RoundSaid) -> String {
    let count = |wanted: fn(Level) -> bool| {
        let level = |l: &&SaidLine| l.temperature.level.is_some_and(wanted);
        found.lines.iter().filter(level).count() as u64
    };
    let out = count(|l| l >= Level::Act);
    let watch = count(|l| l == Level::Watch);
    let all = found.lines.len() as u64;
    match (out, watch) {
        (0, 0) => format!("All {} are within their limits", number_word(all)),
        (0, 1) => "Nothing is out of its limit; one is to be watched".to_owned(),
        (0, n) => format!(
            "Nothing is out of its limit; {} are to be watched",
            number_word(n)
        ),
        (n, _) => capital(&format!(
            "{} of the {} outlets {}",
            number_word(n),
            number_word(all),
            if n == 1 {
                "is out of its limit"
            } else {
                "are out of their limits"
            }
        )),
    }
}

fn page_of(walker: &Walker, state: &State, found: &RoundSaid, form: Typed) -> SaidPage {
    let (out, fine): (Vec<&SaidLine>, Vec<&SaidLine>) = found.lines.iter().partition(|l| {
        l.temperature
            .level
            .is_some_and(|level| level >= Level::Watch)
    });
    let kept = format!(
        "Kept: {} by {}, with {}.",
        dates::weekday_day(found.round.taken_on),
        found.by.split(", ").next().unwrap_or_default(),
        found.round.thermometer
    );
    SaidPage {
        shell: walker.shell(state),
        building: found.building.id,
        round: found.round.id,
        name: found.building.name.clone(),
        heading: heading(found),
        out: out.into_iter().map(|l| said(l, &form)).collect(),
        fine: fine.into_iter().map(|l| said(l, &form)).collect(),
        duties: found.duties.clone(),
        kept,
        once: match form.value("once") {
            "" => fresh_once(),
            key => key.to_owned(),
        },
        form,
    }
}

fn ids(path: &(String, String)) -> Result<(BuildingId, TemperatureRoundId), Failure> {
    Ok((id_of(&path.0, "building")?, id_of(&path.1, "round")?))
}

/// The page.
pub(super) async fn show(
    walker: Walker,
    state: web::Data<State>,
    path: web::Path<(String, String)>,
) -> Result<HttpResponse, Failure> {
    let found = load(&walker, &state, ids(&path)?).await?;
    page(&page_of(&walker, &state, &found, Typed::default()))
}

/// What was done about one temperature, or is planned.
pub(super) async fn take(
    walker: Walker,
    state: web::Data<State>,
    path: web::Path<(String, String)>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let (building, round) = ids(&path)?;
    let mut form = form.into_inner();
    let temperature: Uuid = id_of(form.value("temperature"), "temperature")?;
    let action = StateAction {
        temperature,
        words: form.value(&format!("a.{temperature}")).to_owned(),
    };
    let (seat, once) = (walker.seat.clone(), form.once());
    let asked = ask(&state, move |world| {
        water::state_action(world, &seat, (building, action), &once)
    })
    .await;
    match asked {
        Ok(round) => Ok(see_told(
            &format!("/temperatures/{building}/rounds/{round}"),
            "It is kept, and the office sees it.",
        )),
        Err(error) => {
            form.take_wrongs(error)?;
            let found = load(&walker, &state, (building, round)).await?;
            wrong(&page_of(&walker, &state, &found, form))
        }
    }
}
