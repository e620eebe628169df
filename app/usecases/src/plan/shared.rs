//! What a programme of several buildings is asked for with, and what is kept of it.
use std::collections::BTreeMap;

use chrono::{DateTime, Utc};
use planning::programme::optimal::{JointClash, PlainWay, Verdict};
use serde::{Deserialize, Serialize};
use terms::place::BuildingCard;
use terms::{BuildingId, Pence, UnitId};
use uuid::Uuid;

use super::making::LONGEST_NAME;
use super::money::YEARS_RANGE;
use crate::{Error, FieldError};

/// More than any purse: what is typed beyond is taken for a slip.
const MOST: i64 = 1_000_000_000 * 100;

/// What is wanted of several buildings.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SharedWish {
    /// Its name: the buildings' parts are kept under it.
    pub name: String,
    /// The buildings that pay from the purse.
    pub buildings: Vec<BuildingId>,
    /// Years it looks ahead.
    pub years: i32,
    /// In the purse before the first year.
    pub opening: Pence,
    /// Comes in every year.
    pub comes_in: Pence,
    /// It may not fall under this.
    pub floor: Pence,
    /// Most that may be paid in a year; `None` = what there is.
    pub cap: Option<Pence>,
}

/// One building's part.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SharedPart {
    /// The building.
    pub building: BuildingId,
    /// Its plan.
    pub plan: Uuid,
    /// Expected cost.
    pub cost: Pence,
    /// Paid in each year.
    pub paid: Vec<Pence>,
    /// Replacements in each year.
    pub replaced: Vec<u32>,
    /// It keeps to a purse of its own too.
    pub own_purse: bool,
}

/// One year of the shared purse.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SharedYear {
    /// The calendar year.
    pub year: i32,
    /// At its start.
    pub opening: Pence,
    /// Comes in.
    pub comes_in: Pence,
    /// Set aside for likely failures, all buildings.
    pub set_aside: Pence,
    /// Paid for replacements and besides, all buildings.
    pub paid: Pence,
    /// At its end.
    pub reserve: Pence,
}

/// What a programme came to, for whoever read it before it was made anew.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Former {
    /// When it was made.
    pub made_at: DateTime<Utc>,
    /// The buildings it was of.
    pub buildings: Vec<BuildingId>,
    /// Replacements in all years.
    pub replaced: u32,
    /// Paid in all years.
    pub paid: Pence,
    /// Expected cost of all buildings.
    pub cost: Pence,
}

/// The programme as it was made.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SharedMade {
    /// What was wanted.
    pub wish: SharedWish,
    /// The calendar year it begins with.
    pub first_year: i32,
    /// When it was made.
    pub made_at: DateTime<Utc>,
    /// By building; empty where there is no plan.
    pub parts: Vec<SharedPart>,
    /// Year by year.
    pub years: Vec<SharedYear>,
    /// How the search ended.
    pub verdict: Verdict,
    /// Expected cost of all buildings.
    pub cost: Pence,
    /// No plan of all of them costs less.
    pub bound: Pence,
    /// What it would cost if nothing bound.
    pub unbound: Pence,
    /// The plain ways: which, what it costs, what it leaves undone.
    pub beside: Vec<(PlainWay, Pence, u32)>,
    /// What £1,000 more in the purse would save.
    pub thousand_saves: Option<Pence>,
    /// Limits that clash.
    pub clash: Vec<JointClash>,
    /// Whether it is proven that no smaller set of them clashes.
    #[serde(default)]
    pub fewest: bool,
    /// What the units of the clash are called.
    pub called: BTreeMap<UnitId, String>,
    /// Seconds it took.
    pub seconds: f64,
    /// What the one before it came to.
    #[serde(default)]
    pub before: Option<Former>,
}

impl SharedMade {
    /// What it came to, in brief.
    pub fn brief(&self) -> Former {
        Former {
            made_at: self.made_at,
            buildings: self.wish.buildings.clone(),
            replaced: self.parts.iter().flat_map(|p| &p.replaced).sum(),
            paid: Pence(self.years.iter().map(|y| y.paid.0).sum()),
            cost: self.cost,
        }
    }
}

/// What the page shows.
#[derive(Clone, Debug)]
pub struct SharedProgramme {
    /// The last one made; `None` while there is none, or one reaches beyond this seat's buildings.
    pub made: Option<SharedMade>,
    /// The buildings in reach.
    pub buildings: Vec<BuildingCard>,
    /// Buildings whose part is the plan adopted for them.
    pub adopted: Vec<BuildingId>,
    /// One is being made: where it is, in words.
    pub under_way: Option<String>,
    /// Whether this seat may make one.
    pub may_state: bool,
}

/// What making one came to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum SharedMaking {
    /// It is made.
    Made,
    /// It is large: a task makes it.
    Waits,
}

pub(super) fn check(wish: &SharedWish) -> Result<(), Error> {
    let mut wrongs = Vec::new();
    let length = wish.name.trim().chars().count();
    if length == 0 {
        let sentence = "Give it a name, so it can be found again.";
        wrongs.push(FieldError::at("name", sentence));
    } else if length > LONGEST_NAME {
        let sentence = format!("At most {LONGEST_NAME} letters, please.");
        wrongs.push(FieldError::at("name", sentence));
    }
    if wish.buildings.len() < 2 {
        let sentence = "Choose two buildings or more: one alone has a programme of its own.";
        wrongs.push(FieldError::at("buildings", sentence));
    }
    if !YEARS_RANGE.contains(&wish.years) {
        wrongs.push(FieldError::at("years", "From 5 to 30 years, please."));
    }
    for (field, sum) in [
        ("opening", Some(wish.opening)),
        ("comes_in", Some(wish.comes_in)),
        ("floor", Some(wish.floor)),
        ("cap", wish.cap),
    ] {
        if sum.is_some_and(|p| !(0..=MOST).contains(&p.0)) {
            let sentence = "An amount from £0 to £1,000,000,000, please.";
            wrongs.push(FieldError::at(field, sentence));
        }
    }
    Error::unless_empty(wrongs)
}
