//! The winter we would have had: the last twelve months replayed. On the first of each month every unit is weighed with
//! only what was on record that day; from then on a unit that was better replaced counts as replaced.
//!
//! Forecasts, repairs and the kinds' fits are those that stood on the day of each look. Two things are of today, not of then:
//! prices and assumptions, and what is known of the unit itself (when it was fitted, its warranty, what the site allows).
use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, Datelike, Days, Months, NaiveDate, Utc};
use costing::weigh::{Levers, weigh};
use costing::winter::{LEAST_FAILURES, WinterFailure, WouldBeNew, replay};
use store::Tx;
use store::advices::ToldFailures;
use store::history::History;
use store::jobs::{Job, Which as Jobs};
use store::units::Which;
use terms::place::{BuildingCard, SpaceCard};
use terms::unit::{FailureRecord, UnitCard};
use terms::{BuildingId, Fate, FunctionLost, JobId, Pence, Role, SpaceId, UnitId};

use crate::advice::{Book, Subject, options_for, site_of, weighable};
use crate::forecast::{KeptForecast, failures_among};
use crate::{Error, Seat, World};

pub use costing::winter::{Ranged, Winter};

/// Replacing counts as advised when it is cheaper by this much, as on the list of advice (pounds; ours, no source).
const WORTH: f64 = 50.0;
/// No failure counts for more cold days than these: a closed job may wait for its papers.
const MOST_DAYS: f64 = 60.0;
/// A year in days, as everywhere.
const YEAR: f64 = 365.25;

/// A unit that would have been replaced.
#[derive(Clone, Debug)]
pub struct Swapped {
    /// The unit.
    pub unit: UnitCard,
    /// The day the advice stood first.
    pub advised_on: NaiveDate,
    /// Failures it had after it would have been replaced.
    pub spared: u32,
}

/// The twelve months replayed.
#[derive(Clone, Debug)]
pub struct Replayed {
    /// First day.
    pub from: NaiveDate,
    /// Last day.
    pub until: NaiveDate,
    /// Failures that happened, repeats merged.
    pub failures: usize,
    /// With fewer than these nothing is said.
    pub least: usize,
    /// What it would have been; `None` when there were too few failures.
    pub told: Option<Winter>,
    /// Units that would have been replaced, those with most failures spared first.
    pub swapped: Vec<Swapped>,
    /// Failures by which neither heat nor hot water was lost, or nobody said so: they count no cold day.
    pub not_cold: usize,
    /// Failures whose days without are assumed, as no job says when they ended.
    pub assumed_days: usize,
    /// Failures nobody recorded the cost of.
    pub unpaid: usize,
}

/// Replays the last twelve months of the buildings in reach.
///
/// # Errors
/// [`Error::Forbidden`] for anybody but the desk and a landlord.
pub fn winter(world: &World, seat: &Seat) -> Result<Replayed, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor, Role::Landlord])?;
    world.acting(seat, |tx| {
        let until = tx.today();
        let from = until - Months::new(12);
        let mut stage = Stage::set(tx, seat)?;
        let failures = stage.failures(tx, (from, until))?;
        let mut found = Replayed {
            from,
            until,
            failures: failures.len(),
            least: LEAST_FAILURES,
            told: None,
            swapped: Vec::new(),
            not_cold: failures.iter().filter(|f| !f.cold).count(),
            assumed_days: failures.iter().filter(|f| f.assumed).count(),
            unpaid: failures.iter().filter(|f| f.unpaid).count(),
        };
        if failures.len() < LEAST_FAILURES {
            return Ok(found);
        }
        let swaps = stage.swaps(tx, (from, until))?;
        found.told = replay(
            &Stage::judged(&failures, &swaps),
            &Stage::new_ones(&swaps, until),
        );
        found.swapped = stage.named(&failures, &swaps);
        Ok(found)
    })
}

/// One failure with what it took.
struct Happened {
    unit: UnitId,
    on: NaiveDate,
    /// The part, where it is on record.
    part: Option<String>,
    cold_days: f64,
    cold: bool,
    paid: f64,
    assumed: bool,
    unpaid: bool,
}

/// A unit that would have been replaced.
struct Swap {
    advised_on: NaiveDate,
    fitted_on: NaiveDate,
    /// Failures of the new one in its first year.
    faults: f64,
    /// Parts that would have stayed: what failed of them would have failed all the same.
    stays: BTreeSet<String>,
    price: f64,
    price_a_year: f64,
}

impl Swap {
    /// Whether a failure would not have happened.
    fn spares(&self, failure: &Happened) -> bool {
        let stays = |part: &String| self.stays.contains(part);
        failure.on > self.fitted_on && !failure.part.as_ref().is_some_and(stays)
    }
}

