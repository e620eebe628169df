//! Bags: what an engineer was advised to carry in a week, as it was packed.
use chrono::{DateTime, NaiveDate, Utc};
use diesel::prelude::*;
use serde_json::Value;
use terms::{EngineerId, FirmId};
use uuid::Uuid;

use crate::estate_schema::bags;
use crate::{Db, Error, Tx};

/// A bag as it was packed.
#[derive(Clone, Debug, PartialEq)]
pub struct BagRow {
    /// Its id.
    pub id: Uuid,
    /// Whose.
    pub engineer: EngineerId,
    /// Of which firm.
    pub firm: FirmId,
    /// The Monday of its week.
    pub week_on: NaiveDate,
    /// What was asked.
    pub ask: Value,
    /// When it was packed.
    pub made_at: DateTime<Utc>,
    /// What it holds and what it is worth.
    pub answer: Value,
}

type BagColumns = (
    Uuid,
    Db<EngineerId>,
    Db<FirmId>,
    NaiveDate,
    Value,
    DateTime<Utc>,
    Value,
);

fn read_bag(row: BagColumns) -> BagRow {
    BagRow {
        id: row.0,
        engineer: row.1.0,
        firm: row.2.0,
        week_on: row.3,
        ask: row.4,
        made_at: row.5,
        answer: row.6,
    }
}

impl Tx<'_> {
    /// Keeps a bag; the one packed before for the same engineer and week is superseded.
    pub fn keep_bag(
        &mut self,
        (engineer, firm): (EngineerId, FirmId),
        week_on: NaiveDate,
        (ask, answer): (&Value, &Value),
    ) -> Result<Uuid, Error> {
        let (estate, at) = (self.estate(), self.at());
        diesel::update(
            bags::table.filter(
                bags::estate_id
                    .eq(Db(estate))
                    .and(bags::engineer_id.eq(Db(engineer)))
                    .and(bags::week_on.eq(week_on))
                    .and(bags::superseded_at.is_null()),
            ),
        )
        .set(bags::superseded_at.eq(at))
        .execute(self.conn())?;
        let id: Uuid = self.fresh();
        diesel::insert_into(bags::table)
            .values((
                (bags::estate_id.eq(Db(estate)), bags::id.eq(id)),
                (
                    bags::engineer_id.eq(Db(engineer)),
                    bags::firm_id.eq(Db(firm)),
                    bags::week_on.eq(week_on),
                ),
                (bags::ask.eq(ask), bags::answer.eq(answer)),
                (bags::made_at.eq(at), bags::made_by.eq(Db(self.who()))),
            ))
            .execute(self.conn())?;
        Ok(id)
    }

    /// The bags that stand for weeks between two days, the oldest first.
    pub fn bags_between(
        &mut self,
        from: NaiveDate,
        until: NaiveDate,
    ) -> Result<Vec<BagRow>, Error> {
        let estate = self.estate();
        let rows: Vec<BagColumns> = bags::table
            .filter(
                bags::estate_id
                    .eq(Db(estate))
                    .and(bags::week_on.ge(from))
                    .and(bags::week_on.le(until))
                    .and(bags::superseded_at.is_null()),
            )
            .order((bags::week_on, bags::engineer_id))
            .select((
                bags::id,
                bags::engineer_id,
                bags::firm_id,
                bags::week_on,
                bags::ask,
                bags::made_at,
                bags::answer,
            ))
            .load(self.conn())?;
        Ok(rows.into_iter().map(read_bag).collect())
    }
}
