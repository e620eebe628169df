//! What is not known of a building, read from the register each time; who will find it out, and by when. The same list
//! stands in the first report to the landlord of a building taken on.
mod found;
mod places;
mod standing;

use chrono::NaiveDate;
use serde::Serialize;
use serde_json::json;
use store::Tx;
use terms::place::BuildingCard;
use terms::{BuildingId, Role};

use crate::cover;
use crate::duties::dates::by_last_day;
use crate::register::{BuildingView, building_view};
use crate::{Error, FieldError, Seat, World};

pub use found::Gap;
pub use standing::{AgedHere, DAYS_AHEAD, DueHere, StandsNow, UnsafeHere};
pub use store::gaps::GapFinder;

/// What is not known of a building.
#[derive(Clone, Debug)]
pub struct GapsView {
    /// The building.
    pub building: BuildingCard,
    /// What is not known, what matters most first.
    pub gaps: Vec<Gap>,
    /// Whether the reader may say who finds out.
    pub may_write: bool,
    /// The local day.
    pub today: NaiveDate,
}

/// The first report of a building taken on.
#[derive(Clone, Debug)]
pub struct FirstReport {
    /// The building as it stands.
    pub view: BuildingView,
    /// What is not known.
    pub gaps: Vec<Gap>,
    /// Units in service by kind: plural name and number, the most frequent first.
    pub kinds: Vec<(String, usize)>,
    /// Duties with a date, without one, and late.
    pub duties: (usize, usize, usize),
    /// What is unsafe, due soon and past its planning age, unit by unit.
    pub now: StandsNow,
    /// The day it was first entered.
    pub taken_on: NaiveDate,
}

/// Who finds one thing out.
#[derive(Clone, Debug, Serialize)]
pub struct FinderForm {
    /// The building.
    pub building: BuildingId,
    /// Which gap, by its key.
    pub gap: String,
    /// Who, in words.
    pub who: String,
    /// By when.
    pub by_on: NaiveDate,
}

/// Who may read the list.
const READERS: [Role; 3] = [Role::Agent, Role::Supervisor, Role::Landlord];

/// What is not known of a building; `day` is the local day.
///
/// # Errors
/// [`Error::NotFound`] outside the seat's reach.
pub fn gaps_view(
    world: &World,
    seat: &Seat,
    (building, day): (BuildingId, NaiveDate),
) -> Result<GapsView, Error> {
    seat.must_be(&READERS)?;
    seat.must_reach(building)?;
    let holidays = cover::holidays(world)?;
    world.acting(seat, |tx| {
        let card = tx.building(building)?;
        Ok(GapsView {
            gaps: found::gaps(tx, (seat, &card), (day, &holidays))?,
            building: card,
            may_write: seat.role() != Role::Landlord,
            today: day,
        })
    })
}

/// States who finds a thing out, and by when.
///
/// # Errors
/// [`Error::Invalid`] with a sentence a field; [`Error::NotFound`] for a gap that is none.
pub fn state_finder(
    world: &World,
    seat: &Seat,
    (form, day): (FinderForm, NaiveDate),
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    seat.must_reach(form.building)?;
    let mut wrongs = Vec::new();
    if form.who.trim().is_empty() {
        wrongs.push(FieldError::at("who", "Say who finds it out."));
    }
    if form.by_on < day {
        wrongs.push(FieldError::at("by", "That day is past."));
    }
    Error::unless_empty(wrongs)?;
    let holidays = cover::holidays(world)?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            let card = tx.building(form.building)?;
            let known = found::gaps(tx, (seat, &card), (day, &holidays))?;
            if known.iter().all(|gap| gap.key != form.gap) {
                return Err(Error::NotFound("gap"));
            }
            let finder = GapFinder {
                gap: form.gap.clone(),
                who: form.who.trim().to_owned(),
                by_on: form.by_on,
            };
            tx.state_gap_finder(form.building, &finder)?;
            tx.note(
                "somebody finds out",
                &format!("building {}", form.building),
                &json!({ "gap": form.gap, "who": finder.who, "by": form.by_on }),
            );
            Ok(())
        })
    })
}

/// The first report of a building taken on: what stands there, what is known and not, who finds out what by when.
///
/// # Errors
/// [`Error::NotFound`] outside the seat's reach.
pub fn first_report(
    world: &World,
    seat: &Seat,
    (building, day): (BuildingId, NaiveDate),
) -> Result<FirstReport, Error> {
    seat.must_be(&READERS)?;
    let view = building_view(world, seat, building)?;
    let holidays = cover::holidays(world)?;
    world.acting(seat, |tx| {
        let gaps = found::gaps(tx, (seat, &view.building), (day, &holidays))?;
        let duties = by_last_day(&tx.duty_rules()?, tx.duties_now(Some(building))?);
        let undated = duties.iter().filter(|d| d.deadline.is_none()).count();
        let late = duties
            .iter()
            .filter(|d| d.deadline.is_some_and(|by| by < day))
            .count();
        Ok(FirstReport {
            kinds: kinds_of(tx, building)?,
            duties: (duties.len() - undated, undated, late),
            now: standing::stands_now(tx, (building, day))?,
            taken_on: tx.taken_on(building)?,
            view,
            gaps,
        })
    })
}

fn kinds_of(tx: &mut Tx<'_>, building: BuildingId) -> Result<Vec<(String, usize)>, Error> {
    let kinds = tx.kinds()?;
    let mut counts: std::collections::BTreeMap<String, usize> = std::collections::BTreeMap::new();
    for unit in found::in_service(tx, building)? {
        let name = kinds.iter().find(|k| k.code == unit.kind);
        let name = name.map_or_else(|| unit.kind.clone(), |k| k.plural.clone());
        *counts.entry(name).or_default() += 1;
    }
    let mut named: Vec<(String, usize)> = counts.into_iter().collect();
    named.sort_by_key(|(name, count)| (usize::MAX - count, name.clone()));
    Ok(named)
}
