//! Rounding an advice for a page, and a quote's two limits.
use serde::{Deserialize, Serialize};
use terms::Pence;

use crate::advice::{Advice, Decision};

/// The repair limit and the advantage as a page shows them beside a quote.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ShownAdvice {
    /// The quote they stand beside; nought without a fault in hand.
    pub quote: Pence,
    /// The highest whole-penny price at which repairing is still the cheaper course; may be negative:
    /// replace even if the repair were free.
    pub limit: Pence,
    /// quote − limit, exactly; positive = replacing now is cheaper.
    pub advantage: Pence,
    /// Replace when the advantage is positive, else repair (keep without a fault in hand).
    pub decision: Decision,
}

/// The advice beside a quote, in whole pence: advantage = quote − limit exactly. The limit does not
/// depend on the quote, so any later quote for the same fault can be shown with the same advice. It is
/// rounded down, so a quote equal to it is still worth paying and one penny more is not. `None` when
/// the advice has no limit (replacing now is not open, or there is no course of keeping).
pub fn shown(quote: Pence, advice: &Advice) -> Option<ShownAdvice> {
    // A thousandth of a penny forgives the rounding of binary fractions.
    let limit = Pence((advice.repair_limit? * 100.0 + 1e-3).floor() as i64);
    let advantage = quote.checked_sub(limit)?;
    let decision = if advantage.0 > 0 {
        Decision::Replace
    } else if advice.fault_in_hand {
        Decision::Repair
    } else {
        Decision::Keep
    };
    Some(ShownAdvice {
        quote,
        limit,
        advantage,
        decision,
    })
}

/// Where a quote stands against the two limits; they are never mixed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum QuoteOutcome {
    /// Go ahead, told afterwards.
    InsideBoth,
    /// Worth doing, needs a yes.
    OverAuthorityOnly,
    /// May be agreed, but replacing is cheaper.
    OverRepairLimitOnly,
    /// Decision pack.
    OverBoth,
}

/// Judges a quote by what may be agreed without asking and by what is worth paying. A quote equal to
/// a limit is inside it. `repair_limit` is `None` when there is nothing to compare with: then only the
/// authority speaks. Making safe and temporary heat wait for neither.
pub fn two_limits(quote: Pence, authority: Pence, repair_limit: Option<Pence>) -> QuoteOutcome {
    let dear = repair_limit.is_some_and(|limit| quote > limit);
    match (quote > authority, dear) {
        (false, false) => QuoteOutcome::InsideBoth,
        (true, false) => QuoteOutcome::OverAuthorityOnly,
        (false, true) => QuoteOutcome::OverRepairLimitOnly,
        (true, true) => QuoteOutcome::OverBoth,
    }
}

#[cfg(test)]
mod tests {
    use super::{QuoteOutcome, two_limits};
    use terms::Pence;

    #[test]
    fn a_quote_at_a_limit_is_inside_it() {
        let at = |quote| two_limits(Pence(quote), Pence(25_000), Some(Pence(30_000)));
        assert_eq!(at(25_000), QuoteOutcome::InsideBoth);
        assert_eq!(at(25_001), QuoteOutcome::OverAuthorityOnly);
        assert_eq!(at(30_001), QuoteOutcome::OverBoth);
        let low = |quote| two_limits(Pence(quote), Pence(25_000), Some(Pence(9_786)));
        assert_eq!(low(9_786), QuoteOutcome::InsideBoth);
        assert_eq!(low(9_787), QuoteOutcome::OverRepairLimitOnly);
        let alone = two_limits(Pence(24_000), Pence(25_000), None);
        assert_eq!(alone, QuoteOutcome::InsideBoth);
    }
}
