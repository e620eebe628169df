//! Several branches at once: how often at least one of them is lost, where they share units that feed them.
//!
//! Branch b is lost when fewer than n_b of the units that feed it run. With the model of [`crate::redundancy`] (unit i
//! fails by itself at λ_i(1 − c), each failure lasts R, a_i = 1/(1 + λ_i(1 − c)R) is the chance that it runs) the steady
//! system leaves the state "no branch lost"
//!
//! ν = Σ_i λ_i(1 − c) a_i P(no branch lost with i running, one lost without i) + c λ̄ P(no branch lost)
//!
//! times a year. Branches that share no unit, directly or through others, make systems of their own, and their ν add up.
//! In one system a common cause takes all units at once, at c times the greatest of the branches' mean rates λ̄.
//!
//! Exact without going through all 2^N states: units that feed the same branches are alike to them, so that only how many
//! of each such class run counts. A system of more than [`MOST_STATES`] such states is answered by Σ_b ν_b, which is never
//! less, and said to be so.
use serde::{Deserialize, Serialize};

use crate::forecast::Horizon;
use crate::prior::{InputError, within};
use crate::redundancy::{Feeder, Need, losses_a_year, rates_of, running};

/// States a system is reckoned over.
const MOST_STATES: usize = 1024;

/// What a branch needs.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Branch {
    /// Places of the units that feed it, each once.
    pub feeders: Vec<usize>,
    /// How many of them must run.
    pub needed: usize,
}

/// Share of failures with a common cause, 0 to 1, and how long a failed unit stands still, years.
pub type Plant = (f64, f64);

/// How often at least one branch is lost.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct AnyLoss {
    /// The chance, or the number a year.
    pub value: f64,
    /// It is this at most: branches share too many units in too many ways to go through.
    pub at_most: bool,
}

/// Units that feed the same branches of a system: their rates, and the places of those branches in it.
struct Class {
    rates: Vec<f64>,
    feeds: Vec<usize>,
}

/// The first times a year that a steady plant loses any of the branches, for rates a year of each unit. A branch that needs
/// no unit, or more than feed it, is passed over.
pub fn any_lost_a_year(rates: &[f64], branches: &[Branch], plant: Plant) -> AnyLoss {
    let mut sum = AnyLoss {
        value: 0.0,
        at_most: false,
    };
    for system in systems(branches) {
        let one = system_lost(rates, &system, plant);
        sum.value += one.value;
        sum.at_most |= one.at_most;
    }
    sum
}

