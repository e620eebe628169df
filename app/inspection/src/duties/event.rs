//! W4, event: due a number of days after something happened. The days are rows of the rule book.
use chrono::NaiveDate;
use serde::Serialize;

use crate::InspectionError;
use crate::calendar::{add_days, date_words};
use crate::coded::coded;
use crate::rulebook::RuleBook;

coded! {
    /// How the days of an event are counted.
    EventReason {
        /// Within n days of the event; its day is day 0.
        DaysAfter = "W4_DAYS_AFTER",
        /// Before or on the day.
        BeforeOrOn = "W4_BEFORE_OR_ON",
        /// n days starting with the event's day, which is day 1.
        DaysStartingWith = "W4_DAYS_STARTING_WITH",
        /// On the day itself.
        OnTheDay = "W4_ON_THE_DAY",
    }
}

/// When the thing tied to an event is due.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct W4Outcome {
    /// The event.
    pub event: String,
    /// What has to be done, in words.
    pub task: String,
    /// The event's day.
    pub on: NaiveDate,
    /// Due by.
    pub due: NaiveDate,
    /// How the days were counted.
    pub reason: EventReason,
}

impl W4Outcome {
    /// The outcome in one plain sentence.
    pub fn sentence(&self) -> String {
        let due = date_words(self.due);
        let on = date_words(self.on);
        match self.reason {
            EventReason::DaysAfter => format!("{} by {due}, counted from {on}.", self.task),
            EventReason::BeforeOrOn => format!("{} before or on {due}.", self.task),
            EventReason::OnTheDay => format!("{} on {due}.", self.task),
            EventReason::DaysStartingWith => {
                format!("{} by {due}; {on} counts as the first day.", self.task)
            }
        }
    }
}

/// Due date of `event` of the rule book, which happened on `on`. `report_period_days` is the
/// shorter period a report itself sets, for events counted "starting with" the day.
///
/// # Errors
/// An event the rule book does not hold; a report's period under one day.
pub fn w4(
    book: &RuleBook,
    event: &str,
    on: NaiveDate,
    report_period_days: Option<i64>,
) -> Result<W4Outcome, InspectionError> {
    let rule = book.event(event)?;
    let days = match (rule.counting, report_period_days) {
        (EventReason::DaysStartingWith, Some(period)) if period < 1 => {
            return Err(InspectionError::impossible(
                "report_period_days",
                "a report's period is at least one day",
            ));
        }
        (EventReason::DaysStartingWith, Some(period)) => rule.days.min(period - 1),
        _ => rule.days,
    };
    Ok(W4Outcome {
        event: event.to_owned(),
        task: rule.task.clone(),
        on,
        due: add_days(on, days),
        reason: rule.counting,
    })
}
