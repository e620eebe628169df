//! Units and what is known of them.
use chrono::{DateTime, NaiveDate, Utc};
use diesel::prelude::*;
use terms::unit::UnitCard;
use terms::{AccountId, BuildingId, FactId, Fate, ImportId, SpaceId, UnitId};
use uuid::Uuid;

use crate::estate_schema::{building_facts, placements, space_facts, spaces, unit_facts, units};
use crate::register::read_code;
pub use crate::stays::Stay;
use crate::{Db, Error, Tx};

/// Which units are asked for.
#[derive(Clone, Copy, Debug)]
pub enum Which {
    /// All of the estate.
    All,
    /// Those of a building.
    Building(BuildingId),
    /// Those of a space, past ones too.
    Space(SpaceId),
    /// One.
    Unit(UnitId),
}

/// What was once known of a unit, and who wrote it when.
#[derive(Clone, Debug, PartialEq)]
pub struct Statement {
    /// Its id.
    pub id: FactId,
    /// The unit as then known; place and names are those of now.
    pub card: UnitCard,
    /// When it was written.
    pub recorded_at: DateTime<Utc>,
    /// By whom.
    pub recorded_by: AccountId,
    /// When it was corrected; `None` for the one in force.
    pub superseded_at: Option<DateTime<Utc>>,
}

