//! What a kind's record shows beside its fit: failures by age without a model, whether they come faster, and where the fit's
//! ageing is not that of these units.
use chrono::{Datelike, NaiveDate};
use dependability::age_bands::{AgeBand, age_bands, by_age};
use dependability::goodness::{CalendarYear, Goodness, goodness};
use dependability::mcf::{Point, curve};
use dependability::observed::Observed;
use dependability::trend::robust_laplace;
use dependability::{Housed, UnitHistory};
use store::Tx;
use store::units::Which;
use terms::trade::Kind;
use terms::{BuildingId, Role};

use super::kept::{KeptFit, load};
use super::outlook::FitSaid;
use super::reading::wrong;
use super::season::axis;
use crate::{Error, Seat, World};

/// The curve begins where so many units are watched (FORECAST §8).
const LEAST_AT_RISK: u32 = 5;
/// Points of the curve at most.
const MOST_POINTS: usize = 80;
/// Units with failures from which a trend is spoken of (FORECAST §8).
pub const LEAST_FOR_TREND: usize = 10;

/// Whether failures come faster as units grow older, units taken as unlike one another (the generalised Laplace test).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trend {
    /// Statistic, standard normal without a trend; above 0 failures come faster.
    pub z: f64,
    /// Two-sided chance of as much without a trend.
    pub p: f64,
    /// Units with failures, on which it rests.
    pub units: usize,
}

/// What is on record of one kind, in the buildings of the reader.
#[derive(Clone, Debug)]
pub struct KindRecord {
    /// The kind.
    pub kind: Kind,
    /// Its last fit, of the whole estate; `None`: never fitted.
    pub fit: Option<FitSaid>,
    /// Units with a record that can be read, retired ones too.
    pub units: usize,
    /// Of them those fitted within two years of a known day: the rest of what stands here is of these.
    pub dated: usize,
    /// Failures of these in their windows.
    pub failures: usize,
    /// The mean cumulative function: the age it begins at, and its points; `None` where five are never watched at once.
    pub curve: Option<(f64, Vec<Point>)>,
    /// The trend; `None` with fewer than ten units with failures.
    pub trend: Option<Trend>,
    /// Failures by age against what the fit expects; empty without a fit.
    pub bands: Vec<AgeBand>,
    /// How the fit holds for it; `None` without a fit, or with fewer than fifteen failures.
    pub holds: Option<Goodness>,
    /// Today, where it stands.
    pub today: NaiveDate,
}

/// The record of a kind by its code.
///
/// # Errors
/// Not the agent, a supervisor or a landlord; [`Error::NotFound`] for a kind the estate does not have; the store's own.
pub fn kind_record(world: &World, seat: &Seat, code: &str) -> Result<KindRecord, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor, Role::Landlord])?;
    let (kind, kept, units, today) = world.acting(seat, |tx| gathered(tx, seat, code))?;
    let by_ages: Vec<Observed> = units.iter().filter_map(|(_, h)| by_age(h)).collect();
    let names: Vec<String> = units.iter().map(|(b, _)| b.to_string()).collect();
    let housed: Vec<Housed<'_>> = units
        .iter()
        .zip(&names)
        .map(|((_, history), building)| Housed { history, building })
        .collect();
    let (bands, holds) = match &kept {
        Some((kept, _)) => (
            age_bands(&kept.prior, &kept.fit, &housed).map_err(wrong)?,
            goodness(&kept.prior, &kept.fit, &housed, &years(&units, today)).map_err(wrong)?,
        ),
        None => (Vec::new(), None),
    };
    Ok(KindRecord {
        kind,
        fit: kept.map(|(_, said)| said),
        units: units.len(),
        dated: by_ages.len(),
        failures: by_ages.iter().map(|u| u.events.len()).sum(),
        curve: curve(&by_ages, LEAST_AT_RISK, MOST_POINTS).map_err(wrong)?,
        trend: trend(&by_ages),
        bands,
        holds,
        today,
    })
}

/// Every calendar year in which one of them was watched. A day's failures stand at its first moment, so a year begins half
/// a day sooner.
fn years(units: &[(BuildingId, UnitHistory)], today: NaiveDate) -> Vec<CalendarYear> {
    let windows = || units.iter().flat_map(|(_, history)| &history.windows);
    let first = windows().map(|w| w.from).fold(f64::INFINITY, f64::min);
    let begins =
        |year: i32| NaiveDate::from_ymd_opt(year, 1, 1).map(|day| axis(day) - 0.5 / 365.25);
    let mut years: Vec<CalendarYear> = Vec::new();
    for year in (0..=today.year()).rev() {
        let (Some(from), Some(until)) = (begins(year), begins(year + 1)) else {
            break;
        };
        if until <= first {
            break;
        }
        years.push(CalendarYear { year, from, until });
    }
    years.reverse();
    years
}

fn trend(units: &[Observed]) -> Option<Trend> {
    let failed = units.iter().filter(|u| !u.events.is_empty()).count();
    let (z, p) = robust_laplace(units).filter(|_| failed >= LEAST_FOR_TREND)?;
    Some(Trend {
        z,
        p,
        units: failed,
    })
}

/// The kind, its last fit, and its units in the buildings of the reader with what they lived through.
type Gathered = (
    Kind,
    Option<(KeptFit, FitSaid)>,
    Vec<(BuildingId, UnitHistory)>,
    NaiveDate,
);

fn gathered(tx: &mut Tx<'_>, seat: &Seat, code: &str) -> Result<Gathered, Error> {
    let kind = tx
        .kinds()?
        .into_iter()
        .find(|k| k.code == code)
        .ok_or(Error::NotFound("kind"))?;
    let kept = tx.last_fit(code)?.and_then(|row| {
        let kept = KeptFit::read(&row)?;
        let said = FitSaid::of(&row, &kept);
        Some((kept, said))
    });
    let today = super::today(tx);
    let asked = kept
        .as_ref()
        .map_or(&[][..], |(kept, _)| kept.prior.covariates.as_slice());
    let units = load(tx, Which::All)?
        .into_iter()
        .filter(|f| f.card.kind == code && seat.grant().reaches(f.card.building))
        .filter_map(|f| Some((f.card.building, f.ready(today, asked).ok()?.history)))
        .collect();
    Ok((kind, kept, units, today))
}
