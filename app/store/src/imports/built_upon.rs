//! What stands on a list that came in: facts from elsewhere about the units it brought, and corrections of what it said.
use std::collections::{BTreeMap, BTreeSet};

use diesel::prelude::*;
use terms::{ImportId, UnitId};
use uuid::Uuid;

use super::BATCH;
use crate::estate_schema::{
    failure_facts, failures, jobs, part_facts, parts, services, unit_facts,
};
use crate::{Db, Error, Tx};

/// What stands on a list, by unit, in words: "a correction", "a failure" …
pub type BuiltUpon = BTreeMap<UnitId, BTreeSet<&'static str>>;

/// The failures of an estate as they stand now.
macro_rules! failures_as_said {
    ($estate:expr) => {
        failures::table
            .inner_join(
                failure_facts::table.on(failure_facts::estate_id
                    .eq(failures::estate_id)
                    .and(failure_facts::failure_id.eq(failures::id))),
            )
            .filter(
                failures::estate_id
                    .eq(Db($estate))
                    .and(failure_facts::superseded_at.is_null()),
            )
    };
}

impl Tx<'_> {
    /// Of the units that came in new by a list, those that have had work, history or corrections from elsewhere since,
    /// and those whose history of this list was corrected since: what came in cannot leave without taking that with it.
    pub fn built_upon(&mut self, import: ImportId) -> Result<BuiltUpon, Error> {
        let mut found = BuiltUpon::new();
        let came = self.units_brought_by(import)?;
        for batch in came.chunks(BATCH) {
            let ids: Vec<Uuid> = batch.iter().map(|id| id.0).collect();
            let corrected = self.corrected_units(&ids, import)?;
            add(&mut found, corrected, "a correction");
            let failed = self.failed_units(&ids)?;
            add(&mut found, failed, "a failure");
            let served = self.served_units(&ids)?;
            add(&mut found, served, "a service, check or repair");
            let fitted = self.fitted_units(&ids)?;
            add(&mut found, fitted, "a part fitted");
            let worked = self.worked_units(&ids)?;
            add(&mut found, worked, "a job");
            let checked = self.checked_units(&ids, import)?;
            add(&mut found, checked, "a check on its duty's record");
        }
        let corrected = self.corrected_failures(import)?;
        add(&mut found, corrected, "a correction of a failure");
        Ok(found)
    }

    fn corrected_units(&mut self, ids: &[Uuid], import: ImportId) -> Result<Vec<Uuid>, Error> {
        let estate = self.estate();
        Ok(unit_facts::table
            .filter(
                unit_facts::estate_id
                    .eq(Db(estate))
                    .and(unit_facts::unit_id.eq_any(ids))
                    .and(unit_facts::superseded_at.is_null())
                    .and(unit_facts::import_id.is_distinct_from(Db(import))),
            )
            .select(unit_facts::unit_id)
            .load(self.conn())?)
    }

    fn failed_units(&mut self, ids: &[Uuid]) -> Result<Vec<Uuid>, Error> {
        let estate = self.estate();
        Ok(failures_as_said!(estate)
            .filter(failures::unit_id.eq_any(ids))
            .select(failures::unit_id)
            .load(self.conn())?)
    }

    fn served_units(&mut self, ids: &[Uuid]) -> Result<Vec<Uuid>, Error> {
        let estate = self.estate();
        Ok(services::table
            .filter(
                services::estate_id
                    .eq(Db(estate))
                    .and(services::unit_id.eq_any(ids))
                    .and(services::superseded_at.is_null()),
            )
            .select(services::unit_id)
            .load(self.conn())?)
    }

    fn fitted_units(&mut self, ids: &[Uuid]) -> Result<Vec<Uuid>, Error> {
        let estate = self.estate();
        Ok(parts::table
            .inner_join(
                part_facts::table.on(part_facts::estate_id
                    .eq(parts::estate_id)
                    .and(part_facts::part_id.eq(parts::id))),
            )
            .filter(
                parts::estate_id
                    .eq(Db(estate))
                    .and(parts::unit_id.eq_any(ids))
                    .and(part_facts::superseded_at.is_null()),
            )
            .select(parts::unit_id)
            .load(self.conn())?)
    }

    fn worked_units(&mut self, ids: &[Uuid]) -> Result<Vec<Uuid>, Error> {
        let estate = self.estate();
        let worked: Vec<Option<Uuid>> = jobs::table
            .filter(
                jobs::estate_id
                    .eq(Db(estate))
                    .and(jobs::unit_id.eq_any(ids))
                    .and(jobs::state.ne("stood_down")),
            )
            .select(jobs::unit_id)
            .load(self.conn())?;
        Ok(worked.into_iter().flatten().collect())
    }

    /// Units with a failure of this list that somebody has said anew since.
    fn corrected_failures(&mut self, import: ImportId) -> Result<Vec<Uuid>, Error> {
        let estate = self.estate();
        let said: Vec<Uuid> = failure_facts::table
            .filter(
                failure_facts::estate_id
                    .eq(Db(estate))
                    .and(failure_facts::import_id.eq(Db(import)))
                    .and(failure_facts::superseded_at.is_not_null()),
            )
            .select(failure_facts::failure_id)
            .load(self.conn())?;
        let mut units = Vec::new();
        for batch in said.chunks(BATCH) {
            let again: Vec<Uuid> = failures_as_said!(estate)
                .filter(failures::id.eq_any(batch))
                .select(failures::unit_id)
                .load(self.conn())?;
            units.extend(again);
        }
        Ok(units)
    }
}

fn add(found: &mut BuiltUpon, units: Vec<Uuid>, what: &'static str) {
    for unit in units {
        found.entry(UnitId(unit)).or_default().insert(what);
    }
}
