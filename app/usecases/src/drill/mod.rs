//! The cold-night drill of a building, or of all buildings together: asked on one form, kept with what it came to.
//!
//! Cover, heaters, prices and lead times are what the form says, kept with the result: nothing else is read.
mod gather;
mod plants;

use dependability::drill::{Changes, Cover, Drill, Prices, changes, drill};
use serde::{Deserialize, Serialize};
use serde_json::json;
use terms::place::BuildingCard;
use terms::{BuildingId, Pence, Role};

use crate::{Error, FieldError, Seat, World};

pub use dependability::drill::{Change, Level, Rarity, Step};

/// Every drill is seeded alike: the same facts and form give the same winters.
const SEED: u64 = 1;
/// Faults simulated in all winters together, and the fewest and most winters.
const FAULTS: f64 = 200_000.0;
const WINTERS: (f64, f64) = (1_000.0, 10_000.0);
/// Parts asked for on the form: those expected most often.
const PARTS: usize = 8;

/// A part with its supply.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct AskedPart {
    /// "CB"
    pub kind: String,
    /// "fan"
    pub code: String,
    /// "Fan or its air-pressure proving, combi gas boiler"
    pub name: String,
    /// Days until it is there when it is not carried.
    pub lead_days: u32,
    /// Carried.
    pub on_van: bool,
    /// What carrying one costs.
    pub price: Pence,
}

/// What is asked.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct DrillAsk {
    /// The building; `None`: all the reader's buildings together.
    pub building: Option<BuildingId>,
    /// Who and what stands ready.
    pub cover: Cover,
    /// Of ten faults of a unit that heats a home, how many leave it without heating.
    pub of_ten: f64,
    /// A heater more.
    pub heater_price: Pence,
    /// An engineer more on cover for the winter.
    pub engineer_price: Pence,
    /// Parts; a fault of any other needs none.
    pub parts: Vec<AskedPart>,
}

/// What a drill came to.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct DrillAnswer {
    /// Homes.
    pub homes: usize,
    /// Units that heat them and have a forecast.
    pub units: usize,
    /// Such units without one: they never fail in it.
    pub without: usize,
    /// Flats that no unit on record heats: they are not in it.
    #[serde(default)]
    pub unheated: usize,
    /// As it stands.
    pub drill: Drill,
    /// What would change it.
    pub changes: Changes,
}

/// A drill as kept.
#[derive(Clone, Debug, PartialEq)]
pub struct KeptDrill {
    /// What was asked.
    pub ask: DrillAsk,
    /// When.
    pub made_at: chrono::DateTime<chrono::Utc>,
    /// What it came to.
    pub answer: DrillAnswer,
}

/// The page of the drill.
#[derive(Clone, Debug, PartialEq)]
pub struct DrillView {
    /// The reader's buildings, by name.
    pub buildings: Vec<BuildingCard>,
    /// The building asked for; `None`: all together.
    pub building: Option<BuildingCard>,
    /// What the form starts with: the last drill's, else the trade's.
    pub ask: DrillAsk,
    /// The last drill, if there was one.
    pub last: Option<KeptDrill>,
    /// Homes that would be drilled.
    pub homes: usize,
}

const READERS: [Role; 3] = [Role::Agent, Role::Supervisor, Role::Landlord];
const WRITERS: [Role; 2] = [Role::Agent, Role::Supervisor];

/// The last drill of a building, or of all together, and the form for the next.
///
/// # Errors
/// Not the agent, a supervisor or a landlord; not their building; the store's own.
pub fn view(world: &World, seat: &Seat, of: Option<BuildingId>) -> Result<DrillView, Error> {
    seat.must_be(&READERS)?;
    whole_reach(seat, of)?;
    world.acting(seat, |tx| {
        let mut buildings = tx.buildings()?;
        buildings.retain(|b| seat.grant().reaches(b.id));
        let building = of.map(|id| tx.building(id)).transpose()?;
        let gathered = gather::gather(tx, of)?;
        let last = match tx.drill(of)? {
            None => None,
            Some(row) => Some(KeptDrill {
                ask: serde_json::from_value(row.ask).map_err(store::Error::from)?,
                made_at: row.made_at,
                answer: serde_json::from_value(row.answer).map_err(store::Error::from)?,
            }),
        };
        Ok(DrillView {
            ask: gathered.starting(of, last.as_ref().map(|l| &l.ask)),
            homes: gathered.homes(),
            buildings,
            building,
            last,
        })
    })
}

