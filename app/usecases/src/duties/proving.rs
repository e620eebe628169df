//! "Prove it" for a flat or a building and a day: each duty in force then, with the evidence behind it, as known then.
use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, Utc};
use store::Tx;
use store::duties::{Completion, DutyCard};
use store::issued::{IssuedRecord, WhichIssued};
use store::letters::{SentLetter, Tried};
use store::units::Which;
use terms::trade::DutyRule;
use terms::unit::UnitCard;
use terms::{AccountId, BuildingId, Covers, DutyId, JobId, RecordKind, Role, SpaceId, UnitId};

use super::DutyAt;
use super::dates::{Window, window};
use crate::letterhead::{Letterhead, letterhead_in};
use crate::work::{Names, names_in, wall};
use crate::{Error, Seat, World};

/// What is to be proved.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Of {
    /// Everything in a building.
    Building(BuildingId),
    /// What stood in one space.
    Space(SpaceId),
}

/// Which knowledge the letter rests on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Known {
    /// What is known today of that day.
    Now,
    /// What was known at the end of that day.
    Then,
}

/// Who did a check, by the papers on record.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Doer {
    /// The engineer.
    pub engineer: String,
    /// The firm; may be empty.
    pub firm: String,
    /// The registration number in date on the day; may be empty.
    pub registration: String,
}

/// One duty on that day.
#[derive(Clone, Debug)]
pub struct ProvedLine {
    /// The duty.
    pub duty: DutyId,
    /// Its rule, as it stood then.
    pub rule: DutyRule,
    /// What it stands on.
    pub at: DutyAt,
    /// The unit; none where it is a home's, a plant room's or the building's.
    pub unit: Option<UnitCard>,
    /// "combi gas boiler", "home", "building"
    pub kind_name: String,
    /// Where the unit stood then, or the place itself; none when it is the building's.
    pub space: Option<SpaceId>,
    /// That space's name; empty when it is the building's.
    pub space_name: String,
    /// When it was best met; `None` without any evidence.
    pub window: Option<Window>,
    /// The last whole check.
    pub done: Option<Completion>,
    /// The row that left the deadline.
    pub latest: Option<Completion>,
    /// Who did the last check.
    pub doer: Option<Doer>,
    /// The job's number, when it was done in one.
    pub job_number: Option<String>,
    /// The record issued: its job, number and instant.
    pub record: Option<(JobId, RecordKind, String, DateTime<Utc>)>,
    /// Who wrote the check down.
    pub written_by: String,
    /// Tries without access since the last check.
    pub tries: Vec<(Tried, String)>,
    /// Letters since the last check.
    pub letters: Vec<SentLetter>,
}

/// The dated letter.
#[derive(Clone, Debug)]
pub struct ProofLetter {
    /// What it is about: "Flat 14, Alder House" or "Alder House".
    pub about: String,
    /// The building's address.
    pub address: String,
    /// The building.
    pub building: BuildingId,
    /// The day it speaks of.
    pub on: NaiveDate,
    /// Which knowledge.
    pub known: Known,
    /// Until when what was written down counts.
    pub known_at: DateTime<Utc>,
    /// In whose name it goes out.
    pub sender: Letterhead,
    /// Each duty in force, by place, unit and rule.
    pub lines: Vec<ProvedLine>,
    /// The head of the audit at that instant; `None` before anything was on record.
    pub head_then: Option<String>,
    /// The head of the audit when the letter was made.
    pub head_now: String,
}

