//! How long the way between two buildings takes: a usual one, and those stated for two of them. Nothing is known of where a
//! building lies, so every figure is a person's word or our usual one.
use std::collections::{BTreeMap, BTreeSet};

use planning::rounds::{Way, WorkingDay};
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::Tx;
use terms::{BuildingId, Role};

use crate::{Error, FieldError, Seat, World};

/// Where the usual way is kept.
const USUAL: &str = "way_usual";
/// How the names of settings of one way begin.
const ONE: &str = "way_between ";
/// Minutes that are taken for a slip, and more.
const MOST: u32 = 240;

/// Two buildings, the smaller id first.
type Pair = (BuildingId, BuildingId);

/// A way as it was stated.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WayCard {
    /// From one building to the other and back alike.
    pub between: Pair,
    /// Minutes that were stated.
    pub stated: u32,
    /// Minutes it is planned with: less, where a way over a third building is shorter.
    pub planned: u32,
}

/// What is assumed of the ways.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Ways {
    /// Minutes between two buildings where nothing else is stated.
    pub usual: u32,
    /// Whether a person stated that.
    pub usual_stated: bool,
    /// Minutes from one visit to the next in a building.
    pub inside: u32,
    /// Ways stated for two buildings.
    pub stated: Vec<WayCard>,
}

/// What is stated of a way.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct WayForm {
    /// Between which two; `None` = between any two for which nothing is stated.
    pub between: Option<Pair>,
    /// Minutes; `None` takes back what was stated.
    pub minutes: Option<u32>,
}

fn pair((a, b): Pair) -> Pair {
    if a <= b { (a, b) } else { (b, a) }
}

fn key((a, b): Pair) -> String {
    format!("{ONE}{a} {b}")
}

fn pair_of(key: &str) -> Option<Pair> {
    let (a, b) = key.strip_prefix(ONE)?.split_once(' ')?;
    Some(pair((a.parse().ok()?, b.parse().ok()?)))
}

/// What is assumed, as it was stated last.
pub(super) fn ways(tx: &mut Tx<'_>) -> Result<Ways, Error> {
    let hours = WorkingDay::default();
    let usual = tx.setting(USUAL)?.and_then(|text| text.parse().ok());
    let stated = tx.settings_under(ONE)?;
    let stated: BTreeMap<Pair, u32> = stated
        .iter()
        .filter_map(|(key, text)| Some((pair_of(key)?, text.parse().ok()?)))
        .collect();
    let inside = hours.way_inside;
    let usual_minutes = usual.unwrap_or(hours.way_between);
    let buildings = tx.buildings()?.len();
    let planned = shortest(&stated, (usual_minutes, inside), buildings);
    Ok(Ways {
        usual: usual_minutes,
        usual_stated: usual.is_some(),
        inside,
        stated: stated
            .into_iter()
            .map(|(between, stated)| WayCard {
                between,
                stated,
                planned: planned.get(&between).copied().unwrap_or(stated),
            })
            .collect(),
    })
}

/// The usual way, and those that differ from it, as the planner takes them.
pub(super) fn ways_of(tx: &mut Tx<'_>) -> Result<(u32, Vec<Way>), Error> {
    let known = ways(tx)?;
    let stated: BTreeMap<Pair, u32> = known.stated.iter().map(|w| (w.between, w.stated)).collect();
    let buildings = tx.buildings()?.len();
    let all = shortest(&stated, (known.usual, known.inside), buildings);
    let ways = all
        .into_iter()
        .filter(|(_, minutes)| *minutes != known.usual)
        .map(|(between, minutes)| Way { between, minutes });
    Ok((known.usual, ways.collect()))
}

