//! A quote as typed on a sheet: lines without VAT, added up to the penny.
use chrono::NaiveDate;
use store::jobs::QuoteLine;
use terms::Pence;

use super::sheet::Sheet;
use crate::FieldError;

/// A quote added up.
#[derive(Clone, Debug, PartialEq)]
pub struct QuoteSum {
    /// Its lines.
    pub lines: Vec<QuoteLine>,
    /// Without VAT.
    pub net: Pence,
    /// VAT.
    pub vat: Pence,
    /// Together.
    pub total: Pence,
    /// Last day it holds.
    pub valid_until: Option<NaiveDate>,
}

/// The quote on a sheet; `None` when no line was filled in. What cannot be goes to `wrongs`, each at its field.
pub fn quote_of(sheet: &Sheet, day: NaiveDate, wrongs: &mut Vec<FieldError>) -> Option<QuoteSum> {
    let mut lines = Vec::new();
    for n in 1..=12 {
        let (what, net) = (format!("q.{n}.what"), format!("q.{n}.net"));
        if !sheet.has(&net) {
            continue;
        }
        if !sheet.has(&what) {
            wrongs.push(FieldError::at(&what, "Say what this amount is for."));
        }
        let amount =
            Pence::parse_pounds(sheet.get(&net)).filter(|p| (0..1_000_000_000).contains(&p.0));
        let Some(amount) = amount else {
            wrongs.push(FieldError::at(
                &net,
                format!("“{}” is not an amount such as 186.00.", sheet.get(&net)),
            ));
            continue;
        };
        lines.push(QuoteLine {
            what: sheet.get(&what).to_owned(),
            net: amount,
            vat_percent: vat_of(sheet, n, wrongs),
        });
    }
    if lines.is_empty() {
        return None;
    }
    let net: i64 = lines.iter().map(|l| l.net.0).sum();
    let vat: i64 = lines.iter().map(vat_pence).sum();
    let valid_until = sheet.get("q_until").parse::<NaiveDate>().ok();
    match valid_until {
        None => wrongs.push(FieldError::at(
            "q_until",
            "Say until which day the quote holds, such as 2026-12-04.",
        )),
        Some(until) if until < day => wrongs.push(FieldError::at(
            "q_until",
            "The quote would be over already.",
        )),
        Some(_) => {}
    }
    Some(QuoteSum {
        lines,
        net: Pence(net),
        vat: Pence(vat),
        total: Pence(net + vat),
        valid_until,
    })
}

fn vat_of(sheet: &Sheet, n: usize, wrongs: &mut Vec<FieldError>) -> f64 {
    let key = format!("q.{n}.vat");
    let typed = match sheet.get(&key) {
        "" => sheet.get("q_vat"),
        own => own,
    };
    let typed = if typed.is_empty() { "20" } else { typed };
    match typed.trim_end_matches(['%', ' ']).parse::<f64>() {
        Ok(percent) if (0.0..=30.0).contains(&percent) => percent,
        _ => {
            wrongs.push(FieldError::at(
                key,
                format!("“{typed}” is not a rate of VAT such as 20."),
            ));
            0.0
        }
    }
}

/// VAT of a line, to the nearest penny, halves up.
fn vat_pence(line: &QuoteLine) -> i64 {
    (line.net.0 as f64 * line.vat_percent / 100.0 + 0.5).floor() as i64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_quote_adds_up_to_the_penny() {
        // The sample quote of the visual model: 343.33 without VAT, 68.67 VAT, 412.00 together.
        let sheet = Sheet::new()
            .with("q.1.what", "Hot-water plate")
            .with("q.1.net", "186.00")
            .with("q.2.what", "Seals")
            .with("q.2.net", "14.50")
            .with("q.3.what", "Labour, 2 h")
            .with("q.3.net", "116")
            .with("q.4.what", "Inhibitor and refill")
            .with("q.4.net", "26.83")
            .with("q_until", "2026-12-04");
        let mut wrongs = Vec::new();
        let day = "2026-11-25".parse().unwrap();
        let sum = quote_of(&sheet, day, &mut wrongs).unwrap();
        assert_eq!(wrongs, Vec::new());
        assert_eq!(
            (sum.net, sum.vat, sum.total),
            (Pence(34333), Pence(6867), Pence(41200))
        );
        let bad = sheet.with("q.2.net", "lots").with("q_until", "2026-11-01");
        let mut wrongs = Vec::new();
        quote_of(&bad, day, &mut wrongs);
        let fields: Vec<&str> = wrongs.iter().map(|w| w.field.as_str()).collect();
        assert_eq!(fields, ["q.2.net", "q_until"]);
        assert_eq!(quote_of(&Sheet::new(), day, &mut Vec::new()), None);
    }
}
