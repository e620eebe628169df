//! The round on the phone: one page, one number an outlet, last month's figure beside it.
use actix_web::{HttpResponse, web};
use askama::Template;
use chrono::NaiveDate;
use terms::{BuildingId, OutletId};
use usecases::water::{self, Line, RoundView, TakeRound, TakenLine};
use wording::Shell;
use wording::sentences::dates;

use super::{number, place_words, standing};
use crate::Failure;
use crate::form::{Typed, fresh_once, id_of};
use crate::page::{page, see, wrong};
use crate::seats::Walker;
use crate::state::{State, answer, ask};

/// Seconds a tap is run before it is read, as the rule says; the walker changes them when it was otherwise.
const HOT_SECONDS: &str = "60";
const COLD_SECONDS: &str = "120";

/// One outlet of the form.
struct Field {
    id: OutletId,
    turn: usize,
    name: String,
    /// "hot tap, Plant room"
    about: String,
    hint: String,
    /// "3 November" over "58.2"
    before: Option<(String, String)>,
    temp: String,
    asks_seconds: bool,
    seconds: String,
    asks_flush: bool,
    flushed: String,
    why_not: String,
    wrong: Option<String>,
    wrong_seconds: Option<String>,
    wrong_flush: Option<String>,
}

#[derive(Template)]
#[template(path = "temperatures/round.html")]
struct RoundPage {
    shell: Shell,
    building: BuildingId,
    name: String,
    form: Typed,
    fields: Vec<Field>,
    limits: String,
    by: String,
    once: String,
}

async fn load(
    walker: &Walker,
    state: &web::Data<State>,
    building: BuildingId,
) -> Result<RoundView, Failure> {
    let seat = walker.seat.clone();
    answer(state, move |world| {
        water::round_view(world, &seat, building)
    })
    .await
}

fn page_of(
    walker: &Walker,
    state: &State,
    view: &RoundView,
    form: Typed,
) -> Result<RoundPage, Failure> {
    let as_at = usecases::visit::RuleBook::shipped()
        .map_err(|e| usecases::Error::Internal(e.to_string()))?
        .as_at();
    let fields = view
        .lines
        .iter()
        .enumerate()
        .map(|(n, line)| field(n + 1, line, &form))
        .collect();
    Ok(RoundPage {
        shell: walker.shell(state),
        building: view.building.id,
        name: view.building.name.clone(),
        fields,
        limits: standing::limits(as_at),
        by: walker
            .seat
            .name()
            .split(", ")
            .next()
            .unwrap_or_default()
            .to_owned(),
        once: match form.value("once") {
            "" => fresh_once(),
            key => key.to_owned(),
        },
        form,
    })
}

fn field(turn: usize, line: &Line, form: &Typed) -> Field {
    use terms::OutletPlace::{ColdSentinel, HotSentinel, Other};
    let outlet = &line.outlet;
    let key = |letter: &str| format!("{letter}.{}", outlet.id);
    let typed = |letter: &str| form.value(&key(letter)).to_owned();
    let wrong = |letter: &str| form.error(&key(letter)).map(str::to_owned);
    let asks_seconds = matches!(outlet.place, HotSentinel | ColdSentinel | Other);
    let seconds = match (typed("s"), outlet.place) {
        (typed, _) if !typed.is_empty() => typed,
        (_, HotSentinel) => HOT_SECONDS.to_owned(),
        (_, ColdSentinel) => COLD_SECONDS.to_owned(),
        _ => String::new(),
    };
    let about = [place_words(outlet.place), line.space_name.as_str()];
    let about: Vec<&str> = about.into_iter().filter(|w| !w.is_empty()).collect();
    let hint = [line.limit.as_str(), line.how_long];
    let hint: Vec<&str> = hint.into_iter().filter(|w| !w.is_empty()).collect();
    Field {
        id: outlet.id,
        turn,
        name: outlet.name.clone(),
        about: about.join(", "),
        hint: hint.join("; "),
        before: line
            .before
            .map(|(on, temp)| (dates::day_brief(on), number(temp))),
        temp: typed("t"),
        asks_seconds,
        seconds,
        asks_flush: outlet.little_used,
        flushed: typed("f"),
        why_not: typed("n"),
        wrong: wrong("t"),
        wrong_seconds: wrong("s"),
        wrong_flush: wrong("f"),
    }
}

/// The thermometer and the day the form starts with.
fn starting(view: &RoundView) -> Typed {
    let last = view.last.as_ref();
    Typed::starting_with([
        (
            "thermometer",
            last.map(|r| r.thermometer.clone()).unwrap_or_default(),
        ),
        (
            "calibrated",
            last.and_then(|r| r.calibrated_until)
                .filter(|until| *until >= view.today)
                .map(|until| until.to_string())
                .unwrap_or_default(),
        ),
        ("on", view.today.to_string()),
    ])
}

/// The form.
pub(super) async fn show(
    walker: Walker,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let building: BuildingId = id_of(&path, "building")?;
    let view = load(&walker, &state, building).await?;
    let form = starting(&view);
    page(&page_of(&walker, &state, &view, form)?)
}

/// What was typed: kept, or the same page with what was typed and a sentence at each field.
pub(super) async fn take(
    walker: Walker,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let building: BuildingId = id_of(&path, "building")?;
    let mut form = form.into_inner();
    let once = form.once();
    let view = load(&walker, &state, building).await?;
    let taken = read(&mut form, &view);
    if !form.is_wrong() {
        let seat = walker.seat.clone();
        let asked = ask(&state, move |world| {
            water::take_round(world, &seat, taken, &once)
        })
        .await;
        match asked {
            Ok(round) => {
                return Ok(see(&format!("/temperatures/{building}/rounds/{round}")));
            }
            Err(error) => form.take_wrongs(error)?,
        }
    }
    wrong(&page_of(&walker, &state, &view, form)?)
}

/// Reads the form; what cannot be read is said at its field.
fn read(form: &mut Typed, view: &RoundView) -> TakeRound {
    let on: Option<NaiveDate> = form.date("on");
    let calibrated_until = form.date("calibrated");
    let lines = view
        .lines
        .iter()
        .map(|line| {
            let id = line.outlet.id;
            TakenLine {
                outlet: id,
                temp_c: degrees_typed(form, &format!("t.{id}"), &line.outlet.name),
                seconds_run: form
                    .number(&format!("s.{id}"), 0.0, 3600.0)
                    .map(|s| s.round() as i32),
                flushed: match form.value(&format!("f.{id}")) {
                    "yes" => Some(true),
                    "no" => Some(false),
                    _ => None,
                },
                why_not: form.value(&format!("n.{id}")).to_owned(),
            }
        })
        .collect();
    TakeRound {
        building: view.building.id,
        on: on.unwrap_or(view.today),
        thermometer: form.value("thermometer").to_owned(),
        calibrated_until,
        lines,
    }
}

/// A temperature as people type it: a comma for the point, a unit after it.
fn degrees_typed(form: &mut Typed, key: &str, name: &str) -> Option<f64> {
    let typed = form.value(key).trim().to_owned();
    let plain = typed
        .trim_end_matches(['C', 'c', '°', ' '])
        .replace(',', ".")
        .replace('−', "-");
    if plain.is_empty() {
        return None;
    }
    match plain.parse::<f64>() {
        Ok(temp) if temp.is_finite() => Some(temp),
        _ => {
            form.complain(
                key,
                format!("{name}: “{typed}” is not a temperature such as 58.4."),
            );
            None
        }
    }
}