/// The dated letter of a flat or building, for the agent and the building's landlord. That it was made is noted.
///
/// # Errors
/// [`Error::NotFound`] outside the seat's reach; [`Error::Invalid`] at `on` for a day to come.
pub fn prove(
    world: &World,
    seat: &Seat,
    of: Of,
    (on, known): (NaiveDate, Known),
) -> Result<ProofLetter, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor, Role::Landlord])?;
    let names = names_in(world, seat.estate())?;
    let now = world.now();
    if on > wall::day(now) {
        return Err(Error::field("on", "That day has not come yet."));
    }
    let end = wall::end_of(on).unwrap_or(now);
    let known_at = match known {
        Known::Now => now,
        Known::Then => now.min(end + chrono::TimeDelta::seconds(59)),
    };
    let (mut letter, writers) = world.acting(seat, |tx| {
        let (building, about) = match of {
            Of::Building(id) => (id, tx.building(id)?.name),
            Of::Space(id) => {
                let space = tx.space(id)?;
                let about = format!("{}, {}", space.name, space.building_name);
                (space.building, about)
            }
        };
        seat.must_reach(building)?;
        let (lines, writers) = lines(tx, &names, (of, building), (on, known_at))?;
        let letter = ProofLetter {
            about,
            address: tx.building(building)?.address,
            building,
            on,
            known,
            known_at,
            sender: letterhead_in(tx)?,
            lines,
            head_then: tx.chain_head_known(known_at)?,
            head_now: tx.chain_head_text()?,
        };
        tx.note(
            "proof made",
            &format!("building {building}"),
            &serde_json::json!({ "about": letter.about, "on": on, "known_at": known_at, "duties": letter.lines.len() }),
        );
        Ok((letter, writers))
    })?;
    let named: BTreeMap<AccountId, String> =
        crate::door::names(world, &writers)?.into_iter().collect();
    for line in &mut letter.lines {
        let by = line.done.as_ref().map(|row| row.recorded_by);
        line.written_by = by
            .and_then(|by| named.get(&by).cloned())
            .unwrap_or_else(|| "the program".to_owned());
    }
    Ok(letter)
}

/// What the lines are put together from, as known at one instant.
struct Facts {
    rows: BTreeMap<DutyId, Vec<Completion>>,
    rules: BTreeMap<String, DutyRule>,
    stood: BTreeMap<UnitId, SpaceId>,
    units: BTreeMap<UnitId, UnitCard>,
    kinds: BTreeMap<String, String>,
    spaces: BTreeMap<SpaceId, String>,
    tries: BTreeMap<DutyId, Vec<Tried>>,
    letters: BTreeMap<DutyId, Vec<SentLetter>>,
}

fn lines(
    tx: &mut Tx<'_>,
    names: &Names,
    (of, building): (Of, BuildingId),
    (on, known_at): (NaiveDate, DateTime<Utc>),
) -> Result<(Vec<ProvedLine>, Vec<AccountId>), Error> {
    let cards = tx.duties_in_force(building, (on, known_at))?;
    let ids: Vec<DutyId> = cards.iter().map(|c| c.id).collect();
    let known = Facts {
        rows: tx.completions_known(&ids, known_at)?,
        rules: tx.duty_rules_known(known_at)?,
        stood: tx
            .stays_known(building, known_at)?
            .into_iter()
            .filter(|s| {
                s.from_on.is_none_or(|from| from <= on) && s.until_on.is_none_or(|until| until > on)
            })
            .map(|s| (s.unit, s.space))
            .collect(),
        units: tx
            .units(Which::Building(building))?
            .into_iter()
            .map(|u| (u.id, u))
            .collect(),
        kinds: tx.kinds()?.into_iter().map(|k| (k.code, k.name)).collect(),
        spaces: tx
            .spaces(Some(building))?
            .into_iter()
            .map(|s| (s.id, s.name))
            .collect(),
        tries: tx.tries_of_duties(&ids)?,
        letters: tx.letters_of_duties(known_at)?,
    };
    let mut found = Vec::new();
    for card in cards {
        let line = line(tx, names, (&known, &card), (on, known_at))?;
        let wanted = match of {
            Of::Building(_) => true,
            Of::Space(space) => line.as_ref().is_some_and(|l| l.space == Some(space)),
        };
        found.extend(line.filter(|_| wanted));
    }
    found.sort_by(|a, b| {
        let key = |l: &ProvedLine| {
            (
                l.space_name.clone(),
                l.unit
                    .as_ref()
                    .map_or_else(String::new, |u| u.number.clone()),
                l.rule.code.clone(),
            )
        };
        natural(&key(a).0)
            .cmp(&natural(&key(b).0))
            .then(key(a).cmp(&key(b)))
    });
    let mut writers: Vec<AccountId> = found
        .iter()
        .filter_map(|l| Some(l.done.as_ref()?.recorded_by))
        .collect();
    writers.sort_unstable();
    writers.dedup();
    Ok((found, writers))
}

/// "Flat 9" before "Flat 10": the first number in a name, then the name.
fn natural(name: &str) -> (u64, &str) {
    let digits: String = name
        .chars()
        .skip_while(|c| !c.is_ascii_digit())
        .take_while(char::is_ascii_digit)
        .collect();
    (digits.parse().unwrap_or(u64::MAX), name)
}

