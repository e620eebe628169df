//! What contractors billed for a job, line by line.
use chrono::NaiveDate;
use diesel::prelude::*;
use terms::{FirmId, JobId, Pence};
use uuid::Uuid;

use crate::estate_schema::{invoice_lines, invoices};
use crate::jobs::QuoteLine;
use crate::{Db, Error, Tx};

/// An invoice.
#[derive(Clone, Debug, PartialEq)]
pub struct Invoice {
    /// Its id; not used when added.
    pub id: Uuid,
    /// The job it bills.
    pub job: JobId,
    /// Who billed.
    pub firm: FirmId,
    /// The firm's own number.
    pub number: String,
    /// Its date.
    pub dated: NaiveDate,
    /// Including VAT.
    pub total: Pence,
    /// VAT inside it.
    pub vat: Pence,
    /// In words.
    pub words: String,
    /// Its lines.
    pub lines: Vec<QuoteLine>,
}

type Row = (
    (Uuid, Db<JobId>, Db<FirmId>),
    (String, NaiveDate, i64, i64, String),
);

impl Tx<'_> {
    /// Keeps an invoice with its lines; one of the same number for the job gives way to it.
    pub fn add_invoice(&mut self, invoice: &Invoice) -> Result<Uuid, Error> {
        let (estate, at) = (self.estate(), self.at());
        diesel::update(
            invoices::table.filter(
                invoices::estate_id
                    .eq(Db(estate))
                    .and(invoices::job_id.eq(Db(invoice.job)))
                    .and(invoices::number.eq(&invoice.number))
                    .and(invoices::superseded_at.is_null()),
            ),
        )
        .set(invoices::superseded_at.eq(at))
        .execute(self.conn())?;
        let id: Uuid = self.fresh();
        let row = (
            (invoices::estate_id.eq(Db(estate)), invoices::id.eq(id)),
            (
                invoices::job_id.eq(Db(invoice.job)),
                invoices::firm_id.eq(Db(invoice.firm)),
            ),
            (
                invoices::number.eq(&invoice.number),
                invoices::dated.eq(invoice.dated),
            ),
            (
                invoices::total_pence.eq(invoice.total.0),
                invoices::vat_pence.eq(invoice.vat.0),
            ),
            (
                invoices::words.eq(&invoice.words),
                invoices::happened_on.eq(invoice.dated),
            ),
            (
                invoices::recorded_at.eq(at),
                invoices::recorded_by.eq(Db(self.who())),
            ),
        );
        diesel::insert_into(invoices::table)
            .values(row)
            .execute(self.conn())?;
        for (n, line) in (1_i32..).zip(&invoice.lines) {
            let row = (
                (
                    invoice_lines::estate_id.eq(Db(estate)),
                    invoice_lines::invoice_id.eq(id),
                    invoice_lines::n.eq(n),
                ),
                (
                    invoice_lines::what.eq(&line.what),
                    invoice_lines::net_pence.eq(line.net.0),
                    invoice_lines::vat_percent.eq(line.vat_percent),
                ),
            );
            diesel::insert_into(invoice_lines::table)
                .values(row)
                .execute(self.conn())?;
        }
        Ok(id)
    }

    /// The invoices of a job in force, by their date.
    pub fn invoices_of(&mut self, job: JobId) -> Result<Vec<Invoice>, Error> {
        let estate = self.estate();
        let rows: Vec<Row> = invoices::table
            .filter(
                invoices::estate_id
                    .eq(Db(estate))
                    .and(invoices::job_id.eq(Db(job)))
                    .and(invoices::superseded_at.is_null()),
            )
            .order((invoices::dated, invoices::id))
            .select((
                (invoices::id, invoices::job_id, invoices::firm_id),
                (
                    invoices::number,
                    invoices::dated,
                    invoices::total_pence,
                    invoices::vat_pence,
                    invoices::words,
                ),
            ))
            .load(self.conn())?;
        self.with_lines(rows)
    }

    /// Jobs other than `job` for which a firm's invoice of this number is on record.
    pub fn also_billed(
        &mut self,
        firm: FirmId,
        number: &str,
        job: JobId,
    ) -> Result<Vec<JobId>, Error> {
        let estate = self.estate();
        let rows: Vec<Db<JobId>> = invoices::table
            .filter(
                invoices::estate_id
                    .eq(Db(estate))
                    .and(invoices::firm_id.eq(Db(firm)))
                    .and(invoices::number.eq(number))
                    .and(invoices::job_id.ne(Db(job)))
                    .and(invoices::superseded_at.is_null()),
            )
            .order(invoices::recorded_at)
            .select(invoices::job_id)
            .load(self.conn())?;
        Ok(rows.into_iter().map(|id| id.0).collect())
    }

    fn with_lines(&mut self, rows: Vec<Row>) -> Result<Vec<Invoice>, Error> {
        let estate = self.estate();
        let ids: Vec<Uuid> = rows.iter().map(|r| r.0.0).collect();
        let lines: Vec<(Uuid, String, i64, f64)> = invoice_lines::table
            .filter(
                invoice_lines::estate_id
                    .eq(Db(estate))
                    .and(invoice_lines::invoice_id.eq_any(ids)),
            )
            .order((invoice_lines::invoice_id, invoice_lines::n))
            .select((
                invoice_lines::invoice_id,
                invoice_lines::what,
                invoice_lines::net_pence,
                invoice_lines::vat_percent,
            ))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|(a, b)| Invoice {
                id: a.0,
                job: a.1.0,
                firm: a.2.0,
                number: b.0,
                dated: b.1,
                total: Pence(b.2),
                vat: Pence(b.3),
                words: b.4,
                lines: lines
                    .iter()
                    .filter(|line| line.0 == a.0)
                    .map(|(_, what, net, vat_percent)| QuoteLine {
                        what: what.clone(),
                        net: Pence(*net),
                        vat_percent: *vat_percent,
                    })
                    .collect(),
            })
            .collect())
    }
}
