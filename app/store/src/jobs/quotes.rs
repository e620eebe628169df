//! Itemised prices for work, as the contractor gave them.
use chrono::NaiveDate;
use diesel::prelude::*;
use terms::{FirmId, JobId, Pence, QuoteId, UnitId};

use crate::estate_schema::{quote_lines, quotes};
use crate::{Db, Error, Tx};

/// One line of a quote.
#[derive(Clone, Debug, PartialEq)]
pub struct QuoteLine {
    /// "Hot-water plate", "Labour, 2 h"
    pub what: String,
    /// Without VAT.
    pub net: Pence,
    /// VAT, per cent.
    pub vat_percent: f64,
}

/// A quote for a job.
#[derive(Clone, Debug, PartialEq)]
pub struct JobQuote {
    /// The job.
    pub job: JobId,
    /// The unit.
    pub unit: UnitId,
    /// Who gave it.
    pub firm: FirmId,
    /// The part it is about.
    pub part: Option<String>,
    /// Including VAT.
    pub total: Pence,
    /// VAT inside it.
    pub vat: Pence,
    /// Last day it holds.
    pub valid_until: NaiveDate,
    /// In words.
    pub words: String,
    /// Its lines.
    pub lines: Vec<QuoteLine>,
}

impl Tx<'_> {
    /// Keeps a quote with its lines.
    pub fn add_job_quote(&mut self, quote: &JobQuote) -> Result<QuoteId, Error> {
        let id: QuoteId = self.fresh();
        let estate = self.estate();
        let row = (
            (quotes::estate_id.eq(Db(estate)), quotes::id.eq(Db(id))),
            (
                quotes::job_id.eq(Db(quote.job)),
                quotes::unit_id.eq(Db(quote.unit)),
                quotes::firm_id.eq(Db(quote.firm)),
            ),
            quotes::part_code.eq(&quote.part),
            (
                quotes::total_pence.eq(quote.total.0),
                quotes::vat_pence.eq(quote.vat.0),
            ),
            (
                quotes::valid_until.eq(quote.valid_until),
                quotes::words.eq(&quote.words),
            ),
            (
                quotes::happened_on.eq(self.today()),
                quotes::recorded_at.eq(self.at()),
                quotes::recorded_by.eq(Db(self.who())),
            ),
        );
        diesel::insert_into(quotes::table)
            .values(row)
            .execute(self.conn())?;
        for (n, line) in quote.lines.iter().enumerate() {
            let row = (
                (
                    quote_lines::estate_id.eq(Db(estate)),
                    quote_lines::quote_id.eq(Db(id)),
                    quote_lines::n.eq(i32::try_from(n + 1).unwrap_or(i32::MAX)),
                ),
                (
                    quote_lines::what.eq(&line.what),
                    quote_lines::net_pence.eq(line.net.0),
                    quote_lines::vat_percent.eq(line.vat_percent),
                ),
            );
            diesel::insert_into(quote_lines::table)
                .values(row)
                .execute(self.conn())?;
        }
        Ok(id)
    }

    /// The latest quote of a job: id, total and last day.
    pub fn quote_of_job(
        &mut self,
        job: JobId,
    ) -> Result<Option<(QuoteId, Pence, NaiveDate)>, Error> {
        let estate = self.estate();
        let row: Option<(Db<QuoteId>, i64, NaiveDate)> = quotes::table
            .filter(
                quotes::estate_id
                    .eq(Db(estate))
                    .and(quotes::job_id.eq(Db(job)))
                    .and(quotes::superseded_at.is_null()),
            )
            .order((quotes::recorded_at.desc(), quotes::id.desc()))
            .select((quotes::id, quotes::total_pence, quotes::valid_until))
            .first(self.conn())
            .optional()?;
        Ok(row.map(|(id, total, until)| (id.0, Pence(total), until)))
    }
}
