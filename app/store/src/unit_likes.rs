//! What units are alike in, from a day on: families of one build, and how their heating circuit is kept full.
use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, Utc};
use diesel::prelude::*;
use terms::{ImportId, LikeIn, UnitId};
use uuid::Uuid;

use crate::estate_schema::unit_likes;
use crate::imports::BATCH;
use crate::register::read_code;
use crate::{Db, Error, Tx};

/// One statement.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LikeRow {
    /// The unit.
    pub unit: UnitId,
    /// What it speaks of.
    pub what: LikeIn,
    /// The family's word, or the code of the system; empty: nobody knows any more.
    pub said: String,
    /// From this day on.
    pub from_on: NaiveDate,
}

impl Tx<'_> {
    /// States what a unit is alike in from a day on; what was stated for that day or later gives way and stays readable.
    pub fn state_like(&mut self, row: &LikeRow) -> Result<(), Error> {
        let (estate, at) = (self.estate(), self.at());
        diesel::update(
            unit_likes::table.filter(
                unit_likes::estate_id
                    .eq(Db(estate))
                    .and(unit_likes::unit_id.eq(Db(row.unit)))
                    .and(unit_likes::what.eq(row.what.code()))
                    .and(unit_likes::from_on.ge(row.from_on))
                    .and(unit_likes::superseded_at.is_null()),
            ),
        )
        .set(unit_likes::superseded_at.eq(at))
        .execute(self.conn())?;
        self.add_likes(std::slice::from_ref(row), None)
    }

    /// Adds statements beside those that stand, so that a list of them can be taken back.
    pub fn add_likes(&mut self, rows: &[LikeRow], import: Option<ImportId>) -> Result<(), Error> {
        let (estate, at, who) = (Db(self.estate()), self.at(), Db(self.who()));
        for batch in rows.chunks(BATCH) {
            let values: Vec<_> = batch
                .iter()
                .map(|row| {
                    (
                        (
                            unit_likes::estate_id.eq(estate),
                            unit_likes::id.eq(self.fresh::<Uuid>()),
                            unit_likes::unit_id.eq(Db(row.unit)),
                        ),
                        (
                            unit_likes::what.eq(row.what.code()),
                            unit_likes::said.eq(&row.said),
                            unit_likes::from_on.eq(row.from_on),
                            unit_likes::happened_on.eq(row.from_on),
                        ),
                        (
                            unit_likes::recorded_at.eq(at),
                            unit_likes::recorded_by.eq(who),
                            unit_likes::import_id.eq(import.map(Db)),
                        ),
                    )
                })
                .collect();
            diesel::insert_into(unit_likes::table)
                .values(values)
                .execute(self.conn())?;
        }
        Ok(())
    }

    /// What was stated of these units as known at `known_at`, by the day it begins; of every unit without any named.
    pub fn likes(
        &mut self,
        of: Option<&[UnitId]>,
        known_at: DateTime<Utc>,
    ) -> Result<BTreeMap<UnitId, Vec<LikeRow>>, Error> {
        let estate = self.estate();
        let mut query = unit_likes::table
            .filter(
                unit_likes::estate_id
                    .eq(Db(estate))
                    .and(unit_likes::recorded_at.le(known_at))
                    .and(
                        unit_likes::superseded_at
                            .is_null()
                            .or(unit_likes::superseded_at.gt(known_at)),
                    ),
            )
            .into_boxed();
        if let Some(of) = of {
            let ids: Vec<Uuid> = of.iter().map(|u| u.0).collect();
            query = query.filter(unit_likes::unit_id.eq_any(ids));
        }
        let rows: Vec<(Db<UnitId>, String, String, NaiveDate)> = query
            .order((unit_likes::from_on, unit_likes::recorded_at, unit_likes::id))
            .select((
                unit_likes::unit_id,
                unit_likes::what,
                unit_likes::said,
                unit_likes::from_on,
            ))
            .load(self.conn())?;
        let mut found: BTreeMap<UnitId, Vec<LikeRow>> = BTreeMap::new();
        for (unit, what, said, from_on) in rows {
            found.entry(unit.0).or_default().push(LikeRow {
                unit: unit.0,
                what: read_code(&what)?,
                said,
                from_on,
            });
        }
        Ok(found)
    }
}
