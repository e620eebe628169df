//! Taking a list back: every fact it wrote is superseded, what it had superseded is said anew.
use std::collections::BTreeSet;

use chrono::{DateTime, NaiveDate, Utc};
use diesel::prelude::*;
use terms::{ImportId, UnitId};
use uuid::Uuid;

use super::BATCH;
use crate::estate_schema::{
    branch_links, duties, duty_completions, failure_facts, part_facts, placements, record_windows,
    serves, services, space_facts, tenures, unit_facts, unit_likes,
};
use crate::{Db, Error, Tx};

/// What taking a list back did.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Undone {
    /// Units that left the register.
    pub units: usize,
    /// Units that are again what they were before.
    pub restored: usize,
    /// Failures, services and parts fitted that left it.
    pub events: usize,
    /// Checks and deadlines that left the records of duties.
    pub dates: usize,
    /// Statements that do not stand any more: times of records, who holds a home and how many live there, what units are
    /// alike in.
    pub statements: usize,
}

/// What is copied of a fact that is said anew.
#[derive(Queryable, Insertable, Clone)]
#[diesel(table_name = unit_facts)]
struct FactRow {
    estate_id: Uuid,
    id: Uuid,
    unit_id: Uuid,
    kind_code: String,
    serial: String,
    installed_from: Option<NaiveDate>,
    installed_until: Option<NaiveDate>,
    rated_kw: Option<f64>,
    litres: Option<f64>,
    filter_fitted: Option<bool>,
    reducer_fitted: Option<bool>,
    warranty_until: Option<NaiveDate>,
    watched_from: NaiveDate,
    fate: String,
    fate_on: Option<NaiveDate>,
    note: String,
    happened_on: NaiveDate,
    recorded_at: DateTime<Utc>,
    recorded_by: Uuid,
    superseded_at: Option<DateTime<Utc>>,
    import_id: Option<Uuid>,
}

macro_rules! standing {
    ($tx:expr, $table:ident, $import:expr) => {{
        let estate = $tx.estate();
        $table::table
            .filter(
                $table::estate_id
                    .eq(Db(estate))
                    .and($table::import_id.eq(Db($import)))
                    .and($table::superseded_at.is_null()),
            )
            .count()
            .get_result::<i64>($tx.conn())? as usize
    }};
}

macro_rules! supersede {
    ($tx:expr, $table:ident, $import:expr) => {{
        let (estate, at) = ($tx.estate(), $tx.at());
        diesel::update(
            $table::table.filter(
                $table::estate_id
                    .eq(Db(estate))
                    .and($table::import_id.eq(Db($import)))
                    .and($table::superseded_at.is_null()),
            ),
        )
        .set($table::superseded_at.eq(at))
        .execute($tx.conn())?
    }};
}

