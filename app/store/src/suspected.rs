//! What may share a cause: calls that belong to no outage yet, and what neighbours said when they were asked.
use chrono::{DateTime, Utc};
use diesel::prelude::*;
use terms::{BuildingId, FaultCallId, FunctionLost, JobId, SpaceId};
use uuid::Uuid;

use crate::estate_schema::{fault_calls, jobs, neighbour_answers, space_facts, spaces};
use crate::register::read_code;
use crate::{Db, Error, Tx};

/// A call that belongs to no outage and whose job is still open.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LooseCall {
    /// The call.
    pub call: FaultCallId,
    /// Where from.
    pub space: SpaceId,
    /// The space's name.
    pub space_name: String,
    /// The building.
    pub building: BuildingId,
    /// What was lost.
    pub lost: FunctionLost,
    /// Since when.
    pub since_at: DateTime<Utc>,
    /// When it was reported.
    pub called_at: DateTime<Utc>,
    /// The job that answers it.
    pub job: Option<JobId>,
    /// That job's clock.
    pub due_at: Option<DateTime<Utc>>,
}

/// What a neighbour said when asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NeighbourAnswer {
    /// Where.
    pub space: SpaceId,
    /// The function asked about.
    pub lost: FunctionLost,
    /// It is off there too.
    pub is_off: bool,
}

impl Tx<'_> {
    /// Calls since `from` that belong to no outage and whose job is still open, oldest first.
    pub fn loose_calls(&mut self, from: DateTime<Utc>) -> Result<Vec<LooseCall>, Error> {
        let estate = self.estate();
        type Row = (
            (Db<FaultCallId>, Db<SpaceId>, String, Db<BuildingId>),
            (String, DateTime<Utc>, DateTime<Utc>),
            (Option<Db<JobId>>, Option<DateTime<Utc>>),
        );
        let rows: Vec<Row> = fault_calls::table
            .inner_join(
                spaces::table.on(spaces::estate_id
                    .eq(fault_calls::estate_id)
                    .and(spaces::id.eq(fault_calls::space_id))),
            )
            .inner_join(
                space_facts::table.on(space_facts::estate_id
                    .eq(fault_calls::estate_id)
                    .and(space_facts::space_id.eq(fault_calls::space_id))),
            )
            .inner_join(
                jobs::table.on(jobs::estate_id
                    .eq(fault_calls::estate_id)
                    .and(fault_calls::job_id.eq(jobs::id.nullable()))),
            )
            .filter(
                fault_calls::estate_id
                    .eq(Db(estate))
                    .and(fault_calls::outage_id.is_null())
                    .and(fault_calls::called_at.ge(from))
                    .and(space_facts::superseded_at.is_null())
                    .and(jobs::closed_at.is_null()),
            )
            .order((fault_calls::called_at, fault_calls::id))
            .select((
                (
                    fault_calls::id,
                    fault_calls::space_id,
                    space_facts::name,
                    spaces::building_id,
                ),
                (
                    fault_calls::function_lost,
                    fault_calls::since_at,
                    fault_calls::called_at,
                ),
                (fault_calls::job_id, jobs::due_at),
            ))
            .load(self.conn())?;
        rows.into_iter()
            .map(|(a, b, c)| {
                Ok(LooseCall {
                    call: a.0.0,
                    space: a.1.0,
                    space_name: a.2,
                    building: a.3.0,
                    lost: read_code(&b.0)?,
                    since_at: b.1,
                    called_at: b.2,
                    job: c.0.map(|j| j.0),
                    due_at: c.1,
                })
            })
            .collect()
    }

    /// Keeps what a neighbour said.
    pub fn add_neighbour_answer(&mut self, answer: NeighbourAnswer) -> Result<(), Error> {
        let id: Uuid = self.fresh();
        let row = (
            (
                neighbour_answers::estate_id.eq(Db(self.estate())),
                neighbour_answers::id.eq(id),
            ),
            (
                neighbour_answers::space_id.eq(Db(answer.space)),
                neighbour_answers::function_lost.eq(answer.lost.code()),
                neighbour_answers::is_off.eq(answer.is_off),
            ),
            (
                neighbour_answers::asked_at.eq(self.at()),
                neighbour_answers::asked_by.eq(Db(self.who())),
            ),
        );
        diesel::insert_into(neighbour_answers::table)
            .values(row)
            .execute(self.conn())?;
        Ok(())
    }

    /// What neighbours said since `from`, the newest last.
    pub fn neighbour_answers(
        &mut self,
        from: DateTime<Utc>,
    ) -> Result<Vec<NeighbourAnswer>, Error> {
        let estate = self.estate();
        let rows: Vec<(Db<SpaceId>, String, bool)> = neighbour_answers::table
            .filter(
                neighbour_answers::estate_id
                    .eq(Db(estate))
                    .and(neighbour_answers::asked_at.ge(from)),
            )
            .order((neighbour_answers::asked_at, neighbour_answers::id))
            .select((
                neighbour_answers::space_id,
                neighbour_answers::function_lost,
                neighbour_answers::is_off,
            ))
            .load(self.conn())?;
        rows.into_iter()
            .map(|(space, lost, is_off)| {
                Ok(NeighbourAnswer {
                    space: space.0,
                    lost: read_code(&lost)?,
                    is_off,
                })
            })
            .collect()
    }
}
