//! The weekly look: gathered in one transaction, shuffled outside any, kept in another.
use std::collections::{BTreeMap, BTreeSet};

use chrono::{Months, NaiveDate};
use dependability::stands_out::{Kind, look};
use dependability::{UnitHistory, watched};
use serde::{Deserialize, Serialize};
use serde_json::json;
use sha2::{Digest, Sha256};
use store::Tx;
use store::units::Which;
use terms::unit::UnitCard;
use terms::{BuildingId, FirmId, Role, UnitId, hex};

use super::groups::{Known, known};
use super::{Found, Kept, MONTHS, Tie};
use crate::forecast;
use crate::forecast::kept::{KeptFit, load};
use crate::forecast::season::{axis, week};
use crate::{Error, Seat, World};

/// What became of a look.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Looked {
    /// This week's look was made before.
    Before,
    /// Looked.
    Now {
        /// Groups looked at.
        groups: usize,
        /// Groups that stand out.
        found: usize,
    },
}

/// One kind, gathered.
struct Gathered {
    code: String,
    units: Vec<(UnitId, BuildingId)>,
    /// Members and the ties they share.
    groups: Vec<(Vec<usize>, Vec<Tie>)>,
    for_look: Kind,
}

/// Looks for groups of units that fail together, once a week; later calls of a week change nothing.
///
/// # Errors
/// Not the agent, a supervisor or the program; the store's own.
pub fn look_for_groups(world: &World, seat: &Seat) -> Result<Looked, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let firms: BTreeMap<FirmId, String> = world
        .pool
        .at_door::<_, Error>(|door| Ok(door.firms_of(seat.estate())?))?
        .into_iter()
        .map(|firm| (firm.id, firm.name))
        .collect();
    let gathered = world.acting(seat, |tx| {
        let today = forecast::today(tx);
        let made = tx.last_looks(1)?;
        if made.first().is_some_and(|look| look.week >= week(today)) {
            return Ok(None);
        }
        let since = today
            .checked_sub_months(Months::new(MONTHS))
            .unwrap_or(today);
        let (kinds, known) = gather(tx, &firms, (since, today))?;
        Ok::<_, Error>(Some((kinds, known, since, today)))
    })?;
    let Some((kinds, known, since, today)) = gathered else {
        return Ok(Looked::Before);
    };
    // The seed is what was looked at: the same facts give the same answer, and nobody chooses it.
    let seed = seed_of(&kinds)?;
    let asked: Vec<Kind> = kinds.iter().map(|k| k.for_look.clone()).collect();
    let seen = look(&asked, seed);
    let kept = Kept {
        since,
        until: today,
        groups: seen.groups,
        kinds: seen.kinds,
        least: seen.least,
        found: seen
            .findings
            .iter()
            .filter_map(|finding| {
                let kind = kinds.get(finding.kind)?;
                let (members, ties) = kind.groups.get(finding.group)?;
                let units = members.iter().filter_map(|i| kind.units.get(*i));
                let buildings: BTreeSet<BuildingId> = units.clone().map(|u| u.1).collect();
                Some(Found {
                    names: ties
                        .iter()
                        .map(|tie| known.names.get(tie).cloned().unwrap_or_default())
                        .collect(),
                    ties: ties.clone(),
                    kind: kind.code.clone(),
                    units: units.map(|u| u.0).collect(),
                    buildings: buildings.into_iter().collect(),
                    failed_units: finding.failed_units,
                    failures: finding.failures,
                    expected: finding.expected,
                    luck: finding.luck,
                    luck_alone: finding.luck_alone,
                })
            })
            .collect(),
    };
    keep(world, seat, (week(today), &hex(&seed)), &kept)
}

