//! The times in which failures were written down, as stated of a building or of one unit.
use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, Utc};
use diesel::prelude::*;
use serde::{Deserialize, Serialize};
use terms::{BuildingId, FactId, UnitId};

use crate::estate_schema::record_windows;
use crate::{Db, Error, Tx};

/// One stretch of record-keeping.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct RecordWindow {
    /// First day.
    pub from_on: NaiveDate,
    /// Last day; `None`: records are kept still.
    pub until_on: Option<NaiveDate>,
    /// Where they are, in words.
    pub words: String,
}

/// What the times are stated of: a building, or one unit in it.
pub type RecordsOf = (BuildingId, Option<UnitId>);

impl Tx<'_> {
    /// States the times anew: those stated before of the same are superseded; none at all takes them back.
    pub fn state_record_windows(
        &mut self,
        (building, unit): RecordsOf,
        windows: &[RecordWindow],
    ) -> Result<(), Error> {
        let (estate, at) = (self.estate(), self.at());
        let standing = record_windows::estate_id
            .eq(Db(estate))
            .and(record_windows::superseded_at.is_null());
        let superseded = record_windows::superseded_at.eq(at);
        match unit {
            Some(unit) => diesel::update(
                record_windows::table.filter(standing.and(record_windows::unit_id.eq(Db(unit)))),
            )
            .set(superseded)
            .execute(self.conn())?,
            None => diesel::update(
                record_windows::table.filter(
                    standing
                        .and(record_windows::building_id.eq(Db(building)))
                        .and(record_windows::unit_id.is_null()),
                ),
            )
            .set(superseded)
            .execute(self.conn())?,
        };
        for window in windows {
            let id: FactId = self.fresh();
            let row = (
                (
                    record_windows::estate_id.eq(Db(estate)),
                    record_windows::id.eq(Db(id)),
                ),
                (
                    record_windows::building_id.eq(Db(building)),
                    record_windows::unit_id.eq(unit.map(Db)),
                ),
                (
                    record_windows::from_on.eq(window.from_on),
                    record_windows::until_on.eq(window.until_on),
                    record_windows::words.eq(&window.words),
                ),
                (
                    record_windows::happened_on.eq(self.today()),
                    record_windows::recorded_at.eq(at),
                    record_windows::recorded_by.eq(Db(self.who())),
                ),
            );
            diesel::insert_into(record_windows::table)
                .values(row)
                .execute(self.conn())?;
        }
        Ok(())
    }

    /// All times stated, as known at `known_at`, the earliest first.
    pub fn record_windows(
        &mut self,
        known_at: DateTime<Utc>,
    ) -> Result<BTreeMap<RecordsOf, Vec<RecordWindow>>, Error> {
        let estate = self.estate();
        type Row = (
            (Db<BuildingId>, Option<Db<UnitId>>),
            (NaiveDate, Option<NaiveDate>, String),
        );
        let rows: Vec<Row> = record_windows::table
            .filter(
                record_windows::estate_id
                    .eq(Db(estate))
                    .and(record_windows::recorded_at.le(known_at))
                    .and(
                        record_windows::superseded_at
                            .is_null()
                            .or(record_windows::superseded_at.gt(known_at)),
                    ),
            )
            .order((record_windows::from_on, record_windows::id))
            .select((
                (record_windows::building_id, record_windows::unit_id),
                (
                    record_windows::from_on,
                    record_windows::until_on,
                    record_windows::words,
                ),
            ))
            .load(self.conn())?;
        let mut found: BTreeMap<RecordsOf, Vec<RecordWindow>> = BTreeMap::new();
        for ((building, unit), (from_on, until_on, words)) in rows {
            let of = (building.0, unit.map(|u| u.0));
            found.entry(of).or_default().push(RecordWindow {
                from_on,
                until_on,
                words,
            });
        }
        Ok(found)
    }
}
