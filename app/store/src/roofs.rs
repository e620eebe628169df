//! The shape of a building's top, for its section.
use diesel::prelude::*;
use terms::BuildingId;
use uuid::Uuid;

use crate::estate_schema::building_roofs;
use crate::{Db, Error, Tx};

impl Tx<'_> {
    /// States the shape of the top: "flat", "pitched" or "sheds".
    pub fn state_roof(&mut self, building: BuildingId, roof: &str) -> Result<(), Error> {
        let (estate, at) = (self.estate(), self.at());
        diesel::update(
            building_roofs::table.filter(
                building_roofs::estate_id
                    .eq(Db(estate))
                    .and(building_roofs::building_id.eq(Db(building)))
                    .and(building_roofs::superseded_at.is_null()),
            ),
        )
        .set(building_roofs::superseded_at.eq(at))
        .execute(self.conn())?;
        let id: Uuid = self.fresh();
        let row = (
            (
                building_roofs::estate_id.eq(Db(estate)),
                building_roofs::id.eq(id),
                building_roofs::building_id.eq(Db(building)),
            ),
            building_roofs::roof.eq(roof),
            (
                building_roofs::happened_on.eq(self.today()),
                building_roofs::recorded_at.eq(at),
                building_roofs::recorded_by.eq(Db(self.who())),
            ),
        );
        diesel::insert_into(building_roofs::table)
            .values(row)
            .execute(self.conn())?;
        Ok(())
    }

    /// The shape of the top as stated; `None` when nobody did.
    pub fn roof(&mut self, building: BuildingId) -> Result<Option<String>, Error> {
        let estate = self.estate();
        Ok(building_roofs::table
            .filter(
                building_roofs::estate_id
                    .eq(Db(estate))
                    .and(building_roofs::building_id.eq(Db(building)))
                    .and(building_roofs::superseded_at.is_null()),
            )
            .select(building_roofs::roof)
            .first(self.conn())
            .optional()?)
    }
}