/// What one failure took: its visits' costs, and the days of its jobs where heat or hot water was lost. A failure without a
/// job that ended takes the usual wait once.
fn happened(
    (unit, on): (UnitId, NaiveDate),
    visits: &[&FailureRecord],
    jobs: &BTreeMap<JobId, Job>,
    usual: f64,
) -> Happened {
    let mut ends: BTreeMap<JobId, f64> = BTreeMap::new();
    let mut cold = false;
    for visit in visits {
        let job = visit.job.and_then(|id| jobs.get(&id));
        let lost: Option<FunctionLost> =
            visit.function_lost.as_deref().and_then(|f| f.parse().ok());
        cold |= lost
            .or_else(|| job.and_then(|job| job.function_lost))
            .is_some_and(FunctionLost::takes_heat);
        if let Some((job, end)) = job.and_then(|job| Some((job.id, job.closed_at?.date_naive()))) {
            let days = (end - visit.happened_on).num_days() as f64;
            ends.entry(job).or_insert(days.max(0.0));
        }
    }
    let known = (!ends.is_empty()).then(|| ends.values().sum::<f64>());
    let costs: Vec<Pence> = visits.iter().filter_map(|visit| visit.cost).collect();
    Happened {
        unit,
        on,
        part: visits.iter().rev().find_map(|visit| visit.part.clone()),
        cold_days: if cold {
            known.unwrap_or(usual).clamp(0.0, MOST_DAYS)
        } else {
            0.0
        },
        cold,
        paid: costs.iter().map(|cost| cost.to_pounds()).sum(),
        assumed: cold && known.is_none(),
        unpaid: costs.is_empty(),
    }
}

/// Units, places and data that do not change from look to look, but for the kinds' fits: each look has those of its day.
struct Stage {
    book: Book,
    cards: Vec<UnitCard>,
    spaces: BTreeMap<SpaceId, SpaceCard>,
    buildings: BTreeMap<BuildingId, BuildingCard>,
}

impl Stage {
    fn set(tx: &mut Tx<'_>, seat: &Seat) -> Result<Self, Error> {
        Ok(Self {
            book: Book::load(tx)?,
            cards: tx
                .units(Which::All)?
                .into_iter()
                .filter(|card| seat.grant().reaches(card.building))
                .collect(),
            spaces: tx.spaces(None)?.into_iter().map(|s| (s.id, s)).collect(),
            buildings: tx.buildings()?.into_iter().map(|b| (b.id, b)).collect(),
        })
    }

    fn ids(&self) -> Vec<UnitId> {
        self.cards.iter().map(|c| c.id).collect()
    }

    /// The failures between two days as on record today, counted as forecasts count them: repeat visits are one, what a
    /// service found is none.
    fn failures(
        &self,
        tx: &mut Tx<'_>,
        (from, until): (NaiveDate, NaiveDate),
    ) -> Result<Vec<Happened>, Error> {
        let at = tx.at();
        let histories = tx.histories(&self.ids(), at)?;
        let counted: Vec<(UnitId, NaiveDate, Vec<&FailureRecord>)> = histories
            .iter()
            .flat_map(|(unit, history)| {
                let failures = failures_among(&history.failures).into_iter();
                failures.map(move |(on, visits)| (*unit, on, visits))
            })
            .filter(|(_, on, _)| *on > from && *on <= until)
            .collect();
        let ids: BTreeSet<JobId> = counted
            .iter()
            .flat_map(|(_, _, visits)| visits.iter().filter_map(|visit| visit.job))
            .collect();
        let jobs: BTreeMap<JobId, Job> = tx
            .jobs(&Jobs::Ids(ids.into_iter().collect()))?
            .into_iter()
            .map(|job| (job.id, job))
            .collect();
        let usual = self.book.assumed("waiting_repair");
        Ok(counted
            .into_iter()
            .map(|(unit, on, visits)| happened((unit, on), &visits, &jobs, usual))
            .collect())
    }

    /// Looks at the estate on the first of each month with what was known then.
    fn swaps(
        &mut self,
        tx: &mut Tx<'_>,
        (from, until): (NaiveDate, NaiveDate),
    ) -> Result<BTreeMap<UnitId, Swap>, Error> {
        let mut found: BTreeMap<UnitId, Swap> = BTreeMap::new();
        let mut look = from;
        while look < until {
            let known = look.and_time(chrono::NaiveTime::MIN).and_utc();
            // What last winter taught of kinds and buildings was not known in it.
            self.book.know_fits_of(tx, known)?;
            self.look(tx, (look, known), &mut found)?;
            let first = look.with_day(1).unwrap_or(look);
            look = first + Months::new(1);
        }
        Ok(found)
    }

