//! What waits for a decision: quotes between their two limits, advices.
use terms::Pence;
use terms::today::{OpenAdvice, OpenQuote};

use super::small;
use crate::sentences::{dates, money};

/// ": Beck Heating quotes £412.00 for a hot-water plate. …": the quote between its two limits.
pub fn quote(quote: &OpenQuote) -> String {
    let what = quote
        .part_name
        .as_deref()
        .map(|part| format!(" for “{}”", small(part)))
        .unwrap_or_default();
    let price = money::exact(quote.total);
    format!(
        ": {} quotes {price}{what}. {}",
        quote.firm,
        two_limits(quote)
    )
}

fn two_limits(quote: &OpenQuote) -> String {
    let over_authority = quote.authority.is_none_or(|a| quote.total > a);
    let authority = match quote.authority {
        Some(a) => format!("your authority of {}", money::exact(a)),
        None => "any authority on record".to_owned(),
    };
    let Some(weighed) = quote.weighed else {
        return if over_authority {
            format!("That is over {authority}. No advice has weighed it yet.")
        } else {
            format!("That is inside {authority}. No advice has weighed it yet.")
        };
    };
    let limit = if weighed.limit < Pence(0) {
        format!(
            "the repair limit, which is below nothing ({})",
            money::exact(weighed.limit)
        )
    } else {
        format!("the repair limit of {}", money::exact(weighed.limit))
    };
    let dearer = money::exact(weighed.advantage);
    let mut said = match (over_authority, weighed.advantage > Pence(0)) {
        (false, false) => format!(
            "It is inside {authority} and under {limit}: go ahead, and tell the landlord afterwards."
        ),
        (true, false) => {
            format!("Worth doing, needs a yes: it is under {limit} but over {authority}.")
        }
        (false, true) => format!(
            "You may, it is inside {authority}; but it is over {limit}: replacing now is the cheaper course by {dearer}."
        ),
        (true, true) => format!(
            "It is over {authority} and over {limit}: replacing now is the cheaper course by {dearer}. It needs a decision pack."
        ),
    };
    if weighed.close_call {
        said.push_str(" Close: either is defensible.");
    }
    said
}

/// Why a quote meets two limits, with the sum: advantage = quote − limit.
pub fn quote_why(quote: &OpenQuote) -> Vec<String> {
    let mut said = vec![
        "Two limits, kept apart. Authority is what you may agree without asking. The repair limit is the highest price at which repairing is still the cheaper course for this unit.".to_owned(),
    ];
    if let Some(w) = quote.weighed {
        said.push(format!(
            "Advantage of replacing now: {} − {} = {}.",
            money::exact(quote.total),
            money::exact(w.limit),
            money::exact(w.advantage)
        ));
    }
    said.push("Making safe and temporary heat wait for neither.".to_owned());
    said
}

/// ": replacing it now is the cheaper course, by the advice of 3 March 2026."
pub fn advice(advice: &OpenAdvice) -> String {
    let day = dates::day(advice.made_on);
    format!(
        ": replacing now is the cheaper course, by the advice of {day}. Nobody has decided yet."
    )
}
