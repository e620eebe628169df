//! Units of a list, many rows at once: batches of VALUES, since COPY is refused under row-level security.
use std::collections::BTreeMap;

use diesel::prelude::*;
use terms::unit::UnitCard;
use terms::{ImportId, PlacementId, UnitId};
use uuid::Uuid;

use super::BATCH;
use crate::estate_schema::{placements, serves, unit_facts, units, words};
use crate::search::words_of;
use crate::{Db, Error, Tx};

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
            let unknown = batch
                .iter()
                .filter(|(_, card)| !known.contains_key(&card.number));
            self.write_identities(unknown, import)?;
            self.write_unit_facts(batch, import)?;
            self.write_placements(batch, import)?;
            self.write_service_of_own_space(batch, import)?;
        }
        Ok(ids)
    }

    fn write_identities<'a>(
        &mut self,
        units: impl Iterator<Item = &'a (UnitId, &'a UnitCard)>,
        import: ImportId,
    ) -> Result<(), Error> {
        let (estate, at) = (Db(self.estate()), self.at());
        let identities: Vec<_> = units
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
        Ok(())
    }

    fn write_placements(
        &mut self,
        batch: &[(UnitId, &UnitCard)],
        import: ImportId,
    ) -> Result<(), Error> {
        let (estate, at, who) = (Db(self.estate()), self.at(), Db(self.who()));
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
        Ok(())
    }

    /// A list says where a unit stands and not what it serves: until somebody says more, the space it stands in.
    fn write_service_of_own_space(
        &mut self,
        batch: &[(UnitId, &UnitCard)],
        import: ImportId,
    ) -> Result<(), Error> {
        let (estate, at, who) = (Db(self.estate()), self.at(), Db(self.who()));
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
        Ok(())
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
}
