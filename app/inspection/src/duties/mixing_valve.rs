//! V1, in-service tests of a thermostatic mixing valve for care use. Published page (scheme D 08,
//! three makers' manuals): 6–8 and 12–15 weeks after fitting, then by what the two tests showed.
use chrono::NaiveDate;
use serde::Serialize;

use crate::calendar::{add_days, date_words};
use crate::coded::coded;
use crate::expr::round6;

coded! {
    /// Why the third test falls where it does.
    V1Reason {
        /// The first two results are not both known.
        WaitResults = "V1_WAIT_RESULTS",
        /// A large change, or two small ones.
        Sooner = "V1_SOONER",
        /// The ordinary third test.
        Standard = "V1_STANDARD",
    }
}

/// Windows of the first three tests, each `(from, to)`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct V1Outcome {
    /// 6 to 8 weeks after fitting.
    pub first: (NaiveDate, NaiveDate),
    /// 12 to 15 weeks.
    pub second: (NaiveDate, NaiveDate),
    /// 18 to 21 or 24 to 28 weeks; none until both results are known.
    pub third: Option<(NaiveDate, NaiveDate)>,
    /// Why.
    pub reason: V1Reason,
}

impl V1Outcome {
    /// The outcome in one plain sentence.
    pub fn sentence(&self) -> String {
        let span =
            |w: (NaiveDate, NaiveDate)| format!("{} to {}", date_words(w.0), date_words(w.1));
        match self.third {
            None => format!(
                "Tests from {} and from {}; the third follows from what they show.",
                span(self.first),
                span(self.second)
            ),
            Some(third) if self.reason == V1Reason::Sooner => format!(
                "Third test from {}: sooner, because the mixed temperature moved.",
                span(third)
            ),
            Some(third) => format!("Third test from {}.", span(third)),
        }
    }
}

/// `change_1_k`, `change_2_k`: change of the mixed temperature found at tests 1 and 2, K, signed.
/// Up to 1 K counts as none, up to 2 K as small, above as large.
pub fn v1(fitted_on: NaiveDate, change_1_k: Option<f64>, change_2_k: Option<f64>) -> V1Outcome {
    let weeks = |from: i64, to: i64| (add_days(fitted_on, from * 7), add_days(fitted_on, to * 7));
    let (third, reason) = match (change_1_k, change_2_k) {
        (Some(one), Some(two)) => {
            let size = |k: f64| round6(k.abs());
            let large = size(one) > 2.0 || size(two) > 2.0;
            let both_small = size(one) > 1.0 && size(two) > 1.0;
            if large || both_small {
                (Some(weeks(18, 21)), V1Reason::Sooner)
            } else {
                (Some(weeks(24, 28)), V1Reason::Standard)
            }
        }
        _ => (None, V1Reason::WaitResults),
    };
    V1Outcome {
        first: weeks(6, 8),
        second: weeks(12, 15),
        third,
        reason,
    }
}
