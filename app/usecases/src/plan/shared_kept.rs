//! The programmes of several buildings that are on record: the last, and the one a building's plan is a part of.
use store::Tx;
use store::plans::KeptPlan;
use uuid::Uuid;

use super::asking::WhatIf;
use super::shared::SharedMade;
use crate::Error;

/// Where the last one is kept.
const KEY: &str = "shared_programme";

/// Where each is kept.
fn key_of(id: Uuid) -> String {
    format!("{KEY} {id}")
}

/// The last one made.
pub(super) fn last(tx: &mut Tx<'_>) -> Result<Option<SharedMade>, Error> {
    // One in a form that is no longer read counts as none: it is made anew.
    Ok(tx
        .setting(KEY)?
        .and_then(|text| serde_json::from_str(&text).ok()))
}

/// Keeps one as the last, and under its own id.
pub(super) fn keep_it(tx: &mut Tx<'_>, id: Uuid, made: &SharedMade) -> Result<(), Error> {
    let text = serde_json::to_string(made)
        .map_err(|e| Error::Internal(format!("a plan cannot be written: {e}")))?;
    tx.set(KEY, &text)?;
    Ok(tx.set(&key_of(id), &text)?)
}

/// Whether a kept plan is a building's part of a programme of several.
pub(super) fn is_part(plan: &KeptPlan) -> bool {
    matches!(
        serde_json::from_value(plan.ask.clone()),
        Ok(WhatIf::Shared { .. })
    )
}

/// The one a kept plan is a part of, where that is on record: of those made before each was kept under its id, only the last is.
pub(super) fn of_plan(tx: &mut Tx<'_>, plan: &KeptPlan) -> Result<Option<SharedMade>, Error> {
    let Ok(WhatIf::Shared { of, .. }) = serde_json::from_value(plan.ask.clone()) else {
        return Ok(None);
    };
    let found = match of {
        Some(id) => tx
            .setting(&key_of(id))?
            .and_then(|text| serde_json::from_str(&text).ok()),
        None => last(tx)?,
    };
    let has_it = |made: &SharedMade| made.parts.iter().any(|part| part.plan == plan.id);
    Ok(found.filter(has_it))
}
