//! The maker's own figures for a unit: read from its plate or manual, they come before the general limits.
use std::collections::BTreeMap;

use chrono::NaiveDate;
use inspection::{RuleBook, Values, makers};
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::Tx;
use terms::unit::UnitCard;
use terms::{AccountId, FigureSource, MakerFigure, Role, UnitId};
use uuid::Uuid;

use crate::work::wall;
use crate::{Error, FieldError, Seat, World};

pub use inspection::makers::FigureSpec;

/// A figure about to be stated.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct StateFigure {
    /// The unit.
    pub unit: UnitId,
    /// Which figure, "A6.ratio_max".
    pub figure: String,
    /// Its value.
    pub value: f64,
    /// Where it was read.
    pub source: FigureSource,
    /// The page of the manual, or what else helps to find it again.
    pub reference: String,
    /// The day it was read.
    pub read_on: NaiveDate,
}

/// A figure about to be taken back.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct TakeBackFigure {
    /// The unit.
    pub unit: UnitId,
    /// Which figure.
    pub figure: String,
    /// Why.
    pub reason: String,
}

/// One figure of a unit with what it is called and who wrote it.
#[derive(Clone, Debug, PartialEq)]
pub struct FigureLine {
    /// The figure.
    pub figure: MakerFigure,
    /// What it is called and measured in; `None` for one no limit knows any more.
    pub spec: Option<FigureSpec>,
    /// Who wrote it.
    pub by: String,
    /// What the general limit says, in words.
    pub general: String,
}

/// A unit with the maker's figures on record.
#[derive(Clone, Debug, PartialEq)]
pub struct UnitFigures {
    /// The unit.
    pub unit: UnitCard,
    /// Its figures, those taken back too, the ones in force first.
    pub figures: Vec<FigureLine>,
    /// What may be stated for a unit of its kind.
    pub specs: Vec<FigureSpec>,
    /// Whether this seat may state one.
    pub may_state: bool,
}

fn book() -> Result<&'static RuleBook, Error> {
    RuleBook::shipped().map_err(|e| Error::Internal(e.to_string()))
}

/// The figures in force of a unit, by row of the rule book.
pub(crate) fn of_unit(tx: &mut Tx<'_>, unit: UnitId) -> Result<BTreeMap<String, Values>, Error> {
    let figures = tx.maker_figures(unit, false)?;
    Ok(makers::by_row(
        figures
            .iter()
            .map(|f| (f.row.as_str(), f.name.as_str(), f.value)),
    ))
}

/// The unit when this seat may write of it: the desk in its reach, an engineer whose firm has a job on it.
fn writable(tx: &mut Tx<'_>, seat: &Seat, unit: UnitId) -> Result<UnitCard, Error> {
    let card = tx.unit(unit)?;
    crate::register::may_read_unit(tx, seat, &card)?;
    Ok(card)
}

const WRITERS: [Role; 3] = [Role::Agent, Role::Supervisor, Role::Contractor];

/// The maker's figures of a unit, with what may be stated.
pub fn unit_figures(world: &World, seat: &Seat, unit: UnitId) -> Result<UnitFigures, Error> {
    let (card, figures) = world.acting(seat, |tx| {
        let card = writable(tx, seat, unit)?;
        let figures = tx.maker_figures(unit, true)?;
        Ok::<_, Error>((card, figures))
    })?;
    let who: Vec<AccountId> = figures.iter().map(|f| f.recorded_by).collect();
    let names: BTreeMap<AccountId, String> = crate::door::names(world, &who)?.into_iter().collect();
    let specs = makers::figures_for(book()?, &card.kind);
    let mut lines: Vec<FigureLine> = figures
        .into_iter()
        .map(|figure| FigureLine {
            spec: specs
                .iter()
                .find(|s| s.row == figure.row && s.name == figure.name)
                .cloned(),
            by: names
                .get(&figure.recorded_by)
                .map_or_else(|| "the program".to_owned(), Clone::clone),
            general: book()
                .and_then(|b| {
                    b.limit(&figure.row)
                        .map_err(|e| Error::Internal(e.to_string()))
                })
                .map_or_else(|_| String::new(), |limit| limit.limit.clone()),
            figure,
        })
        .collect();
    lines.sort_by_key(|line| (line.figure.superseded_at.is_some(), line.figure.id));
    Ok(UnitFigures {
        specs,
        figures: lines,
        may_state: WRITERS.contains(&seat.role()),
        unit: card,
    })
}

