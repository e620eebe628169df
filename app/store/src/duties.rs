//! Duties and what was done about them. A completion is a fact: a correction supersedes it.
use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, Utc};
use diesel::prelude::*;
use terms::{AccountId, BuildingId, DutyId, ImportId, JobId, JobState, SpaceId, UnitId};
use uuid::Uuid;

use crate::estate_schema::{access_attempts, duties, duty_completions, job_duties, jobs};
use crate::register::read_code;
use crate::{Db, Error, Tx};

/// One recurring obligation of one unit, space or building.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DutyCard {
    /// Its id.
    pub id: DutyId,
    /// The rule's code.
    pub rule: String,
    /// The unit it is about.
    pub unit: Option<UnitId>,
    /// The space it is about.
    pub space: Option<SpaceId>,
    /// Where.
    pub building: BuildingId,
    /// The day it ended; `None` while it holds.
    pub ended_on: Option<NaiveDate>,
}

/// One row of a duty's record.
#[derive(Clone, Debug, PartialEq)]
pub struct Completion {
    /// Its id.
    pub id: Uuid,
    /// The duty.
    pub duty: DutyId,
    /// `None`: a starting deadline with its reason, no check yet.
    pub done_on: Option<NaiveDate>,
    /// Every item of the check was examined.
    pub check_complete: bool,
    /// What it did to the deadline: "kept", "late", "start", …
    pub result: String,
    /// The day it counts as done.
    pub treated_as: Option<NaiveDate>,
    /// Days after the deadline, 0 if none.
    pub days_late: i32,
    /// The deadline it leaves; `None` when none follows.
    pub next_deadline: Option<NaiveDate>,
    /// Why, in a sentence.
    pub reason: String,
    /// The job it was done in.
    pub job: Option<JobId>,
    /// What proves it.
    pub evidence: String,
    /// The day its facts hold from: the day done, or the day the start was stated for.
    pub happened_on: NaiveDate,
    /// When it entered the record.
    pub recorded_at: DateTime<Utc>,
    /// By whom.
    pub recorded_by: AccountId,
    /// When it was corrected.
    pub superseded_at: Option<DateTime<Utc>>,
    /// The import it came with.
    pub import: Option<ImportId>,
    /// Mixing valves of a care setting: how far the mixed temperature had moved since it was set, K, signed.
    pub measured_k: Option<f64>,
}

/// An open job that is to meet a duty.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DutyJob {
    /// The duty.
    pub duty: DutyId,
    /// The job.
    pub job: JobId,
    /// Its number.
    pub number: String,
    /// Where it stands.
    pub state: JobState,
    /// When it is booked for.
    pub booked_from: Option<DateTime<Utc>>,
}

pub(crate) type CompletionRow = (
    (Uuid, Db<DutyId>, Option<NaiveDate>, bool, String),
    (
        Option<NaiveDate>,
        i32,
        Option<NaiveDate>,
        String,
        Option<Db<JobId>>,
    ),
    (
        String,
        NaiveDate,
        DateTime<Utc>,
        Db<AccountId>,
        Option<DateTime<Utc>>,
        Option<Db<ImportId>>,
        Option<f64>,
    ),
);

pub(crate) fn read_completion((a, b, c): CompletionRow) -> Completion {
    Completion {
        id: a.0,
        duty: a.1.0,
        done_on: a.2,
        check_complete: a.3,
        result: a.4,
        treated_as: b.0,
        days_late: b.1,
        next_deadline: b.2,
        reason: b.3,
        job: b.4.map(|j| j.0),
        evidence: c.0,
        happened_on: c.1,
        recorded_at: c.2,
        recorded_by: c.3.0,
        superseded_at: c.4,
        import: c.5.map(|i| i.0),
        measured_k: c.6,
    }
}

/// The columns of [`CompletionRow`].
macro_rules! completion_columns {
    () => {
        (
            (
                duty_completions::id,
                duty_completions::duty_id,
                duty_completions::done_on,
                duty_completions::check_complete,
                duty_completions::result,
            ),
            (
                duty_completions::treated_as,
                duty_completions::days_late,
                duty_completions::next_deadline,
                duty_completions::reason,
                duty_completions::job_id,
            ),
            (
                duty_completions::evidence,
                duty_completions::happened_on,
                duty_completions::recorded_at,
                duty_completions::recorded_by,
                duty_completions::superseded_at,
                duty_completions::import_id,
                duty_completions::measured_k,
            ),
        )
    };
}

pub(crate) use completion_columns;

