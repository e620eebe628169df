//! Which unit took the place of which: said when it was put there, whatever day is corrected later.
use chrono::NaiveDate;
use diesel::prelude::*;
use terms::UnitId;
use uuid::Uuid;

use crate::estate_schema::{swaps, units};
use crate::{Db, Error, Tx};

/// One unit put in the place of another.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Swap {
    /// The one that left, with its lasting number.
    pub old: (UnitId, String),
    /// The one that came.
    pub new: (UnitId, String),
    /// The day.
    pub on: NaiveDate,
}

impl Tx<'_> {
    /// `new` was put in the place of `old` on a day.
    pub fn add_swap(&mut self, (old, new): (UnitId, UnitId), on: NaiveDate) -> Result<(), Error> {
        let id: Uuid = self.fresh();
        let row = (
            (swaps::estate_id.eq(Db(self.estate())), swaps::id.eq(id)),
            (swaps::unit_id.eq(Db(old)), swaps::successor_id.eq(Db(new))),
            swaps::happened_on.eq(on),
            (
                swaps::recorded_at.eq(self.at()),
                swaps::recorded_by.eq(Db(self.who())),
            ),
        );
        diesel::insert_into(swaps::table)
            .values(row)
            .execute(self.conn())?;
        Ok(())
    }

    /// What a unit took the place of, and what took its place, the earliest first.
    pub fn swaps_of(&mut self, unit: UnitId) -> Result<Vec<Swap>, Error> {
        let estate = self.estate();
        let rows: Vec<(Db<UnitId>, Db<UnitId>, NaiveDate)> = swaps::table
            .filter(
                swaps::estate_id
                    .eq(Db(estate))
                    .and(
                        swaps::unit_id
                            .eq(Db(unit))
                            .or(swaps::successor_id.eq(Db(unit))),
                    )
                    .and(swaps::superseded_at.is_null()),
            )
            .order((swaps::happened_on, swaps::id))
            .select((swaps::unit_id, swaps::successor_id, swaps::happened_on))
            .load(self.conn())?;
        let ids: Vec<Uuid> = rows
            .iter()
            .flat_map(|(old, new, _)| [old.0.0, new.0.0])
            .collect();
        let numbers: Vec<(Db<UnitId>, String)> = units::table
            .filter(units::estate_id.eq(Db(estate)).and(units::id.eq_any(ids)))
            .select((units::id, units::number))
            .load(self.conn())?;
        let named = |id: UnitId| {
            let found = numbers.iter().find(|(known, _)| known.0 == id);
            (
                id,
                found.map_or_else(String::new, |(_, number)| number.clone()),
            )
        };
        Ok(rows
            .into_iter()
            .map(|(old, new, on)| Swap {
                old: named(old.0),
                new: named(new.0),
                on,
            })
            .collect())
    }
}