/// The shortest way between every two of the buildings for which something is stated, each two of them directly or over others;
/// what every way has in it once, from door to door, is not counted twice (Floyd and Warshall's method, from memory). A building
/// for which nothing is stated lies the usual way from all.
fn shortest(
    stated: &BTreeMap<Pair, u32>,
    (usual, inside): (u32, u32),
    buildings: usize,
) -> BTreeMap<Pair, u32> {
    let named: BTreeSet<BuildingId> = stated.keys().flat_map(|(a, b)| [*a, *b]).collect();
    let named: Vec<BuildingId> = named.into_iter().collect();
    let road = |minutes: u32| minutes.saturating_sub(inside);
    // One more stands for any other building, where there is one.
    let count = named.len() + usize::from(buildings > named.len());
    let mut way = vec![vec![road(usual); count]; count];
    for (a, row) in way.iter_mut().enumerate() {
        row[a] = 0;
        for (b, minutes) in row.iter_mut().enumerate() {
            if let (Some(from), Some(to)) = (named.get(a), named.get(b))
                && let Some(own) = stated.get(&pair((*from, *to)))
            {
                *minutes = road(*own);
            }
        }
    }
    for over in 0..count {
        for a in 0..count {
            for b in 0..count {
                way[a][b] = way[a][b].min(way[a][over] + way[over][b]);
            }
        }
    }
    let mut found = BTreeMap::new();
    for (a, from) in named.iter().enumerate() {
        for (b, to) in named.iter().enumerate().skip(a + 1) {
            found.insert((*from, *to), way[a][b] + inside);
        }
    }
    found
}

/// States how long a way takes, or takes it back.
///
/// # Errors
/// [`Error::Invalid`] at `way_to` or `way_minutes`; [`Error::NotFound`] for a building outside the seat's reach.
pub fn state_way(world: &World, seat: &Seat, form: WayForm, once: &str) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let inside = WorkingDay::default().way_inside;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            let mut wrongs = Vec::new();
            if let Some((a, b)) = form.between {
                for building in [a, b] {
                    seat.must_reach(building)?;
                    tx.building(building)?;
                }
                if a == b {
                    let sentence = "Choose two different buildings.";
                    wrongs.push(FieldError::at("way_to", sentence));
                }
            }
            if form.minutes.is_some_and(|n| !(inside..=MOST).contains(&n)) {
                let sentence = format!(
                    "From {inside} to {MOST} minutes, please: {inside} go by from door to door alone."
                );
                wrongs.push(FieldError::at("way_minutes", sentence));
            }
            Error::unless_empty(wrongs)?;
            let name = form.between.map_or_else(|| USUAL.to_owned(), |two| key(pair(two)));
            let text = form.minutes.map(|n| n.to_string()).unwrap_or_default();
            tx.set(&name, &text)?;
            tx.note(
                "way stated",
                "rounds",
                &json!({ "between": form.between, "minutes": form.minutes }),
            );
            Ok(())
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use uuid::Uuid;

    fn id(n: u128) -> BuildingId {
        BuildingId(Uuid::from_u128(n))
    }

    /// By hand, ten minutes of each way from door to door: 15 and 20 make 5 and 10 on the road, so 1 to 3 takes 25, not 30. Of 90
    /// stated, 50 are planned where a building lies 30 from both: 20 and 20 on the road, and ten.
    #[test]
    fn no_way_over_a_third_building_is_shorter_than_the_one_planned() {
        let stated = BTreeMap::from([((id(1), id(2)), 15), ((id(2), id(3)), 20)]);
        let found = shortest(&stated, (30, 10), 3);
        assert_eq!(
            found,
            BTreeMap::from([
                ((id(1), id(2)), 15),
                ((id(1), id(3)), 25),
                ((id(2), id(3)), 20)
            ])
        );
        let far = BTreeMap::from([((id(1), id(2)), 90)]);
        assert_eq!(shortest(&far, (30, 10), 2), far);
        let over = shortest(&far, (30, 10), 3);
        assert_eq!(over, BTreeMap::from([((id(1), id(2)), 50)]));
    }
}
