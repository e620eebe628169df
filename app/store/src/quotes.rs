//! Reading quotes back, for the advice that weighs them; they are written beside their jobs.
use chrono::NaiveDate;
use diesel::prelude::*;
use terms::{FirmId, JobId, Pence, QuoteId, UnitId};

use crate::estate_schema::{quote_lines, quotes};
use crate::jobs::{JobQuote, QuoteLine};
use crate::{Db, Error, Tx};

/// A quote as it was given.
#[derive(Clone, Debug, PartialEq)]
pub struct Quote {
    /// Its id.
    pub id: QuoteId,
    /// The day it was given.
    pub given_on: NaiveDate,
    /// What it says.
    pub body: JobQuote,
}

impl Tx<'_> {
    /// One quote.
    pub fn quote(&mut self, id: QuoteId) -> Result<Quote, Error> {
        self.quotes(&[id])?.pop().ok_or(Error::NotFound("quote"))
    }

    /// These quotes with their lines, oldest first.
    pub fn quotes(&mut self, ids: &[QuoteId]) -> Result<Vec<Quote>, Error> {
        let estate = self.estate();
        let ids: Vec<Db<QuoteId>> = ids.iter().copied().map(Db).collect();
        type Row = (
            (Db<QuoteId>, Db<JobId>, Db<UnitId>, Db<FirmId>),
            (Option<String>, i64, i64),
            (NaiveDate, String, NaiveDate),
        );
        let rows: Vec<Row> = quotes::table
            .filter(
                quotes::estate_id
                    .eq(Db(estate))
                    .and(quotes::id.eq_any(&ids)),
            )
            .order((quotes::recorded_at, quotes::id))
            .select((
                (quotes::id, quotes::job_id, quotes::unit_id, quotes::firm_id),
                (quotes::part_code, quotes::total_pence, quotes::vat_pence),
                (quotes::valid_until, quotes::words, quotes::happened_on),
            ))
            .load(self.conn())?;
        let lines: Vec<(Db<QuoteId>, String, i64, f64)> = quote_lines::table
            .filter(
                quote_lines::estate_id
                    .eq(Db(estate))
                    .and(quote_lines::quote_id.eq_any(&ids)),
            )
            .order((quote_lines::quote_id, quote_lines::n))
            .select((
                quote_lines::quote_id,
                quote_lines::what,
                quote_lines::net_pence,
                quote_lines::vat_percent,
            ))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|(a, b, c)| Quote {
                id: a.0.0,
                given_on: c.2,
                body: JobQuote {
                    job: a.1.0,
                    unit: a.2.0,
                    firm: a.3.0,
                    part: b.0,
                    total: Pence(b.1),
                    vat: Pence(b.2),
                    valid_until: c.0,
                    words: c.1,
                    lines: lines
                        .iter()
                        .filter(|line| line.0 == a.0)
                        .map(|(_, what, net, vat_percent)| QuoteLine {
                            what: what.clone(),
                            net: Pence(*net),
                            vat_percent: *vat_percent,
                        })
                        .collect(),
                },
            })
            .collect())
    }
}
