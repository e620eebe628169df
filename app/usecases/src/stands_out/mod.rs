//! What stands out: a building, a batch, a branch or an installer whose units fail together more than luck would have it.
//!
//! Looked for once a week, so that the false alarms of a year can be stated; silent when nothing stands out. A finding is a
//! place to look at, never a cause.
mod groups;
mod looking;

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use store::Tx;
use store::looks::KeptLook;
use terms::{BranchId, BuildingId, FirmId, UnitId};

use crate::register::READERS;
use crate::{Error, Seat, World};

pub use looking::{Looked, look_for_groups};

/// Months back from the day of a look that it looks at.
pub const MONTHS: u32 = 36;
/// Looks in a year.
pub const LOOKS_A_YEAR: f64 = 52.0;
/// How often luck may do it before a group is spoken of, all groups of a look allowed for.
pub const LEVEL: f64 = dependability::stands_out::LEVEL;
/// Shuffles behind each chance.
pub const SHUFFLES: u32 = dependability::stands_out::SHUFFLES;
/// Looks read back to see since when a group stands out.
const LOOKS_BACK: i64 = 60;

/// What holds a group together.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Tie {
    /// They stand in one building.
    Building(BuildingId),
    /// They were fitted in one month; its first day.
    Batch(NaiveDate),
    /// They are of one family: built alike, by a word of the house's own.
    Family(String),
    /// They hang on one branch of a building.
    Branch(BuildingId, BranchId),
    /// One firm put them in.
    Installer(FirmId),
}

/// A group that stands out, as kept.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Found {
    /// Everything that holds exactly these units together.
    pub ties: Vec<Tie>,
    /// The same in words known when it was found: "Alder House", "Riser 3", the firm's name; empty for a batch.
    pub names: Vec<String>,
    /// Code of their kind.
    pub kind: String,
    /// The units.
    pub units: Vec<UnitId>,
    /// The buildings they stand in.
    pub buildings: Vec<BuildingId>,
    /// Units that failed.
    pub failed_units: usize,
    /// Failures.
    pub failures: u32,
    /// Failures to be expected of such units over the same time.
    pub expected: f64,
    /// How often luck does as much in some group of all looked at.
    pub luck: f64,
    /// How often luck does as much in this very group.
    pub luck_alone: f64,
}

/// A look, as kept.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Kept {
    /// First day looked at.
    pub since: NaiveDate,
    /// Last day looked at.
    pub until: NaiveDate,
    /// Groups looked at.
    pub groups: usize,
    /// Kinds they are of.
    pub kinds: usize,
    /// The smallest chance of luck of any of them, all allowed for.
    pub least: f64,
    /// The least likely first.
    pub found: Vec<Found>,
}

/// A group that stands out, as read.
#[derive(Clone, Debug, PartialEq)]
pub struct StandOut {
    /// The group.
    pub found: Found,
    /// Monday of the first of the weeks in a row in which it stood out.
    pub since_week: NaiveDate,
}

/// The last look, as a reader may see it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LastLook {
    /// Its week; `None` when none was made yet.
    pub week: Option<NaiveDate>,
    /// What it looked at.
    pub kept: Kept,
    /// What stands out within the reader's reach.
    pub stand_outs: Vec<StandOut>,
    /// Looks made in the 52 weeks up to it.
    pub looks: usize,
}

/// What stands out, by the last look.
///
/// # Errors
/// Not one of the register's readers; the store's own.
pub fn last_look(world: &World, seat: &Seat) -> Result<LastLook, Error> {
    seat.must_be(&READERS)?;
    world.acting(seat, |tx| read(tx, seat))
}

fn read(tx: &mut Tx<'_>, seat: &Seat) -> Result<LastLook, Error> {
    let looks = tx.last_looks(LOOKS_BACK)?;
    let mut read: Vec<(NaiveDate, Kept)> = Vec::new();
    for KeptLook { week, body, .. } in looks {
        let kept: Kept = serde_json::from_value(body).map_err(store::Error::from)?;
        read.push((week, kept));
    }
    let Some((week, last)) = read.first().cloned() else {
        return Ok(LastLook::default());
    };
    let reached = |found: &Found| found.buildings.iter().all(|b| seat.grant().reaches(*b));
    let stand_outs = last
        .found
        .iter()
        .filter(|found| reached(found))
        .map(|found| StandOut {
            found: found.clone(),
            since_week: since(&read, found).unwrap_or(week),
        })
        .collect();
    let year_before = week - chrono::TimeDelta::weeks(52);
    Ok(LastLook {
        week: Some(week),
        looks: read.iter().filter(|(w, _)| *w > year_before).count(),
        kept: last,
        stand_outs,
    })
}

/// The earliest of the looks in a row, from the last one back, that found a group of the same kind with a tie in common.
fn since(read: &[(NaiveDate, Kept)], found: &Found) -> Option<NaiveDate> {
    let same = |other: &Found| {
        other.kind == found.kind && other.ties.iter().any(|tie| found.ties.contains(tie))
    };
    read.iter()
        .take_while(|(_, kept)| kept.found.iter().any(same))
        .map(|(week, _)| *week)
        .last()
}
