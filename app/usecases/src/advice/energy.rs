//! What a unit's energy costs whoever pays for it, at its seasonal efficiency, new and as it ages.
use costing::Yearly;
use costing::energy::{Efficiency, HeatNeed, by_year};
use terms::trade::Kind;

use super::book::{Book, InputLine, Measure};

/// Years after which a unit is taken to lose no more efficiency (our guess, no source).
const AGES_FOR: f64 = 20.0;

/// Whether energy is counted for these kinds: the payer of the advice pays a share of it, and every kind's efficiency is
/// known. It is counted for all of them or for none, else the one left out would look cheap.
pub(crate) fn is_counted<'a>(book: &Book, kinds: impl IntoIterator<Item = &'a str>) -> bool {
    book.assumed("energy_share") > 0.0
        && kinds
            .into_iter()
            .all(|kind| book.assumed(&format!("efficiency:{kind}")) > 0.0)
}

/// Pounds of energy in year 1, 2, … of a unit of this kind and age, and the lines that say so.
pub(crate) fn energy_of(
    book: &Book,
    (kind, option): (&Kind, &str),
    age: f64,
    years: u32,
) -> (Yearly, Vec<InputLine>) {
    let price = match kind.code.as_str() {
        "HIU" => "network_pence",
        _ if kind.gas => "gas_pence",
        _ => "power_pence",
    };
    let need = HeatNeed {
        kwh: book.assumed("heat_kwh") * book.assumed("energy_share").min(1.0),
        pounds_a_kwh: book.assumed(price) / 100.0,
    };
    let efficiency = Efficiency {
        new: book.assumed(&format!("efficiency:{}", kind.code)),
        lost_a_year: book.assumed("efficiency_lost").min(1.0),
        ages_for: AGES_FOR,
    };
    let list = by_year(&need, &efficiency, age, years);
    let mut lines: Vec<InputLine> = [price.to_owned(), format!("efficiency:{}", kind.code)]
        .iter()
        .filter_map(|key| book.assumed_line(key))
        .map(|line| InputLine {
            code: line.code.split(':').next().unwrap_or_default().to_owned(),
            option: option.to_owned(),
            ..line
        })
        .collect();
    if let (Some(first), Some(last)) = (list.first(), list.last()) {
        for (code, value) in [("energy_first", first), ("energy_last", last)] {
            lines.push(InputLine {
                code: code.to_owned(),
                option: option.to_owned(),
                value: *value,
                measure: Measure::PoundsAYear,
                source: "heat of a home × price ÷ seasonal efficiency at that age".to_owned(),
                status: "reckoned".to_owned(),
            });
        }
    }
    (Yearly::Each(list), lines)
}
