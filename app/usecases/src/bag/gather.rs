//! The visits of an engineer's week and what each may need.
use std::collections::{BTreeMap, BTreeSet};

use chrono::{Datelike, Days, NaiveDate};
use dependability::bag::{Bag, Call};
use store::Tx;
use store::jobs::{Job, Which};
use store::rounds::RoundVisit;
use store::units::Which as Units;
use terms::unit::UnitCard;
use terms::{BuildingId, EngineerId, Fate, FirmId, JobId, JobKind, JobState, UnitId};
use uuid::Uuid;

use super::{BagAnswer, BagAsk, BagPart};
use crate::Error;
use crate::forecast::{self, MONTH_SHARES, Told};
use crate::part_prices::{part_prices, shares_of};
use crate::work::{before_visit, wall};

/// A visit that may need a part.
pub(super) struct Need {
    pub call: Call,
    /// The fault visit it is; `None`: a planned visit, or a fault that may come.
    job: Option<JobId>,
    /// Chance that there is such a visit at all.
    there: f64,
}

/// The week with the parts its visits may need.
pub(super) struct Gathered {
    pub calls: Vec<Need>,
    pub parts: Vec<BagPart>,
    planned: usize,
    to_come: f64,
}

fn in_week(day: NaiveDate, week_on: NaiveDate) -> bool {
    day >= week_on && day < week_on + Days::new(7)
}

/// Fault visits booked, and other jobs booked with planned attendances, of the week.
type Week = (Vec<Job>, Vec<Job>, Vec<RoundVisit>);

fn week(
    tx: &mut Tx<'_>,
    (firm, engineer): (FirmId, EngineerId),
    week_on: NaiveDate,
) -> Result<Week, Error> {
    let booked: Vec<Job> = tx
        .jobs(&Which::OpenOf(firm))?
        .into_iter()
        .filter(|j| j.engineer == Some(engineer))
        .filter(|j| {
            j.booked
                .is_some_and(|(from, _)| in_week(wall::day(from), week_on))
        })
        .collect();
    let (faults, other): (Vec<Job>, Vec<Job>) =
        booked.into_iter().partition(|j| j.kind == JobKind::Repair);
    let mut planned = Vec::new();
    if let Some(round) = tx.round_now()? {
        let mut seen: BTreeSet<Uuid> = BTreeSet::new();
        for visit in tx.round_visits(round.id)? {
            let his = visit.engineer == Some(engineer) && visit.job.is_none();
            let now = visit.on_day.is_some_and(|day| in_week(day, week_on));
            if his && now && seen.insert(visit.visit) {
                planned.push(visit);
            }
        }
    }
    Ok((faults, other, planned))
}

/// How many visits the week has: faults booked, everything planned.
pub(super) fn visits(
    tx: &mut Tx<'_>,
    whose: (FirmId, EngineerId),
    week_on: NaiveDate,
) -> Result<(usize, usize), Error> {
    let (faults, other, planned) = week(tx, whose, week_on)?;
    Ok((faults.len(), other.len() + planned.len()))
}

/// What is looked up for every visit.
struct Known {
    units: BTreeMap<UnitId, UnitCard>,
    told: BTreeMap<UnitId, Told>,
    /// (kind, code) → place in the list of parts.
    places: BTreeMap<(String, String), usize>,
}

impl Known {
    /// Parts of a kind with chances, as needs; parts nobody carries fall away.
    fn needs<'a>(
        &self,
        kind: &str,
        chances: impl Iterator<Item = (&'a str, f64)>,
        times: f64,
    ) -> Vec<(usize, f64)> {
        chances
            .filter_map(|(code, chance)| {
                let key = (kind.to_owned(), code.to_owned());
                let place = self.places.get(&key)?;
                Some((*place, (chance * times).clamp(0.0, 1.0)))
            })
            .collect()
    }

    /// What a unit's next failure needs, if it happens with this chance.
    fn of_unit(&self, unit: UnitId, times: f64) -> Vec<(usize, f64)> {
        match (self.units.get(&unit), self.told.get(&unit)) {
            (Some(card), Some(told)) => self.needs(&card.kind, shares_of(told), times),
            _ => Vec::new(),
        }
    }
}

