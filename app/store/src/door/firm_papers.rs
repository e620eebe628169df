//! The papers of firms themselves: registration for gas work, insurance.
use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, Utc};
use diesel::prelude::*;
use terms::{AccountId, FirmId, FirmPaper};
use uuid::Uuid;

use super::Door;
use crate::door_schema::firm_papers;
use crate::tx::fresh_uuid;
use crate::{Db, Error};

impl Door<'_> {
    /// States a paper of a firm; one of the same sort and number stands in its place from now on. What stands already
    /// as it is, is not written twice.
    pub fn state_firm_paper(
        &mut self,
        firm: FirmId,
        paper: &FirmPaper,
        (at, who): (DateTime<Utc>, AccountId),
    ) -> Result<(), Error> {
        let stands = self.firm_papers_of(&[firm])?;
        if stands.get(&firm).is_some_and(|all| all.contains(paper)) {
            return Ok(());
        }
        diesel::insert_into(firm_papers::table)
            .values((
                firm_papers::id.eq(fresh_uuid(at)),
                firm_papers::firm.eq(Db(firm)),
                firm_papers::what.eq(paper.what.code()),
                firm_papers::number.eq(&paper.number),
                firm_papers::from_on.eq(paper.from_on),
                firm_papers::until_on.eq(paper.until_on),
                firm_papers::recorded_at.eq(at),
                firm_papers::recorded_by.eq(Db(who)),
            ))
            .execute(self.conn())?;
        Ok(())
    }

    /// The papers of these firms as they stand, by their first day.
    pub fn firm_papers_of(
        &mut self,
        firms: &[FirmId],
    ) -> Result<BTreeMap<FirmId, Vec<FirmPaper>>, Error> {
        let ids: Vec<Uuid> = firms.iter().map(|f| f.0).collect();
        let rows: Vec<(Db<FirmId>, String, String, NaiveDate, NaiveDate)> = firm_papers::table
            .filter(firm_papers::firm.eq_any(ids))
            .order((firm_papers::recorded_at, firm_papers::id))
            .select((
                firm_papers::firm,
                firm_papers::what,
                firm_papers::number,
                firm_papers::from_on,
                firm_papers::until_on,
            ))
            .load(self.conn())?;
        let mut found: BTreeMap<FirmId, Vec<FirmPaper>> = BTreeMap::new();
        for (firm, what, number, from_on, until_on) in rows {
            let what = what
                .parse()
                .map_err(|e: terms::codes::UnknownCode| Error::Unreadable(e.to_string()))?;
            let papers = found.entry(firm.0).or_default();
            papers.retain(|before| before.what != what || before.number != number);
            papers.push(FirmPaper {
                what,
                number,
                from_on,
                until_on,
            });
        }
        for papers in found.values_mut() {
            papers.sort_by_key(|paper| (paper.what, paper.from_on));
        }
        Ok(found)
    }
}
