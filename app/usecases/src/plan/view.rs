//! The round as a person reads it: days with their visits, and what found no day.
use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, Utc};
use planning::rounds::optimal::{MoreTime, RoundProof};
use planning::rounds::{Breach, RoundFacts, RoundVerdict, WeekLoad};
use store::jobs::{Job, Which};
use store::rounds::{RoundCard, RoundVisit};
use store::units::Which as Units;
use store::{RoundAsk, Tx};
use terms::trade::DutyRule;
use terms::unit::UnitCard;
use terms::{AccountId, BuildingId, DutyId, Role, UnitId};
use uuid::Uuid;

use super::calls::{CallPlace, calls_of, stand_ins_of, waits};
use super::demands::{WorkAsks, asks_of_rules};
use super::moves::MoveLine;
use super::placing::{ROUND_TASK, breaches_in};
use super::reasons::{Because, Fullest, Looked, explain};
use super::staff::staff;
use super::ways::{Ways, ways};
use crate::duties::{DutyLine, lines};
use crate::work::{Names, names_in, wall};
use crate::{Error, Seat, World};

/// One duty's part in a visit.
#[derive(Clone, Debug)]
pub struct Part {
    /// The duty.
    pub duty: DutyId,
    /// Its rule.
    pub rule: DutyRule,
    /// Minutes it takes.
    pub minutes: i32,
}

/// An attendance of the round.
#[derive(Clone, Debug)]
pub struct PlannedVisit {
    /// Its id.
    pub visit: Uuid,
    /// The unit.
    pub unit: UnitCard,
    /// What is done.
    pub parts: Vec<Part>,
    /// Minutes in all.
    pub minutes: i32,
    /// Where it stands; its day and start are `None` while it has none.
    pub row: RoundVisit,
    /// The job it was turned into.
    pub job: Option<Job>,
    /// What its work asks of the day.
    pub asks: WorkAsks,
    /// Why it stands where it does, the weightiest first.
    pub because: Vec<Because>,
    /// Days something of it is late by.
    pub late: Option<i64>,
}

/// A booked visit that is not of the round.
pub type Promised = Job;

/// Something asked of the rounds, with who said so.
#[derive(Clone, Debug)]
pub struct AskCard {
    /// What was asked.
    pub ask: RoundAsk,
    /// Who said so.
    pub by: String,
    /// The unit it is about, if it is about one.
    pub unit: Option<UnitCard>,
}

/// The round and what goes with it.
#[derive(Clone, Debug)]
pub struct Rounds {
    /// The round; `None` when none was placed yet.
    pub card: Option<RoundCard>,
    /// What it comes to.
    pub facts: RoundFacts,
    /// How placing ended.
    pub verdict: Option<RoundVerdict>,
    /// What is proven about it, and what services in date order would come to.
    pub proof: Option<RoundProof>,
    /// Visits the last placing moved, each with its reason.
    pub moves: Vec<MoveLine>,
    /// No placing could have moved fewer.
    pub fewest: bool,
    /// Visits that stayed where they were.
    pub stayed: u64,
    /// A person ended the search before its time.
    pub stopped: bool,
    /// What a day more in the fullest week would buy, as tried when all was placed afresh.
    pub more: Option<MoreTime>,
    /// What people asked of the rounds.
    pub asks: Vec<AskCard>,
    /// A round is being placed: where that is, in words.
    pub under_way: Option<String>,
    /// Duties left to jobs that have no day.
    pub left_to_jobs: u64,
    /// Per cent of the firms' weeks kept free.
    pub kept_free_percent: u64,
    /// Visits by day, engineer and start; those without a day last.
    pub visits: Vec<PlannedVisit>,
    /// Other booked visits.
    pub promised: Vec<Promised>,
    /// Open jobs without a day, with the time the round proposes.
    pub calls: Vec<(Job, CallPlace)>,
    /// Booked jobs whose engineer is away, with who could come at the promised time.
    pub stand_ins: Vec<(Job, CallPlace)>,
    /// Rules the standing round breaks, from the rules alone.
    pub breaches: Vec<Breach>,
    /// What is assumed of the ways between buildings.
    pub ways: Ways,
    /// The buildings in reach.
    pub buildings: Vec<(BuildingId, String)>,
    /// What every firm's weeks hold, by week.
    pub weeks: Vec<WeekLoad>,
    /// The fullest of the firms' weeks.
    pub fullest: Option<Fullest>,
    /// Firms and engineers.
    pub names: Names,
    /// Who placed it.
    pub by: String,
    /// The day it is read.
    pub today: NaiveDate,
}

