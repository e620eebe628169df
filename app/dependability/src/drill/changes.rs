//! What makes a night without heating or heater rarer, and the cheapest way to make it ten times rarer.
use serde::{Deserialize, Serialize};

use super::levels::Rarity;
use super::winter::Drawn;
use super::{Cover, Estate};
use crate::prior::InputError;

/// Times rarer that is asked for.
pub const RARER: usize = 10;
/// Winters in which it must have happened for a tenth of it to be told from none.
const LEAST_HAPPENED: usize = 2 * RARER;
/// More engineers than the present that are tried.
const MORE_ENGINEERS: u32 = 2;
/// Parts that are tried together: those that help most alone.
const TOGETHER: usize = 3;

/// What a change costs, in pence.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Prices {
    /// A heater more.
    pub heater: i64,
    /// An engineer more on cover, every day of the winter.
    pub engineer: i64,
    /// Carrying a part, in the estate's order of parts.
    pub parts: Vec<i64>,
}

/// What is added.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Change {
    /// Heaters.
    pub heaters: u32,
    /// Engineers, working days and weekends alike.
    pub engineers: u32,
    /// Places of parts put on the van.
    pub parts: Vec<usize>,
}

impl Change {
    /// Its price, in pence.
    pub fn price(&self, prices: &Prices) -> i64 {
        let parts = self.parts.iter().filter_map(|p| prices.parts.get(*p));
        i64::from(self.heaters) * prices.heater
            + i64::from(self.engineers) * prices.engineer
            + parts.sum::<i64>()
    }
}

/// A change with what it does.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Step {
    /// The change.
    pub change: Change,
    /// Its price, in pence.
    pub price: i64,
    /// How rare a home without heating and heater is then.
    pub short: Rarity,
}

/// What was tried.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Changes {
    /// As it stands.
    pub now: Rarity,
    /// One thing more each: a heater (a home's worth of them), an engineer, each part that is not carried.
    pub single: Vec<Step>,
    /// The cheapest change found that makes it at least [`RARER`] times rarer; `None` where it is too rare already for
    /// these winters to tell, or where nothing tried reaches it.
    pub cheapest: Option<Step>,
    /// It happens too rarely now for a tenth to be told.
    pub too_rare: bool,
}

/// Tries every single addition, and every set of up to two more engineers and the three parts that help most, each with
/// as many heaters as it then takes: read off the worst nights, so that heaters need no trial. All on the same winters.
///
/// # Errors
/// Numbers that cannot be meant, in words.
pub fn changes(
    estate: &Estate,
    cover: &Cover,
    prices: &Prices,
    (count, seed): (usize, u64),
) -> Result<Changes, InputError> {
    estate.check()?;
    cover.check()?;
    let drawn = Drawn::new(estate, cover, count, seed);
    let nights = |change: &Change| worst_of(estate, cover, change, &drawn);
    let told = |change: Change, worst: &[u32]| {
        let heaters = Cover {
            heaters: cover.heaters + change.heaters,
            ..*cover
        };
        Step {
            price: change.price(prices),
            short: rarity(worst, heaters.warmed()),
            change,
        }
    };
    let bare = nights(&Change::default());
    let now = rarity(&bare, cover.warmed());
    let mut single = vec![told(
        Change {
            heaters: cover.heaters_a_home,
            ..Change::default()
        },
        &bare,
    )];
    let engineer = Change {
        engineers: 1,
        ..Change::default()
    };
    single.push(told(engineer.clone(), &nights(&engineer)));
    let mut parts: Vec<Step> = estate
        .parts
        .iter()
        .enumerate()
        .filter(|(_, part)| !part.on_van)
        .map(|(place, _)| {
            let change = Change {
                parts: vec![place],
                ..Change::default()
            };
            let worst = nights(&change);
            told(change, &worst)
        })
        .collect();
    parts.sort_by_key(|step| (step.short.happened, step.price));
    let best: Vec<usize> = parts
        .iter()
        .take(TOGETHER)
        .map(|s| s.change.parts[0])
        .collect();
    single.extend(parts);
    let too_rare = now.happened < LEAST_HAPPENED;
    let cheapest = (!too_rare)
        .then(|| {
            combined(&best)
                .into_iter()
                .map(|change| {
                    let worst = nights(&change);
                    let heaters = heaters_for(&worst, cover, now.happened / RARER);
                    told(Change { heaters, ..change }, &worst)
                })
                .min_by_key(|step| (step.price, step.short.happened))
        })
        .flatten();
    Ok(Changes {
        now,
        single,
        cheapest,
        too_rare,
    })
}

/// Every number of engineers with every set of these parts.
fn combined(parts: &[usize]) -> Vec<Change> {
    (0..=MORE_ENGINEERS)
        .flat_map(|engineers| {
            (0..1_usize << parts.len()).map(move |set| Change {
                engineers,
                parts: parts
                    .iter()
                    .enumerate()
                    .filter(|(i, _)| set >> i & 1 == 1)
                    .map(|(_, part)| *part)
                    .collect(),
                heaters: 0,
            })
        })
        .collect()
}

fn worst_of(estate: &Estate, cover: &Cover, change: &Change, drawn: &Drawn) -> Vec<u32> {
    let mut changed = estate.clone();
    for part in &change.parts {
        if let Some(part) = changed.parts.get_mut(*part) {
            part.on_van = true;
        }
    }
    let cover = Cover {
        engineers: cover.engineers + change.engineers,
        weekend_engineers: cover.weekend_engineers + change.engineers,
        ..*cover
    };
    drawn.live(&changed, &cover).worst
}

fn rarity(worst: &[u32], warmed: u32) -> Rarity {
    Rarity::of(worst.iter().filter(|w| **w > warmed).count(), worst.len())
}

/// Heaters more than now so that at most `allowed` winters have a home without.
fn heaters_for(worst: &[u32], cover: &Cover, allowed: usize) -> u32 {
    let mut sorted = worst.to_vec();
    sorted.sort_unstable_by(|a, b| b.cmp(a));
    let homes = sorted.get(allowed).copied().unwrap_or(0);
    (homes * cover.heaters_a_home).saturating_sub(cover.heaters)
}
