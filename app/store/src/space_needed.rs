//! How many of the units of a kind a space needs, dated.
use chrono::{DateTime, NaiveDate, Utc};
use diesel::prelude::*;
use terms::{AccountId, BuildingId, SpaceId};
use uuid::Uuid;

use crate::estate_schema::{space_needed, spaces};
use crate::{Db, Error, Tx};

/// So many of a kind are needed in a space on the coldest day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SpaceNeeded {
    /// The space.
    pub space: SpaceId,
    /// The kind's code.
    pub kind: String,
    /// How many.
    pub needed: i32,
    /// Since when.
    pub from_on: NaiveDate,
    /// By whom it was said.
    pub said_by: AccountId,
    /// It was said otherwise since, or taken back.
    pub superseded_at: Option<DateTime<Utc>>,
}

type Row = (
    Db<SpaceId>,
    String,
    i32,
    NaiveDate,
    Db<AccountId>,
    Option<DateTime<Utc>>,
);

const COLUMNS: (
    space_needed::space_id,
    space_needed::kind_code,
    space_needed::needed,
    space_needed::happened_on,
    space_needed::recorded_by,
    space_needed::superseded_at,
) = (
    space_needed::space_id,
    space_needed::kind_code,
    space_needed::needed,
    space_needed::happened_on,
    space_needed::recorded_by,
    space_needed::superseded_at,
);

fn read(row: Row) -> SpaceNeeded {
    SpaceNeeded {
        space: row.0.0,
        kind: row.1,
        needed: row.2,
        from_on: row.3,
        said_by: row.4.0,
        superseded_at: row.5,
    }
}

impl Tx<'_> {
    /// States how many of a kind a space needs since a day; `None`: it is not known any more.
    pub fn state_space_needed(
        &mut self,
        space: SpaceId,
        kind: &str,
        (needed, from_on): (Option<i32>, NaiveDate),
    ) -> Result<(), Error> {
        let (estate, at) = (self.estate(), self.at());
        diesel::update(
            space_needed::table.filter(
                space_needed::estate_id
                    .eq(Db(estate))
                    .and(space_needed::space_id.eq(Db(space)))
                    .and(space_needed::kind_code.eq(kind))
                    .and(space_needed::superseded_at.is_null()),
            ),
        )
        .set(space_needed::superseded_at.eq(at))
        .execute(self.conn())?;
        let Some(needed) = needed else {
            return Ok(());
        };
        let id: Uuid = self.fresh();
        let row = (
            (
                space_needed::estate_id.eq(Db(estate)),
                space_needed::id.eq(id),
                space_needed::space_id.eq(Db(space)),
            ),
            (
                space_needed::kind_code.eq(kind),
                space_needed::needed.eq(needed),
            ),
            (
                space_needed::happened_on.eq(from_on),
                space_needed::recorded_at.eq(at),
                space_needed::recorded_by.eq(Db(self.who())),
            ),
        );
        diesel::insert_into(space_needed::table)
            .values(row)
            .execute(self.conn())?;
        Ok(())
    }

    /// Everything said of how many a space needs, what stands and what stood, oldest first.
    pub fn space_needed_over_time(&mut self, space: SpaceId) -> Result<Vec<SpaceNeeded>, Error> {
        let estate = self.estate();
        let rows: Vec<Row> = space_needed::table
            .filter(
                space_needed::estate_id
                    .eq(Db(estate))
                    .and(space_needed::space_id.eq(Db(space))),
            )
            .order((space_needed::recorded_at, space_needed::id))
            .select(COLUMNS)
            .load(self.conn())?;
        Ok(rows.into_iter().map(read).collect())
    }

    /// What stands of how many the spaces of a building need, by space and kind.
    pub fn space_needed_in(&mut self, building: BuildingId) -> Result<Vec<SpaceNeeded>, Error> {
        let estate = self.estate();
        let rows: Vec<Row> = space_needed::table
            .inner_join(
                spaces::table.on(spaces::estate_id
                    .eq(space_needed::estate_id)
                    .and(spaces::id.eq(space_needed::space_id))),
            )
            .filter(
                space_needed::estate_id
                    .eq(Db(estate))
                    .and(spaces::building_id.eq(Db(building)))
                    .and(space_needed::superseded_at.is_null()),
            )
            .order((space_needed::space_id, space_needed::kind_code))
            .select(COLUMNS)
            .load(self.conn())?;
        Ok(rows.into_iter().map(read).collect())
    }
}
