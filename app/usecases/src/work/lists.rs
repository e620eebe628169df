//! Lists of jobs: the desk's by state, a contractor's day, what is on offer.
use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, Utc};
use store::Tx;
use store::jobs::{Job, Offer, Which};
use terms::unit::UnitCard;
use terms::{Choice, Fate, JobState, Role, SpaceId, UnitId};

use super::names::{Names, names_in};
use super::ranking::before_visit;
use super::wall;
use crate::{Error, Seat, World};

/// A job with what a sentence about it needs.
#[derive(Clone, Debug)]
pub struct JobLine {
    /// The job.
    pub job: Job,
    /// The unit's number and kind in words.
    pub unit: Option<(String, String)>,
    /// The firm's name.
    pub firm: Option<String>,
    /// The engineer's name.
    pub engineer: Option<String>,
    /// Firms that hold an open offer, by name, and until when the last holds.
    pub offered_to: Vec<String>,
    /// Somebody there needs heat the same day.
    pub same_day: bool,
    /// How often nobody opened.
    pub attempts: usize,
}

/// A line of a contractor's day.
#[derive(Clone, Debug)]
pub struct RoadLine {
    /// The job.
    pub line: JobLine,
    /// The estate's name.
    pub estate_name: String,
    /// Parts to take along, in words.
    pub bring: Vec<String>,
}

/// A contractor's day over all estates.
#[derive(Clone, Debug, Default)]
pub struct MyDay {
    /// Booked for today or begun, in the order of the clock.
    pub today: Vec<RoadLine>,
    /// Returns: parts, made safe, isolated, no access.
    pub returns: Vec<RoadLine>,
    /// Taken, without a day.
    pub to_book: Vec<RoadLine>,
    /// Waiting for a decision.
    pub waiting: Vec<RoadLine>,
    /// Booked for a later day.
    pub later: Vec<RoadLine>,
}

/// A job on offer to one's firm.
#[derive(Clone, Debug)]
pub struct OfferLine {
    /// The job.
    pub line: RoadLine,
    /// The offer.
    pub offer: Offer,
}

/// The jobs of the desk that are not finished, oldest first; done ones stay until agreed.
pub fn open_jobs(world: &World, seat: &Seat) -> Result<Vec<JobLine>, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let names = names_in(world, seat.estate())?;
    world.acting(seat, |tx| {
        let jobs = tx
            .jobs(&Which::Open)?
            .into_iter()
            .filter(|j| seat.grant().reaches(j.building))
            .collect();
        lines(tx, jobs, &names)
    })
}

fn lines(tx: &mut Tx<'_>, jobs: Vec<Job>, names: &Names) -> Result<Vec<JobLine>, Error> {
    let kinds: BTreeMap<String, String> =
        tx.kinds()?.into_iter().map(|k| (k.code, k.name)).collect();
    let spaces: Vec<SpaceId> = jobs
        .iter()
        .map(|j| j.space)
        .collect::<BTreeSet<_>>()
        .into_iter()
        .collect();
    let same_day: BTreeSet<SpaceId> = tx
        .needs_of(&spaces)?
        .into_iter()
        .filter(|n| n.same_day)
        .map(|n| n.space)
        .collect();
    let mut units: BTreeMap<UnitId, UnitCard> = BTreeMap::new();
    if jobs.len() > 40 {
        units.extend(
            tx.units(store::units::Which::All)?
                .into_iter()
                .map(|u| (u.id, u)),
        );
    }
    let now = tx.at();
    let mut found = Vec::with_capacity(jobs.len());
    for job in jobs {
        let unit = match job.unit {
            Some(id) => {
                let card = match units.get(&id) {
                    Some(card) => card.clone(),
                    None => tx.unit(id)?,
                };
                let kind = kinds.get(&card.kind).cloned().unwrap_or(card.kind);
                Some((card.number, kind))
            }
            None => None,
        };
        let offered_to = if job.state == JobState::Offered {
            tx.offers_of(job.id)?
                .iter()
                .filter(|o| o.is_open(now))
                .map(|o| names.firm(o.firm).to_owned())
                .collect()
        } else {
            Vec::new()
        };
        let attempts = if job.state == JobState::NoAccess {
            tx.access_attempts_of(job.id)?.len()
        } else {
            0
        };
        found.push(JobLine {
            unit,
            firm: job.firm.map(|f| names.firm(f).to_owned()),
            engineer: job.engineer.map(|e| names.engineer(e).to_owned()),
            offered_to,
            same_day: same_day.contains(&job.space),
            attempts,
            job,
        });
    }
    Ok(found)
}

