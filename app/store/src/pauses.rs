//! Times in which a job's clock stood still, or was asked to: facts, with their reason.
use chrono::{DateTime, Utc};
use diesel::prelude::*;
use terms::{AccountId, JobId};
use uuid::Uuid;

use crate::estate_schema::{clock_pauses, jobs};
use crate::{Db, Error, Tx};

/// A stretch of time with its reason.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pause {
    /// Its id.
    pub id: Uuid,
    /// The job.
    pub job: JobId,
    /// The reason's code.
    pub reason: String,
    /// What was said about it.
    pub words: String,
    /// From.
    pub from_at: DateTime<Utc>,
    /// Until; `None` while it lasts.
    pub until_at: Option<DateTime<Utc>>,
    /// When the job was due before anything stopped its clock.
    pub due_without: DateTime<Utc>,
    /// When it was written.
    pub recorded_at: DateTime<Utc>,
    /// By whom.
    pub recorded_by: AccountId,
}

impl Tx<'_> {
    /// Writes a pause; `id` and the `recorded_…` fields are made here.
    pub fn add_pause(&mut self, pause: &Pause) -> Result<Uuid, Error> {
        let id: Uuid = self.fresh();
        let row = (
            (
                clock_pauses::estate_id.eq(Db(self.estate())),
                clock_pauses::id.eq(id),
                clock_pauses::job_id.eq(Db(pause.job)),
            ),
            (
                clock_pauses::reason.eq(&pause.reason),
                clock_pauses::words.eq(&pause.words),
            ),
            (
                clock_pauses::from_at.eq(pause.from_at),
                clock_pauses::until_at.eq(pause.until_at),
                clock_pauses::due_without.eq(pause.due_without),
            ),
            (
                clock_pauses::happened_on.eq(pause.from_at.date_naive()),
                clock_pauses::recorded_at.eq(self.at()),
                clock_pauses::recorded_by.eq(Db(self.who())),
            ),
        );
        diesel::insert_into(clock_pauses::table)
            .values(row)
            .execute(self.conn())?;
        Ok(id)
    }

    /// Ends a pause that lasts: its row is superseded by one with its end.
    pub fn end_pause(&mut self, pause: &Pause, until: DateTime<Utc>) -> Result<Uuid, Error> {
        let (estate, at) = (self.estate(), self.at());
        let ended = diesel::update(
            clock_pauses::table.filter(
                clock_pauses::estate_id
                    .eq(Db(estate))
                    .and(clock_pauses::id.eq(pause.id))
                    .and(clock_pauses::superseded_at.is_null()),
            ),
        )
        .set(clock_pauses::superseded_at.eq(at))
        .execute(self.conn())?;
        if ended == 0 {
            return Err(Error::NotFound("pause"));
        }
        self.add_pause(&Pause {
            until_at: Some(until),
            ..pause.clone()
        })
    }

    /// The pauses of a job's clock, oldest first.
    pub fn pauses_of(&mut self, job: JobId) -> Result<Vec<Pause>, Error> {
        let estate = self.estate();
        type Row = (
            (Uuid, Db<JobId>, String, String),
            (DateTime<Utc>, Option<DateTime<Utc>>, DateTime<Utc>),
            (DateTime<Utc>, Db<AccountId>),
        );
        let rows: Vec<Row> = clock_pauses::table
            .filter(
                clock_pauses::estate_id
                    .eq(Db(estate))
                    .and(clock_pauses::job_id.eq(Db(job)))
                    .and(clock_pauses::superseded_at.is_null()),
            )
            .order((clock_pauses::from_at, clock_pauses::id))
            .select((
                (
                    clock_pauses::id,
                    clock_pauses::job_id,
                    clock_pauses::reason,
                    clock_pauses::words,
                ),
                (
                    clock_pauses::from_at,
                    clock_pauses::until_at,
                    clock_pauses::due_without,
                ),
                (clock_pauses::recorded_at, clock_pauses::recorded_by),
            ))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|(a, b, c)| Pause {
                id: a.0,
                job: a.1.0,
                reason: a.2,
                words: a.3,
                from_at: b.0,
                until_at: b.1,
                due_without: b.2,
                recorded_at: c.0,
                recorded_by: c.1.0,
            })
            .collect())
    }

    /// Moves the instant a job is due at, with the reason.
    pub fn move_due(&mut self, job: JobId, due: DateTime<Utc>, why: &str) -> Result<(), Error> {
        let estate = self.estate();
        diesel::update(
            jobs::table.filter(jobs::estate_id.eq(Db(estate)).and(jobs::id.eq(Db(job)))),
        )
        .set((jobs::due_at.eq(Some(due)), jobs::due_why.eq(why)))
        .execute(self.conn())?;
        Ok(())
    }
}
