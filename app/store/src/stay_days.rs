//! The first day of a stay, said anew: what stood before stays readable.
use chrono::NaiveDate;
use diesel::prelude::*;
use terms::{PlacementId, SpaceId, UnitId};
use uuid::Uuid;

use crate::estate_schema::{placements, serves};
use crate::{Db, Error, Tx};

/// The first and last day of a row.
type Days = (Option<NaiveDate>, Option<NaiveDate>);

impl Tx<'_> {
    /// The stay of a unit in a space that began on `was` began on `from_on`, and with it what it serves there: each row is
    /// superseded by one with that day.
    pub fn redate_stay(
        &mut self,
        (unit, space): (UnitId, SpaceId),
        was: Option<NaiveDate>,
        from_on: Option<NaiveDate>,
    ) -> Result<(), Error> {
        let (estate, at, who) = (self.estate(), self.at(), self.who());
        let stays: Vec<(Db<PlacementId>, Days, Option<Uuid>)> = placements::table
            .filter(
                placements::estate_id
                    .eq(Db(estate))
                    .and(placements::unit_id.eq(Db(unit)))
                    .and(placements::space_id.eq(Db(space)))
                    .and(placements::superseded_at.is_null()),
            )
            .order(placements::id)
            .select((
                placements::id,
                (placements::from_on, placements::until_on),
                placements::import_id,
            ))
            .load(self.conn())?;
        for (stay, (_, until_on), import) in stays.into_iter().filter(|(_, days, _)| days.0 == was)
        {
            diesel::update(
                placements::table.filter(
                    placements::estate_id
                        .eq(Db(estate))
                        .and(placements::id.eq(stay)),
                ),
            )
            .set(placements::superseded_at.eq(at))
            .execute(self.conn())?;
            let id: PlacementId = self.fresh();
            diesel::insert_into(placements::table)
                .values((
                    (
                        placements::estate_id.eq(Db(estate)),
                        placements::id.eq(Db(id)),
                    ),
                    (
                        placements::unit_id.eq(Db(unit)),
                        placements::space_id.eq(Db(space)),
                    ),
                    (
                        placements::from_on.eq(from_on),
                        placements::until_on.eq(until_on),
                    ),
                    (
                        placements::recorded_at.eq(at),
                        placements::recorded_by.eq(Db(who)),
                        // What a list brought in still goes when the list is taken back.
                        placements::import_id.eq(import),
                    ),
                ))
                .execute(self.conn())?;
        }
        self.redate_serving((unit, space), was, from_on)
    }

    fn redate_serving(
        &mut self,
        (unit, space): (UnitId, SpaceId),
        was: Option<NaiveDate>,
        from_on: Option<NaiveDate>,
    ) -> Result<(), Error> {
        let (estate, at, who) = (self.estate(), self.at(), self.who());
        let served: Vec<(Uuid, Days, Option<Uuid>)> = serves::table
            .filter(
                serves::estate_id
                    .eq(Db(estate))
                    .and(serves::unit_id.eq(Db(unit)))
                    .and(serves::space_id.eq(Some(Db(space))))
                    .and(serves::superseded_at.is_null()),
            )
            .order(serves::id)
            .select((
                serves::id,
                (serves::from_on, serves::until_on),
                serves::import_id,
            ))
            .load(self.conn())?;
        for (row, (_, until_on), import) in served.into_iter().filter(|(_, days, _)| days.0 == was)
        {
            diesel::update(
                serves::table.filter(serves::estate_id.eq(Db(estate)).and(serves::id.eq(row))),
            )
            .set(serves::superseded_at.eq(at))
            .execute(self.conn())?;
            let id: Uuid = self.fresh();
            diesel::insert_into(serves::table)
                .values((
                    (serves::estate_id.eq(Db(estate)), serves::id.eq(id)),
                    (
                        serves::unit_id.eq(Db(unit)),
                        serves::space_id.eq(Some(Db(space))),
                    ),
                    (serves::from_on.eq(from_on), serves::until_on.eq(until_on)),
                    (
                        serves::recorded_at.eq(at),
                        serves::recorded_by.eq(Db(who)),
                        serves::import_id.eq(import),
                    ),
                ))
                .execute(self.conn())?;
        }
        Ok(())
    }
}