impl Tx<'_> {
    /// The units that came in new by a list and stand by it still.
    pub fn units_brought_by(&mut self, import: ImportId) -> Result<Vec<UnitId>, Error> {
        let estate = self.estate();
        let rows: Vec<Db<UnitId>> = placements::table
            .filter(
                placements::estate_id
                    .eq(Db(estate))
                    .and(placements::import_id.eq(Db(import)))
                    .and(placements::superseded_at.is_null()),
            )
            .select(placements::unit_id)
            .distinct()
            .load(self.conn())?;
        Ok(rows.into_iter().map(|id| id.0).collect())
    }

    /// What taking a list back would do now.
    pub fn undo_would(&mut self, import: ImportId) -> Result<Undone, Error> {
        let came = self.units_brought_by(import)?;
        let restored = self.facts_before(import, &came)?.len();
        let events = standing!(self, failure_facts, import)
            + standing!(self, services, import)
            + standing!(self, part_facts, import);
        let dates = standing!(self, duty_completions, import);
        let statements = standing!(self, record_windows, import)
            + standing!(self, tenures, import)
            + standing!(self, unit_likes, import)
            + standing!(self, space_facts, import);
        Ok(Undone {
            units: came.len(),
            restored,
            events,
            dates,
            statements,
        })
    }

    /// Supersedes every fact a list wrote; units it had only changed are again what they were, units it brought
    /// leave every list and their duties end today.
    pub fn undo_import(&mut self, import: ImportId) -> Result<Undone, Error> {
        let came = self.units_brought_by(import)?;
        let before = self.facts_before(import, &came)?;
        supersede!(self, unit_facts, import);
        supersede!(self, placements, import);
        supersede!(self, serves, import);
        let statements = supersede!(self, tenures, import)
            + supersede!(self, unit_likes, import)
            + supersede!(self, record_windows, import)
            + self.take_back_spaces(import)?;
        let events = supersede!(self, failure_facts, import)
            + supersede!(self, services, import)
            + supersede!(self, part_facts, import);
        let dates = supersede!(self, duty_completions, import);
        for batch in before.chunks(BATCH) {
            diesel::insert_into(unit_facts::table)
                .values(batch)
                .execute(self.conn())?;
        }
        let (estate, today) = (self.estate(), self.today());
        for batch in came.chunks(BATCH) {
            let ids: Vec<Uuid> = batch.iter().map(|id| id.0).collect();
            self.forget_unit_words(&ids)?;
            self.unlink(&ids)?;
            diesel::update(
                duties::table.filter(
                    duties::estate_id
                        .eq(Db(estate))
                        .and(duties::unit_id.eq_any(&ids))
                        .and(duties::ended_on.is_null()),
                ),
            )
            .set(duties::ended_on.eq(today))
            .execute(self.conn())?;
        }
        Ok(Undone {
            units: came.len(),
            restored: before.len(),
            events,
            dates,
            statements,
        })
    }

    /// Units that leave feed and serve nothing any more.
    fn unlink(&mut self, ids: &[Uuid]) -> Result<(), Error> {
        let (estate, at) = (self.estate(), self.at());
        diesel::update(
            branch_links::table.filter(
                branch_links::estate_id
                    .eq(Db(estate))
                    .and(branch_links::unit_id.eq_any(ids))
                    .and(branch_links::superseded_at.is_null()),
            ),
        )
        .set(branch_links::superseded_at.eq(at))
        .execute(self.conn())?;
        diesel::update(
            serves::table.filter(
                serves::estate_id
                    .eq(Db(estate))
                    .and(serves::unit_id.eq_any(ids))
                    .and(serves::superseded_at.is_null()),
            ),
        )
        .set(serves::superseded_at.eq(at))
        .execute(self.conn())?;
        Ok(())
    }

    /// For each unit the list only changed, and nobody changed since: what was known before it, ready to be said anew.
    fn facts_before(&mut self, import: ImportId, came: &[UnitId]) -> Result<Vec<FactRow>, Error> {
        let (estate, at, who) = (self.estate(), self.at(), self.who());
        let written: Vec<(Uuid, DateTime<Utc>)> = unit_facts::table
            .filter(
                unit_facts::estate_id
                    .eq(Db(estate))
                    .and(unit_facts::import_id.eq(Db(import)))
                    .and(unit_facts::superseded_at.is_null()),
            )
            .select((unit_facts::unit_id, unit_facts::recorded_at))
            .load(self.conn())?;
        let came: BTreeSet<Uuid> = came.iter().map(|id| id.0).collect();
        let changed: Vec<Uuid> = written
            .iter()
            .map(|w| w.0)
            .filter(|id| !came.contains(id))
            .collect();
        let Some(when) = written.first().map(|w| w.1) else {
            return Ok(Vec::new());
        };
        let mut before: Vec<FactRow> = Vec::new();
        for batch in changed.chunks(BATCH) {
            let rows: Vec<FactRow> = unit_facts::table
                .filter(
                    unit_facts::estate_id
                        .eq(Db(estate))
                        .and(unit_facts::unit_id.eq_any(batch))
                        .and(unit_facts::superseded_at.eq(when)),
                )
                .load(self.conn())?;
            before.extend(rows);
        }
        for row in &mut before {
            row.id = self.fresh();
            row.recorded_at = at;
            row.recorded_by = who.0;
            row.superseded_at = None;
        }
        Ok(before)
    }
}
