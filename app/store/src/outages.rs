//! Outages: one cause taking a function from several spaces, the homes that joined it, how its end was proved.
use chrono::{DateTime, Utc};
use diesel::prelude::*;
use terms::{BranchId, BuildingId, FaultCallId, FunctionLost, JobId, OutageId, SpaceId};

use crate::estate_schema::{
    branch_facts, building_facts, fault_calls, outage_spaces, outages, space_facts,
};
use crate::register::read_code;
use crate::{Db, Error, Tx};

/// Which outages are asked for.
#[derive(Clone, Copy, Debug)]
pub enum WhichOutages {
    /// Those not ended, oldest first.
    Open,
    /// Every one, the newest first.
    All,
    /// One.
    One(OutageId),
    /// Those a job answers.
    OfJob(JobId),
}

/// An outage as it stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OutageCard {
    /// Its id.
    pub id: OutageId,
    /// The building.
    pub building: BuildingId,
    /// The building's name.
    pub building_name: String,
    /// The pipe, when one is thought of.
    pub branch: Option<BranchId>,
    /// The pipe's name.
    pub branch_name: Option<String>,
    /// What is lost.
    pub lost: FunctionLost,
    /// What is thought of it, or was found; may be empty.
    pub cause: String,
    /// Since when.
    pub from_at: DateTime<Utc>,
    /// Until when; `None` while it lasts.
    pub until_at: Option<DateTime<Utc>>,
    /// The job that answers it.
    pub job: Option<JobId>,
    /// How the sample of its end was chosen; empty when every home was re-tested.
    pub proof: String,
    /// The homes that joined it, in the order they did.
    pub homes: Vec<OutageHome>,
}

/// A home of an outage with its own clock.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OutageHome {
    /// The space.
    pub space: SpaceId,
    /// Its name.
    pub space_name: String,
    /// Since when, as whoever lives there said.
    pub since_at: DateTime<Utc>,
    /// Its clock.
    pub due_at: Option<DateTime<Utc>>,
    /// When it was re-tested.
    pub retested_at: Option<DateTime<Utc>>,
    /// What was found then.
    pub retest: String,
}

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

    /// Outages with their homes.
    pub fn outages(&mut self, which: WhichOutages) -> Result<Vec<OutageCard>, Error> {
        let estate = self.estate();
        let mut query = outages::table
            .inner_join(
                building_facts::table.on(building_facts::estate_id
                    .eq(outages::estate_id)
                    .and(building_facts::building_id.eq(outages::building_id))),
            )
            .filter(
                outages::estate_id
                    .eq(Db(estate))
                    .and(building_facts::superseded_at.is_null()),
            )
            .into_boxed();
        query = match which {
            WhichOutages::Open => query
                .filter(outages::until_at.is_null())
                .order((outages::from_at.asc(), outages::id.asc())),
            WhichOutages::All => query.order((outages::from_at.desc(), outages::id.desc())),
            WhichOutages::One(id) => query.filter(outages::id.eq(Db(id))),
            WhichOutages::OfJob(job) => query.filter(outages::job_id.eq(Some(Db(job)))),
        };
        let rows: Vec<OutageRow> = query
            .select((
                (
                    outages::id,
                    outages::building_id,
                    building_facts::name,
                    outages::branch_id,
                    outages::function_lost,
                ),
                (
                    outages::cause,
                    outages::from_at,
                    outages::until_at,
                    outages::job_id,
                    outages::proof,
                ),
            ))
            .load(self.conn())?;
        let mut found = Vec::with_capacity(rows.len());
        for (a, b) in rows {
            let branch = a.3.map(|id| id.0);
            found.push(OutageCard {
                id: a.0.0,
                building: a.1.0,
                building_name: a.2,
                branch,
                branch_name: branch.map(|id| self.branch_name(id)).transpose()?.flatten(),
                lost: read_code(&a.4)?,
                cause: b.0,
                from_at: b.1,
                until_at: b.2,
                job: b.3.map(|id| id.0),
                proof: b.4,
                homes: self.homes_of_outage(a.0.0)?,
            });
        }
        Ok(found)
    }

    fn branch_name(&mut self, id: BranchId) -> Result<Option<String>, Error> {
        let estate = self.estate();
        Ok(branch_facts::table
            .filter(
                branch_facts::estate_id
                    .eq(Db(estate))
                    .and(branch_facts::branch_id.eq(Db(id)))
                    .and(branch_facts::superseded_at.is_null()),
            )
            .select(branch_facts::name)
            .first(self.conn())
            .optional()?)
    }

    fn homes_of_outage(&mut self, id: OutageId) -> Result<Vec<OutageHome>, Error> {
        let estate = self.estate();
        type Row = (
            (Db<SpaceId>, String, DateTime<Utc>),
            (
                Option<DateTime<Utc>>,
                Option<DateTime<Utc>>,
                Option<DateTime<Utc>>,
                String,
            ),
        );
        let rows: Vec<Row> = outage_spaces::table
            .inner_join(
                space_facts::table.on(space_facts::estate_id
                    .eq(outage_spaces::estate_id)
                    .and(space_facts::space_id.eq(outage_spaces::space_id))),
            )
            .filter(
                outage_spaces::estate_id
                    .eq(Db(estate))
                    .and(outage_spaces::outage_id.eq(Db(id)))
                    .and(space_facts::superseded_at.is_null()),
            )
            .order((
                outage_spaces::joined_at,
                outage_spaces::since_at,
                space_facts::name,
            ))
            .select((
                (
                    outage_spaces::space_id,
                    space_facts::name,
                    outage_spaces::joined_at,
                ),
                (
                    outage_spaces::since_at,
                    outage_spaces::due_at,
                    outage_spaces::retested_at,
                    outage_spaces::retest,
                ),
            ))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|(a, b)| OutageHome {
                space: a.0.0,
                space_name: a.1,
                since_at: b.0.unwrap_or(a.2),
                due_at: b.1,
                retested_at: b.2,
                retest: b.3,
            })
            .collect())
    }
}

type OutageRow = (
    (
        Db<OutageId>,
        Db<BuildingId>,
        String,
        Option<Db<BranchId>>,
        String,
    ),
    (
        String,
        DateTime<Utc>,
        Option<DateTime<Utc>>,
        Option<Db<JobId>>,
        String,
    ),
);
