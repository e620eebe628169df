//! Outages opened, joined, tested again and ended.
use chrono::{DateTime, Utc};
use diesel::prelude::*;
use terms::{BranchId, BuildingId, FaultCallId, FunctionLost, JobId, OutageId, SpaceId};

use crate::estate_schema::{fault_calls, outage_spaces, outages};
use crate::{Db, Error, Tx};

/// An outage about to be opened.
#[derive(Clone, Debug)]
pub struct NewOutage {
    /// The building.
    pub building: BuildingId,
    /// The pipe.
    pub branch: Option<BranchId>,
    /// What is lost.
    pub lost: FunctionLost,
    /// What is thought of it.
    pub cause: String,
    /// Since when.
    pub from_at: DateTime<Utc>,
    /// The job that answers it.
    pub job: JobId,
}

impl Tx<'_> {
    /// Opens an outage.
    pub fn add_outage(&mut self, new: &NewOutage) -> Result<OutageId, Error> {
        let id: OutageId = self.fresh();
        let row = (
            (
                outages::estate_id.eq(Db(self.estate())),
                outages::id.eq(Db(id)),
            ),
            (
                outages::building_id.eq(Db(new.building)),
                outages::branch_id.eq(new.branch.map(Db)),
            ),
            (
                outages::function_lost.eq(new.lost.code()),
                outages::cause.eq(&new.cause),
            ),
            (
                outages::from_at.eq(new.from_at),
                outages::made_by.eq(Db(self.who())),
            ),
            outages::job_id.eq(Some(Db(new.job))),
        );
        diesel::insert_into(outages::table)
            .values(row)
            .execute(self.conn())?;
        Ok(id)
    }

    /// A home joins an outage with its own clock; one that is in it already stays as it is.
    pub fn join_outage(
        &mut self,
        outage: OutageId,
        space: SpaceId,
        (since, due): (DateTime<Utc>, Option<DateTime<Utc>>),
    ) -> Result<(), Error> {
        let row = (
            (
                outage_spaces::estate_id.eq(Db(self.estate())),
                outage_spaces::outage_id.eq(Db(outage)),
                outage_spaces::space_id.eq(Db(space)),
            ),
            (
                outage_spaces::joined_at.eq(self.at()),
                outage_spaces::since_at.eq(Some(since)),
                outage_spaces::due_at.eq(due),
            ),
        );
        diesel::insert_into(outage_spaces::table)
            .values(row)
            .on_conflict_do_nothing()
            .execute(self.conn())?;
        Ok(())
    }

    /// A call belongs to an outage and is answered by its job.
    pub fn tie_call(
        &mut self,
        call: FaultCallId,
        outage: OutageId,
        job: JobId,
    ) -> Result<(), Error> {
        let estate = self.estate();
        diesel::update(
            fault_calls::table.filter(
                fault_calls::estate_id
                    .eq(Db(estate))
                    .and(fault_calls::id.eq(Db(call))),
            ),
        )
        .set((
            fault_calls::outage_id.eq(Some(Db(outage))),
            fault_calls::job_id.eq(Some(Db(job))),
        ))
        .execute(self.conn())?;
        Ok(())
    }

    /// A home was tested again after the repair.
    pub fn retest_home(
        &mut self,
        outage: OutageId,
        space: SpaceId,
        (at, found): (DateTime<Utc>, &str),
    ) -> Result<(), Error> {
        let estate = self.estate();
        let changed = diesel::update(
            outage_spaces::table.filter(
                outage_spaces::estate_id
                    .eq(Db(estate))
                    .and(outage_spaces::outage_id.eq(Db(outage)))
                    .and(outage_spaces::space_id.eq(Db(space))),
            ),
        )
        .set((
            outage_spaces::retested_at.eq(Some(at)),
            outage_spaces::retest.eq(found),
        ))
        .execute(self.conn())?;
        if changed == 0 {
            return Err(Error::NotFound("space"));
        }
        Ok(())
    }

    /// Ends an outage that lasts.
    pub fn end_outage(
        &mut self,
        outage: OutageId,
        until: DateTime<Utc>,
        (cause, proof): (&str, &str),
    ) -> Result<(), Error> {
        let estate = self.estate();
        let changed = diesel::update(
            outages::table.filter(
                outages::estate_id
                    .eq(Db(estate))
                    .and(outages::id.eq(Db(outage)))
                    .and(outages::until_at.is_null()),
            ),
        )
        .set((
            outages::until_at.eq(Some(until)),
            outages::cause.eq(cause),
            outages::proof.eq(proof),
        ))
        .execute(self.conn())?;
        if changed == 0 {
            return Err(Error::Conflict("the outage has ended".to_owned()));
        }
        Ok(())
    }
}
