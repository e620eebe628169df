//! What is known when a sheet is judged: the job, the unit with its past, the papers of who did it.
use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, Utc};
use inspection::Values;
use inspection::suspects::Learned;
use store::Tx;
use store::duties::Completion;
use store::enclosures::WhichEnclosures;
use store::history::History;
use store::jobs::Job;
use store::visits::{Notice, Visit};
use terms::place::{BuildingCard, SpaceCard};
use terms::trade::{DutyRule, Kind, PartShare};
use terms::unit::{Reading, UnitCard};
use terms::{
    Covers, DutyId, Engineer, EngineerId, FirmId, Instrument, JobKind, SpaceId, UnitId, VisitId,
};

use super::assess::Assessment;
use super::sheet::Sheet;
use crate::work::{JobView, Names, PartRates, learned_of, part_rates, wall};
use crate::{Error, World};

/// A duty of the job.
#[derive(Clone, Debug)]
pub struct JobDuty {
    /// Its id.
    pub id: DutyId,
    /// "G1"
    pub code: String,
    /// "Gas safety check"
    pub name: String,
    /// Its unit.
    pub unit: Option<UnitId>,
    /// A landlord's gas safety check.
    pub gas_check: bool,
    /// Done as a whole check in this job before.
    pub done: bool,
    /// What it keeps as proof includes photographs.
    pub photo: bool,
    /// What its next date follows from; none where that is more than its rule and its last date.
    pub dated: Option<Dated>,
}

/// What a duty's next date follows from.
#[derive(Clone, Debug)]
pub struct Dated {
    /// "W1" … "W6"
    pub window_rule: String,
    /// Months between.
    pub months: i32,
    /// The day its rounds are counted from.
    pub anchor: Option<NaiveDate>,
    /// The date that stands.
    pub deadline: Option<NaiveDate>,
}

/// What is known when a sheet is judged.
#[derive(Clone, Debug)]
pub struct Facts {
    /// The job.
    pub job: Job,
    /// Its building.
    pub building: BuildingCard,
    /// Its space.
    pub space: SpaceCard,
    /// Its unit.
    pub unit: Option<UnitCard>,
    /// The unit's kind.
    pub kind: Option<Kind>,
    /// Every kind of unit.
    pub kinds: Vec<Kind>,
    /// The kind's parts.
    pub parts: Vec<PartShare>,
    /// The unit's history.
    pub history: History,
    /// What finished jobs on this kind in this building turned out to be.
    pub learned: Learned,
    /// How many times as often as the trade's figures have it each part fails, by the last fit of the kind.
    pub part_rates: BTreeMap<String, f64>,
    /// The unit's readings with their visits, newest first.
    pub readings: Vec<(Option<VisitId>, Reading)>,
    /// The kind it was decided to replace the unit with; of a replacement only.
    pub decided: Option<String>,
    /// The maker's own figures for the unit by row of the rule book; they come before the general limits.
    pub makers: BTreeMap<String, Values>,
    /// Unsafe situations not cleared.
    pub notices: Vec<Notice>,
    /// The job's duties.
    pub duties: Vec<JobDuty>,
    /// The earliest day on which something of the unit is due after this visit.
    pub next_due: Option<NaiveDate>,
    /// A photograph of the job is kept.
    pub photographed: bool,
    /// An outage that lasts reaches the home: neighbours have lost it too.
    pub neighbours_too: bool,
    /// How many gas units stand in the space.
    pub gas_units: u32,
    /// The unit's kind, or the kinds that stand there where the job names no unit: their dangers are said at the work.
    pub kinds_there: Vec<String>,
    /// Who did the work.
    pub engineer: Option<Engineer>,
    /// What they may have measured with.
    pub instruments: Vec<Instrument>,
    /// The day of the visit.
    pub day: NaiveDate,
    /// When it is judged.
    pub at: DateTime<Utc>,
}

impl Facts {
    /// The unit's kind code; empty when there is no unit.
    pub fn kind_code(&self) -> &str {
        self.unit.as_ref().map_or("", |u| u.kind.as_str())
    }

    /// Whether the unit burns gas.
    pub fn burns_gas(&self) -> bool {
        self.kind.as_ref().is_some_and(|k| k.gas)
    }

    /// The kind of the unit that stands there once the work is done: at a replacement the one that came.
    pub fn kind_after<'a>(&'a self, sheet: &'a Sheet) -> &'a str {
        match sheet.get("new.kind") {
            new if self.job.kind == JobKind::Replacement && !new.is_empty() => new,
            _ => self.kind_code(),
        }
    }

    /// The kind that came in place of another, once something was measured of it. What was measured before the work is
    /// then of the unit that went; where nothing was measured after it, what was typed is taken to be of the new one.
    pub fn came_as<'a>(&'a self, sheet: &'a Sheet) -> Option<&'a str> {
        let kind = self.kind_after(sheet);
        let measured = sheet.behind("a.").any(|(_, typed)| !typed.is_empty());
        (kind != self.kind_code() && measured).then_some(kind)
    }