impl Tx<'_> {
    /// Adds a unit standing in `card.space` since `card.placed_from`; `card.id`, names and building are not used.
    pub fn add_unit(&mut self, card: &UnitCard, import: Option<ImportId>) -> Result<UnitId, Error> {
        let id: UnitId = self.fresh();
        let row = (
            (units::estate_id.eq(Db(self.estate())), units::id.eq(Db(id))),
            (units::number.eq(&card.number), units::made_at.eq(self.at())),
            units::import_id.eq(import.map(Db)),
        );
        diesel::insert_into(units::table)
            .values(row)
            .execute(self.conn())?;
        self.write_unit_fact(id, card, import)?;
        self.place_unit(id, card.space, card.placed_from, import)?;
        self.serve_space(id, card.space, card.placed_from, import)?;
        Ok(id)
    }

    /// States anew what is known of a unit; what was known stays readable.
    pub fn state_unit(
        &mut self,
        id: UnitId,
        card: &UnitCard,
        import: Option<ImportId>,
    ) -> Result<(), Error> {
        let (estate, at) = (self.estate(), self.at());
        diesel::update(
            unit_facts::table.filter(
                unit_facts::estate_id
                    .eq(Db(estate))
                    .and(unit_facts::unit_id.eq(Db(id)))
                    .and(unit_facts::superseded_at.is_null()),
            ),
        )
        .set(unit_facts::superseded_at.eq(at))
        .execute(self.conn())?;
        self.write_unit_fact(id, card, import)
    }

    fn write_unit_fact(
        &mut self,
        id: UnitId,
        card: &UnitCard,
        import: Option<ImportId>,
    ) -> Result<(), Error> {
        let fact: Uuid = self.fresh();
        let row = (
            (
                unit_facts::estate_id.eq(Db(self.estate())),
                unit_facts::id.eq(fact),
            ),
            (
                unit_facts::unit_id.eq(Db(id)),
                unit_facts::kind_code.eq(&card.kind),
            ),
            unit_facts::serial.eq(&card.serial),
            unit_facts::installed_from.eq(card.installed.map(|i| i.0)),
            unit_facts::installed_until.eq(card.installed.map(|i| i.1)),
            (
                unit_facts::rated_kw.eq(card.rated_kw),
                unit_facts::litres.eq(card.litres),
            ),
            unit_facts::filter_fitted.eq(card.filter_fitted),
            unit_facts::reducer_fitted.eq(card.reducer_fitted),
            unit_facts::warranty_until.eq(card.warranty_until),
            unit_facts::watched_from.eq(card.watched_from),
            (
                unit_facts::fate.eq(card.fate.code()),
                unit_facts::fate_on.eq(card.fate_on),
            ),
            unit_facts::note.eq(&card.note),
            (
                unit_facts::happened_on.eq(self.today()),
                unit_facts::recorded_at.eq(self.at()),
            ),
            unit_facts::recorded_by.eq(Db(self.who())),
            unit_facts::import_id.eq(import.map(Db)),
        );
        diesel::insert_into(unit_facts::table)
            .values(row)
            .execute(self.conn())?;
        self.index_words("unit", id.0, &format!("{} {}", card.number, card.serial))
    }

    /// Units with what is known of them, each at its latest stay, by number.
    pub fn units(&mut self, which: Which) -> Result<Vec<UnitCard>, Error> {
        let estate = self.estate();
        let mut query = units::table
            .inner_join(
                unit_facts::table.on(unit_facts::estate_id
                    .eq(units::estate_id)
                    .and(unit_facts::unit_id.eq(units::id))),
            )
            .inner_join(
                placements::table.on(placements::estate_id
                    .eq(units::estate_id)
                    .and(placements::unit_id.eq(units::id))),
            )
            .inner_join(
                spaces::table.on(spaces::estate_id
                    .eq(units::estate_id)
                    .and(spaces::id.eq(placements::space_id))),
            )
            .inner_join(
                space_facts::table.on(space_facts::estate_id
                    .eq(units::estate_id)
                    .and(space_facts::space_id.eq(spaces::id))),
            )
            .inner_join(
                building_facts::table.on(building_facts::estate_id
                    .eq(units::estate_id)
                    .and(building_facts::building_id.eq(spaces::building_id))),
            )
            .filter(
                units::estate_id
                    .eq(Db(estate))
                    .and(unit_facts::superseded_at.is_null())
                    .and(placements::superseded_at.is_null())
                    .and(space_facts::superseded_at.is_null())
                    .and(building_facts::superseded_at.is_null()),
            )
            .into_boxed();
        query = match which {
            Which::All => query,
            Which::Building(id) => query.filter(spaces::building_id.eq(Db(id))),
            Which::Space(id) => query.filter(placements::space_id.eq(Db(id))),
            Which::Unit(id) => query.filter(units::id.eq(Db(id))),
        };
        let rows: Vec<UnitRow> = query
            .order((
                units::number,
                placements::from_on.asc().nulls_first(),
                placements::id,
            ))
            .select(unit_columns())
            .load(self.conn())?;
        let mut cards: Vec<UnitCard> = Vec::with_capacity(rows.len());
        for row in rows {
            let card = read_unit(row)?;
            // A unit that moved has several stays, in order: the latest wins.
            match cards.last_mut() {
                Some(last) if last.id == card.id => *last = card,
                _ => cards.push(card),
            }
        }
        Ok(cards)
    }

    /// One unit.
    pub fn unit(&mut self, id: UnitId) -> Result<UnitCard, Error> {
        self.units(Which::Unit(id))?
            .pop()
            .ok_or(Error::NotFound("unit"))
    }

    /// The numbers in use that start with `prefix`; for making the next one.
    pub fn numbers_starting(&mut self, prefix: &str) -> Result<Vec<String>, Error> {
        let estate = self.estate();
        let escaped: String = prefix
            .chars()
            .flat_map(|c| {
                let escape = matches!(c, '%' | '_' | '\\').then_some('\\');
                escape.into_iter().chain([c])
            })
            .collect();
        Ok(units::table
            .filter(
                units::estate_id
                    .eq(Db(estate))
                    .and(units::number.like(format!("{escaped}%"))),
            )
            .order(units::number)
            .select(units::number)
            .load(self.conn())?)
    }

    /// Numbers of the units in service that bear this serial.
    pub fn units_with_serial(&mut self, serial: &str) -> Result<Vec<(UnitId, String)>, Error> {
        let estate = self.estate();
        let rows: Vec<(Db<UnitId>, String)> = units::table
            .inner_join(
                unit_facts::table.on(unit_facts::estate_id
                    .eq(units::estate_id)
                    .and(unit_facts::unit_id.eq(units::id))),
            )
            .filter(
                units::estate_id
                    .eq(Db(estate))
                    .and(unit_facts::serial.eq(serial))
                    .and(unit_facts::fate.eq(Fate::InService.code()))
                    .and(unit_facts::superseded_at.is_null()),
            )
            .order(units::number)
            .select((units::id, units::number))
            .load(self.conn())?;
        Ok(rows.into_iter().map(|(id, n)| (id.0, n)).collect())
    }

    /// The units of a kind in service whose fitting date is on record, with its first and last day.
    pub fn fitted_of_kind(
        &mut self,
        kind: &str,
    ) -> Result<Vec<(UnitId, (NaiveDate, NaiveDate))>, Error> {
        let estate = self.estate();
        type Row = (Db<UnitId>, Option<NaiveDate>, Option<NaiveDate>);
        let rows: Vec<Row> = unit_facts::table
            .filter(
                unit_facts::estate_id
                    .eq(Db(estate))
                    .and(unit_facts::kind_code.eq(kind))
                    .and(unit_facts::fate.eq(Fate::InService.code()))
                    .and(unit_facts::superseded_at.is_null()),
            )
            .order(unit_facts::unit_id)
            .select((
                unit_facts::unit_id,
                unit_facts::installed_from,
                unit_facts::installed_until,
            ))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .filter_map(|(id, from, until)| Some((id.0, (from?, until?))))
            .collect())
    }

    /// Everything ever stated of a unit, newest first.
    pub fn statements_of(&mut self, unit: UnitId) -> Result<Vec<Statement>, Error> {
        let now = self.unit(unit)?;
        let estate = self.estate();
        let rows: Vec<StatementRow> = unit_facts::table
            .filter(
                unit_facts::estate_id
                    .eq(Db(estate))
                    .and(unit_facts::unit_id.eq(Db(unit))),
            )
            .order((
                unit_facts::superseded_at.desc().nulls_first(),
                unit_facts::recorded_at.desc(),
                unit_facts::id.desc(),
            ))
            .select((
                (
                    unit_facts::id,
                    unit_facts::recorded_at,
                    unit_facts::recorded_by,
                    unit_facts::superseded_at,
                ),
                (
                    unit_facts::kind_code,
                    unit_facts::serial,
                    unit_facts::installed_from,
                    unit_facts::installed_until,
                    unit_facts::rated_kw,
                    unit_facts::litres,
                ),
                (
                    unit_facts::filter_fitted,
                    unit_facts::reducer_fitted,
                    unit_facts::warranty_until,
                    unit_facts::watched_from,
                    unit_facts::fate,
                    unit_facts::fate_on,
                    unit_facts::note,
                ),
            ))
            .load(self.conn())?;
        rows.into_iter()
            .map(|row| read_statement(&now, row))
            .collect()
    }
}