/// The chance that at least one branch is lost within the horizon: the mean over 64 draws, in each of which every unit's
/// own rate is drawn once for all branches. Each feeder has the horizon its kind's months give it, all of one length.
///
/// # Errors
/// What cannot be meant; as [`crate::forecast()`].
pub fn any_lost(
    feeders: &[(Feeder<'_>, &Horizon)],
    branches: &[Branch],
    plant: Plant,
) -> Result<AnyLoss, InputError> {
    within("share of common causes", plant.0, 0.0, 1.0)?;
    within("time to repair", plant.1, 0.0, 10.0)?;
    for feeder in branches.iter().flat_map(|b| &b.feeders) {
        let most = feeders.len() as f64 - 1.0;
        within("unit that feeds a branch", *feeder as f64, 0.0, most)?;
    }
    let years = feeders.first().map_or(1.0, |(_, horizon)| horizon.years());
    within("horizon", years, 1e-3, 100.0)?;
    let mut rates: Vec<Vec<f64>> = Vec::new();
    for (place, (feeder, horizon)) in feeders.iter().enumerate() {
        rates.push(rates_of(feeder, (place, feeders.len()), horizon)?);
    }
    let draws = rates.first().map_or(0, Vec::len);
    let (mut sum, mut at_most) = (0.0, false);
    for draw in 0..draws {
        let here: Vec<f64> = rates.iter().map(|r| r[draw]).collect();
        let lost = any_lost_a_year(&here, branches, plant);
        sum += -(-lost.value * years).exp_m1();
        at_most |= lost.at_most;
    }
    Ok(AnyLoss {
        value: sum / draws.max(1) as f64,
        at_most,
    })
}

/// The branches parted into systems that share no unit.
fn systems(branches: &[Branch]) -> Vec<Vec<&Branch>> {
    let mut systems: Vec<Vec<&Branch>> = Vec::new();
    let meant = |b: &&Branch| (1..=b.feeders.len()).contains(&b.needed);
    for branch in branches.iter().filter(meant) {
        let touches = |other: &&Branch| other.feeders.iter().any(|f| branch.feeders.contains(f));
        let (with, without): (Vec<_>, Vec<_>) = systems
            .into_iter()
            .partition(|system| system.iter().any(&touches));
        systems = without;
        let mut joined: Vec<&Branch> = with.into_iter().flatten().collect();
        joined.push(branch);
        systems.push(joined);
    }
    systems
}

fn classes(rates: &[f64], system: &[&Branch]) -> Vec<Class> {
    let mut units: Vec<usize> = system.iter().flat_map(|b| b.feeders.clone()).collect();
    units.sort_unstable();
    units.dedup();
    let mut classes: Vec<Class> = Vec::new();
    for unit in units {
        let feeds: Vec<usize> = (0..system.len())
            .filter(|b| system[*b].feeders.contains(&unit))
            .collect();
        let rate = rates.get(unit).copied().unwrap_or(0.0);
        match classes.iter_mut().find(|c| c.feeds == feeds) {
            Some(class) => class.rates.push(rate),
            None => classes.push(Class {
                rates: vec![rate],
                feeds,
            }),
        }
    }
    classes
}

/// Chances that 0, 1, … of a class run, and how often a year it goes from k running to k − 1 by itself.
fn class_laws(class: &Class, (common, repair): Plant) -> (Vec<f64>, Vec<f64>) {
    let own: Vec<f64> = class.rates.iter().map(|r| r * (1.0 - common)).collect();
    let runs: Vec<f64> = own.iter().map(|r| 1.0 / (1.0 + r * repair)).collect();
    let mut flow = vec![0.0; runs.len() + 1];
    for i in 0..runs.len() {
        let mut others = runs.clone();
        others.remove(i);
        for (k, chance) in running(&others).into_iter().enumerate() {
            flow[k + 1] += own[i] * runs[i] * chance;
        }
    }
    (running(&runs), flow)
}

fn system_lost(rates: &[f64], system: &[&Branch], plant: Plant) -> AnyLoss {
    let (common, repair) = plant;
    let own = |b: &Branch| -> Vec<f64> {
        let known = b.feeders.iter();
        known
            .map(|f| rates.get(*f).copied().unwrap_or(0.0))
            .collect()
    };
    let classes = classes(rates, system);
    let sizes: Vec<usize> = classes.iter().map(|c| c.rates.len() + 1).collect();
    let states = sizes
        .iter()
        .try_fold(1_usize, |all, size| all.checked_mul(*size))
        .filter(|states| *states <= MOST_STATES);
    let Some(states) = states else {
        let bound = system.iter().map(|b| {
            let need = Need {
                needed: b.needed,
                common,
                repair,
            };
            let (alone, together) = losses_a_year(&own(b), need);
            alone + together
        });
        return AnyLoss {
            value: bound.sum(),
            at_most: system.len() > 1,
        };
    };
    let laws: Vec<(Vec<f64>, Vec<f64>)> = classes.iter().map(|c| class_laws(c, plant)).collect();
    let whole = |counts: &[usize]| {
        let runs = |b: usize| -> usize {
            let fed = classes.iter().zip(counts);
            fed.filter(|(c, _)| c.feeds.contains(&b))
                .map(|(_, k)| k)
                .sum()
        };
        (0..system.len()).all(|b| runs(b) >= system[b].needed)
    };
    let (mut alone, mut fed) = (0.0, 0.0);
    for state in 0..states {
        let mut counts = counts_of(state, &sizes);
        if !whole(&counts) {
            continue;
        }
        fed += product(&laws, &counts, None);
        for place in 0..counts.len() {
            if counts[place] == 0 {
                continue;
            }
            counts[place] -= 1;
            let lost = !whole(&counts);
            counts[place] += 1;
            if lost {
                alone += product(&laws, &counts, Some(place));
            }
        }
    }
    let mean = |b: &&Branch| own(b).iter().sum::<f64>() / b.feeders.len() as f64;
    let greatest = system.iter().map(mean).fold(0.0, f64::max);
    AnyLoss {
        value: alone + common * greatest * fed,
        at_most: false,
    }
}

/// How many of each class run in a state, counted with the classes as digits.
fn counts_of(mut state: usize, sizes: &[usize]) -> Vec<usize> {
    let digit = |size: &usize| {
        let here = state % size;
        state /= size;
        here
    };
    sizes.iter().map(digit).collect()
}

/// The chance of a state; with `falls` the flow of that class in place of its chance.
fn product(laws: &[(Vec<f64>, Vec<f64>)], counts: &[usize], falls: Option<usize>) -> f64 {
    let of = |(place, ((chance, flow), k)): (usize, (&(Vec<f64>, Vec<f64>), &usize))| {
        if falls == Some(place) {
            flow[*k]
        } else {
            chance[*k]
        }
    };
    laws.iter().zip(counts).enumerate().map(of).product()
}

#[cfg(test)]
mod tests {
    use super::*;

    const REPAIR: f64 = 0.1;

    fn branch(feeders: &[usize], needed: usize) -> Branch {
        Branch {
            feeders: feeders.to_vec(),
            needed,
        }
    }

    fn any(rates: &[f64], branches: &[Branch], common: f64) -> f64 {
        let found = any_lost_a_year(rates, branches, (common, REPAIR));
        assert!(!found.at_most);
        found.value
    }

    /// Every one of the 2^N states on its own, no class, no system, no code in common.
    fn by_all_states(rates: &[f64], branches: &[Branch], common: f64) -> f64 {
        let own: Vec<f64> = rates.iter().map(|r| r * (1.0 - common)).collect();
        let fed = |state: u32| {
            branches.iter().all(|b| {
                let up = b.feeders.iter().filter(|f| state & (1 << **f) != 0);
                up.count() >= b.needed
            })
        };
        let mean =
            |b: &Branch| b.feeders.iter().map(|f| rates[*f]).sum::<f64>() / b.feeders.len() as f64;
        let greatest = branches.iter().map(mean).fold(0.0, f64::max);
        let mut sum = 0.0;
        for state in (0..1_u32 << rates.len()).filter(|s| fed(*s)) {
            let chance: f64 = (0..rates.len())
                .map(|i| {
                    let runs = 1.0 / (1.0 + own[i] * REPAIR);
                    if state & (1 << i) == 0 {
                        1.0 - runs
                    } else {
                        runs
                    }
                })
                .product();
            let falls = (0..rates.len())
                .filter(|i| state & (1 << i) != 0 && !fed(state & !(1 << i)))
                .map(|i| own[i]);
            sum += chance * (falls.sum::<f64>() + common * greatest);
        }
        sum
    }

    #[test]
    fn every_state_of_shared_feeders_says_the_same() {
        let rates = [0.2, 1.5, 0.7, 3.0, 0.05, 0.9];
        for branches in [
            vec![branch(&[0, 1], 1), branch(&[0, 1], 2)],
            vec![
                branch(&[0, 1, 2], 2),
                branch(&[2, 3], 1),
                branch(&[3, 4, 5], 3),
            ],
            vec![
                branch(&[0, 1, 2, 3, 4, 5], 3),
                branch(&[1, 4], 1),
                branch(&[4], 1),
            ],
        ] {
            for common in [0.0, 0.1, 1.0] {
                let (found, known) = (
                    any(&rates, &branches, common),
                    by_all_states(&rates, &branches, common),
                );
                assert!(
                    (found - known).abs() < 1e-12 * known.max(1.0),
                    "{branches:?}: {found} {known}"
                );
            }
        }
    }

    #[test]
    fn one_branch_is_lost_as_it_is_alone() {
        let rates = [0.2, 1.5, 0.7];
        for needed in 1..=3 {
            let (alone, together) = losses_a_year(
                &rates,
                Need {
                    needed,
                    common: 0.1,
                    repair: REPAIR,
                },
            );
            let found = any(&rates, &[branch(&[0, 1, 2], needed)], 0.1);
            assert!((found - alone - together).abs() < 1e-12);
        }
    }

    /// Of two headers on the same units the one that needs more is lost whenever the other is.
    #[test]
    fn headers_on_the_same_units_are_lost_as_the_neediest_is() {
        let rates = [0.4, 0.3];
        let (one, both) = (branch(&[0, 1], 1), branch(&[0, 1], 2));
        let neediest = any(&rates, std::slice::from_ref(&both), 0.1);
        let found = any(&rates, &[one.clone(), both.clone(), both.clone()], 0.1);
        assert!((found - neediest).abs() < 1e-12);
        // As if they had nothing in common it would be nearly twice that.
        assert!(any(&rates, &[one], 0.1) + 2.0 * neediest > 1.9 * found);
    }

    #[test]
    fn branches_that_share_nothing_add_up_and_what_cannot_be_meant_is_passed_over() {
        let rates = [0.4, 0.3, 0.2];
        let (first, second) = (branch(&[0, 1], 2), branch(&[2], 1));
        let found = any(
            &rates,
            &[
                first.clone(),
                second.clone(),
                branch(&[2], 2),
                branch(&[], 0),
            ],
            0.1,
        );
        let each = any(&rates, &[first], 0.1) + any(&rates, &[second], 0.1);
        assert!((found - each).abs() < 1e-12);
    }

    /// Twenty units of the same two headers are 21 states; thirteen units in a chain, each of its own sort, are 8,192.
    #[test]
    fn many_alike_are_exact_and_too_many_sorts_are_bounded_from_above() {
        let alike: Vec<usize> = (0..20).collect();
        let rates = vec![0.3; 20];
        let found = any(&rates, &[branch(&alike, 18), branch(&alike, 10)], 0.05);
        assert!((found - any(&rates, &[branch(&alike, 18)], 0.05)).abs() < 1e-9);
        let rates: Vec<f64> = (0..13).map(|i| 0.1 + 0.05 * f64::from(i)).collect();
        let chain: Vec<Branch> = (0..12).map(|i| branch(&[i, i + 1], 1)).collect();
        let bound = any_lost_a_year(&rates, &chain, (0.1, REPAIR));
        assert!(bound.at_most && bound.value >= by_all_states(&rates, &chain, 0.1));
    }
}
