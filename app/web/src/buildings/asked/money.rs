//! Where did the money go?
use chrono::NaiveDate;
use terms::Pence;
use usecases::register::BuildingView;
use wording::sentences::{capital, counted, dates, list, money};

use super::super::section::number;
use super::{Answered, MOST_ROWS, reasons, row_of};

/// The answer in words.
pub(super) fn spent(view: &BuildingView) -> Answered {
    let name = &view.building.name;
    let mut dear: Vec<_> = view
        .flats
        .iter()
        .filter_map(|f| f.spent.map(|s| (f, s)))
        .collect();
    dear.sort_by_key(|(f, s)| (std::cmp::Reverse(*s), f.space.ordinal, f.space.place));
    let total: i64 = dear.iter().map(|(_, s)| s.0).sum();
    let mut half = Vec::new();
    let mut sum = 0;
    for (flat, spent) in &dear {
        if 2 * sum > total {
            break;
        }
        sum += spent.0;
        half.push(number(&flat.space.name).to_owned());
    }
    let few = total > 0 && half.len() * 4 <= dear.len() && half.len() <= 5;
    let heading = match (total, few) {
        (0, _) => format!("No money for failures is on record for {name} in 36\u{a0}months"),
        (_, true) => format!(
            "{} in {name} took more than half of the repair money",
            capital(&counted(half.len() as u64, "flat", "flats"))
        ),
        _ => format!(
            "Failures and repairs in {name} cost {} in 36\u{a0}months",
            money::whole(Pence(total))
        ),
    };
    let mut standing = if few {
        let flats = if half.len() == 1 { "Flat" } else { "Flats" };
        format!(
            "{flats} {} cost {} of {} in 36\u{a0}months.",
            list(&half),
            money::whole(Pence(sum)),
            money::whole(Pence(total))
        )
    } else {
        format!(
            "From {} to today, including VAT.",
            dates::day(view.money_from)
        )
    };
    let unknown = view.flats.iter().filter(|f| f.spent.is_none()).count();
    if unknown > 0 {
        standing.push_str(&format!(
            " For {} nothing is on record.",
            counted(unknown as u64, "flat", "flats")
        ));
    }
    let rows = dear
        .iter()
        .take(MOST_ROWS)
        .filter(|(_, s)| s.0 > 0)
        .map(|(flat, s)| {
            row_of(
                flat,
                format!(": {}.", reasons(view, flat, flat.oldest.as_ref())),
            )
            .figure(
                money::whole(*s),
                counted(flat.failures as u64, "failure", "failures"),
            )
        })
        .collect();
    Answered {
        heading,
        standing,
        rows_heading: "What the money bought",
        rows_note: months_words(view.money_from, view.today),
        rows,
    }
}

fn months_words(from: NaiveDate, today: NaiveDate) -> String {
    format!("{} to {}", dates::day(from), dates::day(today))
}
