//! A duty's record reckoned as a whole: what a row says of outcome and next deadline follows from all rows before it.
use store::duties::Completion;
use terms::trade::DutyRule;
use uuid::Uuid;

use super::dates;
use crate::Error;

/// Reckons a record as a whole: the rows that change, and what stands in their place.
pub(super) fn reckoned(
    rules: (&DutyRule, &[DutyRule]),
    mut rows: Vec<Completion>,
) -> Result<(Vec<Uuid>, Vec<Completion>), Error> {
    rows.sort_by_key(|row| {
        (
            row.happened_on,
            row.done_on,
            row.check_complete,
            row.id.is_nil(),
            row.id,
        )
    });
    let steps = dates::replay_dated(rules, &rows)?;
    let (mut gone, mut fresh) = (Vec::new(), Vec::new());
    for (row, step) in rows.into_iter().zip(steps) {
        let stands = !row.id.is_nil()
            && row.result == step.result
            && row.treated_as == step.treated_as
            && row.days_late == step.days_late
            && row.next_deadline == step.next_deadline
            && row.reason == step.reason;
        if stands {
            continue;
        }
        if !row.id.is_nil() {
            gone.push(row.id);
        }
        fresh.push(Completion {
            result: step.result,
            treated_as: step.treated_as,
            days_late: step.days_late,
            next_deadline: step.next_deadline,
            reason: step.reason,
            ..row
        });
    }
    Ok((gone, fresh))
}