fn keep(
    world: &World,
    seat: &Seat,
    (week, digest): (NaiveDate, &str),
    kept: &Kept,
) -> Result<Looked, Error> {
    world.acting(seat, |tx| {
        let body = serde_json::to_value(kept).map_err(store::Error::from)?;
        if !tx.add_look(week, digest, &body)? {
            return Ok(Looked::Before);
        }
        tx.note(
            "groups looked at",
            &format!("week of {week}"),
            &json!({ "groups": kept.groups, "found": kept.found.len(), "digest": digest }),
        );
        Ok(Looked::Now {
            groups: kept.groups,
            found: kept.found.len(),
        })
    })
}

fn seed_of(kinds: &[Gathered]) -> Result<[u8; 32], Error> {
    let all: Vec<_> = kinds
        .iter()
        .map(|k| {
            let units: Vec<_> = k
                .for_look
                .units
                .iter()
                .zip(&k.units)
                .map(|(seen, (id, _))| (id, seen.failures, seen.expected))
                .collect();
            (&k.code, units, &k.for_look.groups)
        })
        .collect();
    let bytes = serde_json::to_vec(&all).map_err(store::Error::from)?;
    Ok(Sha256::digest(&bytes).into())
}

fn gather(
    tx: &mut Tx<'_>,
    firms: &BTreeMap<FirmId, String>,
    (since, today): (NaiveDate, NaiveDate),
) -> Result<(Vec<Gathered>, Known), Error> {
    let facts = load(tx, Which::All)?;
    let cards: Vec<UnitCard> = facts.iter().map(|f| f.card.clone()).collect();
    let families = facts.iter().filter_map(|f| Some((f.card.id, f.family()?)));
    let known = known(tx, (&cards, families.collect()), firms, today)?;
    let rows = tx.last_fits()?.into_iter();
    let fits: BTreeMap<String, KeptFit> = rows
        .filter_map(|(kind, row)| Some((kind, KeptFit::read(&row)?)))
        .collect();
    let mut kinds: BTreeMap<&str, Gathered> = BTreeMap::new();
    for one in &facts {
        let Some(kept) = fits.get(&one.card.kind) else {
            continue;
        };
        // A record that cannot be is named by the refit; here it is passed over. A family is a group to look at, so that what
        // it does is not among what was to be expected.
        let asked = &kept.prior.covariates;
        let families = forecast::family_places(asked);
        let seen = one.ready(today, asked).and_then(|r| {
            let plain = without(r.history, &families);
            watched(&kept.prior, &kept.fit, &plain, axis(since))
        });
        if let Ok(Some(seen)) = seen {
            let kind = kinds.entry(&one.card.kind).or_insert_with(|| Gathered {
                code: one.card.kind.clone(),
                units: Vec::new(),
                groups: Vec::new(),
                for_look: Kind {
                    theta: kept.fit.theta(),
                    ..Kind::default()
                },
            });
            kind.units.push((one.card.id, one.card.building));
            kind.for_look.units.push(seen);
        }
    }
    let mut kinds: Vec<Gathered> = kinds.into_values().collect();
    for kind in &mut kinds {
        group(kind, &known);
    }
    Ok((kinds, known))
}

/// The history with these covariates at nought.
fn without(mut history: UnitHistory, places: &[usize]) -> UnitHistory {
    let windows = history.windows.iter_mut().map(|w| &mut w.x);
    for x in windows.chain([&mut history.present]) {
        for place in places {
            if let Some(x) = x.get_mut(*place) {
                *x = 0.0;
            }
        }
    }
    history
}

/// The groups of a kind; those of exactly the same units are one group with several ties.
fn group(kind: &mut Gathered, known: &Known) {
    let mut by_tie: BTreeMap<&Tie, Vec<usize>> = BTreeMap::new();
    for (place, (unit, _)) in kind.units.iter().enumerate() {
        for tie in known.ties.get(unit).into_iter().flatten() {
            by_tie.entry(tie).or_default().push(place);
        }
    }
    let mut by_members: BTreeMap<Vec<usize>, Vec<Tie>> = BTreeMap::new();
    for (tie, members) in by_tie {
        by_members.entry(members).or_default().push(tie.clone());
    }
    kind.for_look.groups = by_members.keys().cloned().collect();
    kind.groups = by_members.into_iter().collect();
}
