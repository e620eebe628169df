//! What follows from the day a unit was fitted and moves when that day is corrected: since when it stands in its first
//! space and serves it, and from when failures of it are on record. What somebody stated by itself stays, and so does what a
//! swap moved beside it: the day the unit before it left, the other homes and pipes it took over.
use chrono::NaiveDate;
use store::Tx;
use terms::unit::UnitCard;

use crate::Error;

/// One fitted so many days before it was entered was watched from its fitting on.
const JUST_FITTED: i64 = 31;

/// From when failures of a unit are on record where nobody says: from its fitting if that is less than a month before it
/// was entered, else from that day.
pub(super) fn watched_since(fitted: Option<NaiveDate>, entered: NaiveDate) -> NaiveDate {
    fitted
        .filter(|day| (entered - *day).num_days() <= JUST_FITTED)
        .unwrap_or(entered)
}

/// The day that stands for a fitting: the last on which it can have been.
fn standing_for(installed: Option<(NaiveDate, NaiveDate)>, today: NaiveDate) -> Option<NaiveDate> {
    installed.map(|(_, last)| last.min(today))
}

/// States a unit anew, with what follows from its fitting; `stated` is from when failures are on record, where somebody says
/// so. Answers the unit as it then stands.
pub(crate) fn state_corrected(
    tx: &mut Tx<'_>,
    before: &UnitCard,
    corrected: UnitCard,
    stated: Option<NaiveDate>,
) -> Result<UnitCard, Error> {
    let today = tx.today();
    let was = standing_for(before.installed, today);
    let now = standing_for(corrected.installed, today);
    let watched_from = match stated {
        Some(day) => day,
        None if was == now => before.watched_from,
        None => watched_now(tx, before, (was, now))?,
    };
    let corrected = UnitCard {
        watched_from,
        ..corrected
    };
    tx.state_unit(before.id, &corrected, None)?;
    if was != now {
        move_stay(tx, before, (was, now))?;
    }
    Ok(corrected)
}

fn watched_now(
    tx: &mut Tx<'_>,
    before: &UnitCard,
    (was, now): (Option<NaiveDate>, Option<NaiveDate>),
) -> Result<NaiveDate, Error> {
    let first = tx.statements_of(before.id)?.pop();
    let entered = first.map_or(tx.today(), |said| said.recorded_at.date_naive());
    let watched = before.watched_from;
    Ok(if watched == watched_since(was, entered) {
        watched_since(now, entered)
    } else if Some(watched) == was && (now > was || came_by_swap(tx, before)?) {
        // A swap written down late: watched from the day it came. Nothing is watched before it is there, so that a later day
        // moves it whoever stated it; an earlier one does not, as nobody says that it was watched then.
        now.unwrap_or(watched)
    } else {
        watched
    })
}

fn came_by_swap(tx: &mut Tx<'_>, unit: &UnitCard) -> Result<bool, Error> {
    Ok(tx.swaps_of(unit.id)?.iter().any(|s| s.new.0 == unit.id))
}

/// Its first stay began with its fitting unless another day was stated. One that would then begin after it ended stays.
fn move_stay(
    tx: &mut Tx<'_>,
    before: &UnitCard,
    (was, now): (Option<NaiveDate>, Option<NaiveDate>),
) -> Result<(), Error> {
    let Some(first) = tx.stays_of(before.id)?.into_iter().next() else {
        return Ok(());
    };
    let ended = now
        .zip(first.until_on)
        .is_some_and(|(from, until)| from > until);
    if first.from_on != was || ended {
        return Ok(());
    }
    Ok(tx.redate_stay((before.id, first.space), was, now)?)
}