    fn look(
        &self,
        tx: &mut Tx<'_>,
        (on, known): (NaiveDate, DateTime<Utc>),
        found: &mut BTreeMap<UnitId, Swap>,
    ) -> Result<(), Error> {
        let told: BTreeMap<UnitId, ToldFailures> = tx
            .forecasts_standing(known)?
            .into_iter()
            .map(|row| {
                let told = ToldFailures {
                    id: row.id,
                    unit: row.unit,
                    made_on: row.made_on,
                    expected_12m: row.expected_12m,
                    chance_12m: (row.year.chance, row.year.low, row.year.high),
                    lost_12m: KeptForecast::lost_in(&row.body),
                };
                (row.unit, told)
            })
            .collect();
        let histories = tx.histories(&self.ids(), known)?;
        for card in &self.cards {
            let stood = card.watched_from <= on
                && card.placed_from.is_none_or(|day| day <= on)
                && (card.fate == Fate::InService || card.fate_on.is_none_or(|day| day > on));
            // A unit without a forecast of its own is not replaced on its kind's figures alone.
            let Some(told) = told.get(&card.id).filter(|_| stood) else {
                continue;
            };
            if found.contains_key(&card.id) {
                continue;
            }
            let history = histories.get(&card.id);
            if let Some(swap) = self.weighed(card, (told, history), on)? {
                found.insert(card.id, swap);
            }
        }
        Ok(())
    }

    /// The replacement that was the better course on a day, when it was.
    fn weighed(
        &self,
        card: &UnitCard,
        (told, history): (&ToldFailures, Option<&History>),
        on: NaiveDate,
    ) -> Result<Option<Swap>, Error> {
        let places = (
            self.spaces.get(&card.space),
            self.buildings.get(&card.building),
        );
        let ((Some(space), Some(building)), Ok(_)) = (places, self.book.kind(&card.kind)) else {
            return Ok(None);
        };
        let site = site_of(card, space, building);
        let subject = Subject {
            card,
            options: options_for(&self.book, &card.kind, &site, None)?,
            told: Some(told),
            failures: history.map_or(&[], |h| h.failures.as_slice()),
            fitted: history.map_or(&[], |h| h.parts.as_slice()),
            quote: None,
            today: on,
            age: None,
        };
        let weighable = weighable(&self.book, &subject)?;
        let checked = weighable
            .case
            .checked()
            .map_err(|e| Error::Internal(format!("{}: {e}", card.number)))?;
        let weighed = weigh(&checked, &Levers::default());
        let better = weighed.advantage().is_some_and(|pounds| pounds > WORTH);
        let Some(Some((_, o))) = weighed.start.first().filter(|_| better) else {
            return Ok(None);
        };
        let (Some(option), Some(chain)) = (checked.case().options.get(*o), weighed.chains.get(*o))
        else {
            return Ok(None);
        };
        let wait = self.book.assumed("waiting_replace").clamp(0.0, 365.0) as u64;
        Ok(Some(Swap {
            advised_on: on,
            fitted_on: on.checked_add_days(Days::new(wait)).unwrap_or(on),
            faults: checked.faults_new(*o).first().copied().unwrap_or(0.0),
            stays: weighable.staying.parts_beside(&option.code),
            price: option.capex,
            price_a_year: option.capex / costing::annuity(checked.case().rate, chain.life),
        }))
    }

    fn judged(failures: &[Happened], swaps: &BTreeMap<UnitId, Swap>) -> Vec<WinterFailure> {
        failures
            .iter()
            .map(|f| WinterFailure {
                cold_days: f.cold_days,
                paid: f.paid,
                spared: swaps.get(&f.unit).is_some_and(|swap| swap.spares(f)),
            })
            .collect()
    }

    fn new_ones(swaps: &BTreeMap<UnitId, Swap>, until: NaiveDate) -> Vec<WouldBeNew> {
        swaps
            .values()
            .map(|swap| {
                let left = (until - swap.fitted_on).num_days().max(0) as f64 / YEAR;
                WouldBeNew {
                    expected: swap.faults * left,
                    price_a_year: swap.price_a_year,
                    price: swap.price,
                }
            })
            .collect()
    }

    fn named(&self, failures: &[Happened], swaps: &BTreeMap<UnitId, Swap>) -> Vec<Swapped> {
        let mut named: Vec<Swapped> = self
            .cards
            .iter()
            .filter_map(|card| {
                let swap = swaps.get(&card.id)?;
                let spared = failures
                    .iter()
                    .filter(|f| f.unit == card.id && swap.spares(f));
                Some(Swapped {
                    advised_on: swap.advised_on,
                    spared: spared.count() as u32,
                    unit: card.clone(),
                })
            })
            .collect();
        named.sort_by_key(|s| {
            (
                std::cmp::Reverse(s.spared),
                s.advised_on,
                s.unit.number.clone(),
            )
        });
        named
    }
}