impl Rounds {
    /// When it was placed.
    pub fn made_at(&self) -> Option<DateTime<Utc>> {
        self.card.as_ref().map(|card| card.made_at)
    }
}

/// The round that stands.
pub fn rounds(world: &World, seat: &Seat) -> Result<Rounds, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let names = names_in(world, seat.estate())?;
    let today = wall::day(world.now());
    let staff = staff(world, seat)?;
    let mut found = world.acting(seat, |tx| {
        let card = tx.round_now()?;
        let rows = match &card {
            Some(card) => tx.round_visits(card.id)?,
            None => Vec::new(),
        };
        let units: BTreeMap<UnitId, UnitCard> = tx
            .units(Units::All)?
            .into_iter()
            .filter(|u| seat.grant().reaches(u.building))
            .map(|u| (u.id, u))
            .collect();
        let rules: BTreeMap<String, DutyRule> = tx
            .duty_rules()?
            .into_iter()
            .map(|r| (r.code.clone(), r))
            .collect();
        let duties: BTreeMap<DutyId, DutyRule> = tx
            .open_duties()?
            .into_iter()
            .filter_map(|d| Some((d.id, rules.get(&d.rule)?.clone())))
            .collect();
        let open = tx.jobs(&Which::Open)?;
        let visits = visits_of(&rows, &units, &duties, &open);
        let of_card = |list: &dyn Fn(&RoundCard) -> Vec<CallPlace>| {
            card.as_ref().map(list).unwrap_or_default()
        };
        let reached = |job: &Job| seat.grant().reaches(job.building);
        let calls = with_jobs(of_card(&calls_of), &open, &|job| waits(job) && reached(job));
        let booked = |job: &Job| job.booked.is_some() && reached(job);
        let stand_ins = with_jobs(of_card(&stand_ins_of), &open, &booked);
        let promised = open
            .into_iter()
            .filter(|j| j.closed_at.is_none() && j.booked.is_some())
            .filter(|j| seat.grant().reaches(j.building))
            .filter(|j| !visits.iter().any(|v| v.row.job == Some(j.id)))
            .collect();
        let asks = asks_of(tx, &units, today)?;
        let mut buildings = tx.buildings()?;
        buildings.retain(|b| seat.grant().reaches(b.id));
        // The round is checked against the world as it is now, and explained by it: both from duties loaded once.
        let lines = lines(tx, seat, today)?;
        let mut found = Rounds {
            asks,
            calls,
            stand_ins,
            breaches: breaches_in(tx, &staff, (today, &lines))?,
            ways: ways(tx)?,
            buildings: buildings.into_iter().map(|b| (b.id, b.name)).collect(),
            ..gathered(card, visits, promised, (names, today))
        };
        explain(&mut found, &looked(tx, lines)?);
        Ok::<_, Error>(found)
    })?;
    let tasks = crate::tasks::recent(world, seat, 20)?;
    found.under_way = tasks
        .into_iter()
        .find(|t| t.kind == ROUND_TASK && t.done_at.is_none())
        .map(|t| t.progress.unwrap_or_default());
    name_people(world, &mut found)?;
    Ok(found)
}

/// Proposals with their jobs, of those jobs that are shown.
fn with_jobs(
    calls: Vec<CallPlace>,
    open: &[Job],
    shown: &dyn Fn(&Job) -> bool,
) -> Vec<(Job, CallPlace)> {
    let found = calls.into_iter().filter_map(|call| {
        let job = open.iter().find(|job| job.id == call.job)?;
        shown(job).then(|| (job.clone(), call))
    });
    found.collect()
}

/// What people asked of the rounds, not yet with who said so.
fn asks_of(
    tx: &mut Tx<'_>,
    units: &BTreeMap<UnitId, UnitCard>,
    today: NaiveDate,
) -> Result<Vec<AskCard>, Error> {
    let asks = tx.round_asks()?.into_iter();
    let asks = asks
        .filter(|ask| ask.unit.is_none_or(|u| units.contains_key(&u)))
        // An absence that is over asks for nothing any more.
        .filter(|ask| ask.times.is_some() || ask.until_on.unwrap_or(ask.from_on) >= today);
    let asks = asks.map(|ask| AskCard {
        unit: ask.unit.and_then(|u| units.get(&u).cloned()),
        by: String::new(),
        ask,
    });
    Ok(asks.collect())
}

