//! The maker's own figures of a unit: read, stated, taken back.
use actix_web::{HttpResponse, web};
use askama::Template;
use chrono::NaiveDate;
use terms::{FigureSource, UnitId};
use usecases::makers::{self, FigureLine, StateFigure, TakeBackFigure, UnitFigures};
use wording::sentences::{capital, dates};
use wording::{Choice, Row, Shell};

use crate::Failure;
use crate::form::{Typed, fresh_once, id_of};
use crate::page::{page, see_told, wrong};
use crate::seats::Reader;
use crate::state::{State, answer, ask};
use crate::when;

#[derive(Template)]
#[template(path = "units/maker.html")]
struct MakerPage {
    shell: Shell,
    unit: UnitId,
    heading: String,
    standing: &'static str,
    rows: Vec<Row>,
    figures: Vec<Choice>,
    standing_figures: Vec<Choice>,
    sources: Vec<Choice>,
    may_state: bool,
    may_take_back: bool,
    form: Typed,
    once: String,
}

/// "0.003" or "58.5 K"
fn value(line: &FigureLine) -> String {
    let number = line.figure.value.to_string();
    match line.spec.as_ref().map(|s| s.unit.as_str()) {
        Some(unit) if !unit.is_empty() => format!("{number}\u{a0}{unit}"),
        _ => number,
    }
}

fn name(line: &FigureLine) -> String {
    line.spec
        .as_ref()
        .map_or_else(|| line.figure.name.replace('_', " "), |s| s.words.clone())
}

/// "From the maker’s manual, page 31, read on 4 March 2026; written by Nell Askwith."
fn whence(line: &FigureLine) -> String {
    let figure = &line.figure;
    let reference = if figure.reference.is_empty() {
        String::new()
    } else {
        format!(", {}", figure.reference)
    };
    format!(
        "From {}{reference}, read on {}; written by {} on {}.",
        figure.source.words(),
        dates::day(figure.read_on),
        line.by.split(", ").next().unwrap_or_default(),
        dates::day(when::local_day(figure.recorded_at))
    )
}

/// "Greatest CO over CO₂, 0.003, from the maker’s manual, page 31."
pub(crate) fn said(line: &FigureLine) -> String {
    let figure = &line.figure;
    let reference = if figure.reference.is_empty() {
        String::new()
    } else {
        format!(", {}", figure.reference)
    };
    format!(
        "{}, {}, from {}{reference}.",
        name(line),
        value(line),
        figure.source.words()
    )
}

/// One figure as a sentence, for this page and the unit's own.
pub(super) fn row(line: &FigureLine) -> Row {
    let back = line.figure.superseded_at.map_or_else(String::new, |at| {
        format!(" It stood until {}.", dates::day(when::local_day(at)))
    });
    let general = if line.figure.superseded_at.is_none() && !line.general.is_empty() {
        format!(" It comes before the general limit: {}.", line.general)
    } else {
        String::new()
    };
    Row::plain(
        format!("m-{}", line.figure.id),
        format!("{}. {}{general}{back}", capital(&name(line)), whence(line)),
    )
    .figure(
        value(line),
        if line.figure.superseded_at.is_none() {
            "the maker’s figure"
        } else {
            "no longer"
        },
    )
}

/// What may be stated, the one typed chosen.
pub(crate) fn choices(found: &UnitFigures, typed: &str) -> Vec<Choice> {
    let mut choices = vec![Choice::new("", "choose", typed.is_empty())];
    choices.extend(found.specs.iter().map(|s| {
        let code = format!("{}.{}", s.row, s.name);
        let unit = if s.unit.is_empty() {
            String::new()
        } else {
            format!(", {}", s.unit)
        };
        let is = code == typed;
        Choice::new(code, format!("{}{unit}", capital(&s.words)), is)
    }));
    choices
}

/// Where a figure may be read, the one typed chosen.
pub(crate) fn sources(typed: &str) -> Vec<Choice> {
    FigureSource::ALL
        .iter()
        .map(|s| Choice::new(s.code(), capital(s.words()), s.code() == typed))
        .collect()
}

