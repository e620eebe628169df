//! A quote: lines without VAT, VAT to each line rounded half up, the total with it.
use chrono::NaiveDate;
use serde_json::json;
use store::Tx;
use store::jobs::{JobQuote, QuoteLine};
use terms::{FirmId, JobId, Pence, QuoteId, UnitId};

use crate::{Error, FieldError};

/// A line or total above this is a slip of the finger (£10 million).
const DEAREST: i64 = 1_000_000_000;

/// A quote about to be kept.
#[derive(Clone, Debug)]
pub struct NewQuote {
    /// The job it answers.
    pub job: JobId,
    /// The unit.
    pub unit: UnitId,
    /// Who gives it.
    pub firm: FirmId,
    /// The part it is about.
    pub part: Option<String>,
    /// What, without VAT, VAT per cent.
    pub lines: Vec<(String, Pence, f64)>,
    /// Last day it holds.
    pub valid_until: NaiveDate,
    /// Free words.
    pub words: String,
}

/// The sums of a quote.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Totals {
    /// Without VAT.
    pub net: Pence,
    /// The VAT.
    pub vat: Pence,
    /// With it.
    pub total: Pence,
}

/// Adds up the lines; VAT of each line is rounded to the penny, half up.
///
/// # Errors
/// A sentence at "lines" for no lines, an empty one, a price below nothing or above £10 million, VAT outside 0
/// to 100.
pub fn totals_of(lines: &[(String, Pence, f64)]) -> Result<Totals, Error> {
    if lines.is_empty() {
        return Err(Error::field("lines", "A quote has at least one line."));
    }
    let (mut net, mut vat) = (0_i64, 0_i64);
    let mut wrongs = Vec::new();
    for (n, (what, price, percent)) in (1..).zip(lines) {
        if what.trim().is_empty() {
            wrongs.push(FieldError::at(
                "lines",
                format!("Line {n} does not say what it is for."),
            ));
        }
        if !(0..=DEAREST).contains(&price.0) {
            wrongs.push(FieldError::at(
                "lines",
                format!("Line {n}: {price} is not a price from £0.00 to £10,000,000.00."),
            ));
        } else if !(0.0..=100.0).contains(percent) {
            wrongs.push(FieldError::at(
                "lines",
                format!("Line {n}: {percent} is not a rate of VAT from 0 to 100."),
            ));
        } else {
            net += price.0;
            // In hundredths of a per cent, so that no binary fraction enters the money.
            vat += (price.0 * (percent * 100.0).round() as i64 + 5_000) / 10_000;
        }
    }
    Error::unless_empty(wrongs)?;
    if net + vat > DEAREST {
        let sentence = format!("{} is more than a quote can be.", Pence(net + vat));
        return Err(Error::field("lines", sentence));
    }
    Ok(Totals {
        net: Pence(net),
        vat: Pence(vat),
        total: Pence(net + vat),
    })
}

/// Keeps a quote. For the job sheet’s own transaction: the caller has checked who may quote for the job.
///
/// # Errors
/// As [`totals_of`]; a last day before today, at "valid_until".
pub fn quote(tx: &mut Tx<'_>, new: NewQuote) -> Result<QuoteId, Error> {
    let totals = totals_of(&new.lines)?;
    if new.valid_until < tx.today() {
        return Err(Error::field(
            "valid_until",
            "A quote must hold until today at least.",
        ));
    }
    let about = new.job.to_string();
    let id = tx.add_job_quote(&JobQuote {
        job: new.job,
        unit: new.unit,
        firm: new.firm,
        part: new.part,
        total: totals.total,
        vat: totals.vat,
        valid_until: new.valid_until,
        words: new.words,
        lines: new
            .lines
            .into_iter()
            .map(|(what, net, vat_percent)| QuoteLine {
                what,
                net,
                vat_percent,
            })
            .collect(),
    })?;
    let body = json!({ "quote": id, "total_pence": totals.total.0, "vat_pence": totals.vat.0 });
    tx.note("quote given", &about, &body);
    Ok(id)
}

#[cfg(test)]
mod tests {
    use terms::Pence;

    use super::totals_of;

    fn sums(lines: &[(i64, f64)]) -> Option<(i64, i64)> {
        let lines: Vec<_> = lines
            .iter()
            .map(|(net, vat)| ("work".to_owned(), Pence(*net), *vat))
            .collect();
        totals_of(&lines).ok().map(|t| (t.vat.0, t.total.0))
    }

    #[test]
    fn vat_is_rounded_half_up_line_by_line() {
        assert_eq!(sums(&[(34_333, 20.0)]), Some((6_867, 41_200)));
        // Half a penny goes up: 2.5 → 3, twice over; together it would have been 5.
        assert_eq!(sums(&[(50, 5.0), (50, 5.0)]), Some((6, 106)));
        assert_eq!(sums(&[(10_000, 17.5)]), Some((1_750, 11_750)));
        assert_eq!(sums(&[(0, 20.0)]), Some((0, 0)));
    }

    #[test]
    fn what_cannot_be_a_quote_is_refused() {
        assert_eq!(sums(&[]), None);
        assert_eq!(sums(&[(-1, 20.0)]), None);
        assert_eq!(sums(&[(i64::MAX, 20.0)]), None);
        assert_eq!(sums(&[(100, f64::NAN)]), None);
        assert_eq!(sums(&[(100, 101.0)]), None);
        assert!(totals_of(&[(" ".to_owned(), Pence(1), 20.0)]).is_err());
    }
}