pub(crate) type DutyRow = (
    Db<DutyId>,
    String,
    Option<Db<UnitId>>,
    Option<Db<SpaceId>>,
    Db<BuildingId>,
    Option<NaiveDate>,
);

pub(crate) fn read_duty(row: DutyRow) -> DutyCard {
    DutyCard {
        id: row.0.0,
        rule: row.1,
        unit: row.2.map(|u| u.0),
        space: row.3.map(|s| s.0),
        building: row.4.0,
        ended_on: row.5,
    }
}

/// The columns of [`DutyRow`].
macro_rules! duty_columns {
    () => {
        (
            duties::id,
            duties::rule_code,
            duties::unit_id,
            duties::space_id,
            duties::building_id,
            duties::ended_on,
        )
    };
}
pub(crate) use duty_columns;

impl Tx<'_> {
    /// Opens a duty; `card.id` is not used.
    pub fn add_duty(&mut self, card: &DutyCard) -> Result<DutyId, Error> {
        let id: DutyId = self.fresh();
        let row = (
            (
                duties::estate_id.eq(Db(self.estate())),
                duties::id.eq(Db(id)),
            ),
            (
                duties::rule_code.eq(&card.rule),
                duties::unit_id.eq(card.unit.map(Db)),
            ),
            (
                duties::space_id.eq(card.space.map(Db)),
                duties::building_id.eq(Db(card.building)),
            ),
            (
                duties::made_at.eq(self.at()),
                duties::ended_on.eq(card.ended_on),
            ),
        );
        diesel::insert_into(duties::table)
            .values(row)
            .execute(self.conn())?;
        Ok(id)
    }

    /// Ends a duty on `day`; ended before, it stays as it was.
    pub fn end_duty(&mut self, id: DutyId, day: NaiveDate) -> Result<(), Error> {
        let estate = self.estate();
        diesel::update(
            duties::table.filter(
                duties::estate_id
                    .eq(Db(estate))
                    .and(duties::id.eq(Db(id)))
                    .and(duties::ended_on.is_null()),
            ),
        )
        .set(duties::ended_on.eq(Some(day)))
        .execute(self.conn())?;
        Ok(())
    }

    /// One duty.
    pub fn duty(&mut self, id: DutyId) -> Result<DutyCard, Error> {
        let estate = self.estate();
        duties::table
            .filter(duties::estate_id.eq(Db(estate)).and(duties::id.eq(Db(id))))
            .select(duty_columns!())
            .first::<DutyRow>(self.conn())
            .optional()?
            .map(read_duty)
            .ok_or(Error::NotFound("duty"))
    }

    /// Every duty that holds in the estate, in the order they were opened.
    pub fn open_duties(&mut self) -> Result<Vec<DutyCard>, Error> {
        let estate = self.estate();
        Ok(duties::table
            .filter(
                duties::estate_id
                    .eq(Db(estate))
                    .and(duties::ended_on.is_null()),
            )
            .order(duties::id)
            .select(duty_columns!())
            .load::<DutyRow>(self.conn())?
            .into_iter()
            .map(read_duty)
            .collect())
    }

    /// The duties of these units, ended ones too, in the order they were opened.
    pub fn duties_of_units(&mut self, of: &[UnitId]) -> Result<Vec<DutyCard>, Error> {
        let estate = self.estate();
        let ids: Vec<Uuid> = of.iter().map(|u| u.0).collect();
        Ok(duties::table
            .filter(
                duties::estate_id
                    .eq(Db(estate))
                    .and(duties::unit_id.eq_any(ids)),
            )
            .order(duties::id)
            .select(duty_columns!())
            .load::<DutyRow>(self.conn())?
            .into_iter()
            .map(read_duty)
            .collect())
    }

    /// The duties of a building that stand on none of its units: its own and those of its homes and plant rooms, ended
    /// ones too, in the order they were opened.
    pub fn duties_of_places(&mut self, building: BuildingId) -> Result<Vec<DutyCard>, Error> {
        let estate = self.estate();
        Ok(duties::table
            .filter(
                duties::estate_id
                    .eq(Db(estate))
                    .and(duties::building_id.eq(Db(building)))
                    .and(duties::unit_id.is_null()),
            )
            .order(duties::id)
            .select(duty_columns!())
            .load::<DutyRow>(self.conn())?
            .into_iter()
            .map(read_duty)
            .collect())
    }

    /// Marks rows of a duty's record as corrected; they stay readable.
    pub fn supersede_completions(&mut self, ids: &[Uuid]) -> Result<usize, Error> {
        let (estate, at) = (self.estate(), self.at());
        Ok(diesel::update(
            duty_completions::table.filter(
                duty_completions::estate_id
                    .eq(Db(estate))
                    .and(duty_completions::id.eq_any(ids.to_vec()))
                    .and(duty_completions::superseded_at.is_null()),
            ),
        )
        .set(duty_completions::superseded_at.eq(at))
        .execute(self.conn())?)
    }

    /// The rows of these duties' records, corrected ones too when `all`, oldest first.
    pub fn completions_of(&mut self, of: &[DutyId], all: bool) -> Result<Vec<Completion>, Error> {
        let estate = self.estate();
        let ids: Vec<Uuid> = of.iter().map(|d| d.0).collect();
        let mut query = duty_completions::table
            .filter(
                duty_completions::estate_id
                    .eq(Db(estate))
                    .and(duty_completions::duty_id.eq_any(ids)),
            )
            .into_boxed();
        if !all {
            query = query.filter(duty_completions::superseded_at.is_null());
        }
        let rows: Vec<CompletionRow> = query
            .order((
                duty_completions::happened_on,
                duty_completions::done_on.asc().nulls_first(),
                duty_completions::check_complete,
                duty_completions::id,
            ))
            .select(completion_columns!())
            .load(self.conn())?;
        Ok(rows.into_iter().map(read_completion).collect())
    }

    /// The latest row of every duty's record; with `checks_only`, the latest that was a whole check.
    pub fn latest_completions(
        &mut self,
        checks_only: bool,
    ) -> Result<BTreeMap<DutyId, Completion>, Error> {
        let estate = self.estate();
        let complete = if checks_only {
            vec![true]
        } else {
            vec![true, false]
        };
        let rows: Vec<CompletionRow> = duty_completions::table
            .filter(
                duty_completions::estate_id
                    .eq(Db(estate))
                    .and(duty_completions::superseded_at.is_null())
                    .and(duty_completions::check_complete.eq_any(complete)),
            )
            .distinct_on(duty_completions::duty_id)
            .order((
                duty_completions::duty_id,
                duty_completions::happened_on.desc(),
                duty_completions::done_on.desc().nulls_last(),
                duty_completions::check_complete.desc(),
                duty_completions::id.desc(),
            ))
            .select(completion_columns!())
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|row| {
                let row = read_completion(row);
                (row.duty, row)
            })
            .collect())
    }

    /// Days on which nobody let an engineer in, for jobs that were to meet a duty.
    pub fn duty_attempts(&mut self) -> Result<BTreeMap<DutyId, Vec<DateTime<Utc>>>, Error> {
        let estate = self.estate();
        let rows: Vec<(Db<DutyId>, DateTime<Utc>)> = job_duties::table
            .inner_join(
                access_attempts::table.on(access_attempts::estate_id
                    .eq(job_duties::estate_id)
                    .and(access_attempts::job_id.eq(job_duties::job_id))),
            )
            .filter(job_duties::estate_id.eq(Db(estate)))
            .order((job_duties::duty_id, access_attempts::at))
            .select((job_duties::duty_id, access_attempts::at))
            .load(self.conn())?;
        let mut found: BTreeMap<DutyId, Vec<DateTime<Utc>>> = BTreeMap::new();
        for (duty, at) in rows {
            found.entry(duty.0).or_default().push(at);
        }
        Ok(found)
    }

    /// The open jobs that are to meet duties.
    pub fn duty_jobs(&mut self) -> Result<Vec<DutyJob>, Error> {
        let estate = self.estate();
        type Row = (Db<DutyId>, Db<JobId>, String, String, Option<DateTime<Utc>>);
        let rows: Vec<Row> = job_duties::table
            .inner_join(
                jobs::table.on(jobs::estate_id
                    .eq(job_duties::estate_id)
                    .and(jobs::id.eq(job_duties::job_id))),
            )
            .filter(
                job_duties::estate_id
                    .eq(Db(estate))
                    .and(jobs::closed_at.is_null()),
            )
            .order((job_duties::duty_id, jobs::id))
            .select((
                job_duties::duty_id,
                jobs::id,
                jobs::number,
                jobs::state,
                jobs::booked_from,
            ))
            .load(self.conn())?;
        rows.into_iter()
            .map(|row| {
                Ok(DutyJob {
                    duty: row.0.0,
                    job: row.1.0,
                    number: row.2,
                    state: read_code(&row.3)?,
                    booked_from: row.4,
                })
            })
            .collect()
    }
}
