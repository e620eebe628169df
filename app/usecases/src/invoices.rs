//! An invoice matched with the quote it answers, line by line, before anybody agrees it.
use chrono::NaiveDate;
use costing::invoice::{BillLine, Difference, differences};
use serde::Serialize;
use serde_json::json;
use store::Tx;
use store::invoices::Invoice;
use store::jobs::{Job, QuoteLine};
use store::quotes::Quote;
use terms::{JobId, Pence, Role};

use crate::advice::{Before, before_money, totals_of};
use crate::cost_demands::{Recovery, recovery};
use crate::work::must_see;
use crate::{Error, Seat, World};

pub use costing::invoice::Difference as LineDifference;

/// What somebody types from an invoice.
#[derive(Clone, Debug, Serialize)]
pub struct NewInvoice {
    /// The job it bills.
    pub job: JobId,
    /// The firm's own number.
    pub number: String,
    /// Its date.
    pub dated: NaiveDate,
    /// What, without VAT, VAT per cent.
    pub lines: Vec<(String, Pence, f64)>,
    /// The total on the paper, VAT in it; checked against the lines.
    pub total: Option<Pence>,
    /// Free words.
    pub words: String,
}

/// An invoice with what was found about it.
#[derive(Clone, Debug)]
pub struct Matched {
    /// The invoice.
    pub invoice: Invoice,
    /// Where it parts from the quote; empty where there is no quote.
    pub differences: Vec<Difference>,
    /// Billed less quoted, VAT in both; `None` without a quote.
    pub over: Option<Pence>,
    /// Other jobs that carry an invoice of the same firm and number.
    pub also_on: Vec<String>,
    /// By when those who pay towards it are asked, or that they were.
    pub recovery: Recovery,
}

/// What the page of a job's invoices shows.
#[derive(Clone, Debug)]
pub struct Invoices {
    /// The job.
    pub job: Job,
    /// The quote that was agreed, when there is one.
    pub quote: Option<Quote>,
    /// What was billed.
    pub billed: Vec<Matched>,
    /// What speaks against paying.
    pub before: Vec<Before>,
    /// The day.
    pub today: NaiveDate,
}

/// A job's invoices beside its quote.
///
/// # Errors
/// [`Error::Forbidden`] for anybody but the desk; [`Error::NotFound`] outside its reach.
pub fn invoices(world: &World, seat: &Seat, job: JobId) -> Result<Invoices, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        let job = tx.job(job)?;
        must_see(tx, seat, &job)?;
        let quote = match tx.quote_of_job(job.id)? {
            Some((id, _, _)) => Some(tx.quote(id)?),
            None => None,
        };
        let mut billed = Vec::new();
        for invoice in tx.invoices_of(job.id)? {
            billed.push(matched(tx, invoice, quote.as_ref())?);
        }
        let unit = job.unit.map(|id| tx.unit(id)).transpose()?;
        let part = quote.as_ref().and_then(|q| q.body.part.clone());
        let before = match &unit {
            Some(unit) => before_money(tx, unit, Some(job.id), part.as_deref())?,
            None => Vec::new(),
        };
        Ok(Invoices {
            job,
            quote,
            billed,
            before,
            today: tx.today(),
        })
    })
}

fn matched(tx: &mut Tx<'_>, invoice: Invoice, quote: Option<&Quote>) -> Result<Matched, Error> {
    let also = tx.also_billed(invoice.firm, &invoice.number, invoice.job)?;
    let mut also_on = Vec::new();
    for job in also {
        also_on.push(tx.job(job)?.number);
    }
    let building = tx.job(invoice.job)?.building;
    let country = tx.building(building)?.country;
    let mut served = tx.cost_demands_of(Some(invoice.job))?;
    served.retain(|s| s.number == invoice.number);
    let found = quote.map(|q| differences(&bill(&q.body.lines), &bill(&invoice.lines)));
    Ok(Matched {
        differences: found.unwrap_or_default(),
        over: quote.map(|q| Pence(invoice.total.0 - q.body.total.0)),
        also_on,
        recovery: recovery(invoice.dated, country, served)?,
        invoice,
    })
}

fn bill(lines: &[QuoteLine]) -> Vec<BillLine> {
    lines
        .iter()
        .map(|line| BillLine {
            what: line.what.clone(),
            net: line.net,
            vat_percent: line.vat_percent,
        })
        .collect()
}

/// Enters an invoice; one of the same number for the job gives way to it and stays on record.
///
/// # Errors
/// [`Error::Invalid`] at `number`, `dated`, `lines` or `total`; [`Error::Conflict`] for a job no firm has.
pub fn enter_invoice(
    world: &World,
    seat: &Seat,
    new: &NewInvoice,
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let totals = totals_of(&new.lines)?;
    if new.number.trim().is_empty() {
        return Err(Error::field("number", "Say the number on the invoice."));
    }
    if new.total.is_some_and(|total| total != totals.total) {
        return Err(Error::field(
            "total",
            format!("The lines with their VAT come to {}.", totals.total),
        ));
    }
    world.acting(seat, |tx| {
        let job = tx.job(new.job)?;
        must_see(tx, seat, &job)?;
        tx.once(once, new, |tx| {
            if new.dated > tx.today() {
                return Err(Error::field("dated", "Its day has not come yet."));
            }
            let firm = job.firm.ok_or_else(|| {
                Error::Conflict("No firm has this job, so none can bill for it.".to_owned())
            })?;
            let id = tx.add_invoice(&Invoice {
                id: uuid::Uuid::nil(),
                job: job.id,
                firm,
                number: new.number.trim().to_owned(),
                dated: new.dated,
                total: totals.total,
                vat: totals.vat,
                words: new.words.trim().to_owned(),
                lines: new
                    .lines
                    .iter()
                    .map(|(what, net, vat_percent)| QuoteLine {
                        what: what.trim().to_owned(),
                        net: *net,
                        vat_percent: *vat_percent,
                    })
                    .collect(),
            })?;
            let body = json!({ "invoice": id, "number": new.number.trim(), "total_pence": totals.total.0 });
            tx.note("invoice entered", &job.id.to_string(), &body);
            Ok(())
        })
    })
}