fn page_of(reader: &Reader, state: &State, found: &UnitFigures, form: Typed) -> MakerPage {
    let standing = found
        .figures
        .iter()
        .filter(|l| l.figure.superseded_at.is_none());
    let back = form.value("back").to_owned();
    MakerPage {
        shell: reader.shell(state, "buildings"),
        unit: found.unit.id,
        heading: format!(
            "The maker’s own figures of {}, {}",
            found.unit.number, found.unit.space_name
        ),
        standing: "A figure on the unit’s plate or in its manual comes before the general limit, whichever of the two is \
                   stricter.",
        rows: found.figures.iter().map(row).collect(),
        figures: choices(found, form.value("figure")),
        standing_figures: standing
            .map(|l| {
                let code = format!("{}.{}", l.figure.row, l.figure.name);
                let is = code == back;
                Choice::new(code, format!("{}: {}", capital(&name(l)), value(l)), is)
            })
            .collect(),
        sources: sources(form.value("source")),
        may_state: found.may_state && !found.specs.is_empty(),
        may_take_back: matches!(
            reader.seat.role(),
            terms::Role::Agent | terms::Role::Supervisor
        ),
        once: match form.value("once") {
            "" => fresh_once(),
            key => key.to_owned(),
        },
        form,
    }
}

async fn load(
    reader: &Reader,
    state: &web::Data<State>,
    unit: UnitId,
) -> Result<UnitFigures, Failure> {
    let seat = reader.seat.clone();
    answer(state, move |world| makers::unit_figures(world, &seat, unit)).await
}

/// The page.
pub(super) async fn show(
    reader: Reader,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let unit: UnitId = id_of(&path, "unit")?;
    let found = load(&reader, &state, unit).await?;
    let today = when::local_day(state.world.now());
    let form = Typed::starting_with([("read_on", today.to_string())]);
    page(&page_of(&reader, &state, &found, form))
}

/// Reads a figure as typed; what cannot be read is said at its field.
pub(crate) fn read(form: &mut Typed, unit: UnitId, today: NaiveDate) -> Option<StateFigure> {
    let figure = form.text("figure", "Choose which figure of the maker it is.");
    let value = form.number("value", 0.0, 100_000.0);
    if value.is_none() && form.error("value").is_none() {
        form.complain("value", "Type the figure.");
    }
    let source: Option<FigureSource> = form.code("source", "Say where it was read.");
    let read_on = form.date("read_on").unwrap_or(today);
    let (Some(value), Some(source), false) = (value, source, form.is_wrong()) else {
        return None;
    };
    Some(StateFigure {
        unit,
        figure,
        value,
        source,
        reference: form.value("reference").to_owned(),
        read_on,
    })
}

/// A figure stated.
pub(super) async fn take(
    reader: Reader,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let unit: UnitId = id_of(&path, "unit")?;
    let mut form = form.into_inner();
    let once = form.once();
    let today = when::local_day(state.world.now());
    if let Some(figure) = read(&mut form, unit, today) {
        let seat = reader.seat.clone();
        match ask(&state, move |world| {
            makers::state_figure(world, &seat, figure, &once)
        })
        .await
        {
            Ok(()) => {
                return Ok(see_told(
                    &format!("/units/{unit}/maker"),
                    "The maker’s figure stands; the next readings are held against it.",
                ));
            }
            Err(error) => form.take_wrongs(error)?,
        }
    }
    let found = load(&reader, &state, unit).await?;
    wrong(&page_of(&reader, &state, &found, form))
}

/// A figure taken back.
pub(super) async fn take_back(
    reader: Reader,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let unit: UnitId = id_of(&path, "unit")?;
    let mut form = form.into_inner();
    let once = form.once();
    let figure = form.text("back", "Choose which figure.");
    let reason = form.text("reason", "Say why it does not hold.");
    if !form.is_wrong() {
        let back = TakeBackFigure {
            unit,
            figure,
            reason,
        };
        let seat = reader.seat.clone();
        match ask(&state, move |world| {
            makers::take_back_figure(world, &seat, back, &once)
        })
        .await
        {
            Ok(()) => {
                return Ok(see_told(
                    &format!("/units/{unit}/maker"),
                    "It is taken back; the general limit holds again.",
                ));
            }
            Err(error) => form.take_wrongs(error)?,
        }
    }
    let found = load(&reader, &state, unit).await?;
    wrong(&page_of(&reader, &state, &found, form))
}
