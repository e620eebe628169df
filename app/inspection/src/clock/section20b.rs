//! The eighteen months of section 20B (law text read): a demand not *more than* 18 months after the
//! cost, a notice *within 18 months beginning with* that date. Work to the earlier day.
use chrono::NaiveDate;
use serde::Serialize;

use crate::calendar::{add_days, add_months, date_words, days_between};
use crate::coded::coded;

coded! {
    /// What was, or will be, served.
    DemandOrNotice {
        /// A demand for payment.
        Demand = "demand",
        /// A notice that the cost was incurred.
        Notice = "notice",
    }
}

/// The last days, and whether what was served was in time.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Section20b {
    /// Last day for a notice.
    pub last_day_notice: NaiveDate,
    /// Last day for a demand.
    pub last_day_demand: NaiveDate,
    /// The earlier of the two.
    pub work_to: NaiveDate,
    /// Day on which the year-end sweep should pick the cost up.
    pub sweep_on: NaiveDate,
    /// Whether it was served in time; none if not served.
    pub in_time: Option<bool>,
    /// Days over, 0 if none.
    pub days_over: i64,
}

impl Section20b {
    /// The answer in one plain sentence.
    pub fn sentence(&self) -> String {
        let by = date_words(self.work_to);
        match self.in_time {
            None => format!("Demand it, or give notice of it, by {by}."),
            Some(true) => "Served in time.".to_owned(),
            Some(false) => format!(
                "Served {} too late; it may not be recoverable. Take advice.",
                crate::calendar::day_count(self.days_over)
            ),
        }
    }
}

/// The dates for a cost incurred on `incurred_on`.
pub fn section20b(
    incurred_on: NaiveDate,
    served_on: Option<NaiveDate>,
    kind: DemandOrNotice,
) -> Section20b {
    let last_day_demand = add_months(incurred_on, 18);
    let last_day_notice = add_days(last_day_demand, -1);
    let last = match kind {
        DemandOrNotice::Demand => last_day_demand,
        DemandOrNotice::Notice => last_day_notice,
    };
    Section20b {
        last_day_notice,
        last_day_demand,
        work_to: last_day_notice.min(last_day_demand),
        sweep_on: add_months(incurred_on, 15),
        in_time: served_on.map(|day| day <= last),
        days_over: served_on.map_or(0, |day| days_between(last, day).max(0)),
    }
}
