//! Money set aside for replacements: one figure a building and year, the former one superseded.
use diesel::prelude::*;
use terms::{BuildingId, Pence};
use uuid::Uuid;

use crate::estate_schema::budgets;
use crate::{Db, Error, Tx};

/// What a building has for replacements in a year.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Budget {
    /// The building.
    pub building: BuildingId,
    /// The calendar year.
    pub year: i32,
    /// Including VAT.
    pub pence: Pence,
}

impl Tx<'_> {
    /// States a building's budget of a year anew.
    pub fn state_budget(&mut self, budget: Budget) -> Result<(), Error> {
        let (estate, at) = (self.estate(), self.at());
        diesel::update(
            budgets::table.filter(
                budgets::estate_id
                    .eq(Db(estate))
                    .and(budgets::building_id.eq(Db(budget.building)))
                    .and(budgets::year.eq(budget.year))
                    .and(budgets::superseded_at.is_null()),
            ),
        )
        .set(budgets::superseded_at.eq(at))
        .execute(self.conn())?;
        let id: Uuid = self.fresh();
        diesel::insert_into(budgets::table)
            .values((
                (budgets::estate_id.eq(Db(estate)), budgets::id.eq(id)),
                budgets::building_id.eq(Db(budget.building)),
                budgets::year.eq(budget.year),
                budgets::pence.eq(budget.pence.0),
                budgets::happened_on.eq(self.today()),
                budgets::recorded_at.eq(at),
                budgets::recorded_by.eq(Db(self.who())),
            ))
            .execute(self.conn())?;
        Ok(())
    }

    /// The budgets in force, by year and building.
    pub fn budgets(&mut self) -> Result<Vec<Budget>, Error> {
        let estate = self.estate();
        let rows: Vec<(Db<BuildingId>, i32, i64)> = budgets::table
            .filter(
                budgets::estate_id
                    .eq(Db(estate))
                    .and(budgets::superseded_at.is_null()),
            )
            .order((budgets::year, budgets::building_id))
            .select((budgets::building_id, budgets::year, budgets::pence))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|(building, year, pence)| Budget {
                building: building.0,
                year,
                pence: Pence(pence),
            })
            .collect())
    }
}
