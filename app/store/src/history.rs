//! What happened to units: failures, parts fitted, services, readings. Rows are added and superseded.
use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, Utc};
use diesel::prelude::*;
use terms::unit::{FailureRecord, PartFitted, Reading, ServiceRecord};
use terms::{FailureId, ImportId, JobId, PartId, Pence, UnitId, VisitId};
use uuid::Uuid;

use crate::estate_schema::{failure_facts, failures, part_facts, parts, readings, services};
use crate::{Db, Error, Tx};

/// The history of one unit, each list oldest first.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct History {
    /// Failures, before repeat visits are merged.
    pub failures: Vec<FailureRecord>,
    /// Parts fitted since the unit was.
    pub parts: Vec<PartFitted>,
    /// Services, checks and repairs with their cost.
    pub services: Vec<ServiceRecord>,
}

impl Tx<'_> {
    /// Records a failure; `record.id` and `record.recorded_at` are not used.
    pub fn add_failure(
        &mut self,
        record: &FailureRecord,
        import: Option<ImportId>,
    ) -> Result<FailureId, Error> {
        let id: FailureId = self.fresh();
        let row = (
            (
                failures::estate_id.eq(Db(self.estate())),
                failures::id.eq(Db(id)),
            ),
            (
                failures::unit_id.eq(Db(record.unit)),
                failures::made_at.eq(self.at()),
            ),
        );
        diesel::insert_into(failures::table)
            .values(row)
            .execute(self.conn())?;
        let fact: Uuid = self.fresh();
        let row = (
            (
                failure_facts::estate_id.eq(Db(self.estate())),
                failure_facts::id.eq(fact),
            ),
            (
                failure_facts::failure_id.eq(Db(id)),
                failure_facts::part_code.eq(&record.part),
            ),
            failure_facts::function_lost.eq(&record.function_lost),
            failure_facts::found_at_service.eq(record.found_at_service),
            failure_facts::no_fault_found.eq(record.no_fault_found),
            failure_facts::cost_pence.eq(record.cost.map(|c| c.0)),
            failure_facts::job_id.eq(record.job.map(Db)),
            (
                failure_facts::same_as.eq(&record.same_as),
                failure_facts::words.eq(&record.words),
            ),
            failure_facts::happened_on.eq(record.happened_on),
            failure_facts::happened_until.eq(record.happened_until),
            (
                failure_facts::recorded_at.eq(self.at()),
                failure_facts::recorded_by.eq(Db(self.who())),
            ),
            failure_facts::import_id.eq(import.map(Db)),
        );
        diesel::insert_into(failure_facts::table)
            .values(row)
            .execute(self.conn())?;
        Ok(id)
    }

    /// Records that a part was fitted: its clock restarts.
    pub fn add_part_fitted(
        &mut self,
        fitted: &PartFitted,
        words: &str,
        import: Option<ImportId>,
    ) -> Result<(), Error> {
        let estate = self.estate();
        let there: Option<Db<PartId>> = parts::table
            .filter(
                parts::estate_id
                    .eq(Db(estate))
                    .and(parts::unit_id.eq(Db(fitted.unit)))
                    .and(parts::part_code.eq(&fitted.part)),
            )
            .select(parts::id)
            .first(self.conn())
            .optional()?;
        let part = if let Some(Db(id)) = there {
            id
        } else {
            let id: PartId = self.fresh();
            let row = (
                (parts::estate_id.eq(Db(estate)), parts::id.eq(Db(id))),
                (
                    parts::unit_id.eq(Db(fitted.unit)),
                    parts::part_code.eq(&fitted.part),
                ),
                parts::made_at.eq(self.at()),
            );
            diesel::insert_into(parts::table)
                .values(row)
                .execute(self.conn())?;
            id
        };
        let fact: Uuid = self.fresh();
        let row = (
            (
                part_facts::estate_id.eq(Db(estate)),
                part_facts::id.eq(fact),
            ),
            (
                part_facts::part_id.eq(Db(part)),
                part_facts::fitted_on.eq(fitted.fitted_on),
            ),
            (
                part_facts::job_id.eq(fitted.job.map(Db)),
                part_facts::planned.eq(fitted.planned),
            ),
            (
                part_facts::words.eq(words),
                part_facts::happened_on.eq(fitted.fitted_on),
            ),
            (
                part_facts::recorded_at.eq(self.at()),
                part_facts::recorded_by.eq(Db(self.who())),
            ),
            part_facts::import_id.eq(import.map(Db)),
        );
        diesel::insert_into(part_facts::table)
            .values(row)
            .execute(self.conn())?;
        Ok(())
    }

    /// Records work that was not a failure.
    pub fn add_service(
        &mut self,
        record: &ServiceRecord,
        import: Option<ImportId>,
    ) -> Result<(), Error> {
        let id: Uuid = self.fresh();
        let row = (
            (
                services::estate_id.eq(Db(self.estate())),
                services::id.eq(id),
            ),
            (
                services::unit_id.eq(Db(record.unit)),
                services::job_id.eq(record.job.map(Db)),
            ),
            (
                services::what.eq(&record.what),
                services::cost_pence.eq(record.cost.map(|c| c.0)),
            ),
            (
                services::words.eq(&record.words),
                services::happened_on.eq(record.happened_on),
            ),
            (
                services::recorded_at.eq(self.at()),
                services::recorded_by.eq(Db(self.who())),
            ),
            services::import_id.eq(import.map(Db)),
        );
        diesel::insert_into(services::table)
            .values(row)
            .execute(self.conn())?;
        Ok(())
    }

    /// Records a reading.
    pub fn add_reading(
        &mut self,
        reading: &Reading,
        visit: Option<VisitId>,
        import: Option<ImportId>,
    ) -> Result<(), Error> {
        let id: Uuid = self.fresh();
        let row = (
            (
                readings::estate_id.eq(Db(self.estate())),
                readings::id.eq(id),
            ),
            (
                readings::unit_id.eq(Db(reading.unit)),
                readings::visit_id.eq(visit.map(Db)),
            ),
            (
                readings::code.eq(&reading.code),
                readings::value.eq(reading.value),
            ),
            (
                readings::words.eq(&reading.words),
                readings::measured_in.eq(&reading.measured_in),
            ),
            (
                readings::place.eq(&reading.place),
                readings::conditions.eq(&reading.conditions),
            ),
            (
                readings::stage.eq(&reading.stage),
                readings::instrument.eq(&reading.instrument),
            ),
            readings::calibrated_until.eq(reading.calibrated_until),
            (
                readings::taken_at.eq(reading.taken_at),
                readings::happened_on.eq(reading.taken_at.date_naive()),
            ),
            (
                readings::recorded_at.eq(self.at()),
                readings::recorded_by.eq(Db(self.who())),
            ),
            readings::import_id.eq(import.map(Db)),
        );
        diesel::insert_into(readings::table)
            .values(row)
            .execute(self.conn())?;
        Ok(())
    }

    /// The histories of these units as known at `known_at` (now: the transaction's instant).
    pub fn histories(
        &mut self,
        of: &[UnitId],
        known_at: DateTime<Utc>,
    ) -> Result<BTreeMap<UnitId, History>, Error> {
        let mut found: BTreeMap<UnitId, History> =
            of.iter().map(|id| (*id, History::default())).collect();
        for chunk in of.chunks(5000) {
            let ids: Vec<Uuid> = chunk.iter().map(|id| id.0).collect();
            for record in self.failures_of(&ids, known_at)? {
                found.entry(record.unit).or_default().failures.push(record);
            }
            for fitted in self.parts_of(&ids, known_at)? {
                found.entry(fitted.unit).or_default().parts.push(fitted);
            }
            for record in self.services_of(&ids, known_at)? {
                found.entry(record.unit).or_default().services.push(record);
            }
        }
        Ok(found)
    }

    /// The history of one unit as known now.
    pub fn history(&mut self, unit: UnitId) -> Result<History, Error> {
        let at = self.at();
        Ok(self
            .histories(&[unit], at)?
            .remove(&unit)
            .unwrap_or_default())
    }

    fn failures_of(
        &mut self,
        ids: &[Uuid],
        known_at: DateTime<Utc>,
    ) -> Result<Vec<FailureRecord>, Error> {
        let estate = self.estate();
        type Row = (
            (Db<FailureId>, Db<UnitId>, Option<String>, Option<String>),
            (NaiveDate, Option<NaiveDate>, bool, bool),
            (
                Option<i64>,
                Option<Db<JobId>>,
                String,
                String,
                DateTime<Utc>,
            ),
        );
        let rows: Vec<Row> = failures::table
            .inner_join(
                failure_facts::table.on(failure_facts::estate_id
                    .eq(failures::estate_id)
                    .and(failure_facts::failure_id.eq(failures::id))),
            )
            .filter(
                failures::estate_id
                    .eq(Db(estate))
                    .and(failures::unit_id.eq_any(ids))
                    .and(failure_facts::recorded_at.le(known_at))
                    .and(
                        failure_facts::superseded_at
                            .is_null()
                            .or(failure_facts::superseded_at.gt(known_at)),
                    ),
            )
            .order((failure_facts::happened_on, failures::id))
            .select((
                (
                    failures::id,
                    failures::unit_id,
                    failure_facts::part_code,
                    failure_facts::function_lost,
                ),
                (
                    failure_facts::happened_on,
                    failure_facts::happened_until,
                    failure_facts::found_at_service,
                    failure_facts::no_fault_found,
                ),
                (
                    failure_facts::cost_pence,
                    failure_facts::job_id,
                    failure_facts::same_as,
                    failure_facts::words,
                    failure_facts::recorded_at,
                ),
            ))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|(a, b, c)| FailureRecord {
                id: a.0.0,
                unit: a.1.0,
                part: a.2,
                function_lost: a.3,
                happened_on: b.0,
                happened_until: b.1,
                found_at_service: b.2,
                no_fault_found: b.3,
                cost: c.0.map(Pence),
                job: c.1.map(|j| j.0),
                same_as: c.2,
                words: c.3,
                recorded_at: c.4,
            })
            .collect())
    }

    fn parts_of(
        &mut self,
        ids: &[Uuid],
        known_at: DateTime<Utc>,
    ) -> Result<Vec<PartFitted>, Error> {
        let estate = self.estate();
        let rows: Vec<(Db<UnitId>, String, NaiveDate, bool, Option<Db<JobId>>)> = parts::table
            .inner_join(
                part_facts::table.on(part_facts::estate_id
                    .eq(parts::estate_id)
                    .and(part_facts::part_id.eq(parts::id))),
            )
            .filter(
                parts::estate_id
                    .eq(Db(estate))
                    .and(parts::unit_id.eq_any(ids))
                    .and(part_facts::recorded_at.le(known_at))
                    .and(
                        part_facts::superseded_at
                            .is_null()
                            .or(part_facts::superseded_at.gt(known_at)),
                    ),
            )
            .order((part_facts::fitted_on, part_facts::id))
            .select((
                parts::unit_id,
                parts::part_code,
                part_facts::fitted_on,
                part_facts::planned,
                part_facts::job_id,
            ))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|(unit, part, fitted_on, planned, job)| PartFitted {
                unit: unit.0,
                part,
                fitted_on,
                planned,
                job: job.map(|j| j.0),
            })
            .collect())
    }

    fn services_of(
        &mut self,
        ids: &[Uuid],
        known_at: DateTime<Utc>,
    ) -> Result<Vec<ServiceRecord>, Error> {
        let estate = self.estate();
        let rows: Vec<(
            Db<UnitId>,
            String,
            NaiveDate,
            Option<i64>,
            String,
            Option<Db<JobId>>,
        )> = services::table
            .filter(
                services::estate_id
                    .eq(Db(estate))
                    .and(services::unit_id.eq_any(ids))
                    .and(services::recorded_at.le(known_at))
                    .and(
                        services::superseded_at
                            .is_null()
                            .or(services::superseded_at.gt(known_at)),
                    ),
            )
            .order((services::happened_on, services::id))
            .select((
                services::unit_id,
                services::what,
                services::happened_on,
                services::cost_pence,
                services::words,
                services::job_id,
            ))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(
                |(unit, what, happened_on, cost, words, job)| ServiceRecord {
                    unit: unit.0,
                    what,
                    happened_on,
                    cost: cost.map(Pence),
                    words,
                    job: job.map(|j| j.0),
                },
            )
            .collect())
    }

    /// The readings of a unit with the visit they belong to, newest first.
    pub fn readings_of(&mut self, unit: UnitId) -> Result<Vec<(Option<VisitId>, Reading)>, Error> {
        let estate = self.estate();
        type Row = (
            (Option<Db<VisitId>>, String, Option<f64>, String, String),
            (
                String,
                String,
                String,
                String,
                Option<NaiveDate>,
                DateTime<Utc>,
            ),
        );
        let rows: Vec<Row> = readings::table
            .filter(
                readings::estate_id
                    .eq(Db(estate))
                    .and(readings::unit_id.eq(Db(unit)))
                    .and(readings::superseded_at.is_null()),
            )
            .order((readings::taken_at.desc(), readings::id))
            .select((
                (
                    readings::visit_id,
                    readings::code,
                    readings::value,
                    readings::words,
                    readings::measured_in,
                ),
                (
                    readings::place,
                    readings::conditions,
                    readings::stage,
                    readings::instrument,
                    readings::calibrated_until,
                    readings::taken_at,
                ),
            ))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|(a, b)| {
                let reading = Reading {
                    unit,
                    code: a.1,
                    value: a.2,
                    words: a.3,
                    measured_in: a.4,
                    place: b.0,
                    conditions: b.1,
                    stage: b.2,
                    instrument: b.3,
                    calibrated_until: b.4,
                    taken_at: b.5,
                };
                (a.0.map(|v| v.0), reading)
            })
            .collect())
    }
}
