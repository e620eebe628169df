//! What a list says happened to units, many rows at once.
use std::collections::BTreeMap;

use diesel::prelude::*;
use terms::unit::{FailureRecord, PartFitted, ServiceRecord};
use terms::{FailureId, ImportId, PartId, UnitId};
use uuid::Uuid;

use super::BATCH;
use crate::estate_schema::{failure_facts, failures, part_facts, parts, services};
use crate::{Db, Error, Tx};

/// The history rows of a list.
#[derive(Clone, Debug, Default)]
pub struct Arrivals {
    /// Failures; their ids and recording times are not used.
    pub failures: Vec<FailureRecord>,
    /// Services, checks, repairs.
    pub services: Vec<ServiceRecord>,
    /// Parts fitted, each with its words.
    pub parts: Vec<(PartFitted, String)>,
}

impl Tx<'_> {
    /// Brings in what happened to units; `told` hears how many records are written, batch by batch.
    pub fn bring_in_history(
        &mut self,
        all: &Arrivals,
        import: ImportId,
        told: &mut dyn FnMut(usize),
    ) -> Result<(), Error> {
        let mut written = 0;
        for batch in all.failures.chunks(BATCH) {
            self.write_failures(batch, import)?;
            written += batch.len();
            told(written);
        }
        for batch in all.services.chunks(BATCH) {
            self.write_services(batch, import)?;
            written += batch.len();
            told(written);
        }
        for batch in all.parts.chunks(BATCH) {
            self.write_parts(batch, import)?;
            written += batch.len();
            told(written);
        }
        Ok(())
    }

    fn write_failures(&mut self, batch: &[FailureRecord], import: ImportId) -> Result<(), Error> {
        let (estate, at, who) = (Db(self.estate()), self.at(), Db(self.who()));
        let ids: Vec<FailureId> = batch.iter().map(|_| self.fresh()).collect();
        let identities: Vec<_> = batch
            .iter()
            .zip(&ids)
            .map(|(record, id)| {
                (
                    (failures::estate_id.eq(estate), failures::id.eq(Db(*id))),
                    (
                        failures::unit_id.eq(Db(record.unit)),
                        failures::made_at.eq(at),
                    ),
                )
            })
            .collect();
        diesel::insert_into(failures::table)
            .values(identities)
            .execute(self.conn())?;
        let facts: Vec<_> = batch
            .iter()
            .zip(&ids)
            .map(|(record, id)| {
                (
                    (
                        failure_facts::estate_id.eq(estate),
                        failure_facts::id.eq(self.fresh::<Uuid>()),
                    ),
                    (
                        failure_facts::failure_id.eq(Db(*id)),
                        failure_facts::part_code.eq(&record.part),
                        failure_facts::function_lost.eq(&record.function_lost),
                    ),
                    (
                        failure_facts::found_at_service.eq(record.found_at_service),
                        failure_facts::no_fault_found.eq(record.no_fault_found),
                        failure_facts::cost_pence.eq(record.cost.map(|c| c.0)),
                    ),
                    (
                        failure_facts::same_as.eq(&record.same_as),
                        failure_facts::words.eq(&record.words),
                    ),
                    (
                        failure_facts::happened_on.eq(record.happened_on),
                        failure_facts::happened_until.eq(record.happened_until),
                    ),
                    (
                        failure_facts::recorded_at.eq(at),
                        failure_facts::recorded_by.eq(who),
                        failure_facts::import_id.eq(Some(Db(import))),
                    ),
                )
            })
            .collect();
        diesel::insert_into(failure_facts::table)
            .values(facts)
            .execute(self.conn())?;
        Ok(())
    }

    fn write_services(&mut self, batch: &[ServiceRecord], import: ImportId) -> Result<(), Error> {
        let (estate, at, who) = (Db(self.estate()), self.at(), Db(self.who()));
        let rows: Vec<_> = batch
            .iter()
            .map(|record| {
                (
                    (
                        services::estate_id.eq(estate),
                        services::id.eq(self.fresh::<Uuid>()),
                    ),
                    (
                        services::unit_id.eq(Db(record.unit)),
                        services::what.eq(&record.what),
                        services::cost_pence.eq(record.cost.map(|c| c.0)),
                    ),
                    (
                        services::words.eq(&record.words),
                        services::happened_on.eq(record.happened_on),
                    ),
                    (
                        services::recorded_at.eq(at),
                        services::recorded_by.eq(who),
                        services::import_id.eq(Some(Db(import))),
                    ),
                )
            })
            .collect();
        diesel::insert_into(services::table)
            .values(rows)
            .execute(self.conn())?;
        Ok(())
    }

    fn write_parts(
        &mut self,
        batch: &[(PartFitted, String)],
        import: ImportId,
    ) -> Result<(), Error> {
        let (estate, at, who) = (Db(self.estate()), self.at(), Db(self.who()));
        let clocks = self.part_identities(batch)?;
        let facts: Vec<_> = batch
            .iter()
            .filter_map(|(fitted, said)| {
                let part = clocks.get(&(fitted.unit, fitted.part.clone()))?;
                Some((
                    (
                        part_facts::estate_id.eq(estate),
                        part_facts::id.eq(self.fresh::<Uuid>()),
                    ),
                    (
                        part_facts::part_id.eq(Db(*part)),
                        part_facts::fitted_on.eq(fitted.fitted_on),
                        part_facts::planned.eq(fitted.planned),
                    ),
                    (
                        part_facts::words.eq(said),
                        part_facts::happened_on.eq(fitted.fitted_on),
                    ),
                    (
                        part_facts::recorded_at.eq(at),
                        part_facts::recorded_by.eq(who),
                        part_facts::import_id.eq(Some(Db(import))),
                    ),
                ))
            })
            .collect();
        diesel::insert_into(part_facts::table)
            .values(facts)
            .execute(self.conn())?;
        Ok(())
    }

    /// The part identities of a batch, made where there are none yet.
    fn part_identities(
        &mut self,
        batch: &[(PartFitted, String)],
    ) -> Result<BTreeMap<(UnitId, String), PartId>, Error> {
        let (estate, at) = (Db(self.estate()), self.at());
        let of: Vec<Uuid> = batch.iter().map(|(fitted, _)| fitted.unit.0).collect();
        let there: Vec<(Db<UnitId>, String, Db<PartId>)> = parts::table
            .filter(parts::estate_id.eq(estate).and(parts::unit_id.eq_any(&of)))
            .select((parts::unit_id, parts::part_code, parts::id))
            .load(self.conn())?;
        let mut clocks: BTreeMap<(UnitId, String), PartId> = there
            .into_iter()
            .map(|(unit, code, id)| ((unit.0, code), id.0))
            .collect();
        let mut fresh = Vec::new();
        for (fitted, _) in batch {
            let key = (fitted.unit, fitted.part.clone());
            if clocks.contains_key(&key) {
                continue;
            }
            let id: PartId = self.fresh();
            clocks.insert(key, id);
            fresh.push((
                (parts::estate_id.eq(estate), parts::id.eq(Db(id))),
                (
                    parts::unit_id.eq(Db(fitted.unit)),
                    parts::part_code.eq(&fitted.part),
                ),
                parts::made_at.eq(at),
            ));
        }
        diesel::insert_into(parts::table)
            .values(fresh)
            .execute(self.conn())?;
        Ok(clocks)
    }
}
