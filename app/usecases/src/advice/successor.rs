//! What could take a unit's place, as an option of its case: price, life, failures, warranty, grant.
use costing::{ReplacementOption, Yearly};

use super::book::{Book, InputLine, Measure};
use super::case::{Lines, Subject, compared, fault_cost, price_source, service_of};
use super::failures::{OldFailures, of_new_unit};
use super::options::OptionSeen;
use super::outlook::longest_life;
use crate::Error;

/// The part that a quote in hand is about.
fn quoted_part<'a>(subject: &'a Subject<'_>) -> Option<&'a str> {
    subject.quote.and_then(|q| q.body.part.as_deref())
}

/// An option new today, with its chance to fail within its first year.
pub(super) fn replacement(
    book: &Book,
    (subject, old): (&Subject<'_>, &OldFailures),
    seen: &OptionSeen,
    lines: &mut Lines,
) -> Result<(ReplacementOption, (f64, f64, f64)), Error> {
    let card = subject.card;
    let firm = subject.quote.map(|q| q.body.firm);
    let kind = book.kind(&seen.code)?;
    let life = longest_life(kind);
    let (staying, by_year) = (&old.staying, &old.by_year);
    let beside = staying.said(&seen.code, by_year, &old.known, lines);
    let met = staying.names_beside(&seen.code);
    let (faults, first) = of_new_unit(book, (kind, card), (life, &met, beside), lines);
    let capex = seen.price.unwrap_or_default().to_pounds();
    let code = seen.code.as_str();
    let price = book
        .price(&card.kind, &format!("replace:{code}"), firm)
        .or_else(|| book.price(code, &format!("replace:{code}"), firm));
    let source = price.map(price_source).unwrap_or_default();
    lines.about(
        "capex",
        code,
        (capex, Measure::Pounds),
        (&source, &seen.price_status),
    );
    lines.about(
        "life",
        code,
        (f64::from(life), Measure::Years),
        (
            "age by which 8 in 10 of its kind have been replaced",
            &kind.status,
        ),
    );
    let years = warranty_of(book, code, lines);
    let (grant, grant_to) = grant_of(book, code, lines);
    let option = ReplacementOption {
        code: code.to_owned(),
        capex: capex + book.assumed("removal"),
        install_disruption: book.assumed("disruption_fitting"),
        life_max: life,
        failures: costing::Failures::Each { faults },
        warranty_years: years.round().clamp(0.0, 100.0) as u32,
        warranty_excess: 0.0,
        service: Yearly::Same(service_of(book, code, firm, code, lines)),
        energy: Yearly::default(),
        disposal: 0.0,
        fault_cost: fault_cost(book, code, firm, code, lines),
        grant,
        grant_to,
        unplanned_premium: 0.0,
        from: 0,
        to: None,
        stays: staying.beside_only(&seen.code, &compared(subject), by_year),
        leaves_fault: staying.leaves(quoted_part(subject), &seen.code),
    };
    Ok((option, first))
}

/// The years of warranty reckoned with for a new one.
fn warranty_of(book: &Book, code: &str, lines: &mut Lines) -> f64 {
    let warranty = book.assumed_line(&format!("warranty:{code}"));
    let years = warranty.as_ref().map_or(0.0, |line| line.value);
    lines.take(warranty.map(|line| InputLine {
        code: "warranty".to_owned(),
        option: code.to_owned(),
        ..line
    }));
    years
}

/// A grant towards the first of its kind, and the last year in which it can be had; nothing where none is stated.
fn grant_of(book: &Book, code: &str, lines: &mut Lines) -> (f64, Option<u32>) {
    let grant = book.assumed_line(&format!("grant:{code}"));
    let grant = grant.filter(|line| line.value > 0.0);
    let Some(grant) = grant else {
        return (0.0, None);
    };
    let pounds = grant.value;
    let years = book.assumed(&format!("grant_years:{code}"));
    for (code_of_line, line) in [
        ("grant", Some(grant)),
        (
            "grant_years",
            book.assumed_line(&format!("grant_years:{code}")),
        ),
    ] {
        lines.take(line.map(|line| InputLine {
            code: code_of_line.to_owned(),
            option: code.to_owned(),
            ..line
        }));
    }
    (pounds, Some(years.round().clamp(0.0, 100.0) as u32))
}