/// A contractor's day: today's in time order, then returns, then what is to book. An engineer sees what is
/// booked to them or to nobody of their firm in particular; the office sees all of the firm's.
pub fn my_day(world: &World, seats: &[Seat]) -> Result<MyDay, Error> {
    let mut day = MyDay::default();
    let today = wall::day(world.now());
    for seat in seats {
        seat.must_be(&[Role::Contractor, Role::Office])?;
        let firm = seat.firm()?;
        let names = names_in(world, seat.estate())?;
        let road = world.acting(seat, |tx| {
            let mine = tx
                .jobs(&Which::OpenOf(firm))?
                .into_iter()
                .filter(|j| seat.grant().reaches(j.building))
                .filter(|j| is_for(seat, j))
                .collect();
            road_lines(tx, mine, &names, seat)
        })?;
        for line in road {
            let job = &line.line.job;
            let list = match job.state {
                JobState::OnSite => &mut day.today,
                JobState::Booked => match job.booked {
                    Some((from, _)) if wall::day(from) > today => &mut day.later,
                    _ => &mut day.today,
                },
                JobState::Taken => &mut day.to_book,
                JobState::WaitingForDecision => &mut day.waiting,
                _ => &mut day.returns,
            };
            list.push(line);
        }
    }
    let from = |line: &RoadLine| line.line.job.booked.map(|b| b.0);
    day.today.sort_by_key(from);
    day.later.sort_by_key(from);
    let due = |line: &RoadLine| {
        let job = &line.line.job;
        job.due_at.unwrap_or(DateTime::<Utc>::MAX_UTC)
    };
    day.returns.sort_by_key(due);
    day.to_book.sort_by_key(due);
    Ok(day)
}

fn is_for(seat: &Seat, job: &Job) -> bool {
    seat.role() == Role::Office
        || job.engineer.is_none()
        || seat.engineer().is_none()
        || job.engineer == seat.engineer()
}

fn road_lines(
    tx: &mut Tx<'_>,
    jobs: Vec<Job>,
    names: &Names,
    seat: &Seat,
) -> Result<Vec<RoadLine>, Error> {
    let mut found = Vec::with_capacity(jobs.len());
    for line in lines(tx, jobs, names)? {
        let bring = bring(tx, &line.job)?;
        found.push(RoadLine {
            line,
            estate_name: seat.estate_name().to_owned(),
            bring,
        });
    }
    Ok(found)
}

/// Parts worth taking along, in words.
fn bring(tx: &mut Tx<'_>, job: &Job) -> Result<Vec<String>, Error> {
    let Some(id) = job.unit else {
        return Ok(Vec::new());
    };
    let unit = tx.unit(id)?;
    if unit.fate != Fate::InService {
        return Ok(Vec::new());
    }
    if let Some(part) = agreed_part(tx, job, &unit.kind)? {
        return Ok(vec![part]);
    }
    let history = tx.history(id)?;
    let Some(ranking) = before_visit(tx, &unit, &history, job.function_lost)? else {
        return Ok(Vec::new());
    };
    Ok(ranking
        .take
        .iter()
        .map(|code| {
            ranking
                .top
                .iter()
                .find(|r| r.code == *code)
                .map_or_else(|| code.clone(), |r| r.part.clone())
        })
        .collect())
}

/// The part of a quote that was agreed: with it in the van the return is one visit.
fn agreed_part(tx: &mut Tx<'_>, job: &Job, kind: &str) -> Result<Option<String>, Error> {
    let agreed = crate::advice::advice_upon(tx, job.id)?
        .is_some_and(|upon| matches!(upon.decided, Some((Choice::Repair, _))));
    let Some((quote, _, _)) = tx.quote_of_job(job.id)?.filter(|_| agreed) else {
        return Ok(None);
    };
    let Some(code) = tx.quotes(&[quote])?.pop().and_then(|q| q.body.part) else {
        return Ok(None);
    };
    let parts = tx.part_shares()?;
    let known = parts.into_iter().find(|p| p.kind == kind && p.code == code);
    Ok(known.map(|p| p.name))
}

/// The jobs on offer to one's firm that may still be taken, the nearest clock first.
pub fn on_offer(world: &World, seats: &[Seat]) -> Result<Vec<OfferLine>, Error> {
    let mut found = Vec::new();
    for seat in seats {
        seat.must_be(&[Role::Contractor, Role::Office])?;
        let firm = seat.firm()?;
        let names = names_in(world, seat.estate())?;
        let lines = world.acting(seat, |tx| {
            let now = tx.at();
            let open: Vec<Offer> = tx
                .offers_to(firm)?
                .into_iter()
                .filter(|o| o.is_open(now))
                .collect();
            let jobs = tx
                .jobs(&Which::Ids(open.iter().map(|o| o.job).collect()))?
                .into_iter()
                .filter(|j| j.state == JobState::Offered && seat.grant().reaches(j.building))
                .collect();
            let lines = road_lines(tx, jobs, &names, seat)?;
            Ok(lines
                .into_iter()
                .filter_map(|line| {
                    let offer = open.iter().find(|o| o.job == line.line.job.id)?.clone();
                    Some(OfferLine { line, offer })
                })
                .collect::<Vec<_>>())
        })?;
        found.extend(lines);
    }
    found.sort_by_key(|l| l.line.line.job.due_at.unwrap_or(DateTime::<Utc>::MAX_UTC));
    Ok(found)
}
