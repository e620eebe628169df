//! What an option needs before it fits here: works with their cost, and the surveys and readings that settle what is
//! not known. Unknown is never "fits".
use inspection::Values;
use serde::{Deserialize, Serialize};
use terms::Pence;

use super::needs::is_known;
use crate::founding::WorkAsked;

/// Works, a survey or a reading as an advice keeps it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct WorkSeen {
    /// "the cold main in 22 mm with an isolation valve"
    pub what: String,
    /// Low, likely and high, including VAT; `None`: no price is known.
    pub price: Option<(Pence, Pence, Pence)>,
    /// How the price is known.
    pub status: String,
    /// It is part of what the option's price buys.
    pub in_price: bool,
}

/// What the reasons of one option ask for.
#[derive(Debug, Default)]
pub(super) struct Asked {
    pub works: Vec<WorkSeen>,
    pub settles: Vec<WorkSeen>,
}

impl Asked {
    /// Sorts the reasons' codes into works and what settles them. `buys` is what the option's own price buys: a scale
    /// reducer in it costs nothing more.
    pub fn of(list: &[WorkAsked], site: &Values, codes: &[String], buys: &str) -> Self {
        let mut asked = Self::default();
        for row in codes
            .iter()
            .filter_map(|code| list.iter().find(|row| row.reason == *code))
        {
            let bare = row.what.trim_start_matches("a ").trim_start_matches("the ");
            let seen = WorkSeen {
                what: row.what.clone(),
                price: row.price,
                status: row.status.clone(),
                in_price: buys.contains(bare),
            };
            // Works for what nobody looked at yet are a survey first.
            let unseen = !row.asks.is_empty() && !is_known(site, &row.asks);
            if row.settles || unseen {
                asked.settles.push(seen);
            } else {
                asked.works.push(seen);
            }
        }
        asked
    }

    /// Whether nothing is unknown and every work has a price: the option fits after these works.
    pub fn is_settled(&self) -> bool {
        self.settles.is_empty() && self.works.iter().all(|w| w.in_price || w.price.is_some())
    }
}

/// The option's price with its works, and what it then buys.
pub(super) fn with_works(
    price: Option<Pence>,
    buys: String,
    works: &[WorkSeen],
) -> (Option<Pence>, String) {
    let more: i64 = works
        .iter()
        .filter(|w| !w.in_price)
        .filter_map(|w| w.price)
        .map(|(_, likely, _)| likely.0)
        .sum();
    let named: Vec<String> = works
        .iter()
        .filter(|w| !w.in_price)
        .map(|w| match w.price {
            Some((_, likely, _)) => format!("{} ({likely})", w.what),
            None => w.what.clone(),
        })
        .collect();
    let buys = if named.is_empty() {
        buys
    } else {
        format!("{buys}; first {}", named.join(", "))
    };
    (price.map(|p| Pence(p.0 + more)), buys)
}
