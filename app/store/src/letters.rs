//! Letters to residents, as sent. Who lives there is never kept with them; the name is read when one is printed.
use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, Utc};
use diesel::prelude::*;
use terms::{AccountId, DutyId, JobId, LetterKind, SentHow, SpaceId};
use uuid::Uuid;

use crate::estate_schema::{access_attempts, job_duties, jobs, letters};
use crate::register::read_code;
use crate::visits::AccessAttempt;
use crate::{Db, Error, Tx};

/// A letter as sent.
#[derive(Clone, Debug, PartialEq)]
pub struct SentLetter {
    /// Its id.
    pub id: Uuid,
    /// The job it is about.
    pub job: JobId,
    /// Where it went.
    pub space: SpaceId,
    /// Which letter.
    pub kind: LetterKind,
    /// How it went out.
    pub how: SentHow,
    /// The number of recorded post; may be empty.
    pub reference: String,
    /// What was filled in.
    pub body: serde_json::Value,
    /// When it went out.
    pub sent_at: DateTime<Utc>,
    /// The day of that, in the building's own time.
    pub happened_on: NaiveDate,
    /// When that was written down.
    pub recorded_at: DateTime<Utc>,
    /// By whom.
    pub recorded_by: AccountId,
    /// When it was taken back as never sent.
    pub superseded_at: Option<DateTime<Utc>>,
}

/// A try nobody opened to, with the job it was made for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tried {
    /// The job.
    pub job: JobId,
    /// Its number.
    pub number: String,
    /// When, who, what was left.
    pub attempt: AccessAttempt,
    /// When it was written down: its id was made then.
    pub recorded_at: DateTime<Utc>,
}

type Row = (
    (Uuid, Db<JobId>, Db<SpaceId>, String, String),
    (String, serde_json::Value, DateTime<Utc>, NaiveDate),
    (DateTime<Utc>, Db<AccountId>, Option<DateTime<Utc>>),
);

/// The columns of [`Row`].
macro_rules! letter_columns {
    () => {
        (
            (
                letters::id,
                letters::job_id,
                letters::space_id,
                letters::kind,
                letters::how,
            ),
            (
                letters::reference,
                letters::body,
                letters::sent_at,
                letters::happened_on,
            ),
            (
                letters::recorded_at,
                letters::recorded_by,
                letters::superseded_at,
            ),
        )
    };
}

fn read(row: Row) -> Result<SentLetter, Error> {
    let (a, b, c) = row;
    Ok(SentLetter {
        id: a.0,
        job: a.1.0,
        space: a.2.0,
        kind: read_code(&a.3)?,
        how: read_code(&a.4)?,
        reference: b.0,
        body: b.1,
        sent_at: b.2,
        happened_on: b.3,
        recorded_at: c.0,
        recorded_by: c.1.0,
        superseded_at: c.2,
    })
}

