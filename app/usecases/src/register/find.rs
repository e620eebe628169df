//! Finding a building, flat, unit or job by the words on it; never by a resident.
use std::collections::BTreeMap;

use store::Tx;
use store::search::words_of;
use store::units::Which;
use terms::place::{BuildingCard, SpaceCard};
use terms::unit::UnitCard;
use terms::{BuildingId, Fate, JobId, Role, SpaceId, UnitId, counting_order};
use uuid::Uuid;

use crate::{Error, Seat, World};

/// Hits looked at, and hits answered.
const LOOKED_AT: usize = 500;
const ANSWERED: usize = 60;

/// Something found.
#[derive(Clone, Debug)]
pub enum Found {
    /// A building.
    Building(BuildingCard),
    /// A flat or other space with its units in service.
    Space(SpaceCard, Vec<UnitCard>),
    /// A unit, in service or gone.
    Unit(UnitCard),
    /// A job, by its number.
    Job(JobId, String),
}

/// What bears all the words of `text`, each taken as the beginning of a word; whole words first, then in the order
/// of numbers. A contractor finds only what his firm has a job for.
///
/// # Errors
/// The store's own.
pub fn find(world: &World, seat: &Seat, text: &str) -> Result<Vec<Found>, Error> {
    let asked = words_of(text);
    if asked.is_empty() {
        return Ok(Vec::new());
    }
    world.acting(seat, |tx| {
        let hits = tx.find(text, LOOKED_AT)?;
        let reach = Reach::of(tx, seat)?;
        let spaces = tx.spaces(None)?;
        let units: BTreeMap<UnitId, UnitCard> = tx
            .units(Which::All)?
            .into_iter()
            .map(|u| (u.id, u))
            .collect();
        let mut found: Vec<(Order, Found)> = hits
            .iter()
            .filter_map(|(kind, id)| match kind.as_str() {
                "space" => space(*id, &spaces, &units, &reach),
                "unit" => unit(*id, &units, &reach),
                _ => None,
            })
            .map(|hit| (order(&hit, &asked), hit))
            .collect();
        if reach.jobs.is_none() {
            for building in tx.buildings()? {
                let named = hits
                    .iter()
                    .any(|(kind, id)| kind == "building" && *id == building.id.0);
                if named && reach.building(building.id) {
                    let hit = Found::Building(building);
                    found.push((order(&hit, &asked), hit));
                }
            }
        }
        let open = tx.open_jobs_now(None)?;
        for (kind, id) in &hits {
            let job = open.iter().find(|j| kind == "job" && j.id.0 == *id);
            let Some(job) = job else { continue };
            let here = spaces.iter().find(|s| s.id == job.space);
            let theirs = here.is_some_and(|s| reach.building(s.building))
                && reach
                    .jobs
                    .as_ref()
                    .is_none_or(|_| job.firm == seat.grant().firm);
            if theirs {
                let hit = Found::Job(job.id, job.number.clone());
                found.push((order(&hit, &asked), hit));
            }
        }
        found.sort_by(|a, b| a.0.cmp(&b.0));
        found.truncate(ANSWERED);
        Ok(found.into_iter().map(|(_, hit)| hit).collect())
    })
}

/// What a seat may find.
struct Reach<'a> {
    seat: &'a Seat,
    /// For a contractor: the spaces and units his firm has jobs for.
    jobs: Option<Vec<(SpaceId, Option<UnitId>)>>,
}

impl<'a> Reach<'a> {
    fn of(tx: &mut Tx<'_>, seat: &'a Seat) -> Result<Self, Error> {
        let road = matches!(seat.role(), Role::Contractor | Role::Office);
        let jobs = if road {
            Some(tx.reach_of_firm(seat.firm()?)?)
        } else {
            None
        };
        Ok(Self { seat, jobs })
    }

    fn building(&self, id: BuildingId) -> bool {
        self.seat.grant().reaches(id)
    }

    fn space(&self, space: &SpaceCard) -> bool {
        self.building(space.building)
            && self
                .jobs
                .as_ref()
                .is_none_or(|jobs| jobs.iter().any(|(s, _)| *s == space.id))
    }

    fn unit(&self, unit: &UnitCard) -> bool {
        self.building(unit.building)
            && self.jobs.as_ref().is_none_or(|jobs| {
                jobs.iter()
                    .any(|(s, u)| *u == Some(unit.id) || (u.is_none() && *s == unit.space))
            })
    }
}

fn space(
    id: Uuid,
    spaces: &[SpaceCard],
    units: &BTreeMap<UnitId, UnitCard>,
    reach: &Reach<'_>,
) -> Option<Found> {
    let space = spaces.iter().find(|s| s.id.0 == id)?;
    reach.space(space).then(|| {
        let here = units
            .values()
            .filter(|u| u.space == space.id && u.fate == Fate::InService && reach.unit(u))
            .cloned()
            .collect();
        Found::Space(space.clone(), here)
    })
}

fn unit(id: Uuid, units: &BTreeMap<UnitId, UnitCard>, reach: &Reach<'_>) -> Option<Found> {
    let unit = units.get(&UnitId(id))?;
    reach.unit(unit).then(|| Found::Unit(unit.clone()))
}

/// Words asked for that are not whole words of the thing, then what sort of thing, then its name in natural order.
type Order = (usize, u8, Vec<(u64, String)>);

fn order(hit: &Found, asked: &[String]) -> Order {
    let (rank, text) = match hit {
        Found::Building(b) => (0, b.name.clone()),
        Found::Space(s, _) => (1, format!("{} {}", s.building_name, s.name)),
        Found::Unit(u) => (2, format!("{} {}", u.number, u.serial)),
        Found::Job(_, number) => (3, number.clone()),
    };
    let words = words_of(&text);
    let partial = asked.iter().filter(|word| !words.contains(word)).count();
    (partial, rank, counting_order(&text))
}
