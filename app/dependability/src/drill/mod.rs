//! The cold-night drill: how many homes are without heating on one night, once in how many winters, and what changes it.
//!
//! A winter is 182 nights from 1 October. In each simulated one every unit draws its rate from what its forecast leaves
//! open: the doubt it shares with others of its kind or building is drawn once a winter for all of them, the rest for
//! itself alone (a gamma law; [`Doubt`] has the split). It fails as a Poisson process whose days weigh as the kind's
//! calls do over the year, more often in cold spells; of plant with a common cause a share of failures takes all its
//! units at once. Engineers on cover see the oldest fault first, so many a day; a fault that needs a part not on the van
//! waits for it and takes a second visit. A home is cold when the group of units that heats it has fewer up than
//! it needs. The worst night of each winter is counted; heaters lent go as far as they go. Same seed, same winters.
//!
//! It starts with everything working and stops at nothing it is not told: a fault that shuts a whole street is not in it.
mod changes;
mod doubt;
mod levels;
mod winter;

use serde::{Deserialize, Serialize};

use crate::prior::{InputError, within};

pub use changes::{Change, Changes, Prices, Step, changes};
pub use doubt::Doubt;
pub use levels::{Level, Rarity};
use winter::Drawn;

/// Nights from 1 October to 31 March of a common year.
pub const NIGHTS: usize = 182;

/// A unit that can fail.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Fallible {
    /// Failures expected over the winter, cold spells and all.
    pub expected: f64,
    /// Variance of its own rate over the squared mean: what its forecast leaves open and no other unit shares.
    pub inv_size: f64,
    /// (place of a shared doubt below [`Estate::doubts`], standard deviation s of ln rate): its rate is multiplied by
    /// exp(s g − s²/2), whose mean is 1, with g the standard normal drawn once a winter for all that share it.
    #[serde(default)]
    pub shared: Vec<(usize, f64)>,
    /// Place of its kind's calendar in [`Estate::calendars`].
    pub calendar: usize,
    /// (part's place in [`Estate::parts`], chance that a failure needs it); the rest needs none.
    pub needs: Vec<(usize, f64)>,
}

/// A part as supplied.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Supply {
    /// Days until it is there when it is not on the van.
    pub lead_days: u32,
    /// Carried.
    pub on_van: bool,
}

/// Homes heated by a group of units.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Group {
    /// Places in [`Estate::units`].
    pub units: Vec<usize>,
    /// How many of them must be up.
    pub needed: usize,
    /// Places of the homes, from 0.
    pub homes: Vec<usize>,
}

/// Units of one plant: a share of their failures takes all of them at once (β-factor, as in [`crate::redundancy`]).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Together {
    /// Places in [`Estate::units`]; a unit stands in one plant at most.
    pub units: Vec<usize>,
    /// Share of failures with a common cause, 0 to 1.
    pub common: f64,
}

/// What is drilled.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Estate {
    /// Units.
    pub units: Vec<Fallible>,
    /// Parts.
    pub parts: Vec<Supply>,
    /// Who heats whom; a home in several groups is cold when any of them is short.
    pub groups: Vec<Group>,
    /// Weight of each of the 182 days, one row a kind; only their proportions count.
    pub calendars: Vec<Vec<f64>>,
    /// Homes.
    pub homes: usize,
    /// Doubts that units share, counted.
    #[serde(default)]
    pub doubts: usize,
    /// Units that a common cause takes at once.
    #[serde(default)]
    pub together: Vec<Together>,
}

/// Who and what stands ready.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Cover {
    /// Engineers on a working day.
    pub engineers: u32,
    /// Engineers on a Saturday, Sunday, 25 and 26 December, 1 January.
    pub weekend_engineers: u32,
    /// Faults one of them can see in a day.
    pub visits_each: u32,
    /// Heaters in stock.
    pub heaters: u32,
    /// Heaters a cold home is lent.
    pub heaters_a_home: u32,
    /// Cold spells a winter, on average.
    pub spells: f64,
    /// Nights one lasts.
    pub spell_nights: u32,
    /// How many times as often units fail in one.
    pub spell_factor: f64,
}

/// What a drill found.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Drill {
    /// Winters simulated.
    pub winters: usize,
    /// Faults a winter, on average.
    pub faults: f64,
    /// Home-nights without heating a winter, on average.
    pub cold_nights: f64,
    /// Homes without heating on the worst night: once in 2, 5, 10, 20 and 50 winters.
    pub levels: Vec<Level>,
    /// Share of winters whose worst night has 0, 1, 2 … homes without heating.
    pub worst: Vec<f64>,
    /// How rare a night is on which a home has neither heating nor a heater.
    pub short: Rarity,
}

