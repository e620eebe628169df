//! How soon somebody attends and finishes after a report: rows of the rule book, the same for every
//! estate; common practice except where law caps them.
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use super::{LocalTime, WorkingDays, right_to_repair};
use crate::InspectionError;
use crate::calendar::{add_days, date_words, is_winter};
use crate::rulebook::{RuleBook, Span};

/// What was reported, when, by whom.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ResponseQuery {
    /// The building's country.
    pub country: String,
    /// The kind of report, a row of the rule book.
    pub report: String,
    /// When the landlord became aware.
    pub reported_local: LocalTime,
    /// Somebody in the flat needs heat or water sooner.
    pub vulnerable: bool,
    /// A council secure tenant: the right to repair caps the dates.
    pub council_secure_tenant: bool,
}

/// A moment (from hours) or a day (from days and working days).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(untagged)]
pub enum Deadline {
    /// A wall time.
    At(LocalTime),
    /// A day, to its end.
    On(NaiveDate),
}

impl Deadline {
    /// The local calendar day.
    pub fn day(self) -> NaiveDate {
        match self {
            Self::At(at) => at.day(),
            Self::On(day) => day,
        }
    }

    /// As it is read aloud.
    pub fn words(self) -> String {
        match self {
            Self::At(at) => at.words(),
            Self::On(day) => date_words(day),
        }
    }
}

/// The four times, the words to say at once, and whether law moved the finish.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ResponseTargets {
    /// Aim to attend by.
    pub attend_target: Option<Deadline>,
    /// Attend by.
    pub attend_by: Option<Deadline>,
    /// Aim to finish by.
    pub finish_target: Option<Deadline>,
    /// Finish by.
    pub finish_by: Option<Deadline>,
    /// What the caller is told first (`GAS_EMERGENCY_SERVICE`).
    pub say: Option<String>,
    /// The right to repair moved `finish_by`.
    pub right_to_repair_cap: bool,
}

impl ResponseTargets {
    /// Law caps all four: any later day becomes `last`.
    fn cap(&mut self, last: NaiveDate) {
        let capped = |by: Option<Deadline>| match by {
            Some(by) if by.day() > last => Some(Deadline::On(last)),
            other => other,
        };
        self.right_to_repair_cap = self.finish_by.is_some_and(|by| by.day() > last);
        self.attend_target = capped(self.attend_target);
        self.attend_by = capped(self.attend_by);
        self.finish_target = capped(self.finish_target);
        self.finish_by = capped(self.finish_by);
    }

    /// The times in one plain sentence.
    pub fn sentence(&self) -> String {
        let mut parts = Vec::new();
        if let Some(by) = self.attend_by {
            parts.push(format!("attend by {}", by.words()));
        }
        if let Some(by) = self.finish_by {
            let law = if self.right_to_repair_cap {
                " (law: right to repair)"
            } else {
                ""
            };
            parts.push(format!("finish by {}{law}", by.words()));
        }
        let mut text = parts.join("; ");
        if let Some(first) = text.get(0..1) {
            text.replace_range(0..1, &first.to_uppercase());
        }
        if self.say.is_some() {
            return format!(
                "First: ring the gas emergency service, turn the gas off at its valve, go outside, touch no switches. {text}."
            );
        }
        format!("{text}.")
    }
}

/// The targets for one report. Winter is 1 November to 30 April by the local date of the report.
///
/// # Errors
/// A report the rule book does not hold; a country without a rule set.
pub fn response(
    book: &RuleBook,
    days: &WorkingDays,
    query: &ResponseQuery,
) -> Result<ResponseTargets, InspectionError> {
    if query.country != book.country() {
        return Err(InspectionError::NoRuleSet(query.country.clone()));
    }
    let start = query.reported_local;
    let rule = book.response_rule(&query.report)?;
    let targets = rule.targets(is_winter(start.day()));
    let attend_by = match targets.attend_by_vulnerable {
        Some(span) if query.vulnerable => Some(span),
        _ => targets.attend_by,
    };
    let at = |span: Option<Span>| span.map(|s| reach(start, days, s));
    let mut answer = ResponseTargets {
        attend_target: at(targets.attend_target),
        attend_by: at(attend_by),
        finish_target: at(targets.finish_target),
        finish_by: at(targets.finish_by),
        say: rule.say.clone(),
        right_to_repair_cap: false,
    };
    if let (true, Some(defect)) = (query.council_secure_tenant, &rule.defect) {
        let law = right_to_repair(book, days, &query.country, defect, start.day())?;
        if let Some(cap) = law.due {
            answer.cap(cap);
        }
    }
    Ok(answer)
}

fn reach(start: LocalTime, days: &WorkingDays, span: Span) -> Deadline {
    match span {
        Span::Hours(n) => Deadline::At(start.plus_minutes(i64::from(n) * 60)),
        Span::WorkingDays(n) => Deadline::On(days.after(start.day(), n)),
        Span::Days(n) => Deadline::On(add_days(start.day(), i64::from(n))),
    }
}