fn looked(tx: &mut Tx<'_>, lines: Vec<DutyLine>) -> Result<Looked, Error> {
    let standing = lines.into_iter();
    let expected = tx.told_failures(None)?.into_iter();
    Ok(Looked {
        standing: standing.map(|line| (line.duty, line.standing)).collect(),
        expected: expected.map(|t| (t.unit, t.expected_12m)).collect(),
    })
}

/// Who placed the round, and who asked what.
fn name_people(world: &World, found: &mut Rounds) -> Result<(), Error> {
    let mut ids: Vec<AccountId> = found.asks.iter().map(|a| a.ask.by).collect();
    ids.extend(found.card.iter().map(|card| card.made_by));
    ids.sort_unstable();
    ids.dedup();
    let mut names: BTreeMap<AccountId, String> =
        crate::door::names(world, &ids)?.into_iter().collect();
    names.insert(crate::THE_PROGRAM, "the program".to_owned());
    let name = |id: AccountId| names.get(&id).cloned().unwrap_or_default();
    for ask in &mut found.asks {
        ask.by = name(ask.ask.by);
    }
    if let Some(card) = &found.card {
        found.by = name(card.made_by);
    }
    Ok(())
}

fn gathered(
    card: Option<RoundCard>,
    visits: Vec<PlannedVisit>,
    promised: Vec<Promised>,
    (names, today): (Names, NaiveDate),
) -> Rounds {
    let report = card
        .as_ref()
        .map_or(serde_json::Value::Null, |c| c.report.clone());
    let number = |key: &str| report.get(key).and_then(serde_json::Value::as_u64);
    let read = |key: &str| report.get(key).cloned().unwrap_or_default();
    Rounds {
        facts: serde_json::from_value(read("facts")).unwrap_or_default(),
        verdict: serde_json::from_value(read("verdict")).ok(),
        proof: serde_json::from_value(read("proof")).ok(),
        moves: serde_json::from_value(read("moves")).unwrap_or_default(),
        fewest: read("fewest").as_bool().unwrap_or(false),
        stayed: number("stayed").unwrap_or(0),
        more: serde_json::from_value(read("more")).unwrap_or_default(),
        stopped: read("stopped").as_bool().unwrap_or(false),
        asks: Vec::new(),
        under_way: None,
        left_to_jobs: number("left_to_jobs").unwrap_or(0),
        kept_free_percent: number("kept_free_percent").unwrap_or(0),
        card,
        visits,
        promised,
        calls: Vec::new(),
        stand_ins: Vec::new(),
        breaches: Vec::new(),
        ways: Ways::default(),
        buildings: Vec::new(),
        weeks: Vec::new(),
        fullest: None,
        names,
        by: String::new(),
        today,
    }
}

fn visits_of(
    rows: &[RoundVisit],
    units: &BTreeMap<UnitId, UnitCard>,
    duties: &BTreeMap<DutyId, DutyRule>,
    open: &[Job],
) -> Vec<PlannedVisit> {
    let rules = asks_of_rules();
    rows.chunk_by(|a, b| a.visit == b.visit)
        .filter_map(|parts| {
            let first = parts.first()?;
            let unit = units.get(&first.unit?)?.clone();
            let found: Vec<Part> = parts
                .iter()
                .filter_map(|p| {
                    Some(Part {
                        duty: p.duty,
                        rule: duties.get(&p.duty)?.clone(),
                        minutes: p.minutes,
                    })
                })
                .collect();
            // A visit whose duties have all ended since it was placed is nobody's.
            (!found.is_empty()).then(|| PlannedVisit {
                visit: first.visit,
                unit,
                minutes: found.iter().map(|p| p.minutes).sum(),
                asks: found.iter().fold(WorkAsks::default(), |asks, part| {
                    asks.with(rules.get(&part.rule.code).copied().unwrap_or_default())
                }),
                because: Vec::new(),
                late: None,
                parts: found,
                row: first.clone(),
                job: first
                    .job
                    .and_then(|id| open.iter().find(|j| j.id == id))
                    .cloned(),
            })
        })
        .collect()
}
