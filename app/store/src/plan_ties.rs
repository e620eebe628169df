//! What people tied in a programme: a unit in a year, out of a year, units together. Dated, with who and why.
use chrono::NaiveDate;
use diesel::prelude::*;
use terms::{AccountId, BuildingId, UnitId};
use uuid::Uuid;

use crate::estate_schema::{plan_tie_units, plan_ties};
use crate::{Db, Error, Tx};

/// A unit pinned to a year, kept out of one, or units bound together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tie {
    /// Its id.
    pub id: Uuid,
    /// The building.
    pub building: BuildingId,
    /// "pin", "forbid" or "together".
    pub what: String,
    /// The calendar year; `None` for units bound together.
    pub year: Option<i32>,
    /// The units, in the order of their ids.
    pub units: Vec<UnitId>,
    /// The reason.
    pub why: String,
    /// The day it was said.
    pub said_on: NaiveDate,
    /// By whom.
    pub by: AccountId,
}

impl Tx<'_> {
    /// Keeps a tie; `id`, `said_on` and `by` of the given one are not read.
    pub fn tie_plan(&mut self, tie: &Tie) -> Result<Uuid, Error> {
        let (estate, at) = (self.estate(), self.at());
        let id: Uuid = self.fresh();
        diesel::insert_into(plan_ties::table)
            .values((
                (plan_ties::estate_id.eq(Db(estate)), plan_ties::id.eq(id)),
                plan_ties::building_id.eq(Db(tie.building)),
                plan_ties::what.eq(&tie.what),
                plan_ties::year.eq(tie.year),
                plan_ties::why.eq(&tie.why),
                plan_ties::happened_on.eq(self.today()),
                plan_ties::recorded_at.eq(at),
                plan_ties::recorded_by.eq(Db(self.who())),
            ))
            .execute(self.conn())?;
        let units: Vec<_> = tie
            .units
            .iter()
            .map(|unit| {
                (
                    plan_tie_units::estate_id.eq(Db(estate)),
                    plan_tie_units::tie_id.eq(id),
                    plan_tie_units::unit_id.eq(Db(*unit)),
                )
            })
            .collect();
        diesel::insert_into(plan_tie_units::table)
            .values(units)
            .execute(self.conn())?;
        Ok(id)
    }

    /// The ties that stand in a building, oldest first.
    pub fn plan_ties(&mut self, building: BuildingId) -> Result<Vec<Tie>, Error> {
        let estate = self.estate();
        type Row = (Uuid, String, Option<i32>, String, NaiveDate, Db<AccountId>);
        let rows: Vec<Row> = plan_ties::table
            .filter(
                plan_ties::estate_id
                    .eq(Db(estate))
                    .and(plan_ties::building_id.eq(Db(building)))
                    .and(plan_ties::superseded_at.is_null()),
            )
            .order((plan_ties::recorded_at, plan_ties::id))
            .select((
                plan_ties::id,
                plan_ties::what,
                plan_ties::year,
                plan_ties::why,
                plan_ties::happened_on,
                plan_ties::recorded_by,
            ))
            .load(self.conn())?;
        let ids: Vec<Uuid> = rows.iter().map(|r| r.0).collect();
        let units: Vec<(Uuid, Db<UnitId>)> = plan_tie_units::table
            .filter(
                plan_tie_units::estate_id
                    .eq(Db(estate))
                    .and(plan_tie_units::tie_id.eq_any(ids)),
            )
            .order((plan_tie_units::tie_id, plan_tie_units::unit_id))
            .select((plan_tie_units::tie_id, plan_tie_units::unit_id))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|(id, what, year, why, said_on, by)| Tie {
                id,
                building,
                what,
                year,
                units: units
                    .iter()
                    .filter(|(tie, _)| *tie == id)
                    .map(|(_, unit)| unit.0)
                    .collect(),
                why,
                said_on,
                by: by.0,
            })
            .collect())
    }

    /// Takes a tie back; how many rows that were (0 when it was taken back before).
    pub fn untie_plan(&mut self, building: BuildingId, id: Uuid) -> Result<usize, Error> {
        let (estate, at) = (self.estate(), self.at());
        Ok(diesel::update(
            plan_ties::table.filter(
                plan_ties::estate_id
                    .eq(Db(estate))
                    .and(plan_ties::building_id.eq(Db(building)))
                    .and(plan_ties::id.eq(id))
                    .and(plan_ties::superseded_at.is_null()),
            ),
        )
        .set(plan_ties::superseded_at.eq(at))
        .execute(self.conn())?)
    }
}
