//! The morning at a glance: who has no heat, what is unsafe, what is due, what waits, what is likely. Reads only.
mod buildings;
mod likely;

use std::collections::{BTreeMap, BTreeSet};

use chrono::{NaiveDate, TimeDelta};
use serde_json::json;
use store::Tx;
use store::jobs::{Job, Which};
use store::outages::WhichOutages;
use terms::today::{
    Due, OpenAdvice, OpenQuote, Outage, Place, Suspected, Today, Trouble, Uncovered, Unsafe,
};
use terms::unit::UnitCard;
use terms::{BuildingId, FirmId, FunctionLost, JobId, JobKind, JobState, Role, UnitId};

use crate::cover;
use crate::duties::{self, Standing};
use crate::outages::{Proposal, Suspicion, suspicion_in};
use crate::{Error, Seat, World};

pub use likely::reasons;

/// How far ahead Today looks for duties, in days.
pub const LOOK_AHEAD_DAYS: i64 = 60;
/// Likely units shown at most.
const MOST_LIKELY: usize = 5;

/// What the desk must know this morning; `day` is the local day. Only what the seat's grant reaches.
///
/// # Errors
/// Not of the desk; the store's own.
pub fn today(world: &World, seat: &Seat, day: NaiveDate) -> Result<Today, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor, Role::OutOfHours])?;
    let firms = world
        .pool
        .at_door::<_, Error>(|door| Ok(door.firms_of(seat.estate())?))?
        .into_iter()
        .map(|firm| (firm.id, firm.name))
        .collect();
    let holidays = cover::holidays(world)?;
    world.acting(seat, |tx| {
        let desk = Desk {
            seat,
            firms,
            day,
            holidays,
        };
        desk.read(tx)
    })
}

/// Keeps the brief of a day with the audit's head under it; `false` when that day has one already.
///
/// # Errors
/// Not the agent or the program; the store's own.
pub fn keep_brief(world: &World, seat: &Seat, day: NaiveDate, body: &str) -> Result<bool, Error> {
    seat.must_be(&[Role::Agent])?;
    world.acting(seat, |tx| {
        let head = tx.chain_head_text()?;
        let body = format!("{body}\nHead of the audit before this brief: {head}\n");
        let kept = tx.add_brief(day, &body)?;
        if kept {
            tx.note(
                "brief kept",
                &format!("day {day}"),
                &json!({ "head": head }),
            );
        }
        Ok(kept)
    })
}

/// The brief of a day, when one was kept.
///
/// # Errors
/// Not of the desk; the store's own.
pub fn brief(world: &World, seat: &Seat, day: NaiveDate) -> Result<Option<String>, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor, Role::OutOfHours])?;
    world.acting(seat, |tx| Ok(tx.brief(day)?))
}

struct Desk<'a> {
    seat: &'a Seat,
    firms: BTreeMap<FirmId, String>,
    day: NaiveDate,
    holidays: BTreeSet<NaiveDate>,
}

/// What several lists need: units by id, kinds' names by code.
struct Names {
    units: BTreeMap<UnitId, UnitCard>,
    kinds: BTreeMap<String, (String, String)>,
}

impl Names {
    fn read(tx: &mut Tx<'_>) -> Result<Self, Error> {
        Ok(Self {
            units: tx
                .units(store::units::Which::All)?
                .into_iter()
                .map(|card| (card.id, card))
                .collect(),
            kinds: tx
                .kinds()?
                .into_iter()
                .map(|k| (k.code, (k.name, k.plural)))
                .collect(),
        })
    }

    fn kind(&self, code: &str) -> String {
        self.kinds
            .get(code)
            .map_or_else(|| "unit".to_owned(), |k| k.0.clone())
    }

    fn plural(&self, code: &str) -> String {
        self.kinds
            .get(code)
            .map_or_else(|| "units".to_owned(), |k| k.1.clone())
    }
}

fn place_of(card: &UnitCard) -> Place {
    Place {
        building: card.building,
        building_name: card.building_name.clone(),
        space: Some(card.space),
        space_name: card.space_name.clone(),
    }
}

fn building_place(building: BuildingId, building_name: String) -> Place {
    Place {
        building,
        building_name,
        space: None,
        space_name: String::new(),
    }
}

fn suspected(found: Proposal) -> Suspected {
    let mut homes: Vec<String> = Vec::new();
    for call in found.calls {
        if !homes.contains(&call.space_name) {
            homes.push(call.space_name);
        }
    }
    Suspected {
        place: building_place(found.building, found.building_name),
        branch: found.branch,
        name: found.name,
        lost: found.lost,
        homes,
        served: found.served as u32,
        chance: found.chance_words,
        shared: found.shared,
        rates: found.rates,
    }
}

