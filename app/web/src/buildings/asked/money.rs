//! Where did the money go?
use chrono::NaiveDate;
use terms::Pence;
use usecases::register::{BuildingView, FlatNow};
use wording::sentences::{capital, counted, dates, list, money};

use super::super::section::number;
use super::{Answered, MOST_ROWS, reasons, row_of};

/// The fewest flats that took more than half of the money, dearest first.
struct Dearest<'a> {
    flats: Vec<&'a str>,
    took: Pence,
    total: Pence,
    /// So few of the block's flats that it is worth saying.
    stands_out: bool,
}

impl<'a> Dearest<'a> {
    fn of(dear: &[(&'a FlatNow, Pence)]) -> Self {
        let total: i64 = dear.iter().map(|(_, spent)| spent.0).sum();
        let (mut flats, mut took) = (Vec::new(), 0);
        for (flat, spent) in dear {
            if 2 * took > total {
                break;
            }
            took += spent.0;
            flats.push(number(&flat.space.name));
        }
        Self {
            stands_out: total > 0 && flats.len() * 4 <= dear.len() && flats.len() <= 5,
            flats,
            took: Pence(took),
            total: Pence(total),
        }
    }

    fn heading(&self, name: &str) -> String {
        if self.total == Pence(0) {
            format!("No money for failures is on record for {name} in 36\u{a0}months")
        } else if self.stands_out {
            let flats = capital(&counted(self.flats.len() as u64, "flat", "flats"));
            format!("{flats} in {name} took more than half of the repair money")
        } else {
            format!(
                "Failures and repairs in {name} cost {} in 36\u{a0}months",
                money::whole(self.total)
            )
        }
    }

    fn standing(&self, from: NaiveDate) -> String {
        if !self.stands_out {
            return format!("From {} to today, including VAT.", dates::day(from));
        }
        let word = if self.flats.len() == 1 {
            "Flat"
        } else {
            "Flats"
        };
        format!(
            "{word} {} cost {} of {} in 36\u{a0}months.",
            list(&self.flats),
            money::whole(self.took),
            money::whole(self.total)
        )
    }
}

/// The answer in words.
pub(super) fn spent(view: &BuildingView) -> Answered {
    let mut dear: Vec<_> = view
        .flats
        .iter()
        .filter_map(|f| f.spent.map(|s| (f, s)))
        .collect();
    dear.sort_by_key(|(f, s)| (std::cmp::Reverse(*s), f.space.ordinal, f.space.place));
    let dearest = Dearest::of(&dear);
    let mut standing = vec![dearest.standing(view.money_from)];
    let unknown = view.flats.iter().filter(|f| f.spent.is_none()).count();
    if unknown > 0 {
        let flats = counted(unknown as u64, "flat", "flats");
        standing.push(format!("For {flats} nothing is on record."));
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
        heading: dearest.heading(&view.building.name),
        standing: standing.join(" "),
        rows_heading: "What the money bought",
        rows_note: months_words(view.money_from, view.today),
        rows,
    }
}

fn months_words(from: NaiveDate, today: NaiveDate) -> String {
    format!("{} to {}", dates::day(from), dates::day(today))
}
