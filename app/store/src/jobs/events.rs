//! What happened to a job, in order; rows are only added.
use chrono::{DateTime, Utc};
use diesel::dsl::max;
use diesel::prelude::*;
use terms::{AccountId, DutyId, EngineerId, FirmId, JobId, JobState, UnitId};

use crate::estate_schema::{duties, job_duties, job_events};
use crate::register::read_code;
use crate::{Db, Error, Tx};

/// One step of a job.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct JobEvent {
    /// The state it led to.
    pub state: JobState,
    /// When.
    pub at: DateTime<Utc>,
    /// Who did it.
    pub by: AccountId,
    /// The firm concerned.
    pub firm: Option<FirmId>,
    /// The engineer concerned.
    pub engineer: Option<EngineerId>,
    /// In words.
    pub words: String,
}

impl Tx<'_> {
    /// Adds a step; the caller holds the job's row.
    pub fn add_job_event(
        &mut self,
        job: JobId,
        state: JobState,
        whom: Option<(FirmId, Option<EngineerId>)>,
        words: &str,
    ) -> Result<(), Error> {
        let estate = self.estate();
        let of_job = job_events::estate_id
            .eq(Db(estate))
            .and(job_events::job_id.eq(Db(job)));
        let last: Option<i32> = job_events::table
            .filter(of_job)
            .select(max(job_events::n))
            .first(self.conn())?;
        let row = (
            (
                job_events::estate_id.eq(Db(estate)),
                job_events::job_id.eq(Db(job)),
                job_events::n.eq(last.unwrap_or(0) + 1),
            ),
            (
                job_events::state.eq(state.code()),
                job_events::at.eq(self.at()),
                job_events::by_account.eq(Db(self.who())),
            ),
            (
                job_events::firm_id.eq(whom.map(|w| Db(w.0))),
                job_events::engineer_id.eq(whom.and_then(|w| w.1).map(Db)),
                job_events::words.eq(words),
            ),
        );
        diesel::insert_into(job_events::table)
            .values(row)
            .execute(self.conn())?;
        Ok(())
    }

    /// The steps of a job, oldest first.
    pub fn job_events(&mut self, job: JobId) -> Result<Vec<JobEvent>, Error> {
        let estate = self.estate();
        type Row = (
            String,
            DateTime<Utc>,
            Db<AccountId>,
            Option<Db<FirmId>>,
            Option<Db<EngineerId>>,
            String,
        );
        let rows: Vec<Row> = job_events::table
            .filter(
                job_events::estate_id
                    .eq(Db(estate))
                    .and(job_events::job_id.eq(Db(job))),
            )
            .order(job_events::n)
            .select((
                job_events::state,
                job_events::at,
                job_events::by_account,
                job_events::firm_id,
                job_events::engineer_id,
                job_events::words,
            ))
            .load(self.conn())?;
        rows.into_iter()
            .map(|(state, at, by, firm, engineer, words)| {
                Ok(JobEvent {
                    state: read_code(&state)?,
                    at,
                    by: by.0,
                    firm: firm.map(|f| f.0),
                    engineer: engineer.map(|e| e.0),
                    words,
                })
            })
            .collect()
    }

    /// The duties a job fulfils: id, rule code and unit.
    pub fn duties_of_job(
        &mut self,
        job: JobId,
    ) -> Result<Vec<(DutyId, String, Option<UnitId>)>, Error> {
        let estate = self.estate();
        let rows: Vec<(Db<DutyId>, String, Option<Db<UnitId>>)> = job_duties::table
            .inner_join(
                duties::table.on(duties::estate_id
                    .eq(job_duties::estate_id)
                    .and(duties::id.eq(job_duties::duty_id))),
            )
            .filter(
                job_duties::estate_id
                    .eq(Db(estate))
                    .and(job_duties::job_id.eq(Db(job))),
            )
            .order(duties::rule_code)
            .select((duties::id, duties::rule_code, duties::unit_id))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|(id, code, unit)| (id.0, code, unit.map(|u| u.0)))
            .collect())
    }
}
