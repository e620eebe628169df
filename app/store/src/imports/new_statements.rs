//! What a list states of units, homes and record-keeping, many rows at once, so that it can be taken back.
use chrono::{DateTime, NaiveDate, Utc};
use diesel::prelude::*;
use terms::{ImportId, SpaceId};
use uuid::Uuid;

use super::BATCH;
use crate::estate_schema::{record_windows, space_facts};
use crate::record_windows::{RecordWindow, RecordsOf};
use crate::{Db, Error, Tx};

/// What is copied of a space's statement that is said anew.
#[derive(Queryable, Insertable, Clone)]
#[diesel(table_name = space_facts)]
struct SpaceRow {
    estate_id: Uuid,
    id: Uuid,
    space_id: Uuid,
    name: String,
    used_as: String,
    stair: Option<String>,
    let_short: Option<bool>,
    site: serde_json::Value,
    happened_on: NaiveDate,
    recorded_at: DateTime<Utc>,
    recorded_by: Uuid,
    superseded_at: Option<DateTime<Utc>>,
    import_id: Option<Uuid>,
}

impl Tx<'_> {
    /// Adds times of record-keeping beside those that stand.
    pub fn add_record_windows(
        &mut self,
        all: &[(RecordsOf, RecordWindow)],
        import: ImportId,
    ) -> Result<(), Error> {
        let (estate, at, who) = (Db(self.estate()), self.at(), Db(self.who()));
        let today = self.today();
        for batch in all.chunks(BATCH) {
            let values: Vec<_> = batch
                .iter()
                .map(|((building, unit), window)| {
                    (
                        (
                            record_windows::estate_id.eq(estate),
                            record_windows::id.eq(self.fresh::<Uuid>()),
                            record_windows::building_id.eq(Db(*building)),
                            record_windows::unit_id.eq(unit.map(Db)),
                        ),
                        (
                            record_windows::from_on.eq(window.from_on),
                            record_windows::until_on.eq(window.until_on),
                            record_windows::words.eq(&window.words),
                            record_windows::happened_on.eq(today),
                        ),
                        (
                            record_windows::recorded_at.eq(at),
                            record_windows::recorded_by.eq(who),
                            record_windows::import_id.eq(Some(Db(import))),
                        ),
                    )
                })
                .collect();
            diesel::insert_into(record_windows::table)
                .values(values)
                .execute(self.conn())?;
        }
        Ok(())
    }

    /// States one fact of many spaces' sites anew, from today on; all else that stood of them stands.
    pub fn restate_site_fact(
        &mut self,
        key: &str,
        said: &[(SpaceId, serde_json::Value)],
        import: ImportId,
    ) -> Result<(), Error> {
        let (estate, at, today) = (self.estate(), self.at(), self.today());
        for batch in said.chunks(BATCH) {
            let ids: Vec<Uuid> = batch.iter().map(|(space, _)| space.0).collect();
            let mut rows: Vec<SpaceRow> = space_facts::table
                .filter(
                    space_facts::estate_id
                        .eq(Db(estate))
                        .and(space_facts::space_id.eq_any(&ids))
                        .and(space_facts::superseded_at.is_null()),
                )
                .load(self.conn())?;
            diesel::update(
                space_facts::table.filter(
                    space_facts::estate_id
                        .eq(Db(estate))
                        .and(space_facts::space_id.eq_any(&ids))
                        .and(space_facts::superseded_at.is_null()),
                ),
            )
            .set(space_facts::superseded_at.eq(at))
            .execute(self.conn())?;
            for row in &mut rows {
                let new = batch.iter().find(|(space, _)| space.0 == row.space_id);
                if let (Some((_, value)), Some(site)) = (new, row.site.as_object_mut()) {
                    site.insert(key.to_owned(), value.clone());
                }
                row.happened_on = today;
                row.import_id = Some(import.0);
            }
            self.say_spaces_anew(rows)?;
        }
        Ok(())
    }

    /// The statements of spaces which a list gave way to, ready to be said anew; none of a space of which somebody has said
    /// something since.
    fn spaces_before(&mut self, import: ImportId) -> Result<Vec<SpaceRow>, Error> {
        let estate = self.estate();
        let written: Vec<(Uuid, DateTime<Utc>)> = space_facts::table
            .filter(
                space_facts::estate_id
                    .eq(Db(estate))
                    .and(space_facts::import_id.eq(Db(import)))
                    .and(space_facts::superseded_at.is_null()),
            )
            .select((space_facts::space_id, space_facts::recorded_at))
            .load(self.conn())?;
        let Some(when) = written.first().map(|w| w.1) else {
            return Ok(Vec::new());
        };
        let ids: Vec<Uuid> = written.iter().map(|w| w.0).collect();
        let mut before: Vec<SpaceRow> = Vec::new();
        for batch in ids.chunks(BATCH) {
            let rows: Vec<SpaceRow> = space_facts::table
                .filter(
                    space_facts::estate_id
                        .eq(Db(estate))
                        .and(space_facts::space_id.eq_any(batch))
                        .and(space_facts::superseded_at.eq(when)),
                )
                .load(self.conn())?;
            before.extend(rows);
        }
        Ok(before)
    }

    /// Spaces of which a list had stated something are again what they were before it; how many.
    pub(super) fn take_back_spaces(&mut self, import: ImportId) -> Result<usize, Error> {
        let before = self.spaces_before(import)?;
        let (estate, at) = (self.estate(), self.at());
        diesel::update(
            space_facts::table.filter(
                space_facts::estate_id
                    .eq(Db(estate))
                    .and(space_facts::import_id.eq(Db(import)))
                    .and(space_facts::superseded_at.is_null()),
            ),
        )
        .set(space_facts::superseded_at.eq(at))
        .execute(self.conn())?;
        let spaces = before.len();
        self.say_spaces_anew(before)?;
        Ok(spaces)
    }

    fn say_spaces_anew(&mut self, mut rows: Vec<SpaceRow>) -> Result<(), Error> {
        let (at, who) = (self.at(), self.who());
        for row in &mut rows {
            row.id = self.fresh();
            row.recorded_at = at;
            row.recorded_by = who.0;
            row.superseded_at = None;
        }
        for batch in rows.chunks(BATCH) {
            diesel::insert_into(space_facts::table)
                .values(batch)
                .execute(self.conn())?;
        }
        Ok(())
    }
}
