//! Outlets and the temperatures taken at them. What is known of an outlet, and each temperature, is a fact.
use chrono::{DateTime, NaiveDate, Utc};
use diesel::prelude::*;
use terms::{
    AccountId, BuildingId, OutletCard, OutletId, OutletPlace, SpaceId, Temperature,
    TemperatureRound, TemperatureRoundId, UnitId,
};
use uuid::Uuid;

use crate::estate_schema::{outlet_facts, outlets, temperature_rounds, temperatures};
use crate::register::read_code;
use crate::{Db, Error, Tx};

impl Tx<'_> {
    /// Adds an outlet with what is known of it; its id is made here and `card.id` is not used.
    pub fn add_outlet(&mut self, card: &OutletCard) -> Result<OutletId, Error> {
        let id: OutletId = self.fresh();
        let row = (
            (
                outlets::estate_id.eq(Db(self.estate())),
                outlets::id.eq(Db(id)),
            ),
            (
                outlets::building_id.eq(Db(card.building)),
                outlets::made_at.eq(self.at()),
            ),
        );
        diesel::insert_into(outlets::table)
            .values(row)
            .execute(self.conn())?;
        self.state_outlet(id, card)?;
        Ok(id)
    }

    /// States anew what is known of an outlet; what was known stays readable.
    pub fn state_outlet(&mut self, id: OutletId, card: &OutletCard) -> Result<(), Error> {
        let (estate, at) = (self.estate(), self.at());
        diesel::update(
            outlet_facts::table.filter(
                outlet_facts::estate_id
                    .eq(Db(estate))
                    .and(outlet_facts::outlet_id.eq(Db(id)))
                    .and(outlet_facts::superseded_at.is_null()),
            ),
        )
        .set(outlet_facts::superseded_at.eq(at))
        .execute(self.conn())?;
        let fact: Uuid = self.fresh();
        let row = (
            (
                outlet_facts::estate_id.eq(Db(estate)),
                outlet_facts::id.eq(fact),
                outlet_facts::outlet_id.eq(Db(id)),
            ),
            (
                outlet_facts::name.eq(&card.name),
                outlet_facts::place.eq(card.place.code()),
            ),
            (
                outlet_facts::space_id.eq(card.space.map(Db)),
                outlet_facts::unit_id.eq(card.unit.map(Db)),
            ),
            (
                outlet_facts::walk.eq(card.walk),
                outlet_facts::little_used.eq(card.little_used),
                outlet_facts::ended_on.eq(card.ended_on),
            ),
            (
                outlet_facts::happened_on.eq(self.today()),
                outlet_facts::recorded_at.eq(at),
                outlet_facts::recorded_by.eq(Db(self.who())),
            ),
        );
        diesel::insert_into(outlet_facts::table)
            .values(row)
            .execute(self.conn())?;
        Ok(())
    }

    /// The outlets of a building, or of the whole estate, ended ones too, in walking order.
    pub fn outlets(&mut self, of: Option<BuildingId>) -> Result<Vec<OutletCard>, Error> {
        let estate = self.estate();
        type Row = (
            (Db<OutletId>, Db<BuildingId>, String, String),
            (
                Option<Db<SpaceId>>,
                Option<Db<UnitId>>,
                i32,
                bool,
                Option<NaiveDate>,
            ),
        );
        let mut query = outlets::table
            .inner_join(
                outlet_facts::table.on(outlet_facts::estate_id
                    .eq(outlets::estate_id)
                    .and(outlet_facts::outlet_id.eq(outlets::id))),
            )
            .filter(
                outlets::estate_id
                    .eq(Db(estate))
                    .and(outlet_facts::superseded_at.is_null()),
            )
            .into_boxed();
        if let Some(building) = of {
            query = query.filter(outlets::building_id.eq(Db(building)));
        }
        let rows: Vec<Row> = query
            .order((outlets::building_id, outlet_facts::walk, outlets::id))
            .select((
                (
                    outlets::id,
                    outlets::building_id,
                    outlet_facts::name,
                    outlet_facts::place,
                ),
                (
                    outlet_facts::space_id,
                    outlet_facts::unit_id,
                    outlet_facts::walk,
                    outlet_facts::little_used,
                    outlet_facts::ended_on,
                ),
            ))
            .load(self.conn())?;
        rows.into_iter()
            .map(|(a, b)| {
                Ok(OutletCard {
                    id: a.0.0,
                    building: a.1.0,
                    name: a.2,
                    place: read_code(&a.3)?,
                    space: b.0.map(|s| s.0),
                    unit: b.1.map(|u| u.0),
                    walk: b.2,
                    little_used: b.3,
                    ended_on: b.4,
                })
            })
            .collect()
    }

    /// Adds a round; its id is made here, `made_at` and `taken_by` are this transaction's.
    pub fn add_temperature_round(
        &mut self,
        round: &TemperatureRound,
    ) -> Result<TemperatureRoundId, Error> {
        let id: TemperatureRoundId = self.fresh();
        let row = (
            (
                temperature_rounds::estate_id.eq(Db(self.estate())),
                temperature_rounds::id.eq(Db(id)),
                temperature_rounds::building_id.eq(Db(round.building)),
            ),
            (
                temperature_rounds::taken_on.eq(round.taken_on),
                temperature_rounds::thermometer.eq(&round.thermometer),
                temperature_rounds::calibrated_until.eq(round.calibrated_until),
            ),
            (
                temperature_rounds::taken_by.eq(Db(self.who())),
                temperature_rounds::made_at.eq(self.at()),
            ),
        );
        diesel::insert_into(temperature_rounds::table)
            .values(row)
            .execute(self.conn())?;
        Ok(id)
    }

    /// The rounds of a building, or of the whole estate, taken on or after `from`, newest first.
    pub fn temperature_rounds(
        &mut self,
        of: Option<BuildingId>,
        from: NaiveDate,
    ) -> Result<Vec<TemperatureRound>, Error> {
        let estate = self.estate();
        type Row = (
            Db<TemperatureRoundId>,
            Db<BuildingId>,
            NaiveDate,
            String,
            Option<NaiveDate>,
            Db<AccountId>,
            DateTime<Utc>,
        );
        let mut query = temperature_rounds::table
            .filter(
                temperature_rounds::estate_id
                    .eq(Db(estate))
                    .and(temperature_rounds::taken_on.ge(from)),
            )
            .into_boxed();
        if let Some(building) = of {
            query = query.filter(temperature_rounds::building_id.eq(Db(building)));
        }
        let rows: Vec<Row> = query
            .order((
                temperature_rounds::taken_on.desc(),
                temperature_rounds::id.desc(),
            ))
            .select((
                temperature_rounds::id,
                temperature_rounds::building_id,
                temperature_rounds::taken_on,
                temperature_rounds::thermometer,
                temperature_rounds::calibrated_until,
                temperature_rounds::taken_by,
                temperature_rounds::made_at,
            ))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|row| TemperatureRound {
                id: row.0.0,
                building: row.1.0,
                taken_on: row.2,
                thermometer: row.3,
                calibrated_until: row.4,
                taken_by: row.5.0,
                made_at: row.6,
            })
            .collect())
    }

    /// Adds a temperature; `id` and the `recorded_…` fields are made here.
    pub fn add_temperature(&mut self, row: &Temperature) -> Result<Uuid, Error> {
        let id: Uuid = self.fresh();
        let level = row.level.map_or("pass", terms::Level::code);
        let values = (
            (
                temperatures::estate_id.eq(Db(self.estate())),
                temperatures::id.eq(id),
                temperatures::round_id.eq(Db(row.round)),
            ),
            (
                temperatures::outlet_id.eq(Db(row.outlet)),
                temperatures::outlet.eq(&row.outlet_name),
                temperatures::place.eq(row.place.code()),
            ),
            (
                temperatures::temp_c.eq(row.temp_c),
                temperatures::seconds_run.eq(row.seconds_run),
                temperatures::flushed.eq(row.flushed),
            ),
            (
                temperatures::level.eq(level),
                temperatures::words.eq(&row.words),
                temperatures::action.eq(&row.action),
                temperatures::rule_book.eq(&row.rule_book),
            ),
            (
                temperatures::happened_on.eq(row.on),
                temperatures::recorded_at.eq(self.at()),
                temperatures::recorded_by.eq(Db(self.who())),
            ),
        );
        diesel::insert_into(temperatures::table)
            .values(values)
            .execute(self.conn())?;
        Ok(id)
    }

    /// Marks a temperature as corrected; it stays readable. Answers how many were: 0 if it was corrected before.
    pub fn supersede_temperature(&mut self, id: Uuid) -> Result<usize, Error> {
        let (estate, at) = (self.estate(), self.at());
        Ok(diesel::update(
            temperatures::table.filter(
                temperatures::estate_id
                    .eq(Db(estate))
                    .and(temperatures::id.eq(id))
                    .and(temperatures::superseded_at.is_null()),
            ),
        )
        .set(temperatures::superseded_at.eq(at))
        .execute(self.conn())?)
    }

    /// The temperatures of these rounds in the order they were taken, corrected ones too when `all`.
    pub fn temperatures_of(
        &mut self,
        rounds: &[TemperatureRoundId],
        all: bool,
    ) -> Result<Vec<Temperature>, Error> {
        let estate = self.estate();
        let ids: Vec<Uuid> = rounds.iter().map(|r| r.0).collect();
        let mut query = temperatures::table
            .filter(
                temperatures::estate_id
                    .eq(Db(estate))
                    .and(temperatures::round_id.eq_any(ids)),
            )
            .into_boxed();
        if !all {
            query = query.filter(temperatures::superseded_at.is_null());
        }
        let rows: Vec<TemperatureRow> = query
            .order((temperatures::happened_on, temperatures::id))
            .select((
                (
                    temperatures::id,
                    temperatures::round_id,
                    temperatures::outlet_id,
                    temperatures::outlet,
                    temperatures::place,
                ),
                (
                    temperatures::temp_c,
                    temperatures::seconds_run,
                    temperatures::flushed,
                    temperatures::level,
                    temperatures::words,
                ),
                (
                    temperatures::action,
                    temperatures::rule_book,
                    temperatures::happened_on,
                    temperatures::recorded_at,
                    temperatures::recorded_by,
                    temperatures::superseded_at,
                ),
            ))
            .load(self.conn())?;
        rows.into_iter().map(read_temperature).collect()
    }
}

type TemperatureRow = (
    (Uuid, Db<TemperatureRoundId>, Db<OutletId>, String, String),
    (Option<f64>, Option<i32>, Option<bool>, String, String),
    (
        String,
        String,
        NaiveDate,
        DateTime<Utc>,
        Db<AccountId>,
        Option<DateTime<Utc>>,
    ),
);

fn read_temperature((a, b, c): TemperatureRow) -> Result<Temperature, Error> {
    Ok(Temperature {
        id: a.0,
        round: a.1.0,
        outlet: a.2.0,
        outlet_name: a.3,
        place: read_code::<OutletPlace>(&a.4)?,
        temp_c: b.0,
        seconds_run: b.1,
        flushed: b.2,
        level: match b.3.as_str() {
            "pass" => None,
            code => Some(read_code(code)?),
        },
        words: b.4,
        action: c.0,
        rule_book: c.1,
        on: c.2,
        recorded_at: c.3,
        recorded_by: c.4.0,
        superseded_at: c.5,
    })
}