/// Gathers the week: booked faults with their suspects, planned visits with what they may find, and faults that may come
/// where the engineer will be, shared among the firm's engineers.
pub(super) fn gather(
    tx: &mut Tx<'_>,
    ask: &BagAsk,
    (firm, colleagues): (FirmId, usize),
) -> Result<Gathered, Error> {
    let (faults, other, planned) = week(tx, (firm, ask.engineer), ask.week_on)?;
    let jobs = faults.iter().chain(&other).map(|j| j.building);
    let there: BTreeSet<BuildingId> = jobs.chain(planned.iter().map(|v| v.building)).collect();
    let units: BTreeMap<UnitId, UnitCard> = tx
        .units(Units::All)?
        .into_iter()
        .filter(|c| c.fate == Fate::InService && there.contains(&c.building))
        .map(|c| (c.id, c))
        .collect();
    let ids: Vec<UnitId> = units.keys().copied().collect();
    let kinds: BTreeSet<String> = units.values().map(|c| c.kind.clone()).collect();
    let (mut parts, mut places) = (Vec::new(), BTreeMap::new());
    for (key, (name, price)) in part_prices(tx, &kinds)? {
        places.insert(key, parts.len());
        parts.push(BagPart { name, price });
    }
    let known = Known {
        told: forecast::of_units(tx, &ids)?,
        units,
        places,
    };
    let mut calls = Vec::new();
    for job in &faults {
        calls.push(Need {
            call: Call {
                needs: suspects(tx, &known, job)?,
            },
            job: Some(job.id),
            there: 1.0,
        });
    }
    let found = ask.of_hundred / 100.0;
    let looked_at = other.iter().map(|j| j.unit);
    for unit in looked_at.chain(planned.iter().map(|v| v.unit)) {
        calls.push(Need {
            call: Call {
                needs: unit.map_or_else(Vec::new, |u| known.of_unit(u, found)),
            },
            job: None,
            there: 1.0,
        });
    }
    let (mut to_come, share) = (0.0, 1.0 / colleagues.max(1) as f64);
    let month = MONTH_SHARES[ask.week_on.month0() as usize % 12] * 12.0 / 52.18;
    for (unit, told) in &known.told {
        let expected = told.row.expected_12m * month * share;
        let chance = -(-expected).exp_m1();
        to_come += expected;
        calls.push(Need {
            call: Call {
                needs: known.of_unit(*unit, chance),
            },
            job: None,
            there: chance,
        });
    }
    Ok(Gathered {
        calls,
        parts,
        planned: other.len() + planned.len(),
        to_come,
    })
}

/// What a booked fault may need: the ranking of suspects, else the unit's part forecast.
fn suspects(tx: &mut Tx<'_>, known: &Known, job: &Job) -> Result<Vec<(usize, f64)>, Error> {
    let Some(card) = job.unit.and_then(|unit| known.units.get(&unit)) else {
        return Ok(Vec::new());
    };
    if job.state == JobState::WaitingForPart {
        // Its part is ordered and comes with the engineer.
        return Ok(Vec::new());
    }
    let history = tx.history(card.id)?;
    let ranked = before_visit(tx, card, &history, job.function_lost)?;
    Ok(match ranked {
        Some(ranking) => {
            let chances = ranking
                .posterior
                .iter()
                .map(|(code, p)| (code.as_str(), *p));
            known.needs(&card.kind, chances, 1.0)
        }
        None => known.of_unit(card.id, 1.0),
    })
}

impl Gathered {
    /// The answer to keep: faults that do not come are no visits, and each booked fault has its own chance.
    pub fn answered(self, bag: Bag) -> BagAnswer {
        let mut wanted = vec![0.0; self.parts.len()];
        for (part, chance) in self.calls.iter().flat_map(|c| &c.call.needs) {
            if let Some(sum) = wanted.get_mut(*part) {
                *sum += chance;
            }
        }
        // Share of the visits that need a part which find one left.
        let served = |part: usize| {
            let gain = bag
                .carried
                .iter()
                .find(|c| c.part == part)
                .map_or(0.0, |c| c.gain);
            let all = wanted.get(part).copied().unwrap_or(0.0);
            if all > 0.0 { gain / all } else { 0.0 }
        };
        let jobs = self
            .calls
            .iter()
            .filter_map(|need| {
                let needs = &need.call.needs;
                let none = 1.0 - needs.iter().map(|n| n.1).sum::<f64>();
                let met: f64 = needs.iter().map(|(part, p)| p * served(*part)).sum();
                Some((need.job?, (none + met).clamp(0.0, 1.0)))
            })
            .collect();
        let never: f64 = self.calls.iter().map(|c| 1.0 - c.there).sum();
        let booked = self.calls.iter().filter(|c| c.there >= 1.0).count();
        BagAnswer {
            jobs,
            bag: Bag {
                visits: booked,
                without: bag.without - never,
                with: bag.with - never,
                at_most: bag.at_most - never,
                ..bag
            },
            parts: self.parts,
            planned: self.planned,
            to_come: self.to_come,
        }
    }
}
