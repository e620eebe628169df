//! Heaters to lend: what there is, where it is kept, who has it.
use chrono::NaiveDate;
use diesel::prelude::*;
use terms::{BuildingId, FactId, HeaterId, JobId, SpaceId};

use crate::estate_schema::{
    building_facts, heater_facts, heater_loans, heaters, space_facts, spaces,
};
use crate::{Db, Error, Tx};

/// A heater as known.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Heater {
    /// Its id.
    pub id: HeaterId,
    /// "H-3", lasting.
    pub number: String,
    /// "oil-filled radiator"
    pub what: String,
    /// What it draws at its highest setting, W.
    pub watts: i32,
    /// Where it is kept.
    pub kept_at: String,
    /// The day it was thrown away.
    pub ended_on: Option<NaiveDate>,
    /// Who has it now.
    pub lent: Option<Loan>,
}

/// A heater lent.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Loan {
    /// Its id.
    pub id: FactId,
    /// To which home.
    pub space: SpaceId,
    /// The home's name.
    pub space_name: String,
    /// Its building.
    pub building: BuildingId,
    /// The building's name.
    pub building_name: String,
    /// The job that leaves the home without heat.
    pub job: Option<JobId>,
    /// Since when.
    pub lent_on: NaiveDate,
    /// In words.
    pub words: String,
}

