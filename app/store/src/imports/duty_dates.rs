//! Dates of duties that a list brings: what the register holds of them beforehand, the rows it writes, and which duties a
//! list that is taken back has touched.
use chrono::NaiveDate;
use diesel::prelude::*;
use terms::{DutyId, ImportId, UnitId};
use uuid::Uuid;

use super::BATCH;
use crate::duties::Completion;
use crate::estate_schema::{duties, duty_completions};
use crate::{Db, Error, Tx};

/// One standing row of a unit's duty, as far as a list is held against it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DutyDay {
    /// The unit.
    pub unit: UnitId,
    /// The rule's code.
    pub rule: String,
    /// The day of the check; `None`: a deadline stated without one.
    pub done_on: Option<NaiveDate>,
    /// It was a whole check.
    pub check_complete: bool,
    /// The day its facts hold from.
    pub happened_on: NaiveDate,
    /// The deadline it leaves.
    pub next_deadline: Option<NaiveDate>,
}

type DayRow = (
    Option<Db<UnitId>>,
    String,
    Option<NaiveDate>,
    bool,
    NaiveDate,
    Option<NaiveDate>,
);

/// The rows of duties' records in an estate, each beside its duty: what a list does to them is asked of these alone.
macro_rules! beside_duties {
    ($estate:expr) => {
        duty_completions::table
            .inner_join(
                duties::table.on(duties::estate_id
                    .eq(duty_completions::estate_id)
                    .and(duties::id.eq(duty_completions::duty_id))),
            )
            .filter(duty_completions::estate_id.eq(Db($estate)))
    };
}

impl Tx<'_> {
    /// Every standing row of the duties of these units, each duty's oldest first.
    pub fn duty_days(&mut self, of: &[UnitId]) -> Result<Vec<DutyDay>, Error> {
        let mut found = Vec::new();
        for batch in of.chunks(BATCH) {
            let ids: Vec<Uuid> = batch.iter().map(|id| id.0).collect();
            found.extend(self.some_duty_days(&ids)?);
        }
        Ok(found)
    }

    fn some_duty_days(&mut self, ids: &[Uuid]) -> Result<Vec<DutyDay>, Error> {
        let estate = self.estate();
        let rows: Vec<DayRow> = beside_duties!(estate)
            .filter(
                duty_completions::superseded_at
                    .is_null()
                    .and(duties::unit_id.eq_any(ids)),
            )
            .order((
                duty_completions::duty_id,
                duty_completions::happened_on,
                duty_completions::done_on.asc().nulls_first(),
                duty_completions::check_complete,
                duty_completions::id,
            ))
            .select((
                duties::unit_id,
                duties::rule_code,
                duty_completions::done_on,
                duty_completions::check_complete,
                duty_completions::happened_on,
                duty_completions::next_deadline,
            ))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .filter_map(|row| {
                Some(DutyDay {
                    unit: row.0?.0,
                    rule: row.1,
                    done_on: row.2,
                    check_complete: row.3,
                    happened_on: row.4,
                    next_deadline: row.5,
                })
            })
            .collect())
    }

    /// Adds many rows to the records of duties; ids and the `recorded_…` fields are made here.
    pub fn add_completions(&mut self, rows: &[Completion]) -> Result<(), Error> {
        let (estate, at, who) = (Db(self.estate()), self.at(), Db(self.who()));
        for batch in rows.chunks(BATCH) {
            let values: Vec<_> = batch
                .iter()
                .map(|row| {
                    (
                        (
                            duty_completions::estate_id.eq(estate),
                            duty_completions::id.eq(self.fresh::<Uuid>()),
                            duty_completions::duty_id.eq(Db(row.duty)),
                        ),
                        (
                            duty_completions::done_on.eq(row.done_on),
                            duty_completions::check_complete.eq(row.check_complete),
                            duty_completions::result.eq(&row.result),
                        ),
                        (
                            duty_completions::treated_as.eq(row.treated_as),
                            duty_completions::days_late.eq(row.days_late),
                            duty_completions::next_deadline.eq(row.next_deadline),
                        ),
                        (
                            duty_completions::reason.eq(&row.reason),
                            duty_completions::job_id.eq(row.job.map(Db)),
                            duty_completions::evidence.eq(&row.evidence),
                        ),
                        (
                            duty_completions::happened_on.eq(row.happened_on),
                            duty_completions::recorded_at.eq(at),
                            duty_completions::recorded_by.eq(who),
                        ),
                        (
                            duty_completions::import_id.eq(row.import.map(Db)),
                            duty_completions::measured_k.eq(row.measured_k),
                        ),
                    )
                })
                .collect();
            diesel::insert_into(duty_completions::table)
                .values(values)
                .execute(self.conn())?;
        }
        Ok(())
    }

    /// The duties whose record holds rows of a list, and those that were opened in the same step as such a row.
    pub fn duties_dated_by(
        &mut self,
        import: ImportId,
    ) -> Result<(Vec<DutyId>, Vec<DutyId>), Error> {
        let estate = self.estate();
        let dated: Vec<Db<DutyId>> = beside_duties!(estate)
            .filter(
                duty_completions::import_id
                    .eq(Db(import))
                    .and(duty_completions::superseded_at.is_null()),
            )
            .select(duty_completions::duty_id)
            .distinct()
            .load(self.conn())?;
        let opened: Vec<Db<DutyId>> = beside_duties!(estate)
            .filter(
                duty_completions::import_id
                    .eq(Db(import))
                    .and(duties::ended_on.is_null())
                    .and(duties::made_at.eq(duty_completions::recorded_at)),
            )
            .select(duty_completions::duty_id)
            .distinct()
            .load(self.conn())?;
        let plain = |ids: Vec<Db<DutyId>>| ids.into_iter().map(|id| id.0).collect();
        Ok((plain(dated), plain(opened)))
    }

    /// Of these units, those on whose duties somebody has recorded a check since a list came in.
    pub(super) fn checked_units(
        &mut self,
        ids: &[Uuid],
        import: ImportId,
    ) -> Result<Vec<Uuid>, Error> {
        let estate = self.estate();
        let checked: Vec<Option<Uuid>> = beside_duties!(estate)
            .filter(
                duties::unit_id
                    .eq_any(ids)
                    .and(duty_completions::done_on.is_not_null())
                    .and(duty_completions::superseded_at.is_null())
                    .and(duty_completions::import_id.is_distinct_from(Db(import))),
            )
            .select(duties::unit_id)
            .load(self.conn())?;
        Ok(checked.into_iter().flatten().collect())
    }
}
