//! Cold-night drills: what was asked, and what it came to.
use chrono::{DateTime, Utc};
use diesel::prelude::*;
use serde_json::Value;
use terms::BuildingId;
use uuid::Uuid;

use crate::estate_schema::drills;
use crate::{Db, Error, Tx};

/// A drill as it was run.
#[derive(Clone, Debug, PartialEq)]
pub struct DrillRow {
    /// Its id.
    pub id: Uuid,
    /// What was asked.
    pub ask: Value,
    /// When it was run.
    pub made_at: DateTime<Utc>,
    /// What it came to.
    pub answer: Value,
}

impl Tx<'_> {
    /// Keeps a drill of a building, or of all together; the one before is superseded.
    pub fn keep_drill(
        &mut self,
        building: Option<BuildingId>,
        ask: &Value,
        answer: &Value,
    ) -> Result<Uuid, Error> {
        let (estate, at) = (self.estate(), self.at());
        diesel::update(
            drills::table.filter(
                drills::estate_id
                    .eq(Db(estate))
                    .and(drills::building_id.is_not_distinct_from(building.map(Db)))
                    .and(drills::superseded_at.is_null()),
            ),
        )
        .set(drills::superseded_at.eq(at))
        .execute(self.conn())?;
        let id: Uuid = self.fresh();
        diesel::insert_into(drills::table)
            .values((
                (drills::estate_id.eq(Db(estate)), drills::id.eq(id)),
                (
                    drills::building_id.eq(building.map(Db)),
                    drills::ask.eq(ask),
                ),
                (
                    drills::made_at.eq(at),
                    drills::made_by.eq(Db(self.who())),
                    drills::answer.eq(answer),
                ),
            ))
            .execute(self.conn())?;
        Ok(id)
    }

    /// The drill that stands for a building, or for all together.
    pub fn drill(&mut self, building: Option<BuildingId>) -> Result<Option<DrillRow>, Error> {
        let estate = self.estate();
        let row: Option<(Uuid, Value, DateTime<Utc>, Value)> = drills::table
            .filter(
                drills::estate_id
                    .eq(Db(estate))
                    .and(drills::building_id.is_not_distinct_from(building.map(Db)))
                    .and(drills::superseded_at.is_null()),
            )
            .order((drills::made_at.desc(), drills::id.desc()))
            .select((drills::id, drills::ask, drills::made_at, drills::answer))
            .first(self.conn())
            .optional()?;
        Ok(row.map(|row| DrillRow {
            id: row.0,
            ask: row.1,
            made_at: row.2,
            answer: row.3,
        }))
    }
}
