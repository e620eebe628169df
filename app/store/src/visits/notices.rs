//! Unsafe situations as the engineer classed them, and visits where nobody opened.
use chrono::{DateTime, Utc};
use diesel::prelude::*;
use terms::{AccountId, EngineerId, JobId, UnitId};
use uuid::Uuid;

use crate::estate_schema::{access_attempts, notices};
use crate::{Db, Error, Tx};

/// An unsafe situation on record.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Notice {
    /// Its id.
    pub id: Uuid,
    /// The unit.
    pub unit: UnitId,
    /// The job it was found in.
    pub job: Option<JobId>,
    /// "ID" or "AR".
    pub class: String,
    /// The warning notice's number.
    pub number: String,
    /// Isolated, labelled, noticed.
    pub isolated: bool,
    /// The user refused permission.
    pub permission_refused: bool,
    /// What was found.
    pub words: String,
    /// When.
    pub made_at: DateTime<Utc>,
    /// When a registered engineer cleared it.
    pub cleared_at: Option<DateTime<Utc>>,
}

/// An unsafe situation about to be recorded.
#[derive(Clone, Debug)]
pub struct NewNotice {
    /// The unit.
    pub unit: UnitId,
    /// The job.
    pub job: JobId,
    /// "ID" or "AR".
    pub class: String,
    /// The warning notice's number.
    pub number: String,
    /// Isolated, labelled, noticed.
    pub isolated: bool,
    /// The user refused permission.
    pub permission_refused: bool,
    /// What was found.
    pub words: String,
}

/// A visit where nobody opened.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AccessAttempt {
    /// When.
    pub at: DateTime<Utc>,
    /// Who recorded it.
    pub by: AccountId,
    /// Who stood at the door.
    pub engineer: Option<EngineerId>,
    /// "card", …
    pub left_behind: String,
    /// In words.
    pub words: String,
}

impl Tx<'_> {
    /// Records an unsafe situation.
    pub fn add_notice(&mut self, new: &NewNotice) -> Result<Uuid, Error> {
        let id: Uuid = self.fresh();
        let row = (
            (notices::estate_id.eq(Db(self.estate())), notices::id.eq(id)),
            (
                notices::unit_id.eq(Db(new.unit)),
                notices::job_id.eq(Some(Db(new.job))),
            ),
            (
                notices::class.eq(&new.class),
                notices::notice_no.eq(&new.number),
                notices::isolated.eq(new.isolated),
                notices::permission_refused.eq(new.permission_refused),
                notices::words.eq(&new.words),
            ),
            (
                notices::made_at.eq(self.at()),
                notices::made_by.eq(Db(self.who())),
            ),
        );
        diesel::insert_into(notices::table)
            .values(row)
            .execute(self.conn())?;
        Ok(id)
    }

    /// Records that a registered engineer put an unsafe situation right.
    pub fn clear_notice(&mut self, id: Uuid, registration: &str) -> Result<(), Error> {
        let (estate, at, who) = (self.estate(), self.at(), self.who());
        diesel::update(
            notices::table.filter(
                notices::estate_id
                    .eq(Db(estate))
                    .and(notices::id.eq(id))
                    .and(notices::cleared_at.is_null()),
            ),
        )
        .set((
            notices::cleared_at.eq(Some(at)),
            notices::cleared_by.eq(Some(Db(who))),
            notices::cleared_registration.eq(Some(registration)),
        ))
        .execute(self.conn())?;
        Ok(())
    }

    /// The unsafe situations not yet cleared: of one unit, or of the whole estate; oldest first.
    pub fn open_notices(&mut self, unit: Option<UnitId>) -> Result<Vec<Notice>, Error> {
        self.notices_where(unit, None)
    }

    /// The unsafe situations found in a job, cleared or not; oldest first.
    pub fn notices_of_job(&mut self, job: JobId) -> Result<Vec<Notice>, Error> {
        self.notices_where(None, Some(job))
    }

    /// Those of one job, or else those not cleared: of one unit, or all.
    fn notices_where(
        &mut self,
        unit: Option<UnitId>,
        job: Option<JobId>,
    ) -> Result<Vec<Notice>, Error> {
        let estate = self.estate();
        let mut query = notices::table
            .filter(notices::estate_id.eq(Db(estate)))
            .into_boxed();
        query = match job {
            Some(job) => query.filter(notices::job_id.eq(Some(Db(job)))),
            None => query.filter(notices::cleared_at.is_null()),
        };
        if let Some(unit) = unit {
            query = query.filter(notices::unit_id.eq(Db(unit)));
        }
        type Row = (
            (Uuid, Db<UnitId>, Option<Db<JobId>>, String, String),
            (bool, bool, String, DateTime<Utc>, Option<DateTime<Utc>>),
        );
        let rows: Vec<Row> = query
            .order((notices::made_at, notices::id))
            .select((
                (
                    notices::id,
                    notices::unit_id,
                    notices::job_id,
                    notices::class,
                    notices::notice_no,
                ),
                (
                    notices::isolated,
                    notices::permission_refused,
                    notices::words,
                    notices::made_at,
                    notices::cleared_at,
                ),
            ))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|(a, b)| Notice {
                id: a.0,
                unit: a.1.0,
                job: a.2.map(|j| j.0),
                class: a.3,
                number: a.4,
                isolated: b.0,
                permission_refused: b.1,
                words: b.2,
                made_at: b.3,
                cleared_at: b.4,
            })
            .collect())
    }

    /// Records that nobody opened.
    pub fn add_access_attempt(&mut self, job: JobId, attempt: &AccessAttempt) -> Result<(), Error> {
        let id: Uuid = self.fresh();
        let row = (
            (
                access_attempts::estate_id.eq(Db(self.estate())),
                access_attempts::id.eq(id),
                access_attempts::job_id.eq(Db(job)),
            ),
            (
                access_attempts::at.eq(attempt.at),
                access_attempts::by_account.eq(Db(attempt.by)),
                access_attempts::engineer_id.eq(attempt.engineer.map(Db)),
            ),
            (
                access_attempts::left_behind.eq(&attempt.left_behind),
                access_attempts::words.eq(&attempt.words),
                access_attempts::recorded_at.eq(Some(self.at())),
            ),
        );
        diesel::insert_into(access_attempts::table)
            .values(row)
            .execute(self.conn())?;
        Ok(())
    }

    /// The attempts at access of a job, oldest first.
    pub fn access_attempts_of(&mut self, job: JobId) -> Result<Vec<AccessAttempt>, Error> {
        let estate = self.estate();
        type Row = (
            DateTime<Utc>,
            Db<AccountId>,
            Option<Db<EngineerId>>,
            String,
            String,
        );
        let rows: Vec<Row> = access_attempts::table
            .filter(
                access_attempts::estate_id
                    .eq(Db(estate))
                    .and(access_attempts::job_id.eq(Db(job))),
            )
            .order((access_attempts::at, access_attempts::id))
            .select((
                access_attempts::at,
                access_attempts::by_account,
                access_attempts::engineer_id,
                access_attempts::left_behind,
                access_attempts::words,
            ))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|(at, by, engineer, left_behind, words)| AccessAttempt {
                at,
                by: by.0,
                engineer: engineer.map(|e| e.0),
                left_behind,
                words,
            })
            .collect())
    }
}