type StatementRow = (
    (
        Db<FactId>,
        DateTime<Utc>,
        Db<AccountId>,
        Option<DateTime<Utc>>,
    ),
    (
        String,
        String,
        Option<NaiveDate>,
        Option<NaiveDate>,
        Option<f64>,
        Option<f64>,
    ),
    (
        Option<bool>,
        Option<bool>,
        Option<NaiveDate>,
        NaiveDate,
        String,
        Option<NaiveDate>,
        String,
    ),
);

fn read_statement(now: &UnitCard, (a, b, c): StatementRow) -> Result<Statement, Error> {
    Ok(Statement {
        id: a.0.0,
        recorded_at: a.1,
        recorded_by: a.2.0,
        superseded_at: a.3,
        card: UnitCard {
            kind: b.0,
            serial: b.1,
            installed: b.2.zip(b.3),
            rated_kw: b.4,
            litres: b.5,
            filter_fitted: c.0,
            reducer_fitted: c.1,
            warranty_until: c.2,
            watched_from: c.3,
            fate: read_code::<Fate>(&c.4)?,
            fate_on: c.5,
            note: c.6,
            ..now.clone()
        },
    })
}

type UnitRow = (
    (
        Db<UnitId>,
        String,
        String,
        String,
        Option<NaiveDate>,
        Option<NaiveDate>,
        Option<f64>,
        Option<f64>,
    ),
    (
        Option<bool>,
        Option<bool>,
        Option<NaiveDate>,
        NaiveDate,
        String,
        Option<NaiveDate>,
        String,
    ),
    (
        Db<SpaceId>,
        String,
        Db<BuildingId>,
        String,
        Option<f64>,
        Option<NaiveDate>,
    ),
);

type UnitColumns = (
    (
        units::id,
        units::number,
        unit_facts::kind_code,
        unit_facts::serial,
        unit_facts::installed_from,
        unit_facts::installed_until,
        unit_facts::rated_kw,
        unit_facts::litres,
    ),
    (
        unit_facts::filter_fitted,
        unit_facts::reducer_fitted,
        unit_facts::warranty_until,
        unit_facts::watched_from,
        unit_facts::fate,
        unit_facts::fate_on,
        unit_facts::note,
    ),
    (
        placements::space_id,
        space_facts::name,
        spaces::building_id,
        building_facts::name,
        building_facts::hardness_mg_l,
        placements::from_on,
    ),
);

const fn unit_columns() -> UnitColumns {
    (
        (
            units::id,
            units::number,
            unit_facts::kind_code,
            unit_facts::serial,
            unit_facts::installed_from,
            unit_facts::installed_until,
            unit_facts::rated_kw,
            unit_facts::litres,
        ),
        (
            unit_facts::filter_fitted,
            unit_facts::reducer_fitted,
            unit_facts::warranty_until,
            unit_facts::watched_from,
            unit_facts::fate,
            unit_facts::fate_on,
            unit_facts::note,
        ),
        (
            placements::space_id,
            space_facts::name,
            spaces::building_id,
            building_facts::name,
            building_facts::hardness_mg_l,
            placements::from_on,
        ),
    )
}

fn read_unit((a, b, c): UnitRow) -> Result<UnitCard, Error> {
    Ok(UnitCard {
        id: a.0.0,
        number: a.1,
        kind: a.2,
        serial: a.3,
        installed: a.4.zip(a.5),
        rated_kw: a.6,
        litres: a.7,
        filter_fitted: b.0,
        reducer_fitted: b.1,
        warranty_until: b.2,
        watched_from: b.3,
        fate: read_code::<Fate>(&b.4)?,
        fate_on: b.5,
        note: b.6,
        space: c.0.0,
        space_name: c.1,
        building: c.2.0,
        building_name: c.3,
        hardness_mg_l: c.4,
        placed_from: c.5,
    })
}