/// Runs a drill and keeps it with what was asked.
///
/// # Errors
/// Not the agent or a supervisor; a number that cannot be meant, at its field; the store's own.
pub fn run(world: &World, seat: &Seat, ask: DrillAsk, once: &str) -> Result<(), Error> {
    seat.must_be(&WRITERS)?;
    whole_reach(seat, ask.building)?;
    check(&ask)?;
    let gathered = world.acting(seat, |tx| gather::gather(tx, ask.building))?;
    if gathered.homes() == 0 {
        return Err(Error::field(
            "building",
            "No home here has a unit that heats it on record, so there is nothing to drill.",
        ));
    }
    let estate = gathered.estate(&ask);
    let expected: f64 = estate.units.iter().map(|u| u.expected).sum();
    let winters = (FAULTS / expected.max(1.0)).clamp(WINTERS.0, WINTERS.1) as usize;
    let prices = Prices {
        heater: ask.heater_price.0,
        engineer: ask.engineer_price.0,
        parts: ask.parts.iter().map(|p| p.price.0).collect(),
    };
    let refused = |e: dependability::InputError| Error::field("building", format!("{e}."));
    // No transaction is open while it is run.
    let answer = DrillAnswer {
        homes: estate.homes,
        units: estate.units.len(),
        without: gathered.without,
        unheated: gathered.unheated,
        drill: drill(&estate, &ask.cover, winters, SEED).map_err(refused)?,
        changes: changes(&estate, &ask.cover, &prices, (winters, SEED)).map_err(refused)?,
    };
    world.acting(seat, |tx| {
        tx.once(once, &ask, |tx| {
            let said = serde_json::to_value(&answer).map_err(store::Error::from)?;
            let asked = serde_json::to_value(&ask).map_err(store::Error::from)?;
            tx.keep_drill(ask.building, &asked, &said)?;
            let about = match ask.building {
                Some(building) => format!("building {building}"),
                None => "all buildings".to_owned(),
            };
            tx.note(
                "cold-night drill run",
                &about,
                &json!({ "winters": winters }),
            );
            Ok(())
        })
    })
}

/// One building in reach; all together only for who reaches all.
fn whole_reach(seat: &Seat, of: Option<BuildingId>) -> Result<(), Error> {
    match of {
        Some(building) => seat.must_reach(building),
        None if seat.grant().buildings.is_none() => Ok(()),
        None => Err(Error::NotFound("building")),
    }
}

fn check(ask: &DrillAsk) -> Result<(), Error> {
    let mut wrongs = Vec::new();
    if let Err(error) = ask.cover.check() {
        wrongs.push(FieldError::at("engineers", format!("{error}.")));
    }
    if !(0.0..=10.0).contains(&ask.of_ten) {
        wrongs.push(FieldError::at("of_ten", "Between 0 and 10 of ten faults."));
    }
    for (field, price) in [
        ("heater_price", ask.heater_price),
        ("engineer_price", ask.engineer_price),
    ] {
        if price.0 <= 0 {
            wrongs.push(FieldError::at(field, "A price is more than nothing."));
        }
    }
    for (place, part) in ask.parts.iter().enumerate() {
        if part.price.0 <= 0 {
            wrongs.push(FieldError::at(
                format!("price-{place}"),
                "A price is more than nothing.",
            ));
        }
        if part.lead_days > 365 {
            wrongs.push(FieldError::at(
                format!("lead-{place}"),
                "At most a year of days.",
            ));
        }
    }
    Error::unless_empty(wrongs)
}
