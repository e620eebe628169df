//! Who comes at night and at weekends, by building.
use chrono::NaiveDate;
use diesel::prelude::*;
use terms::{BuildingId, FactId, FirmId};

use crate::estate_schema::cover_facts;
use crate::{Db, Error, Tx};

/// Cover as stated.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CoverFact {
    /// Its id.
    pub id: FactId,
    /// The building.
    pub building: BuildingId,
    /// Who comes.
    pub firm: FirmId,
    /// "nights", "weekends" or "both".
    pub hours: String,
    /// First day.
    pub from_on: NaiveDate,
    /// Last day; `None`: until further notice.
    pub until_on: Option<NaiveDate>,
    /// How they are reached, in words.
    pub words: String,
}

impl Tx<'_> {
    /// States cover; `fact.id` is made here.
    pub fn state_cover(&mut self, fact: &CoverFact) -> Result<FactId, Error> {
        let id: FactId = self.fresh();
        let row = (
            (
                cover_facts::estate_id.eq(Db(self.estate())),
                cover_facts::id.eq(Db(id)),
            ),
            (
                cover_facts::building_id.eq(Db(fact.building)),
                cover_facts::firm_id.eq(Db(fact.firm)),
                cover_facts::hours.eq(&fact.hours),
            ),
            (
                cover_facts::from_on.eq(fact.from_on),
                cover_facts::until_on.eq(fact.until_on),
                cover_facts::words.eq(&fact.words),
            ),
            (
                cover_facts::happened_on.eq(self.today()),
                cover_facts::recorded_at.eq(self.at()),
                cover_facts::recorded_by.eq(Db(self.who())),
            ),
        );
        diesel::insert_into(cover_facts::table)
            .values(row)
            .execute(self.conn())?;
        Ok(id)
    }

    /// Ends cover: its row is superseded by one with its last day.
    pub fn end_cover(&mut self, fact: &CoverFact, until_on: NaiveDate) -> Result<FactId, Error> {
        let (estate, at) = (self.estate(), self.at());
        let ended = diesel::update(
            cover_facts::table.filter(
                cover_facts::estate_id
                    .eq(Db(estate))
                    .and(cover_facts::id.eq(Db(fact.id)))
                    .and(cover_facts::superseded_at.is_null()),
            ),
        )
        .set(cover_facts::superseded_at.eq(at))
        .execute(self.conn())?;
        if ended == 0 {
            return Err(Error::NotFound("cover"));
        }
        self.state_cover(&CoverFact {
            until_on: Some(until_on),
            ..fact.clone()
        })
    }

    /// The cover that stands, by building, the earliest first.
    pub fn cover(&mut self) -> Result<Vec<CoverFact>, Error> {
        let estate = self.estate();
        type Row = (
            (Db<FactId>, Db<BuildingId>, Db<FirmId>, String),
            (NaiveDate, Option<NaiveDate>, String),
        );
        let rows: Vec<Row> = cover_facts::table
            .filter(
                cover_facts::estate_id
                    .eq(Db(estate))
                    .and(cover_facts::superseded_at.is_null()),
            )
            .order((
                cover_facts::building_id,
                cover_facts::from_on,
                cover_facts::id,
            ))
            .select((
                (
                    cover_facts::id,
                    cover_facts::building_id,
                    cover_facts::firm_id,
                    cover_facts::hours,
                ),
                (
                    cover_facts::from_on,
                    cover_facts::until_on,
                    cover_facts::words,
                ),
            ))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|(a, b)| CoverFact {
                id: a.0.0,
                building: a.1.0,
                firm: a.2.0,
                hours: a.3,
                from_on: b.0,
                until_on: b.1,
                words: b.2,
            })
            .collect())
    }
}
