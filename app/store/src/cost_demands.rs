//! Costs that were demanded from those who pay towards them, or of which notice was given.
use chrono::NaiveDate;
use diesel::prelude::*;
use terms::JobId;
use uuid::Uuid;

use crate::estate_schema::{cost_demands, invoices};
use crate::{Db, Error, Tx};

/// That an invoice's cost was demanded, or notice of it given.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CostDemand {
    /// The job it bills.
    pub job: JobId,
    /// The invoice's own number.
    pub number: String,
    /// "demand" or "notice".
    pub served: String,
    /// The day.
    pub served_on: NaiveDate,
    /// How, in words.
    pub words: String,
}

impl Tx<'_> {
    /// States it; the same served before for this invoice gives way and stays readable.
    pub fn state_cost_demand(&mut self, demand: &CostDemand) -> Result<(), Error> {
        let (estate, at) = (self.estate(), self.at());
        diesel::update(
            cost_demands::table.filter(
                cost_demands::estate_id
                    .eq(Db(estate))
                    .and(cost_demands::job_id.eq(Db(demand.job)))
                    .and(cost_demands::number.eq(&demand.number))
                    .and(cost_demands::served.eq(&demand.served))
                    .and(cost_demands::superseded_at.is_null()),
            ),
        )
        .set(cost_demands::superseded_at.eq(at))
        .execute(self.conn())?;
        let id: Uuid = self.fresh();
        let row = (
            (
                cost_demands::estate_id.eq(Db(estate)),
                cost_demands::id.eq(id),
                cost_demands::job_id.eq(Db(demand.job)),
                cost_demands::number.eq(&demand.number),
            ),
            (
                cost_demands::served.eq(&demand.served),
                cost_demands::served_on.eq(demand.served_on),
                cost_demands::words.eq(&demand.words),
            ),
            (
                cost_demands::happened_on.eq(demand.served_on),
                cost_demands::recorded_at.eq(at),
                cost_demands::recorded_by.eq(Db(self.who())),
            ),
        );
        diesel::insert_into(cost_demands::table)
            .values(row)
            .execute(self.conn())?;
        Ok(())
    }

    /// What was served of a job's invoices, or of every one of the estate; the earliest first.
    pub fn cost_demands_of(&mut self, job: Option<JobId>) -> Result<Vec<CostDemand>, Error> {
        let estate = self.estate();
        type Row = (Db<JobId>, String, String, NaiveDate, String);
        let mut query = cost_demands::table
            .filter(
                cost_demands::estate_id
                    .eq(Db(estate))
                    .and(cost_demands::superseded_at.is_null()),
            )
            .into_boxed();
        if let Some(job) = job {
            query = query.filter(cost_demands::job_id.eq(Db(job)));
        }
        let rows: Vec<Row> = query
            .order((cost_demands::served_on, cost_demands::id))
            .select((
                cost_demands::job_id,
                cost_demands::number,
                cost_demands::served,
                cost_demands::served_on,
                cost_demands::words,
            ))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|(job, number, served, served_on, words)| CostDemand {
                job: job.0,
                number,
                served,
                served_on,
                words,
            })
            .collect())
    }

    /// Jobs with invoices in force dated from `from` to `until`: job, number and date, the oldest first.
    pub fn invoices_dated(
        &mut self,
        (from, until): (NaiveDate, NaiveDate),
    ) -> Result<Vec<(JobId, String, NaiveDate)>, Error> {
        let estate = self.estate();
        let rows: Vec<(Db<JobId>, String, NaiveDate)> = invoices::table
            .filter(
                invoices::estate_id
                    .eq(Db(estate))
                    .and(invoices::dated.between(from, until))
                    .and(invoices::superseded_at.is_null()),
            )
            .order((invoices::dated, invoices::id))
            .select((invoices::job_id, invoices::number, invoices::dated))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|(job, number, dated)| (job.0, number, dated))
            .collect())
    }
}
