//! Fault calls, and who lives where for the person who answers the telephone.
use chrono::{DateTime, Utc};
use diesel::prelude::*;
use terms::{FaultCallId, FunctionLost, JobId, OutageId, SpaceId};

use crate::estate_schema::{fault_calls, residents};
use crate::register::read_code;
use crate::{Db, Error, Tx};

/// What a resident reported.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Call {
    /// Its id.
    pub id: FaultCallId,
    /// The space it came from.
    pub space: SpaceId,
    /// What was lost.
    pub function_lost: FunctionLost,
    /// Since when.
    pub since_at: DateTime<Utc>,
    /// When it was reported: the clock's start.
    pub called_at: DateTime<Utc>,
    /// The caller's words.
    pub words: String,
    /// What the caller was told.
    pub answered: String,
    /// The job that answers it.
    pub job: Option<JobId>,
}

impl Tx<'_> {
    /// Records a call; `call.id` is made here.
    pub fn add_call(&mut self, call: &Call) -> Result<FaultCallId, Error> {
        let id: FaultCallId = self.fresh();
        let row = (
            (
                fault_calls::estate_id.eq(Db(self.estate())),
                fault_calls::id.eq(Db(id)),
            ),
            (
                fault_calls::space_id.eq(Db(call.space)),
                fault_calls::function_lost.eq(call.function_lost.code()),
            ),
            (
                fault_calls::since_at.eq(call.since_at),
                fault_calls::called_at.eq(call.called_at),
            ),
            (
                fault_calls::taken_by.eq(Db(self.who())),
                fault_calls::words.eq(&call.words),
            ),
            (
                fault_calls::job_id.eq(call.job.map(Db)),
                fault_calls::answered.eq(&call.answered),
            ),
            fault_calls::outage_id.eq(None::<Db<OutageId>>),
        );
        diesel::insert_into(fault_calls::table)
            .values(row)
            .execute(self.conn())?;
        Ok(id)
    }

    /// The calls a job answers, oldest first.
    pub fn calls_of(&mut self, job: JobId) -> Result<Vec<Call>, Error> {
        let estate = self.estate();
        type Row = (
            (Db<FaultCallId>, Db<SpaceId>, String, DateTime<Utc>),
            (DateTime<Utc>, String, String, Option<Db<JobId>>),
        );
        let rows: Vec<Row> = fault_calls::table
            .filter(
                fault_calls::estate_id
                    .eq(Db(estate))
                    .and(fault_calls::job_id.eq(Db(job))),
            )
            .order((fault_calls::called_at, fault_calls::id))
            .select((
                (
                    fault_calls::id,
                    fault_calls::space_id,
                    fault_calls::function_lost,
                    fault_calls::since_at,
                ),
                (
                    fault_calls::called_at,
                    fault_calls::words,
                    fault_calls::answered,
                    fault_calls::job_id,
                ),
            ))
            .load(self.conn())?;
        rows.into_iter()
            .map(|(a, b)| {
                Ok(Call {
                    id: a.0.0,
                    space: a.1.0,
                    function_lost: read_code(&a.2)?,
                    since_at: a.3,
                    called_at: b.0,
                    words: b.1,
                    answered: b.2,
                    job: b.3.map(|j| j.0),
                })
            })
            .collect()
    }

    /// The spaces whose present resident's name contains `part`, however it is written; at most `limit`.
    /// Only for the desk that answers the telephone: names are never among the search words.
    pub fn spaces_of_resident(&mut self, part: &str, limit: i64) -> Result<Vec<SpaceId>, Error> {
        let estate = self.estate();
        let plain: String = part
            .chars()
            .filter(|c| !matches!(c, '%' | '_' | '\\'))
            .collect();
        if plain.trim().is_empty() {
            return Ok(Vec::new());
        }
        let rows: Vec<Db<SpaceId>> = residents::table
            .filter(
                residents::estate_id
                    .eq(Db(estate))
                    .and(residents::until_on.is_null())
                    .and(residents::stripped_at.is_null())
                    .and(residents::name.ilike(format!("%{}%", plain.trim()))),
            )
            .order((residents::name, residents::space_id))
            .limit(limit)
            .select(residents::space_id)
            .load(self.conn())?;
        Ok(rows.into_iter().map(|s| s.0).collect())
    }
}