impl Desk<'_> {
    fn reaches(&self, building: BuildingId) -> bool {
        self.seat.grant().reaches(building)
    }

    fn read(&self, tx: &mut Tx<'_>) -> Result<Today, Error> {
        let names = Names::read(tx)?;
        let jobs: Vec<Job> = tx
            .jobs(&Which::Open)?
            .into_iter()
            .filter(|job| self.reaches(job.building))
            .collect();
        // The out-of-hours desk takes calls; money is not its business.
        let money = self.seat.role() != Role::OutOfHours;
        let (due, undated) = self.due(tx)?;
        let found = suspicion_in(tx, self.seat)?;
        let outages = self.outages(tx, &found)?;
        let mut today = Today {
            at: tx.at(),
            day: self.day,
            empty: false,
            troubles: self.troubles(tx, &jobs)?,
            outages,
            uncovered: self.uncovered(tx)?,
            suspected: found.proposals.into_iter().map(suspected).collect(),
            unsafe_units: self.unsafe_units(tx, &names)?,
            due,
            undated,
            quotes: if money {
                self.quotes(tx, &names)?
            } else {
                Vec::new()
            },
            advices: if money {
                self.advices(tx, &names)?
            } else {
                Vec::new()
            },
            to_agree: jobs.iter().filter(|j| j.state == JobState::Done).count() as u32,
            likely: Vec::new(),
            too_thin: Vec::new(),
            buildings: Vec::new(),
        };
        let isolated: Vec<UnitId> = today
            .unsafe_units
            .iter()
            .filter(|u| u.isolated)
            .map(|u| u.unit)
            .collect();
        for due in &mut today.due {
            due.isolated = due.unit.is_some_and(|unit| isolated.contains(&unit));
        }
        likely::read(self, tx, (&names, &jobs), &mut today)?;
        buildings::read(self, tx, &names, &mut today)?;
        today.empty = today.buildings.iter().all(|b| b.flats == 0) && names.units.is_empty();
        Ok(today)
    }

    /// Open repair jobs whose home lost heat or hot water, late ones first, then the longest; a job that answers an outage stands there.
    fn troubles(&self, tx: &mut Tx<'_>, jobs: &[Job]) -> Result<Vec<Trouble>, Error> {
        let shared: Vec<JobId> = tx
            .outages(WhichOutages::All)?
            .into_iter()
            .filter_map(|outage| outage.job)
            .collect();
        let cold: Vec<(&Job, FunctionLost)> = jobs
            .iter()
            .filter(|job| job.kind == JobKind::Repair && job.closed_at.is_none())
            .filter(|job| !shared.contains(&job.id))
            .filter_map(|job| Some((job, job.function_lost.filter(|lost| lost.takes_heat())?)))
            .collect();
        let ids: Vec<JobId> = cold.iter().map(|(job, _)| job.id).collect();
        let told = tx.told_of_jobs(&ids)?;
        let spaces: Vec<_> = cold.iter().map(|(job, _)| job.space).collect();
        let needs = tx.needs_of(&spaces)?;
        let mut troubles: Vec<Trouble> = cold
            .into_iter()
            .zip(told)
            .map(|((job, lost), (_, since, asked))| Trouble {
                job: job.id,
                place: Place {
                    building: job.building,
                    building_name: job.building_name.clone(),
                    space: Some(job.space),
                    space_name: job.space_name.clone(),
                },
                lost,
                since: since.unwrap_or(job.opened_at),
                state: job.state,
                asked,
                firm: job.firm.and_then(|firm| self.firms.get(&firm).cloned()),
                booked_from: job.booked.map(|slot| slot.0),
                due_at: job.due_at,
                due_why: job.due_why.clone(),
                needs: needs
                    .iter()
                    .filter(|need| need.space == job.space)
                    .map(|need| need.words.clone())
                    .collect(),
            })
            .collect();
        let now = tx.at();
        let in_time = |t: &Trouble| t.due_at.is_none_or(|due| due >= now);
        troubles.sort_by_key(|t| (in_time(t), t.since, t.job));
        Ok(troubles)
    }

    fn outages(&self, tx: &mut Tx<'_>, found: &Suspicion) -> Result<Vec<Outage>, Error> {
        let open = tx.outages(WhichOutages::Open)?;
        Ok(open
            .into_iter()
            .filter(|card| self.reaches(card.building))
            .map(|card| Outage {
                outage: card.id,
                place: building_place(card.building, card.building_name),
                branch: card.branch_name,
                lost: card.lost,
                since: card.from_at,
                cause: card.cause,
                due_at: card.homes.iter().filter_map(|h| h.due_at).min(),
                spaces: card.homes.into_iter().map(|h| h.space_name).collect(),
                job: card.job,
                joinable: found
                    .joinable
                    .iter()
                    .filter(|j| j.outage == card.id)
                    .count() as u32,
            })
            .collect())
    }

    /// Buildings nobody covers until the next working day; looked at on the working day before days off.
    fn uncovered(&self, tx: &mut Tx<'_>) -> Result<Vec<Uncovered>, Error> {
        let days = cover::days_to_show(self.day, &self.holidays);
        if days == 0 {
            return Ok(Vec::new());
        }
        let found = cover::buildings(tx, self.seat, (self.day, days), &self.holidays)?;
        Ok(found
            .into_iter()
            .filter(|b| !b.gaps.is_empty())
            .map(|b| Uncovered {
                place: building_place(b.building.id, b.building.name),
                stretches: b.gaps.iter().map(|g| (g.on, g.night)).collect(),
            })
            .collect())
    }

    fn unsafe_units(&self, tx: &mut Tx<'_>, names: &Names) -> Result<Vec<Unsafe>, Error> {
        Ok(tx
            .open_notices(None)?
            .into_iter()
            .filter_map(|notice| {
                let card = names.units.get(&notice.unit)?;
                self.reaches(card.building).then(|| Unsafe {
                    unit: card.id,
                    kind_name: names.kind(&card.kind),
                    place: place_of(card),
                    dangerous: notice.class == "ID",
                    notice_number: notice.number,
                    isolated: notice.isolated,
                    refused: notice.permission_refused,
                    since: notice.made_at,
                    job: notice.job,
                })
            })
            .collect())
    }

    /// Late duties and those of the coming weeks by their last day, and how many have no evidence of any date.
    fn due(&self, tx: &mut Tx<'_>) -> Result<(Vec<Due>, u32), Error> {
        let until = self.day + TimeDelta::days(LOOK_AHEAD_DAYS);
        let lines = duties::lines(tx, self.seat, self.day)?;
        let undated = lines
            .iter()
            .filter(|line| line.standing == Standing::Unknown)
            .count() as u32;
        let due: Vec<Due> = lines
            .into_iter()
            .filter_map(|line| {
                let deadline = line.last_day().filter(|day| *day <= until)?;
                let reason = line.explained();
                Some(Due {
                    duty: line.duty,
                    booked_from: line.booked(),
                    name: line.rule.name,
                    basis: line.rule.basis,
                    unit: line.unit.as_ref().map(|unit| unit.id),
                    place: Place {
                        building: line.building,
                        building_name: line.building_name.clone(),
                        space: line.unit.as_ref().map(|unit| unit.space).or(match line.at {
                            duties::DutyAt::Space(space) => Some(space),
                            _ => None,
                        }),
                        space_name: line.space_name.clone(),
                    },
                    deadline,
                    reason,
                    job: line.jobs.first().map(|job| job.job),
                    attempts: line.attempts.len() as u32,
                    isolated: false,
                })
            })
            .collect();
        Ok((due, undated))
    }

    fn quotes(&self, tx: &mut Tx<'_>, names: &Names) -> Result<Vec<OpenQuote>, Error> {
        let authority = tx
            .authority_of(Role::Agent, self.seat.account(), self.day)?
            .map(|a| a.limit);
        let parts: BTreeMap<(String, String), String> = tx
            .part_shares()?
            .into_iter()
            .map(|p| ((p.kind, p.code), p.name))
            .collect();
        Ok(tx
            .open_quotes()?
            .into_iter()
            .filter(|(_, quote)| self.reaches(quote.place.building))
            .map(|(firm, quote)| {
                let kind = names
                    .units
                    .get(&quote.unit)
                    .map_or(String::new(), |c| c.kind.clone());
                let part = quote
                    .part_name
                    .clone()
                    .and_then(|code| parts.get(&(kind.clone(), code)).cloned());
                OpenQuote {
                    kind_name: names.kind(&kind),
                    firm: self
                        .firms
                        .get(&firm)
                        .cloned()
                        .unwrap_or_else(|| "A firm".to_owned()),
                    part_name: part,
                    authority,
                    ..quote
                }
            })
            .collect())
    }

    fn advices(&self, tx: &mut Tx<'_>, names: &Names) -> Result<Vec<OpenAdvice>, Error> {
        Ok(tx
            .open_advices()?
            .into_iter()
            .filter_map(|advice| {
                let card = names.units.get(&advice.unit)?;
                self.reaches(card.building).then(|| OpenAdvice {
                    kind_name: names.kind(&card.kind),
                    place: place_of(card),
                    ..advice
                })
            })
            .collect())
    }
}