    /// Whether the unit that stands there once the work is done burns gas.
    pub fn burns_gas_after(&self, sheet: &Sheet) -> bool {
        let kind = self.kind_after(sheet);
        self.kinds.iter().any(|k| k.gas && k.code == kind)
    }

    /// Whether the building is higher-risk, or nobody has said that it is not.
    pub fn may_be_higher_risk(&self) -> bool {
        self.building.higher_risk != Some(false)
    }

    /// The registration gas work on this unit needs: plant in a plant room has a category of its own (the trade's duty
    /// table, G5).
    pub fn gas_covers(&self, sheet: &Sheet) -> Covers {
        if self.kind_code() == "PB" || self.kind_after(sheet) == "PB" {
            Covers::GasPlant
        } else {
            Covers::Gas
        }
    }

    /// Whether this is a return: the service itself was done on an earlier visit of the job.
    pub fn returns(&self) -> bool {
        let done = |s: &terms::unit::ServiceRecord| s.job == Some(self.job.id);
        self.history.services.iter().any(done)
    }

    /// Whether the visit owes the whole set of readings.
    pub fn owes_the_set(&self) -> bool {
        let planned = matches!(self.job.kind, JobKind::Service | JobKind::Check);
        planned && !self.returns()
    }

    /// Whether a gas safety check is still to be made on this job.
    pub fn has_gas_check(&self) -> bool {
        self.duties.iter().any(|d| d.gas_check && !d.done)
    }

    /// Whether no reading of the unit is on record.
    pub fn first_service(&self) -> bool {
        self.readings.is_empty()
    }

    /// The last value of a reading's field before this visit: as left rather than as found.
    pub fn last_value(&self, field: &str) -> Option<&Reading> {
        let mut of_field = self
            .readings
            .iter()
            .map(|(_, r)| r)
            .filter(|r| r.code == field && wall::day(r.taken_at) < self.day);
        let newest = of_field.next()?;
        let same_day = of_field
            .take_while(|r| wall::day(r.taken_at) == wall::day(newest.taken_at))
            .find(|r| r.stage == "after");
        if newest.stage == "after" {
            return Some(newest);
        }
        Some(same_day.unwrap_or(newest))
    }
}

/// The open sheet of a job, for the pages.
#[derive(Clone, Debug)]
pub struct SheetView {
    /// The job as its firm sees it.
    pub job: JobView,
    /// What is known.
    pub facts: Facts,
    /// The visit, once begun.
    pub visit: Option<Visit>,
    /// As typed so far.
    pub sheet: Sheet,
    /// What the rules say of it now.
    pub assessment: Assessment,
}

/// Who did the work, and the papers of the firm.
pub(super) struct Papers {
    pub engineer: Option<Engineer>,
    pub instruments: Vec<Instrument>,
}

/// Reads an engineer's qualifications and instruments, outside the estate's transaction.
pub(super) fn papers_of(
    world: &World,
    names: &Names,
    firm: Option<FirmId>,
    engineer: Option<EngineerId>,
) -> Result<Papers, Error> {
    let card = engineer
        .and_then(|id| names.engineer_card(id))
        .filter(|e| Some(e.firm) == firm)
        .cloned();
    let instruments = match firm {
        Some(firm) => world
            .pool
            .at_door::<_, Error>(|door| Ok(door.instruments_of(firm, engineer)?))?,
        None => Vec::new(),
    };
    Ok(Papers {
        engineer: card,
        instruments,
    })
}

fn duties_of(tx: &mut Tx<'_>, job: &Job) -> Result<Vec<JobDuty>, Error> {
    let rules = tx.duty_rules()?;
    let mut duties = Vec::new();
    for (id, code, unit) in tx.duties_of_job(job.id)? {
        let rule = rules.iter().find(|r| r.code == code);
        let rows = tx.completions_of(&[id], false)?;
        duties.push(JobDuty {
            dated: rule.and_then(|rule| dated(rule, &rows)),
            done: tx.duty_done_in(id, job.id)?,
            name: rule.map_or_else(|| code.clone(), |r| r.name.clone()),
            gas_check: rule.is_some_and(crate::duties::is_gas_check),
            photo: rule.is_some_and(|r| r.evidence.contains("photograph")),
            id,
            code,
            unit,
        });
    }
    Ok(duties)
}

/// The rule of a duty with the dates its record left. A care valve's next test hangs on what its tests measured.
fn dated(rule: &DutyRule, rows: &[Completion]) -> Option<Dated> {
    if crate::duties::dates::is_care_valve(rule) {
        return None;
    }
    let mut anchor = None;
    for row in rows {
        match row.done_on {
            Some(done) if anchor.is_none() && row.check_complete => anchor = Some(done),
            Some(_) => {}
            None => anchor = row.next_deadline,
        }
    }
    Some(Dated {
        window_rule: rule.window_rule.clone(),
        months: rule.months,
        anchor,
        deadline: rows.last().and_then(|row| row.next_deadline),
    })
}

