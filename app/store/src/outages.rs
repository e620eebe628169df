//! Outages: one cause taking a function from several spaces, the homes that joined it, how its end was proved.
use chrono::{DateTime, Utc};
use diesel::prelude::*;
use terms::{BranchId, BuildingId, FunctionLost, JobId, OutageId, SpaceId};

use crate::estate_schema::{branch_facts, building_facts, outage_spaces, outages, space_facts};
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

impl Tx<'_> {
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
