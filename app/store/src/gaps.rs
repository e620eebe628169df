//! Who will find out what is not known of a building, and by when.
use chrono::{DateTime, NaiveDate, Utc};
use diesel::prelude::*;
use terms::{BuildingId, SpaceId};
use uuid::Uuid;

use crate::estate_schema::{buildings, gap_finders, spaces, ways_in};
use crate::{Db, Error, Tx};

/// Somebody finds out one thing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct GapFinder {
    /// Which gap, by its key.
    pub gap: String,
    /// Who, in words.
    pub who: String,
    /// By when.
    pub by_on: NaiveDate,
}

impl Tx<'_> {
    /// States who finds out what; who was to do it before stays on record.
    pub fn state_gap_finder(
        &mut self,
        building: BuildingId,
        finder: &GapFinder,
    ) -> Result<(), Error> {
        let (estate, at) = (self.estate(), self.at());
        diesel::update(
            gap_finders::table.filter(
                gap_finders::estate_id
                    .eq(Db(estate))
                    .and(gap_finders::building_id.eq(Db(building)))
                    .and(gap_finders::gap.eq(&finder.gap))
                    .and(gap_finders::superseded_at.is_null()),
            ),
        )
        .set(gap_finders::superseded_at.eq(at))
        .execute(self.conn())?;
        let id: Uuid = self.fresh();
        let row = (
            (
                gap_finders::estate_id.eq(Db(estate)),
                gap_finders::id.eq(id),
                gap_finders::building_id.eq(Db(building)),
            ),
            (
                gap_finders::gap.eq(&finder.gap),
                gap_finders::who.eq(&finder.who),
                gap_finders::by_on.eq(finder.by_on),
            ),
            (
                gap_finders::happened_on.eq(self.today()),
                gap_finders::recorded_at.eq(at),
                gap_finders::recorded_by.eq(Db(self.who())),
            ),
        );
        diesel::insert_into(gap_finders::table)
            .values(row)
            .execute(self.conn())?;
        Ok(())
    }

    /// Who finds out what of a building.
    pub fn gap_finders(&mut self, building: BuildingId) -> Result<Vec<GapFinder>, Error> {
        let estate = self.estate();
        let rows: Vec<(String, String, NaiveDate)> = gap_finders::table
            .filter(
                gap_finders::estate_id
                    .eq(Db(estate))
                    .and(gap_finders::building_id.eq(Db(building)))
                    .and(gap_finders::superseded_at.is_null()),
            )
            .order(gap_finders::gap)
            .select((gap_finders::gap, gap_finders::who, gap_finders::by_on))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|(gap, who, by_on)| GapFinder { gap, who, by_on })
            .collect())
    }

    /// The spaces of a building whose way in is stated, and whether their stop tap is.
    pub fn ways_stated(&mut self, building: BuildingId) -> Result<Vec<(SpaceId, bool)>, Error> {
        let estate = self.estate();
        let rows: Vec<(Db<SpaceId>, String)> = ways_in::table
            .inner_join(
                spaces::table.on(spaces::estate_id
                    .eq(ways_in::estate_id)
                    .and(spaces::id.eq(ways_in::space_id))),
            )
            .filter(
                ways_in::estate_id
                    .eq(Db(estate))
                    .and(spaces::building_id.eq(Db(building)))
                    .and(ways_in::superseded_at.is_null()),
            )
            .order(ways_in::space_id)
            .select((ways_in::space_id, ways_in::stop_tap))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|(space, tap)| (space.0, !tap.trim().is_empty()))
            .collect())
    }

    /// The day a building entered the register.
    pub fn taken_on(&mut self, building: BuildingId) -> Result<NaiveDate, Error> {
        let estate = self.estate();
        let at: DateTime<Utc> = buildings::table
            .filter(
                buildings::estate_id
                    .eq(Db(estate))
                    .and(buildings::id.eq(Db(building))),
            )
            .select(buildings::made_at)
            .first(self.conn())
            .optional()?
            .ok_or(Error::NotFound("building"))?;
        Ok(at.date_naive())
    }
}