impl Estate {
    /// Refuses what cannot be meant.
    ///
    /// # Errors
    /// In words.
    pub fn check(&self) -> Result<(), InputError> {
        for unit in &self.units {
            within("failures expected in a winter", unit.expected, 0.0, 1e3)?;
            within("doubt of a unit's rate", unit.inv_size, 0.0, 1e4)?;
            place("calendar of a unit", unit.calendar, self.calendars.len())?;
            for (doubt, sd) in &unit.shared {
                within("doubt that units share", *sd, 0.0, 10.0)?;
                place("shared doubt of a unit", *doubt, self.doubts)?;
            }
            let sum: f64 = unit.needs.iter().map(|n| n.1).sum();
            within("chances that a failure needs a part", sum, 0.0, 1.0 + 1e-9)?;
            for (part, chance) in &unit.needs {
                within("chance that a failure needs a part", *chance, 0.0, 1.0)?;
                place("part of a unit", *part, self.parts.len())?;
            }
        }
        for part in &self.parts {
            within(
                "days until a part is there",
                f64::from(part.lead_days),
                0.0,
                365.0,
            )?;
        }
        for group in &self.groups {
            let most = group.units.len() as f64;
            within("units a group needs", group.needed as f64, 0.0, most)?;
            for unit in &group.units {
                place("unit of a group", *unit, self.units.len())?;
            }
            for home in &group.homes {
                place("home of a group", *home, self.homes)?;
            }
        }
        self.check_together()?;
        for calendar in &self.calendars {
            within("days of a calendar", calendar.len() as f64, 182.0, 182.0)?;
            for day in calendar {
                within("weight of a day", *day, 0.0, 1e6)?;
            }
            within("weights of a calendar", calendar.iter().sum(), 1e-9, 1e9)?;
        }
        Ok(())
    }

    fn check_together(&self) -> Result<(), InputError> {
        let mut plants = vec![0.0; self.units.len()];
        for plant in &self.together {
            within("share of common causes", plant.common, 0.0, 1.0)?;
            for unit in &plant.units {
                place("unit of a plant", *unit, self.units.len())?;
                plants[*unit] += 1.0;
                within("plants a unit stands in", plants[*unit], 0.0, 1.0)?;
            }
        }
        Ok(())
    }
}

impl Cover {
    /// Refuses what cannot be meant.
    ///
    /// # Errors
    /// In words.
    pub fn check(&self) -> Result<(), InputError> {
        within("engineers on cover", f64::from(self.engineers), 0.0, 1e3)?;
        within(
            "engineers at the weekend",
            f64::from(self.weekend_engineers),
            0.0,
            1e3,
        )?;
        within(
            "faults an engineer sees in a day",
            f64::from(self.visits_each),
            1.0,
            50.0,
        )?;
        within("heaters in stock", f64::from(self.heaters), 0.0, 1e5)?;
        within(
            "heaters a home is lent",
            f64::from(self.heaters_a_home),
            1.0,
            10.0,
        )?;
        within("cold spells a winter", self.spells, 0.0, 20.0)?;
        within(
            "nights of a cold spell",
            f64::from(self.spell_nights),
            1.0,
            90.0,
        )?;
        within(
            "times as often in a cold spell",
            self.spell_factor,
            1.0,
            20.0,
        )
    }

    /// Homes that can be lent heaters at once.
    pub fn warmed(&self) -> u32 {
        self.heaters / self.heaters_a_home.max(1)
    }
}

fn place(what: &str, at: usize, below: usize) -> Result<(), InputError> {
    within(what, at as f64, 0.0, below as f64 - 1.0)
}

/// Runs the drill over this many winters.
///
/// # Errors
/// Numbers that cannot be meant, in words.
pub fn drill(estate: &Estate, cover: &Cover, count: usize, seed: u64) -> Result<Drill, InputError> {
    estate.check()?;
    cover.check()?;
    within("winters", count as f64, 1.0, 1e6)?;
    let seen = Drawn::new(estate, cover, count, seed).live(estate, cover);
    let all = seen.worst.len() as f64;
    let most = seen.worst.iter().copied().max().unwrap_or(0);
    let mut worst = vec![0.0; most as usize + 1];
    for homes in &seen.worst {
        worst[*homes as usize] += 1.0 / all;
    }
    let warmed = cover.warmed();
    Ok(Drill {
        winters: count,
        faults: seen.faults as f64 / all,
        cold_nights: seen.cold_nights as f64 / all,
        levels: levels::levels(&seen.worst),
        worst,
        short: Rarity::of(seen.worst.iter().filter(|w| **w > warmed).count(), count),
    })
}