fn spec_of(unit: &UnitCard, figure: &str) -> Result<Option<FigureSpec>, Error> {
    let specs = makers::figures_for(book()?, &unit.kind);
    Ok(specs
        .into_iter()
        .find(|s| format!("{}.{}", s.row, s.name) == figure))
}

/// States a maker's figure; one stated before stays readable.
///
/// # Errors
/// [`Error::Invalid`] at `figure`, `value`, `reference` or `read_on`; [`Error::NotFound`] outside the seat's reach.
pub fn state_figure(
    world: &World,
    seat: &Seat,
    form: StateFigure,
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&WRITERS)?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            let unit = writable(tx, seat, form.unit)?;
            let spec = spec_of(&unit, &form.figure)?
                .ok_or_else(|| Error::field("figure", "Choose which figure of the maker it is."))?;
            let known = of_unit(tx, form.unit)?;
            Error::unless_empty(wrongs(
                &spec,
                &form,
                known.get(&spec.row),
                wall::day(tx.at()),
            ))?;
            tx.state_maker_figure(&MakerFigure {
                id: Uuid::nil(),
                unit: form.unit,
                row: spec.row.clone(),
                name: spec.name.clone(),
                value: form.value,
                source: form.source,
                reference: form.reference.trim().to_owned(),
                read_on: form.read_on,
                recorded_at: tx.at(),
                recorded_by: tx.who(),
                superseded_at: None,
            })?;
            tx.note(
                "maker's figure stated",
                &format!("unit {}", form.unit),
                &json!({
                    "figure": form.figure, "value": form.value, "source": form.source.code(),
                    "reference": form.reference.trim(), "read_on": form.read_on,
                }),
            );
            Ok(())
        })
    })
}

fn wrongs(
    spec: &FigureSpec,
    form: &StateFigure,
    known: Option<&Values>,
    today: NaiveDate,
) -> Vec<FieldError> {
    let mut wrongs = Vec::new();
    let (least, most) = believable(&spec.name);
    if !form.value.is_finite() || !(least..=most).contains(&form.value) {
        wrongs.push(FieldError::at(
            "value",
            format!("A maker’s figure for this lies between {least} and {most}; look at the plate or page again."),
        ));
    }
    let other = |name: &str| known.and_then(|figures| figures.number(name));
    let crossed = match spec.name.as_str() {
        "pass_min" => other("pass_max").is_some_and(|max| form.value > max),
        "pass_max" => other("pass_min").is_some_and(|min| form.value < min),
        _ => false,
    };
    if crossed {
        wrongs.push(FieldError::at(
            "value",
            "The least would lie over the greatest: correct the other one first.",
        ));
    }
    if form.source == FigureSource::Manual && form.reference.trim().is_empty() {
        wrongs.push(FieldError::at(
            "reference",
            "Say which page of the manual, so that somebody else finds it again.",
        ));
    }
    if form.read_on > today {
        wrongs.push(FieldError::at("read_on", "That day has not come yet."));
    }
    wrongs
}

/// What can be believed of a figure: wide bounds that only catch a slip of the decimal point. Common practice, no source.
fn believable(name: &str) -> (f64, f64) {
    match name {
        "ratio_max" => (0.0001, 0.02),
        "co_max_ppm" => (10.0, 2000.0),
        "rise_min_k" => (10.0, 60.0),
        "rated_flow_lpm" => (2.0, 60.0),
        "charge_bar" => (0.1, 10.0),
        _ => (0.0, 10_000.0),
    }
}

/// Takes a figure back: from then on the general limit holds again. What was judged by it stays as it was.
///
/// # Errors
/// [`Error::Invalid`] without a reason; [`Error::Conflict`] when no such figure stands.
pub fn take_back_figure(
    world: &World,
    seat: &Seat,
    form: TakeBackFigure,
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            let unit = writable(tx, seat, form.unit)?;
            let (row, name) = form
                .figure
                .split_once('.')
                .ok_or(Error::NotFound("figure"))?;
            if form.reason.trim().is_empty() {
                return Err(Error::field("reason", "Say why it does not hold."));
            }
            if tx.take_back_maker_figure(unit.id, row, name)? == 0 {
                return Err(Error::Conflict(
                    "That figure does not stand any more. Nothing was changed by you.".to_owned(),
                ));
            }
            tx.note(
                "maker's figure taken back",
                &format!("unit {}", unit.id),
                &json!({ "figure": form.figure, "reason": form.reason.trim() }),
            );
            Ok(())
        })
    })
}
