//! Finding jobs: by where they stand, whose they are, what they are about.
use chrono::{DateTime, Utc};
use diesel::prelude::*;
use terms::{
    AccountId, BuildingId, EngineerId, FirmId, FunctionLost, JobId, Pence, SpaceId, UnitId,
};

use super::Job;
use crate::estate_schema::{building_facts, jobs, space_facts};
use crate::register::read_code;
use crate::{Db, Error, Tx};

/// Which jobs are asked for.
#[derive(Clone, Debug)]
pub enum Which {
    /// These.
    Ids(Vec<JobId>),
    /// Everything not finished or stood down, and what is done but not agreed.
    Open,
    /// What a firm took and has not finished.
    OpenOf(FirmId),
    /// Everything about a unit, finished or not.
    Unit(UnitId),
    /// Everything about a space, finished or not.
    Space(SpaceId),
}

impl Tx<'_> {
    /// One job, its row held until the transaction ends: two who ask at once are put in order.
    pub fn hold_job(&mut self, id: JobId) -> Result<Job, Error> {
        let estate = self.estate();
        let held: Option<Db<JobId>> = jobs::table
            .filter(jobs::estate_id.eq(Db(estate)).and(jobs::id.eq(Db(id))))
            .select(jobs::id)
            .for_update()
            .first(self.conn())
            .optional()?;
        held.ok_or(Error::NotFound("job"))?;
        self.job(id)
    }

    /// One job.
    pub fn job(&mut self, id: JobId) -> Result<Job, Error> {
        self.jobs(&Which::Ids(vec![id]))?
            .pop()
            .ok_or(Error::NotFound("job"))
    }

    /// Jobs, oldest first.
    pub fn jobs(&mut self, which: &Which) -> Result<Vec<Job>, Error> {
        let estate = self.estate();
        let mut query = jobs::table
            .inner_join(
                space_facts::table.on(space_facts::estate_id
                    .eq(jobs::estate_id)
                    .and(space_facts::space_id.eq(jobs::space_id))),
            )
            .inner_join(
                building_facts::table.on(building_facts::estate_id
                    .eq(jobs::estate_id)
                    .and(building_facts::building_id.eq(jobs::building_id))),
            )
            .filter(
                jobs::estate_id
                    .eq(Db(estate))
                    .and(space_facts::superseded_at.is_null())
                    .and(building_facts::superseded_at.is_null()),
            )
            .into_boxed();
        query = match which {
            Which::Ids(ids) => {
                let ids: Vec<uuid::Uuid> = ids.iter().map(|id| id.0).collect();
                query.filter(jobs::id.eq_any(ids))
            }
            Which::Open => query.filter(jobs::closed_at.is_null().or(jobs::state.eq("done"))),
            Which::OpenOf(firm) => {
                query.filter(jobs::firm_id.eq(Db(*firm)).and(jobs::closed_at.is_null()))
            }
            Which::Unit(unit) => query.filter(jobs::unit_id.eq(Db(*unit))),
            Which::Space(space) => query.filter(jobs::space_id.eq(Db(*space))),
        };
        let rows: Vec<JobRow> = query
            .order((jobs::opened_at, jobs::number))
            .select((
                (
                    jobs::id,
                    jobs::number,
                    jobs::kind,
                    jobs::building_id,
                    building_facts::name,
                    jobs::space_id,
                    space_facts::name,
                    jobs::unit_id,
                    jobs::function_lost,
                ),
                (
                    jobs::words,
                    jobs::source,
                    jobs::covers,
                    jobs::minutes,
                    jobs::due_at,
                    jobs::due_why,
                    jobs::state,
                    jobs::state_at,
                    jobs::version,
                ),
                (
                    jobs::firm_id,
                    jobs::engineer_id,
                    jobs::booked_from,
                    jobs::booked_until,
                    jobs::opened_at,
                    jobs::opened_by,
                    jobs::closed_at,
                    jobs::cost_pence,
                ),
            ))
            .load(self.conn())?;
        rows.into_iter().map(read_job).collect()
    }
}

type JobRow = (
    (
        Db<JobId>,
        String,
        String,
        Db<BuildingId>,
        String,
        Db<SpaceId>,
        String,
        Option<Db<UnitId>>,
        Option<String>,
    ),
    (
        String,
        String,
        String,
        i32,
        Option<DateTime<Utc>>,
        String,
        String,
        DateTime<Utc>,
        i32,
    ),
    (
        Option<Db<FirmId>>,
        Option<Db<EngineerId>>,
        Option<DateTime<Utc>>,
        Option<DateTime<Utc>>,
        DateTime<Utc>,
        Db<AccountId>,
        Option<DateTime<Utc>>,
        Option<i64>,
    ),
);

fn read_job((a, b, c): JobRow) -> Result<Job, Error> {
    Ok(Job {
        id: a.0.0,
        number: a.1,
        kind: read_code(&a.2)?,
        building: a.3.0,
        building_name: a.4,
        space: a.5.0,
        space_name: a.6,
        unit: a.7.map(|u| u.0),
        function_lost: a.8.as_deref().map(read_code::<FunctionLost>).transpose()?,
        words: b.0,
        source: b.1,
        covers: b.2,
        minutes: b.3,
        due_at: b.4,
        due_why: b.5,
        state: read_code(&b.6)?,
        state_at: b.7,
        version: b.8,
        firm: c.0.map(|f| f.0),
        engineer: c.1.map(|e| e.0),
        booked: c.2.zip(c.3),
        opened_at: c.4,
        opened_by: c.5.0,
        closed_at: c.6,
        cost: c.7.map(Pence),
    })
}
