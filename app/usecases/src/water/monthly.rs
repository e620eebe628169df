//! The duties a monthly round meets: common stored hot water, hot taps, cold taps. Each is met by its own outlets.
use std::collections::BTreeSet;

use chrono::NaiveDate;
use inspection::calendar::date_words;
use store::Tx;
use store::duties::DutyCard;
use terms::trade::DutyRule;
use terms::{BuildingId, OutletCard, OutletId, OutletPlace};

use crate::Error;
use crate::duties::{Done, complete_duty};

/// The rules of the trade's table, each with the places whose temperatures meet it.
const MONTHLY: [(&str, &[OutletPlace]); 3] = [
    ("L2", &[OutletPlace::StoreOutflow, OutletPlace::StoreReturn]),
    ("L3", &[OutletPlace::HotSentinel]),
    ("L4", &[OutletPlace::ColdSentinel]),
];

/// Whether a duty is met by the monthly round of temperatures.
pub fn is_monthly(rule: &str) -> bool {
    MONTHLY.iter().any(|(code, _)| *code == rule)
}

/// The open duties of a building that its round meets, with their rules.
pub(super) fn duties_of(
    tx: &mut Tx<'_>,
    building: BuildingId,
) -> Result<Vec<(DutyCard, DutyRule)>, Error> {
    let rules = tx.duty_rules()?;
    Ok(tx
        .open_duties()?
        .into_iter()
        .filter(|duty| duty.building == building && is_monthly(&duty.rule))
        .filter_map(|duty| {
            let rule = rules.iter().find(|rule| rule.code == duty.rule)?.clone();
            Some((duty, rule))
        })
        .collect())
}

/// The outlets whose temperatures meet a duty: those of its places, and of its own store where it is about one.
pub(super) fn outlets_for<'a>(
    duty: &'a DutyCard,
    outlets: &'a [OutletCard],
) -> impl Iterator<Item = &'a OutletCard> {
    let places = MONTHLY
        .iter()
        .find(|(code, _)| *code == duty.rule)
        .map_or(&[][..], |(_, places)| *places);
    let of_store = duty.rule == "L2";
    outlets
        .iter()
        .filter(move |o| places.contains(&o.place))
        .filter(move |o| !of_store || o.unit.is_none() || o.unit == duty.unit)
}

/// Records the round in every duty it meets: whole when each of a duty's outlets was read, else no check. Answers the
/// names of the duties met and of those it did not complete.
pub(super) fn complete(
    tx: &mut Tx<'_>,
    building: BuildingId,
    (on, who): (NaiveDate, &str),
    (outlets, read): (&[OutletCard], &BTreeSet<OutletId>),
) -> Result<(Vec<String>, Vec<String>), Error> {
    let (mut met, mut not_whole) = (Vec::new(), Vec::new());
    for (duty, rule) in duties_of(tx, building)? {
        let wanted: Vec<OutletId> = outlets_for(&duty, outlets).map(|o| o.id).collect();
        let taken = wanted.iter().filter(|id| read.contains(id)).count();
        if taken == 0 {
            continue;
        }
        let whole = taken == wanted.len();
        let done = Done {
            on,
            check_complete: whole,
            job: None,
            evidence: format!(
                "temperature round of {}, {taken} of {} outlets, by {who}",
                date_words(on),
                wanted.len()
            ),
        };
        complete_duty(tx, duty.id, &rule, &done)?;
        if whole {
            met.push(rule.name);
        } else {
            not_whole.push(rule.name);
        }
    }
    Ok((met, not_whole))
}

/// The buildings whose monthly temperatures somebody on site takes: those with outlets on a round.
pub(crate) fn buildings_with_rounds(tx: &mut Tx<'_>) -> Result<BTreeSet<BuildingId>, Error> {
    Ok(tx
        .outlets(None)?
        .into_iter()
        .filter(|o| o.ended_on.is_none())
        .map(|o| o.building)
        .collect())
}
