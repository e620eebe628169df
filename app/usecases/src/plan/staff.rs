//! The people and days a round can count on: firms and engineers, bank holidays, who is away, where nobody may come
//! yet.
use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;
use planning::rounds::{PlannedEngineer, PlannedFirm};
use store::{RoundAsk, Tx};
use terms::{Country, Engineer, Firm, FirmId, UnitId};

use crate::{Error, Seat, World};

/// The people and days a round can count on.
#[derive(Clone, Debug)]
pub(super) struct Staff {
    /// Firms that give this estate time.
    pub firms: Vec<Firm>,
    /// Their engineers.
    pub engineers: Vec<Engineer>,
    /// Bank holidays of every country.
    holidays: BTreeMap<Country, BTreeSet<NaiveDate>>,
}

/// Reads them at the door.
pub(super) fn staff(world: &World, seat: &Seat) -> Result<Staff, Error> {
    world.pool.at_door::<_, Error>(|door| {
        let firms = door.firms_of(seat.estate())?;
        let ids: Vec<FirmId> = firms.iter().map(|f| f.id).collect();
        let engineers = door.engineers_of(&ids)?;
        let mut holidays = BTreeMap::new();
        for &country in Country::ALL {
            holidays.insert(country, door.bank_holidays(country)?.into_iter().collect());
        }
        Ok(Staff {
            firms,
            engineers,
            holidays,
        })
    })
}

/// The bank holidays of every country the estate has a building in.
pub(super) fn holidays(tx: &mut Tx<'_>, staff: &Staff) -> Result<BTreeSet<NaiveDate>, Error> {
    let countries: BTreeSet<Country> = tx.buildings()?.iter().map(|b| b.country).collect();
    Ok(countries
        .iter()
        .filter_map(|c| staff.holidays.get(c))
        .flatten()
        .copied()
        .collect())
}

/// The firms with the days and hours they state, less what is kept free for calls.
pub(super) fn firms_of(
    staff: &Staff,
    kept_free_percent: u32,
    asks: &[RoundAsk],
) -> Vec<PlannedFirm> {
    let week = |id: FirmId| {
        let mut stated = asks.iter().filter(|a| a.what == "hours").rev();
        let times = stated.find_map(|a| a.times.as_ref().filter(|t| t.firm == Some(id)))?;
        let mut week = [None; 7];
        for day in &times.weekdays {
            if let Some(hours) = week.get_mut(*day as usize) {
                *hours = Some((times.from_minute, times.until_minute));
            }
        }
        Some(week)
    };
    staff
        .firms
        .iter()
        .map(|firm| PlannedFirm {
            id: firm.id,
            minutes_a_week: u32::try_from(firm.minutes_a_week).unwrap_or(0)
                * (100 - kept_free_percent)
                / 100,
            buildings: None,
            week: week(firm.id),
        })
        .collect()
}

/// The longest absence that is read, days: what is typed beyond is a slip.
const LONGEST_AWAY: usize = 400;

/// First day on which somebody may come to a unit, where a person asked for that.
pub(super) fn not_before(asks: &[RoundAsk], today: NaiveDate) -> BTreeMap<UnitId, NaiveDate> {
    let mut found: BTreeMap<UnitId, NaiveDate> = BTreeMap::new();
    for ask in asks
        .iter()
        .filter(|a| a.what == "not_before" && a.from_on > today)
    {
        if let Some(unit) = ask.unit {
            let day = found.entry(unit).or_insert(ask.from_on);
            *day = (*day).max(ask.from_on);
        }
    }
    found
}

/// The engineers with their days off.
pub(super) fn engineers_of(staff: &Staff, asks: &[RoundAsk]) -> Vec<PlannedEngineer> {
    let away = |id: terms::EngineerId| -> Vec<NaiveDate> {
        let mut days: Vec<NaiveDate> = asks
            .iter()
            .filter(|a| a.what == "away" && a.engineer == Some(id))
            .flat_map(|a| {
                let until = a.until_on.unwrap_or(a.from_on);
                let days = a.from_on.iter_days().take(LONGEST_AWAY);
                days.take_while(move |day| *day <= until)
            })
            .collect();
        days.sort_unstable();
        days.dedup();
        days
    };
    staff
        .engineers
        .iter()
        .map(|engineer| PlannedEngineer {
            id: engineer.id,
            firm: engineer.firm,
            minutes_a_week: u32::try_from(engineer.minutes_a_week).unwrap_or(0),
            qualifications: engineer.qualifications.clone(),
            away: away(engineer.id),
            short: Vec::new(),
        })
        .collect()
}
