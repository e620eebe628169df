//! Who holds a home, from a day on. Of the rows begun by a day the latest speaks; none stands for "not known".
use std::collections::BTreeMap;

use chrono::NaiveDate;
use diesel::prelude::*;
use terms::{ImportId, SpaceId, Tenure};
use uuid::Uuid;

use crate::estate_schema::tenures;
use crate::register::read_code;
use crate::{Db, Error, Tx};

/// One statement.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TenureRow {
    /// The home.
    pub space: SpaceId,
    /// How it is held.
    pub tenure: Tenure,
    /// From this day on.
    pub from_on: NaiveDate,
}

impl Tx<'_> {
    /// States how a home is held from a day on; what was stated for that very day gives way and stays readable. What a
    /// list states stands beside it, so that the list can be taken back.
    pub fn state_tenure(&mut self, row: &TenureRow, import: Option<ImportId>) -> Result<(), Error> {
        let (estate, at) = (self.estate(), self.at());
        if import.is_none() {
            diesel::update(
                tenures::table.filter(
                    tenures::estate_id
                        .eq(Db(estate))
                        .and(tenures::space_id.eq(Db(row.space)))
                        .and(tenures::from_on.eq(row.from_on))
                        .and(tenures::superseded_at.is_null()),
                ),
            )
            .set(tenures::superseded_at.eq(at))
            .execute(self.conn())?;
        }
        let id: Uuid = self.fresh();
        let values = (
            (
                tenures::estate_id.eq(Db(estate)),
                tenures::id.eq(id),
                tenures::space_id.eq(Db(row.space)),
            ),
            (
                tenures::tenure.eq(row.tenure.code()),
                tenures::from_on.eq(row.from_on),
                tenures::happened_on.eq(row.from_on),
            ),
            (
                tenures::recorded_at.eq(at),
                tenures::recorded_by.eq(Db(self.who())),
                tenures::import_id.eq(import.map(Db)),
            ),
        );
        diesel::insert_into(tenures::table)
            .values(values)
            .execute(self.conn())?;
        Ok(())
    }

    /// What was stated of these homes, by the day it begins; of every home of the estate without any named.
    pub fn tenures_of(&mut self, of: &[SpaceId]) -> Result<Vec<TenureRow>, Error> {
        let estate = self.estate();
        let mut query = tenures::table
            .filter(
                tenures::estate_id
                    .eq(Db(estate))
                    .and(tenures::superseded_at.is_null()),
            )
            .into_boxed();
        if !of.is_empty() {
            let ids: Vec<Uuid> = of.iter().map(|s| s.0).collect();
            query = query.filter(tenures::space_id.eq_any(ids));
        }
        let rows: Vec<(Db<SpaceId>, String, NaiveDate)> = query
            .order((tenures::from_on, tenures::recorded_at, tenures::id))
            .select((tenures::space_id, tenures::tenure, tenures::from_on))
            .load(self.conn())?;
        rows.into_iter()
            .map(|(space, tenure, from_on)| {
                Ok(TenureRow {
                    space: space.0,
                    tenure: read_code(&tenure)?,
                    from_on,
                })
            })
            .collect()
    }

    /// How a home was held on a day: [`Tenure::Unknown`] where nothing was stated.
    pub fn tenure_on(&mut self, space: SpaceId, day: NaiveDate) -> Result<Tenure, Error> {
        Ok(self
            .tenures_of(&[space])?
            .into_iter()
            .rfind(|row| row.from_on <= day)
            .map_or(Tenure::Unknown, |row| row.tenure))
    }

    /// How every home of the estate was held on a day; one of which nothing was stated is not among them.
    pub fn tenures_on(&mut self, day: NaiveDate) -> Result<BTreeMap<SpaceId, Tenure>, Error> {
        Ok(self
            .tenures_of(&[])?
            .into_iter()
            .filter(|row| row.from_on <= day)
            .map(|row| (row.space, row.tenure))
            .collect())
    }
}
