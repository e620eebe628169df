//! Many rows at once: batches of VALUES, since COPY is refused under row-level security.
use std::collections::BTreeMap;

use diesel::prelude::*;
use terms::unit::{FailureRecord, PartFitted, ServiceRecord, UnitCard};
use terms::{FailureId, ImportId, PartId, PlacementId, UnitId};
use uuid::Uuid;

use crate::estate_schema::{
    failure_facts, failures, part_facts, parts, placements, serves, services, unit_facts, units,
    words,
};
use crate::search::words_of;
use crate::{Db, Error, Tx};

/// Rows a statement: well under the 65,535 values PostgreSQL takes.
const BATCH: usize = 1000;

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
    /// The identities that bear one of these numbers, whether or not anything is known of them now.
    pub fn units_numbered(
        &mut self,
        numbers: &[String],
    ) -> Result<BTreeMap<String, UnitId>, Error> {
        let estate = self.estate();
        let mut found = BTreeMap::new();
        for batch in numbers.chunks(BATCH) {
            let rows: Vec<(String, Db<UnitId>)> = units::table
                .filter(
                    units::estate_id
                        .eq(Db(estate))
                        .and(units::number.eq_any(batch)),
                )
                .select((units::number, units::id))
                .load(self.conn())?;
            found.extend(rows.into_iter().map(|(number, id)| (number, id.0)));
        }
        Ok(found)
    }

    /// Brings in units that are new to the register, each standing in and serving `card.space`. A number borne by
    /// an identity of which nothing is known any more (a list that was undone) gets that identity again.
    pub fn bring_in_units(
        &mut self,
        cards: &[UnitCard],
        import: ImportId,
    ) -> Result<Vec<UnitId>, Error> {
        let (estate, at, who) = (Db(self.estate()), self.at(), Db(self.who()));
        let numbers: Vec<String> = cards.iter().map(|c| c.number.clone()).collect();
        let known = self.units_numbered(&numbers)?;
        let ids: Vec<UnitId> = cards
            .iter()
            .map(|c| {
                known
                    .get(&c.number)
                    .copied()
                    .unwrap_or_else(|| self.fresh())
            })
            .collect();
        let both: Vec<(UnitId, &UnitCard)> = ids.iter().copied().zip(cards).collect();
        for batch in both.chunks(BATCH) {
            let identities: Vec<_> = batch
                .iter()
                .filter(|(_, card)| !known.contains_key(&card.number))
                .map(|(id, card)| {
                    (
                        (units::estate_id.eq(estate), units::id.eq(Db(*id))),
                        (units::number.eq(&card.number), units::made_at.eq(at)),
                        units::import_id.eq(Some(Db(import))),
                    )
                })
                .collect();
            diesel::insert_into(units::table)
                .values(identities)
                .execute(self.conn())?;
            self.write_unit_facts(batch, import)?;
            let stays: Vec<_> = batch
                .iter()
                .map(|(id, card)| {
                    (
                        (
                            placements::estate_id.eq(estate),
                            placements::id.eq(Db(self.fresh::<PlacementId>())),
                        ),
                        (
                            placements::unit_id.eq(Db(*id)),
                            placements::space_id.eq(Db(card.space)),
                        ),
                        (
                            placements::from_on.eq(card.placed_from),
                            placements::recorded_at.eq(at),
                        ),
                        (
                            placements::recorded_by.eq(who),
                            placements::import_id.eq(Some(Db(import))),
                        ),
                    )
                })
                .collect();
            diesel::insert_into(placements::table)
                .values(stays)
                .execute(self.conn())?;
            let served: Vec<_> = batch
                .iter()
                .map(|(id, card)| {
                    (
                        (
                            serves::estate_id.eq(estate),
                            serves::id.eq(self.fresh::<Uuid>()),
                        ),
                        (
                            serves::unit_id.eq(Db(*id)),
                            serves::space_id.eq(Some(Db(card.space))),
                        ),
                        (
                            serves::from_on.eq(card.placed_from),
                            serves::recorded_at.eq(at),
                        ),
                        (
                            serves::recorded_by.eq(who),
                            serves::import_id.eq(Some(Db(import))),
                        ),
                    )
                })
                .collect();
            diesel::insert_into(serves::table)
                .values(served)
                .execute(self.conn())?;
        }
        Ok(ids)
    }

    /// States anew what is known of units that are on the register; what was known stays readable.
    pub fn restate_units(&mut self, cards: &[UnitCard], import: ImportId) -> Result<(), Error> {
        let (estate, at) = (Db(self.estate()), self.at());
        let both: Vec<(UnitId, &UnitCard)> = cards.iter().map(|c| (c.id, c)).collect();
        for batch in both.chunks(BATCH) {
            let ids: Vec<Uuid> = batch.iter().map(|(id, _)| id.0).collect();
            diesel::update(
                unit_facts::table.filter(
                    unit_facts::estate_id
                        .eq(estate)
                        .and(unit_facts::unit_id.eq_any(&ids))
                        .and(unit_facts::superseded_at.is_null()),
                ),
            )
            .set(unit_facts::superseded_at.eq(at))
            .execute(self.conn())?;
            self.write_unit_facts(batch, import)?;
        }
        Ok(())
    }

    fn write_unit_facts(
        &mut self,
        batch: &[(UnitId, &UnitCard)],
        import: ImportId,
    ) -> Result<(), Error> {
        let (estate, at, who, today) = (Db(self.estate()), self.at(), Db(self.who()), self.today());
        let facts: Vec<_> = batch
            .iter()
            .map(|(id, card)| {
                (
                    (
                        unit_facts::estate_id.eq(estate),
                        unit_facts::id.eq(self.fresh::<Uuid>()),
                    ),
                    (
                        unit_facts::unit_id.eq(Db(*id)),
                        unit_facts::kind_code.eq(&card.kind),
                        unit_facts::serial.eq(&card.serial),
                    ),
                    (
                        unit_facts::installed_from.eq(card.installed.map(|i| i.0)),
                        unit_facts::installed_until.eq(card.installed.map(|i| i.1)),
                        unit_facts::rated_kw.eq(card.rated_kw),
                        unit_facts::litres.eq(card.litres),
                    ),
                    (
                        unit_facts::filter_fitted.eq(card.filter_fitted),
                        unit_facts::reducer_fitted.eq(card.reducer_fitted),
                        unit_facts::warranty_until.eq(card.warranty_until),
                        unit_facts::watched_from.eq(card.watched_from),
                    ),
                    (
                        unit_facts::fate.eq(card.fate.code()),
                        unit_facts::fate_on.eq(card.fate_on),
                        unit_facts::note.eq(&card.note),
                    ),
                    (
                        unit_facts::happened_on.eq(today),
                        unit_facts::recorded_at.eq(at),
                        unit_facts::recorded_by.eq(who),
                        unit_facts::import_id.eq(Some(Db(import))),
                    ),
                )
            })
            .collect();
        diesel::insert_into(unit_facts::table)
            .values(facts)
            .execute(self.conn())?;
        self.index_units(batch)
    }

    fn index_units(&mut self, batch: &[(UnitId, &UnitCard)]) -> Result<(), Error> {
        let estate = Db(self.estate());
        let ids: Vec<Uuid> = batch.iter().map(|(id, _)| id.0).collect();
        self.forget_unit_words(&ids)?;
        let rows: Vec<_> = batch
            .iter()
            .flat_map(|(id, card)| {
                words_of(&format!("{} {}", card.number, card.serial))
                    .into_iter()
                    .map(|word| {
                        (
                            (words::estate_id.eq(estate), words::word.eq(word)),
                            (
                                words::about_kind.eq("unit".to_owned()),
                                words::about_id.eq(id.0),
                            ),
                        )
                    })
            })
            .collect();
        for some in rows.chunks(5 * BATCH) {
            diesel::insert_into(words::table)
                .values(some)
                .execute(self.conn())?;
        }
        Ok(())
    }

    pub(super) fn forget_unit_words(&mut self, ids: &[Uuid]) -> Result<(), Error> {
        let estate = Db(self.estate());
        diesel::delete(
            words::table.filter(
                words::estate_id
                    .eq(estate)
                    .and(words::about_kind.eq("unit"))
                    .and(words::about_id.eq_any(ids)),
            ),
        )
        .execute(self.conn())?;
        Ok(())
    }

    /// Brings in what happened to units.
    pub fn bring_in_history(&mut self, all: &Arrivals, import: ImportId) -> Result<(), Error> {
        for batch in all.failures.chunks(BATCH) {
            self.write_failures(batch, import)?;
        }
        for batch in all.services.chunks(BATCH) {
            self.write_services(batch, import)?;
        }
        for batch in all.parts.chunks(BATCH) {
            self.write_parts(batch, import)?;
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