/// What a duty is said to be of: the unit's kind, else the place or the building.
fn kind_name(known: &Facts, unit: Option<&UnitCard>, space: Option<SpaceId>) -> String {
    match (unit, space) {
        (Some(unit), _) => known
            .kinds
            .get(&unit.kind)
            .cloned()
            .unwrap_or_else(|| unit.kind.clone()),
        (None, Some(_)) => "place itself".to_owned(),
        (None, None) => "building".to_owned(),
    }
}

/// One duty, or nothing where its unit did not stand in the building that day.
fn line(
    tx: &mut Tx<'_>,
    names: &Names,
    (known, card): (&Facts, &DutyCard),
    (on, known_at): (NaiveDate, DateTime<Utc>),
) -> Result<Option<ProvedLine>, Error> {
    let Some(rule) = known.rules.get(&card.rule) else {
        return Ok(None);
    };
    let unit = card.unit.and_then(|id| known.units.get(&id));
    let space = match (card.unit, unit) {
        (Some(_), Some(unit)) => match known.stood.get(&unit.id).copied() {
            Some(space) => Some(space),
            None => return Ok(None),
        },
        (Some(_), None) => return Ok(None),
        (None, _) => card.space,
    };
    let rows: Vec<&Completion> = known
        .rows
        .get(&card.id)
        .into_iter()
        .flatten()
        .filter(|row| row.happened_on <= on)
        .collect();
    let done = rows.iter().rfind(|row| row.check_complete).copied();
    let since = done.and_then(|row| row.done_on);
    let after = |day: NaiveDate| since.is_none_or(|done| day > done) && day <= on;
    let (doer, job_number, record) = match done {
        Some(row) => evidence(tx, names, (row, rule), known_at)?,
        None => (None, None, None),
    };
    let tries = known.tries.get(&card.id).into_iter().flatten();
    let letters = known.letters.get(&card.id).into_iter().flatten();
    Ok(Some(ProvedLine {
        duty: card.id,
        rule: rule.clone(),
        at: DutyAt::of(card),
        kind_name: kind_name(known, unit, space),
        unit: unit.cloned(),
        space,
        space_name: space
            .and_then(|id| known.spaces.get(&id).cloned())
            .unwrap_or_default(),
        window: rows
            .last()
            .and_then(|row| row.next_deadline)
            .map(|deadline| window(rule, deadline)),
        latest: rows.last().map(|row| (*row).clone()),
        done: done.cloned(),
        doer,
        job_number,
        record,
        written_by: String::new(),
        tries: tries
            .filter(|t| t.recorded_at <= known_at && after(wall::day(t.attempt.at)))
            .map(|t| {
                let who = t.attempt.engineer.map(|e| names.engineer(e).to_owned());
                (t.clone(), who.unwrap_or_else(|| "an engineer".to_owned()))
            })
            .collect(),
        letters: letters.filter(|l| after(l.happened_on)).cloned().collect(),
    }))
}

/// Doer, number of the job, and the record issued.
type Evidence = (
    Option<Doer>,
    Option<String>,
    Option<(JobId, RecordKind, String, DateTime<Utc>)>,
);

fn evidence(
    tx: &mut Tx<'_>,
    names: &Names,
    (row, rule): (&Completion, &DutyRule),
    known_at: DateTime<Utc>,
) -> Result<Evidence, Error> {
    let (Some(job), Some(on)) = (row.job, row.done_on) else {
        return Ok((None, None, None));
    };
    let visits = tx.visits_of(job)?;
    let visit = visits.iter().rfind(|v| wall::day(v.arrived_at) == on);
    let number = tx.job(job)?.number;
    let wanted = if super::is_gas_check(rule) {
        RecordKind::GasSafety
    } else {
        RecordKind::Service
    };
    let issued: Option<IssuedRecord> = tx
        .issued_records(WhichIssued::Job(job))?
        .into_iter()
        .find(|r| r.kind == wanted && r.issued_at <= known_at);
    let engineer = visit.and_then(|v| v.engineer);
    let covers: Option<Covers> = rule.covers.parse().ok();
    let doer = engineer.map(|id| Doer {
        engineer: names.engineer(id).to_owned(),
        firm: visit
            .and_then(|v| v.firm)
            .map_or_else(String::new, |firm| names.firm(firm).to_owned()),
        registration: names
            .engineer_card(id)
            .and_then(|card| card.covers(covers?, on))
            .map_or_else(String::new, |paper| paper.number.clone()),
    });
    let record = issued.map(|r| (r.job, r.kind, r.number, r.issued_at));
    Ok((doer, Some(number), record))
}