impl Tx<'_> {
    /// Enters a heater under its number.
    pub fn add_heater(&mut self, heater: &Heater) -> Result<HeaterId, Error> {
        let id: HeaterId = self.fresh();
        let row = (
            heaters::estate_id.eq(Db(self.estate())),
            heaters::id.eq(Db(id)),
            heaters::number.eq(&heater.number),
            heaters::made_at.eq(self.at()),
        );
        diesel::insert_into(heaters::table)
            .values(row)
            .execute(self.conn())?;
        self.write_heater(id, heater)?;
        Ok(id)
    }

    /// States anew what is known of a heater.
    pub fn state_heater(&mut self, heater: &Heater) -> Result<(), Error> {
        let (estate, at) = (self.estate(), self.at());
        diesel::update(
            heater_facts::table.filter(
                heater_facts::estate_id
                    .eq(Db(estate))
                    .and(heater_facts::heater_id.eq(Db(heater.id)))
                    .and(heater_facts::superseded_at.is_null()),
            ),
        )
        .set(heater_facts::superseded_at.eq(at))
        .execute(self.conn())?;
        self.write_heater(heater.id, heater)
    }

    fn write_heater(&mut self, id: HeaterId, heater: &Heater) -> Result<(), Error> {
        let fact: FactId = self.fresh();
        let row = (
            (
                heater_facts::estate_id.eq(Db(self.estate())),
                heater_facts::id.eq(Db(fact)),
                heater_facts::heater_id.eq(Db(id)),
            ),
            (
                heater_facts::what.eq(&heater.what),
                heater_facts::watts.eq(heater.watts),
                heater_facts::kept_at.eq(&heater.kept_at),
                heater_facts::ended_on.eq(heater.ended_on),
            ),
            (
                heater_facts::happened_on.eq(self.today()),
                heater_facts::recorded_at.eq(self.at()),
                heater_facts::recorded_by.eq(Db(self.who())),
            ),
        );
        diesel::insert_into(heater_facts::table)
            .values(row)
            .execute(self.conn())?;
        Ok(())
    }

    /// Lends a heater to a home.
    pub fn lend_heater(
        &mut self,
        heater: HeaterId,
        (space, job): (SpaceId, Option<JobId>),
        (lent_on, words): (NaiveDate, &str),
    ) -> Result<FactId, Error> {
        self.write_loan(heater, (space, job), (lent_on, None), words)
    }

    /// A heater came back: its loan's row is superseded by one with its end.
    pub fn take_back_heater(
        &mut self,
        heater: HeaterId,
        loan: &Loan,
        back_on: NaiveDate,
    ) -> Result<(), Error> {
        let (estate, at) = (self.estate(), self.at());
        let ended = diesel::update(
            heater_loans::table.filter(
                heater_loans::estate_id
                    .eq(Db(estate))
                    .and(heater_loans::id.eq(Db(loan.id)))
                    .and(heater_loans::superseded_at.is_null()),
            ),
        )
        .set(heater_loans::superseded_at.eq(at))
        .execute(self.conn())?;
        if ended == 0 {
            return Err(Error::Conflict("the heater is back".to_owned()));
        }
        self.write_loan(
            heater,
            (loan.space, loan.job),
            (loan.lent_on, Some(back_on)),
            &loan.words,
        )?;
        Ok(())
    }

    fn write_loan(
        &mut self,
        heater: HeaterId,
        (space, job): (SpaceId, Option<JobId>),
        (lent_on, back_on): (NaiveDate, Option<NaiveDate>),
        words: &str,
    ) -> Result<FactId, Error> {
        let id: FactId = self.fresh();
        let row = (
            (
                heater_loans::estate_id.eq(Db(self.estate())),
                heater_loans::id.eq(Db(id)),
                heater_loans::heater_id.eq(Db(heater)),
            ),
            (
                heater_loans::space_id.eq(Db(space)),
                heater_loans::job_id.eq(job.map(Db)),
                heater_loans::words.eq(words),
            ),
            (
                heater_loans::lent_on.eq(lent_on),
                heater_loans::back_on.eq(back_on),
            ),
            (
                heater_loans::happened_on.eq(lent_on),
                heater_loans::recorded_at.eq(self.at()),
                heater_loans::recorded_by.eq(Db(self.who())),
            ),
        );
        diesel::insert_into(heater_loans::table)
            .values(row)
            .execute(self.conn())?;
        Ok(id)
    }

    /// Every heater by its number, with who has it.
    pub fn heaters(&mut self) -> Result<Vec<Heater>, Error> {
        let estate = self.estate();
        type Row = (
            (Db<HeaterId>, String, String),
            (i32, String, Option<NaiveDate>),
        );
        let rows: Vec<Row> = heaters::table
            .inner_join(
                heater_facts::table.on(heater_facts::estate_id
                    .eq(heaters::estate_id)
                    .and(heater_facts::heater_id.eq(heaters::id))),
            )
            .filter(
                heaters::estate_id
                    .eq(Db(estate))
                    .and(heater_facts::superseded_at.is_null()),
            )
            .order((heaters::made_at, heaters::id))
            .select((
                (heaters::id, heaters::number, heater_facts::what),
                (
                    heater_facts::watts,
                    heater_facts::kept_at,
                    heater_facts::ended_on,
                ),
            ))
            .load(self.conn())?;
        let mut lent = self.lent_heaters()?;
        Ok(rows
            .into_iter()
            .map(|(a, b)| {
                let place = lent.iter().position(|(heater, _)| *heater == a.0.0);
                Heater {
                    id: a.0.0,
                    number: a.1,
                    what: a.2,
                    watts: b.0,
                    kept_at: b.1,
                    ended_on: b.2,
                    lent: place.map(|n| lent.swap_remove(n).1),
                }
            })
            .collect())
    }

    fn lent_heaters(&mut self) -> Result<Vec<(HeaterId, Loan)>, Error> {
        let estate = self.estate();
        type Row = (
            (Db<HeaterId>, Db<FactId>, Db<SpaceId>, String),
            (Db<BuildingId>, String, Option<Db<JobId>>, NaiveDate, String),
        );
        let rows: Vec<Row> = heater_loans::table
            .inner_join(
                spaces::table.on(spaces::estate_id
                    .eq(heater_loans::estate_id)
                    .and(spaces::id.eq(heater_loans::space_id))),
            )
            .inner_join(
                space_facts::table.on(space_facts::estate_id
                    .eq(heater_loans::estate_id)
                    .and(space_facts::space_id.eq(heater_loans::space_id))),
            )
            .inner_join(
                building_facts::table.on(building_facts::estate_id
                    .eq(heater_loans::estate_id)
                    .and(building_facts::building_id.eq(spaces::building_id))),
            )
            .filter(
                heater_loans::estate_id
                    .eq(Db(estate))
                    .and(heater_loans::back_on.is_null())
                    .and(heater_loans::superseded_at.is_null())
                    .and(space_facts::superseded_at.is_null())
                    .and(building_facts::superseded_at.is_null()),
            )
            .select((
                (
                    heater_loans::heater_id,
                    heater_loans::id,
                    heater_loans::space_id,
                    space_facts::name,
                ),
                (
                    spaces::building_id,
                    building_facts::name,
                    heater_loans::job_id,
                    heater_loans::lent_on,
                    heater_loans::words,
                ),
            ))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|(a, b)| {
                let loan = Loan {
                    id: a.1.0,
                    space: a.2.0,
                    space_name: a.3,
                    building: b.0.0,
                    building_name: b.1,
                    job: b.2.map(|j| j.0),
                    lent_on: b.3,
                    words: b.4,
                };
                (a.0.0, loan)
            })
            .collect())
    }
}
