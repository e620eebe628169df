//! Firms, their engineers with qualifications and instruments, and bank holidays.
use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, Utc};
use diesel::prelude::*;
use terms::{
    AccountId, Country, Engineer, EngineerId, EstateId, FirmId, Instrument, InstrumentId,
    Qualification,
};
use uuid::Uuid;

use super::Door;
use crate::door_schema::{
    bank_holidays, engineers, firm_hours, firms, instruments, qualifications,
};
use crate::tx::fresh_uuid;
use crate::{Db, Error};

impl Door<'_> {
    /// Registers a firm.
    pub fn add_firm(&mut self, name: &str, at: DateTime<Utc>) -> Result<FirmId, Error> {
        let id = FirmId(fresh_uuid(at));
        diesel::insert_into(firms::table)
            .values((
                firms::id.eq(Db(id)),
                firms::name.eq(name),
                firms::made_at.eq(at),
            ))
            .execute(self.conn())?;
        Ok(id)
    }

    /// Says how many minutes a week a firm gives an estate.
    pub fn give_hours(
        &mut self,
        firm: FirmId,
        estate: EstateId,
        minutes_a_week: i32,
    ) -> Result<(), Error> {
        diesel::insert_into(firm_hours::table)
            .values((
                firm_hours::firm.eq(Db(firm)),
                firm_hours::estate.eq(Db(estate)),
                firm_hours::minutes_a_week.eq(minutes_a_week),
            ))
            .on_conflict((firm_hours::firm, firm_hours::estate))
            .do_update()
            .set(firm_hours::minutes_a_week.eq(minutes_a_week))
            .execute(self.conn())?;
        Ok(())
    }

    /// Registers an engineer with what they may work on.
    pub fn add_engineer(
        &mut self,
        firm: FirmId,
        name: &str,
        account: Option<AccountId>,
        covers: &[Qualification],
        at: DateTime<Utc>,
    ) -> Result<EngineerId, Error> {
        let id = EngineerId(fresh_uuid(at));
        diesel::insert_into(engineers::table)
            .values((
                engineers::id.eq(Db(id)),
                engineers::firm.eq(Db(firm)),
                engineers::account.eq(account.map(Db)),
                engineers::name.eq(name),
                engineers::made_at.eq(at),
            ))
            .execute(self.conn())?;
        for paper in covers {
            diesel::insert_into(qualifications::table)
                .values((
                    qualifications::id.eq(fresh_uuid(at)),
                    qualifications::engineer.eq(Db(id)),
                    qualifications::covers.eq(paper.covers.code()),
                    qualifications::number.eq(&paper.number),
                    qualifications::from_on.eq(paper.from_on),
                    qualifications::until_on.eq(paper.until_on),
                ))
                .execute(self.conn())?;
        }
        Ok(id)
    }

    /// Registers an instrument of a firm, carried by one engineer or by anyone.
    pub fn add_instrument(
        &mut self,
        firm: FirmId,
        engineer: Option<EngineerId>,
        name: &str,
        calibrated_until: NaiveDate,
        at: DateTime<Utc>,
    ) -> Result<InstrumentId, Error> {
        let id = InstrumentId(fresh_uuid(at));
        diesel::insert_into(instruments::table)
            .values((
                instruments::id.eq(Db(id)),
                instruments::firm.eq(Db(firm)),
                instruments::engineer.eq(engineer.map(Db)),
                instruments::name.eq(name),
                instruments::calibrated_until.eq(calibrated_until),
            ))
            .execute(self.conn())?;
        Ok(id)
    }

    /// The engineers of these firms who have not left, with their qualifications.
    pub fn engineers_of(&mut self, firms: &[FirmId]) -> Result<Vec<Engineer>, Error> {
        let firm_ids: Vec<Uuid> = firms.iter().map(|f| f.0).collect();
        let rows: Vec<(
            Db<EngineerId>,
            Db<FirmId>,
            String,
            Option<Db<AccountId>>,
            i32,
        )> = engineers::table
            .filter(
                engineers::firm
                    .eq_any(firm_ids)
                    .and(engineers::left_on.is_null()),
            )
            .order((engineers::made_at, engineers::name))
            .select((
                engineers::id,
                engineers::firm,
                engineers::name,
                engineers::account,
                engineers::minutes_a_week,
            ))
            .load(self.conn())?;
        let ids: Vec<Uuid> = rows.iter().map(|r| r.0.0.0).collect();
        let mut papers = self.papers_of(ids)?;
        Ok(rows
            .into_iter()
            .map(|(id, firm, name, account, minutes_a_week)| Engineer {
                id: id.0,
                firm: firm.0,
                name,
                account: account.map(|a| a.0),
                minutes_a_week,
                qualifications: papers.remove(&id.0).unwrap_or_default(),
            })
            .collect())
    }

    fn papers_of(
        &mut self,
        engineers: Vec<Uuid>,
    ) -> Result<BTreeMap<EngineerId, Vec<Qualification>>, Error> {
        let rows: Vec<(Db<EngineerId>, String, String, NaiveDate, NaiveDate)> =
            qualifications::table
                .filter(qualifications::engineer.eq_any(engineers))
                .order(qualifications::from_on)
                .select((
                    qualifications::engineer,
                    qualifications::covers,
                    qualifications::number,
                    qualifications::from_on,
                    qualifications::until_on,
                ))
                .load(self.conn())?;
        let mut papers: BTreeMap<EngineerId, Vec<Qualification>> = BTreeMap::new();
        for (engineer, covers, number, from_on, until_on) in rows {
            let covers = covers
                .parse()
                .map_err(|e: terms::codes::UnknownCode| Error::Unreadable(e.to_string()))?;
            papers.entry(engineer.0).or_default().push(Qualification {
                covers,
                number,
                from_on,
                until_on,
            });
        }
        Ok(papers)
    }

    /// The instruments an engineer of a firm may use.
    pub fn instruments_of(
        &mut self,
        firm: FirmId,
        engineer: Option<EngineerId>,
    ) -> Result<Vec<Instrument>, Error> {
        let rows: Vec<(Db<InstrumentId>, String, NaiveDate)> = instruments::table
            .filter(
                instruments::firm.eq(Db(firm)).and(
                    instruments::engineer
                        .is_null()
                        .or(instruments::engineer.is_not_distinct_from(engineer.map(Db))),
                ),
            )
            .order(instruments::name)
            .select((
                instruments::id,
                instruments::name,
                instruments::calibrated_until,
            ))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|(id, name, calibrated_until)| Instrument {
                id: id.0,
                name,
                calibrated_until,
            })
            .collect())
    }

    /// Every instrument of these firms with who carries it; `None`: anyone of the firm.
    pub fn instruments_of_firms(
        &mut self,
        firms: &[FirmId],
    ) -> Result<Vec<(FirmId, Option<EngineerId>, Instrument)>, Error> {
        let ids: Vec<Uuid> = firms.iter().map(|f| f.0).collect();
        type Row = (
            Db<InstrumentId>,
            Db<FirmId>,
            Option<Db<EngineerId>>,
            String,
            NaiveDate,
        );
        let rows: Vec<Row> = instruments::table
            .filter(instruments::firm.eq_any(ids))
            .order((instruments::calibrated_until, instruments::name))
            .select((
                instruments::id,
                instruments::firm,
                instruments::engineer,
                instruments::name,
                instruments::calibrated_until,
            ))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|(id, firm, engineer, name, calibrated_until)| {
                let instrument = Instrument {
                    id: id.0,
                    name,
                    calibrated_until,
                };
                (firm.0, engineer.map(|e| e.0), instrument)
            })
            .collect())
    }

    /// Keeps bank holidays; a day already known is left as it is.
    pub fn keep_bank_holidays(
        &mut self,
        country: Country,
        days: &[(NaiveDate, String)],
        source: &str,
        at: DateTime<Utc>,
    ) -> Result<usize, Error> {
        let rows: Vec<_> = days
            .iter()
            .map(|(day, name)| {
                (
                    bank_holidays::country.eq(country.code()),
                    bank_holidays::on_day.eq(*day),
                    bank_holidays::name.eq(name),
                    bank_holidays::source.eq(source),
                    bank_holidays::recorded_at.eq(at),
                )
            })
            .collect();
        Ok(diesel::insert_into(bank_holidays::table)
            .values(rows)
            .on_conflict_do_nothing()
            .execute(self.conn())?)
    }

    /// The bank holidays known for a country, in order.
    pub fn bank_holidays(&mut self, country: Country) -> Result<Vec<NaiveDate>, Error> {
        Ok(bank_holidays::table
            .filter(bank_holidays::country.eq(country.code()))
            .order(bank_holidays::on_day)
            .select(bank_holidays::on_day)
            .load(self.conn())?)
    }
}
