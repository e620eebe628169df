//! Who lives in a space, what they need, and how to get in. Apart from the rest: never in search words or logs.
use chrono::NaiveDate;
use diesel::prelude::*;
use terms::SpaceId;
use terms::place::Need;
use uuid::Uuid;

use crate::estate_schema::{needs, residents, ways_in};
use crate::{Db, Error, Tx};

/// How to reach a space and what to shut off there.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct WayIn {
    /// In words.
    pub how: String,
    /// Who opens.
    pub opens: String,
    /// Key or door code: shown only to the person booked, on the day, and each look is noted.
    pub code: String,
    /// Where the stop tap is.
    pub stop_tap: String,
    /// Where the isolation valves are.
    pub isolation: String,
    /// Where the meter is.
    pub meter: String,
}

impl Tx<'_> {
    /// Who lives in a space, with a telephone number; the latest.
    pub fn resident(&mut self, space: SpaceId) -> Result<Option<(String, String)>, Error> {
        let estate = self.estate();
        Ok(residents::table
            .filter(
                residents::estate_id
                    .eq(Db(estate))
                    .and(residents::space_id.eq(Db(space)))
                    .and(residents::until_on.is_null())
                    .and(residents::stripped_at.is_null()),
            )
            .order(residents::from_on.desc())
            .select((residents::name, residents::phone))
            .first(self.conn())
            .optional()?)
    }

    /// Adds a resident.
    pub fn add_resident(
        &mut self,
        space: SpaceId,
        name: &str,
        phone: &str,
        from_on: NaiveDate,
    ) -> Result<(), Error> {
        let id: Uuid = self.fresh();
        let row = (
            (
                residents::estate_id.eq(Db(self.estate())),
                residents::id.eq(id),
            ),
            (residents::space_id.eq(Db(space)), residents::name.eq(name)),
            (residents::phone.eq(phone), residents::from_on.eq(from_on)),
        );
        diesel::insert_into(residents::table)
            .values(row)
            .execute(self.conn())?;
        Ok(())
    }

    /// The needs in force of these spaces.
    pub fn needs_of(&mut self, of: &[SpaceId]) -> Result<Vec<Need>, Error> {
        let estate = self.estate();
        let ids: Vec<Uuid> = of.iter().map(|s| s.0).collect();
        let rows: Vec<(Db<SpaceId>, String, bool, NaiveDate)> = needs::table
            .filter(
                needs::estate_id
                    .eq(Db(estate))
                    .and(needs::space_id.eq_any(ids))
                    .and(needs::until_on.is_null()),
            )
            .select((
                needs::space_id,
                needs::need,
                needs::same_day,
                needs::from_on,
            ))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|(space, words, same_day, from_on)| Need {
                space: space.0,
                words,
                same_day,
                from_on,
            })
            .collect())
    }

    /// Adds a need.
    pub fn add_need(&mut self, need: &Need) -> Result<(), Error> {
        let id: Uuid = self.fresh();
        let row = (
            (needs::estate_id.eq(Db(self.estate())), needs::id.eq(id)),
            (
                needs::space_id.eq(Db(need.space)),
                needs::need.eq(&need.words),
            ),
            (
                needs::same_day.eq(need.same_day),
                needs::from_on.eq(need.from_on),
            ),
        );
        diesel::insert_into(needs::table)
            .values(row)
            .execute(self.conn())?;
        Ok(())
    }

    /// States how to reach a space.
    pub fn state_way_in(&mut self, space: SpaceId, way: &WayIn) -> Result<(), Error> {
        let (estate, at) = (self.estate(), self.at());
        diesel::update(
            ways_in::table.filter(
                ways_in::estate_id
                    .eq(Db(estate))
                    .and(ways_in::space_id.eq(Db(space)))
                    .and(ways_in::superseded_at.is_null()),
            ),
        )
        .set(ways_in::superseded_at.eq(at))
        .execute(self.conn())?;
        let id: Uuid = self.fresh();
        let row = (
            (ways_in::estate_id.eq(Db(estate)), ways_in::id.eq(id)),
            (ways_in::space_id.eq(Db(space)), ways_in::how.eq(&way.how)),
            (ways_in::opens.eq(&way.opens), ways_in::code.eq(&way.code)),
            (
                ways_in::stop_tap.eq(&way.stop_tap),
                ways_in::isolation.eq(&way.isolation),
            ),
            (
                ways_in::meter.eq(&way.meter),
                ways_in::happened_on.eq(self.today()),
            ),
            (
                ways_in::recorded_at.eq(at),
                ways_in::recorded_by.eq(Db(self.who())),
            ),
        );
        diesel::insert_into(ways_in::table)
            .values(row)
            .execute(self.conn())?;
        Ok(())
    }

    /// How to reach a space. The caller has checked who may see the code, and notes the look.
    pub fn way_in(&mut self, space: SpaceId) -> Result<Option<WayIn>, Error> {
        let estate = self.estate();
        let row: Option<(String, String, String, String, String, String)> = ways_in::table
            .filter(
                ways_in::estate_id
                    .eq(Db(estate))
                    .and(ways_in::space_id.eq(Db(space)))
                    .and(ways_in::superseded_at.is_null()),
            )
            .select((
                ways_in::how,
                ways_in::opens,
                ways_in::code,
                ways_in::stop_tap,
                ways_in::isolation,
                ways_in::meter,
            ))
            .first(self.conn())
            .optional()?;
        Ok(
            row.map(|(how, opens, code, stop_tap, isolation, meter)| WayIn {
                how,
                opens,
                code,
                stop_tap,
                isolation,
                meter,
            }),
        )
    }
}