/// The earliest day something of the unit is due after a visit on `day`. What the visit is there to do counts as done.
fn next_due(
    tx: &mut Tx<'_>,
    unit: UnitId,
    (day, doing): (NaiveDate, &[JobDuty]),
) -> Result<Option<NaiveDate>, Error> {
    let rules = tx.duty_rules()?;
    let open: Vec<_> = tx
        .duties_of_units(&[unit])?
        .into_iter()
        .filter(|duty| duty.ended_on.is_none())
        .collect();
    let ids: Vec<DutyId> = open.iter().map(|duty| duty.id).collect();
    let mut deadlines: BTreeMap<DutyId, NaiveDate> = BTreeMap::new();
    // Oldest first, so the newest row's deadline stays.
    for row in tx.completions_of(&ids, false)? {
        match row.next_deadline {
            Some(deadline) => drop(deadlines.insert(row.duty, deadline)),
            None => drop(deadlines.remove(&row.duty)),
        }
    }
    let due = open.iter().filter_map(|duty| {
        let rule = rules.iter().find(|rule| rule.code == duty.rule)?;
        if doing.iter().any(|d| d.id == duty.id && !d.done) {
            return Some(crate::duties::dates::first_after(rule, day));
        }
        deadlines.get(&duty.id).copied()
    });
    Ok(due.filter(|due| *due > day).min())
}

/// How many gas units stand in a space.
fn gas_units(tx: &mut Tx<'_>, space: SpaceId, kinds: &[Kind]) -> Result<u32, Error> {
    let gas = |code: &str| kinds.iter().any(|k| k.gas && k.code == code);
    let count = tx
        .units(store::units::Which::Space(space))?
        .iter()
        .filter(|u| u.fate == terms::Fate::InService && u.space == space && gas(&u.kind))
        .count();
    Ok(u32::try_from(count).unwrap_or(u32::MAX))
}

/// What a unit that is to be replaced was last decided to be replaced with.
fn decided_upon(tx: &mut Tx<'_>, job: &Job, kinds: &[Kind]) -> Result<Option<String>, Error> {
    let Some(unit) = job.unit.filter(|_| job.kind == JobKind::Replacement) else {
        return Ok(None);
    };
    let option = tx.decided_option(unit)?;
    Ok(option.filter(|code| kinds.iter().any(|k| k.code == *code)))
}

fn photographed(tx: &mut Tx<'_>, job: &Job) -> Result<bool, Error> {
    let all = tx.enclosures(WhichEnclosures::Job(job.id))?;
    Ok(all.iter().any(|e| e.sort == "photo"))
}

/// Loads what is known of a job for judging its sheet.
pub(super) fn facts_of(
    tx: &mut Tx<'_>,
    job: Job,
    papers: Papers,
    day: NaiveDate,
) -> Result<Facts, Error> {
    let unit = job.unit.map(|id| tx.unit(id)).transpose()?;
    let kinds = tx.kinds()?;
    let kind = unit
        .as_ref()
        .and_then(|unit| kinds.iter().find(|k| k.code == unit.kind))
        .cloned();
    let parts = match &unit {
        Some(unit) => tx
            .part_shares()?
            .into_iter()
            .filter(|p| p.kind == unit.kind)
            .collect(),
        None => Vec::new(),
    };
    let duties = duties_of(tx, &job)?;
    let (history, readings, notices) = match &unit {
        Some(unit) => (
            tx.history(unit.id)?,
            tx.readings_of(unit.id)?,
            tx.open_notices(Some(unit.id))?,
        ),
        None => (History::default(), Vec::new(), Vec::new()),
    };
    let (next_due, neighbours_too) = match &unit {
        Some(unit) => (
            next_due(tx, unit.id, (day, &duties))?,
            crate::outages::neighbours_too(tx, unit)?,
        ),
        None => (None, false),
    };
    let (learned, part_rates) = match &unit {
        Some(unit) => (
            learned_of(tx, &unit.kind, unit.building)?,
            part_rates(tx, &unit.kind)?,
        ),
        None => (Learned::default(), PartRates::new()),
    };
    let makers = match &unit {
        Some(unit) => crate::makers::of_unit(tx, unit.id)?,
        None => BTreeMap::new(),
    };
    let gas_units = gas_units(tx, job.space, &kinds)?;
    let kinds_there = crate::work::kinds_there(tx, job.space, unit.as_ref())?;
    Ok(Facts {
        decided: decided_upon(tx, &job, &kinds)?,
        next_due,
        photographed: photographed(tx, &job)?,
        building: tx.building(job.building)?,
        space: tx.space(job.space)?,
        unit,
        kind,
        kinds,
        parts,
        history,
        learned,
        part_rates,
        readings,
        makers,
        notices,
        duties,
        neighbours_too,
        gas_units,
        kinds_there,
        engineer: papers.engineer,
        instruments: papers.instruments,
        day,
        at: tx.at(),
        job,
    })
}
