//! Applies the blocks of the rule book to a sheet.
use serde::Serialize;
use serde_json::Value as Json;

use super::{Sheet, UnsafeClass};
use crate::InspectionError;
use crate::coded::coded;
use crate::expr::Values;
use crate::rulebook::RuleBook;

coded! {
    /// How a visit may end.
    Outcome {
        /// Complete.
        Complete = "complete",
        /// Made safe, return.
        MadeSafeReturn = "made_safe_return",
        /// Awaiting a part.
        AwaitingPart = "awaiting_part",
        /// No access.
        NoAccess = "no_access",
        /// Left isolated.
        Isolated = "isolated",
        /// At risk, and the user declined to have it turned off.
        UserDeclined = "user_declined",
    }
}

coded! {
    /// What must happen before anything else.
    MustDo {
        /// Ring the gas emergency service.
        GasEmergencyService = "GAS_EMERGENCY_SERVICE",
        /// Record the refusal, open the follow-up.
        RecordDeclined = "RECORD_DECLINED_AND_FOLLOW_UP",
        /// Isolate, label, give the warning notice.
        IsolateLabelNotice = "ISOLATE_LABEL_AND_NOTICE",
    }
}

impl MustDo {
    /// What must be done, in words.
    pub fn words(self) -> &'static str {
        match self {
            Self::GasEmergencyService => {
                "Permission was refused and it is immediately dangerous: ring the gas emergency service now."
            }
            Self::RecordDeclined => {
                "Record that the user declined, and open a follow-up job with a date."
            }
            Self::IsolateLabelNotice => {
                "Isolate it, fix the do-not-use label, and leave the written warning notice."
            }
        }
    }
}

coded! {
    /// Who may override the hard blocks that stand.
    WhoMayOverride {
        /// A named supervisor, with reason and time.
        Supervisor = "supervisor",
        /// Nobody.
        Nobody = "nobody",
    }
}

/// Whether and how a job may be closed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Completion {
    /// Numbers of the hard blocks that stand.
    pub hard_blocks: Vec<u8>,
    /// Keys of the soft blocks without a typed reason.
    pub soft_blocks: Vec<String>,
    /// Whether "complete" is open.
    pub complete_allowed: bool,
    /// The outcomes that are open.
    pub allowed_outcomes: Vec<Outcome>,
    /// What must be done first.
    pub must_do: Vec<MustDo>,
    /// The hard blocks a supervisor may override.
    pub overridable_blocks: Vec<u8>,
    /// Who may override; none without hard blocks.
    pub who_may_override: Option<WhoMayOverride>,
}

/// The sheet as the values the blocks speak of: dotted names, each part that concerns the job by
/// `true`, and the counts of the gas check's items.
fn values_of(sheet: &Sheet) -> Result<Values, InspectionError> {
    let json = serde_json::to_value(sheet)
        .map_err(|e| InspectionError::impossible("sheet", &e.to_string()))?;
    let mut values = match &json {
        Json::Object(object) => Values::from_json(object),
        _ => Values::new(),
    };
    if let Some(check) = &sheet.gas_check {
        let blank = |text: Option<&String>| text.is_none_or(|t| t.trim().is_empty());
        let without = check
            .items
            .iter()
            .filter(|i| blank(i.result.as_ref()))
            .count();
        values.set("gas_check.items_listed", check.items.len() as f64);
        values.set("gas_check.items_without_result", without as f64);
    }
    Ok(values)
}

/// Checks a sheet against the shipped rule book.
///
/// # Errors
/// Only if the shipped rule book is wrong, which a test excludes.
pub fn check(sheet: &Sheet) -> Result<Completion, InspectionError> {
    check_with(RuleBook::shipped()?, sheet)
}

/// Checks a sheet against `book`.
///
/// # Errors
/// A sheet that cannot be written down (a number that is not finite).
pub fn check_with(book: &RuleBook, sheet: &Sheet) -> Result<Completion, InspectionError> {
    let values = values_of(sheet)?;
    // What cannot be judged is unproved, and unproved counts as not done.
    let standing: Vec<_> = book
        .blocks()
        .iter()
        .filter(|b| b.when.truth(&values) != Ok(false))
        .collect();
    let hard_blocks: Vec<u8> = standing.iter().map(|b| b.block).collect();
    let overridable_blocks: Vec<u8> = standing
        .iter()
        .filter(|b| b.overridable)
        .map(|b| b.block)
        .collect();
    let all_overridable = overridable_blocks.len() == hard_blocks.len();
    let who_may_override = (!hard_blocks.is_empty()).then_some(if all_overridable {
        WhoMayOverride::Supervisor
    } else {
        WhoMayOverride::Nobody
    });
    let soft_blocks: Vec<String> = book
        .soft_blocks()
        .iter()
        .filter(|soft| {
            sheet
                .soft
                .get(&soft.key)
                .is_some_and(|reason| reason.as_ref().is_none_or(|r| r.trim().is_empty()))
        })
        .map(|soft| soft.key.clone())
        .collect();
    let overridden = all_overridable && override_given(sheet);
    let complete_allowed = soft_blocks.is_empty() && (hard_blocks.is_empty() || overridden);
    let (allowed_outcomes, must_do) = if hard_blocks.contains(&1) {
        unsafe_outcomes(sheet)
    } else {
        (outcomes(complete_allowed), Vec::new())
    };
    Ok(Completion {
        hard_blocks,
        soft_blocks,
        complete_allowed,
        allowed_outcomes,
        must_do,
        overridable_blocks,
        who_may_override,
    })
}

fn override_given(sheet: &Sheet) -> bool {
    let said = |text: &Option<String>| text.as_ref().is_some_and(|t| !t.trim().is_empty());
    sheet
        .override_by
        .as_ref()
        .is_some_and(|o| said(&o.supervisor) && said(&o.reason) && said(&o.at))
}

fn outcomes(complete_allowed: bool) -> Vec<Outcome> {
    let mut list = vec![
        Outcome::Complete,
        Outcome::MadeSafeReturn,
        Outcome::AwaitingPart,
        Outcome::NoAccess,
        Outcome::Isolated,
    ];
    list.retain(|o| complete_allowed || *o != Outcome::Complete);
    list
}

/// With an open unsafe situation only isolation, or a recorded refusal for At Risk, ends the visit.
fn unsafe_outcomes(sheet: &Sheet) -> (Vec<Outcome>, Vec<MustDo>) {
    let Some(found) = &sheet.unsafe_situation else {
        return (Vec::new(), Vec::new());
    };
    if found.isolated == Some(true) {
        return (vec![Outcome::Isolated], Vec::new());
    }
    if found.permission_refused == Some(true) {
        return match found.class {
            UnsafeClass::ImmediatelyDangerous => (Vec::new(), vec![MustDo::GasEmergencyService]),
            UnsafeClass::AtRisk => (vec![Outcome::UserDeclined], vec![MustDo::RecordDeclined]),
        };
    }
    (Vec::new(), vec![MustDo::IsolateLabelNotice])
}

/// Everything that stands in the way, in words: must-do first, then hard, then soft blocks.
pub fn words_for(book: &RuleBook, completion: &Completion) -> Vec<String> {
    let must = completion.must_do.iter().map(|m| m.words().to_owned());
    let hard = book
        .blocks()
        .iter()
        .filter(|b| completion.hard_blocks.contains(&b.block))
        .map(|b| b.words.clone());
    let soft = book
        .soft_blocks()
        .iter()
        .filter(|s| completion.soft_blocks.contains(&s.key))
        .map(|s| format!("{} Type the reason.", s.words));
    must.chain(hard).chain(soft).collect()
}