impl Tx<'_> {
    /// Records that a letter went out; `id` and the `recorded_…` fields are made here.
    pub fn add_letter(&mut self, letter: &SentLetter) -> Result<Uuid, Error> {
        let id: Uuid = self.fresh();
        let row = (
            (
                letters::estate_id.eq(Db(self.estate())),
                letters::id.eq(id),
                letters::job_id.eq(Db(letter.job)),
                letters::space_id.eq(Db(letter.space)),
            ),
            (
                letters::kind.eq(letter.kind.code()),
                letters::how.eq(letter.how.code()),
                letters::reference.eq(&letter.reference),
                letters::body.eq(&letter.body),
            ),
            (
                letters::sent_at.eq(letter.sent_at),
                letters::happened_on.eq(letter.happened_on),
                letters::recorded_at.eq(self.at()),
                letters::recorded_by.eq(Db(self.who())),
            ),
        );
        diesel::insert_into(letters::table)
            .values(row)
            .execute(self.conn())?;
        Ok(id)
    }

    /// One letter, taken back or not.
    pub fn letter(&mut self, id: Uuid) -> Result<SentLetter, Error> {
        let estate = self.estate();
        let row: Option<Row> = letters::table
            .filter(letters::estate_id.eq(Db(estate)).and(letters::id.eq(id)))
            .select(letter_columns!())
            .first(self.conn())
            .optional()?;
        read(row.ok_or(Error::NotFound("letter"))?)
    }

    /// The letters sent about a job, oldest first.
    pub fn letters_of(&mut self, job: JobId) -> Result<Vec<SentLetter>, Error> {
        let estate = self.estate();
        let rows: Vec<Row> = letters::table
            .filter(
                letters::estate_id
                    .eq(Db(estate))
                    .and(letters::job_id.eq(Db(job)))
                    .and(letters::superseded_at.is_null()),
            )
            .order((letters::sent_at, letters::id))
            .select(letter_columns!())
            .load(self.conn())?;
        rows.into_iter().map(read).collect()
    }

    /// Takes a letter back: it was never sent. The row stays readable.
    pub fn supersede_letter(&mut self, id: Uuid) -> Result<usize, Error> {
        let (estate, at) = (self.estate(), self.at());
        Ok(diesel::update(
            letters::table.filter(
                letters::estate_id
                    .eq(Db(estate))
                    .and(letters::id.eq(id))
                    .and(letters::superseded_at.is_null()),
            ),
        )
        .set(letters::superseded_at.eq(at))
        .execute(self.conn())?)
    }

    /// The letters of the jobs that were to meet a duty, as known at `known`, oldest first.
    pub fn letters_of_duties(
        &mut self,
        known: DateTime<Utc>,
    ) -> Result<BTreeMap<DutyId, Vec<SentLetter>>, Error> {
        let estate = self.estate();
        let rows: Vec<(Db<DutyId>, Row)> = job_duties::table
            .inner_join(
                letters::table.on(letters::estate_id
                    .eq(job_duties::estate_id)
                    .and(letters::job_id.eq(job_duties::job_id))),
            )
            .filter(
                job_duties::estate_id
                    .eq(Db(estate))
                    .and(letters::recorded_at.le(known))
                    .and(
                        letters::superseded_at
                            .is_null()
                            .or(letters::superseded_at.gt(known)),
                    ),
            )
            .order((job_duties::duty_id, letters::sent_at, letters::id))
            .select((job_duties::duty_id, letter_columns!()))
            .load(self.conn())?;
        let mut found: BTreeMap<DutyId, Vec<SentLetter>> = BTreeMap::new();
        for (duty, row) in rows {
            found.entry(duty.0).or_default().push(read(row)?);
        }
        Ok(found)
    }

    /// The tries nobody opened to of the jobs that were to meet these duties, oldest first.
    pub fn tries_of_duties(
        &mut self,
        of: &[DutyId],
    ) -> Result<BTreeMap<DutyId, Vec<Tried>>, Error> {
        let estate = self.estate();
        let ids: Vec<Uuid> = of.iter().map(|d| d.0).collect();
        type TryRow = (
            (Db<DutyId>, Db<JobId>, String, Option<DateTime<Utc>>),
            (
                DateTime<Utc>,
                Db<AccountId>,
                Option<Db<terms::EngineerId>>,
                String,
                String,
            ),
        );
        let rows: Vec<TryRow> = job_duties::table
            .inner_join(
                access_attempts::table.on(access_attempts::estate_id
                    .eq(job_duties::estate_id)
                    .and(access_attempts::job_id.eq(job_duties::job_id))),
            )
            .inner_join(
                jobs::table.on(jobs::estate_id
                    .eq(job_duties::estate_id)
                    .and(jobs::id.eq(job_duties::job_id))),
            )
            .filter(
                job_duties::estate_id
                    .eq(Db(estate))
                    .and(job_duties::duty_id.eq_any(ids)),
            )
            .order((
                job_duties::duty_id,
                access_attempts::at,
                access_attempts::id,
            ))
            .select((
                (
                    job_duties::duty_id,
                    jobs::id,
                    jobs::number,
                    access_attempts::recorded_at,
                ),
                (
                    access_attempts::at,
                    access_attempts::by_account,
                    access_attempts::engineer_id,
                    access_attempts::left_behind,
                    access_attempts::words,
                ),
            ))
            .load(self.conn())?;
        let mut found: BTreeMap<DutyId, Vec<Tried>> = BTreeMap::new();
        for (a, b) in rows {
            found.entry(a.0.0).or_default().push(Tried {
                job: a.1.0,
                number: a.2,
                attempt: AccessAttempt {
                    at: b.0,
                    by: b.1.0,
                    engineer: b.2.map(|e| e.0),
                    left_behind: b.3,
                    words: b.4,
                },
                recorded_at: a.3.unwrap_or(b.0),
            });
        }
        Ok(found)
    }
}
