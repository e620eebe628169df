//! What was forecast a year ago, met with what happened since.
use std::collections::BTreeMap;

use chrono::{DateTime, Months, NaiveDate, Utc};
use store::Tx;
use store::units::Which;
use terms::unit::UnitCard;
use terms::{Role, UnitId};

use super::histories::Facts;
use super::kept::load;
use super::reading::Told;
use super::season::axis;
use crate::{Error, Seat, World};

/// Failures needed before what was said is shown chance by chance (FORECAST §10: fewer than 30, only the sums).
pub const LEAST_FAILURES: u32 = 30;
/// Upper ends of the groups of chances said.
const EDGES: [f64; 5] = [0.075, 0.13, 0.2, 0.35, 1.01];

/// Units of which about the same was said.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Band {
    /// Mean chance said.
    pub said: f64,
    /// Units.
    pub units: u32,
    /// Units expected to fail: the sum of the chances said, for the time each unit stood.
    pub expected: f64,
    /// Units that failed.
    pub failed: u32,
}

/// What the track record can say.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct TrackRecord {
    /// When the first forecast was made.
    pub first_at: Option<DateTime<Utc>>,
    /// Forecasts scored: those that stood a year ago and whose 12 months are over.
    pub units: u32,
    /// First day of the periods, and last.
    pub period: Option<(NaiveDate, NaiveDate)>,
    /// Failures expected.
    pub expected: f64,
    /// Failures that happened, repeat visits merged, as recorded by today.
    pub happened: u32,
    /// Where 8 years in 10 would fall by luck alone: expected ± 1.2816 √(Σ m (1 + θ m)).
    pub luck: (f64, f64),
    /// Group by group; empty below [`LEAST_FAILURES`] failures.
    pub bands: Vec<Band>,
    /// Units that failed although little was said, most surprising first: what was said, and how often it failed.
    pub surprises: Vec<(UnitCard, f64, u32)>,
}

/// Meets the forecasts that stood 12 months ago with what happened since, on facts as recorded by today. A unit taken
/// out of service counts for the days it stood.
///
/// # Errors
/// Not the agent, a supervisor or a landlord; the store's own.
pub fn track_record(world: &World, seat: &Seat) -> Result<TrackRecord, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor, Role::Landlord])?;
    world.acting(seat, |tx| {
        met(tx, |card| seat.grant().reaches(card.building))
    })
}

fn met(tx: &mut Tx<'_>, reached: impl Fn(&UnitCard) -> bool) -> Result<TrackRecord, Error> {
    let today = super::today(tx);
    let then = tx
        .at()
        .checked_sub_months(Months::new(12))
        .unwrap_or_default();
    let mut record = TrackRecord {
        first_at: tx.first_forecast_at()?,
        ..TrackRecord::default()
    };
    let rows = tx.forecasts_standing(then)?;
    if rows.is_empty() {
        return Ok(record);
    }
    let facts: BTreeMap<UnitId, Facts> = load(tx, Which::All)?
        .into_iter()
        .map(|f| (f.card.id, f))
        .collect();
    let mut groups: Vec<Band> = vec![Band::default(); EDGES.len()];
    let (mut variance, mut surprises) = (0.0, Vec::new());
    for row in rows {
        let until = row.made_on.checked_add_months(Months::new(12));
        let (Some(until), Some(facts)) = (until, facts.get(&row.unit)) else {
            continue;
        };
        if until > today || !reached(&facts.card) {
            continue;
        }
        let told = Told::read(row)?;
        let Some(one) = outcome(&told, facts, until, today) else {
            continue;
        };
        record.units += 1;
        record.expected += one.expected;
        record.happened += one.happened;
        variance += one.expected * (1.0 + told.kept.theta * one.expected);
        let from = told.row.made_on;
        record.period = Some(
            record
                .period
                .map_or((from, until), |(a, b)| (a.min(from), b.max(until))),
        );
        let place = EDGES.iter().position(|edge| one.said < *edge).unwrap_or(0);
        let band = &mut groups[place];
        band.units += 1;
        band.said += one.said;
        band.expected += one.said * one.stood;
        band.failed += u32::from(one.happened > 0);
        if one.happened > 0 && one.said < 0.1 {
            surprises.push((facts.card.clone(), one.said, one.happened));
        }
    }
    let half = 1.2816 * variance.sqrt();
    record.luck = ((record.expected - half).max(0.0), record.expected + half);
    if record.happened >= LEAST_FAILURES {
        record.bands = groups.into_iter().filter(|b| b.units > 0).collect();
        for band in &mut record.bands {
            band.said /= f64::from(band.units);
        }
    }
    surprises.sort_by(|a, b| a.1.total_cmp(&b.1));
    surprises.truncate(3);
    record.surprises = surprises;
    Ok(record)
}

struct Met {
    said: f64,
    /// Share of the period the unit stood in service.
    stood: f64,
    expected: f64,
    happened: u32,
}

/// `None` when the unit's record, as it stands now, cannot be.
fn outcome(told: &Told, facts: &Facts, until: NaiveDate, today: NaiveDate) -> Option<Met> {
    let from = told.row.made_on;
    let end = facts.card.fate_on.unwrap_or(until).clamp(from, until);
    let stood = (axis(end) - axis(from)) / (axis(until) - axis(from));
    let ready = facts.ready(today).ok()?;
    let inside = |day: &&NaiveDate| **day > from && **day <= end;
    Some(Met {
        said: told.row.year.chance,
        stood,
        expected: told.row.expected_12m * stood,
        happened: ready.basis.failures.iter().filter(inside).count() as u32,
    })
}
