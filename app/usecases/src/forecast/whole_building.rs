//! One building's outlook: how many failures to expect, kind by kind and together, and how likely a branch is lost.
use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;
use dependability::redundancy::{Feeder, Loss, Need, loss};
use dependability::{Factor, Horizon, Member, Standing, Total, UnitHistory, total_in_building};
use store::Tx;
use store::branches::BranchCard;
use store::units::Which;
use terms::place::BuildingCard;
use terms::trade::Kind;
use terms::unit::UnitCard;
use terms::{BranchId, BuildingId, UnitId};

use super::kept::{KeptFit, in_service, load};
use super::outlook::FitSaid;
use super::reading::wrong;
use super::season::Season;
use crate::register::may_read;
use crate::{Error, Seat, World};

/// Share of failures of plant that take all its like units at once (a flooded plant room, a lost supply, one bad
/// setting), unless another is asked for. Common practice, no source.
pub const COMMON_SHARE: f64 = 0.1;
/// Days a failed unit of plant stands still. Common practice, no source.
pub const REPAIR_DAYS: f64 = 3.0;

/// Expected failures over four stretches of time.
#[derive(Clone, Debug, PartialEq)]
pub struct Totals {
    /// The next 12 months.
    pub year: Total,
    /// The heating season ahead.
    pub season: Total,
    /// The next 3 months.
    pub quarter: Total,
    /// The next 36 months.
    pub three_years: Total,
}

/// One kind in the building.
#[derive(Clone, Debug, PartialEq)]
pub struct KindOutlook {
    /// The kind.
    pub kind: Kind,
    /// Units in service that can be forecast.
    pub units: usize,
    /// Failures to expect of them.
    pub totals: Totals,
    /// How often its units here fail against those of the median building; `None` where no effect is used.
    pub factor: Option<Factor>,
    /// The fit behind it.
    pub fit: FitSaid,
}

/// How likely a branch is lost in the season ahead.
#[derive(Clone, Debug, PartialEq)]
pub struct BranchOutlook {
    /// The branch.
    pub branch: BranchCard,
    /// The units that feed it, in service.
    pub feeders: Vec<UnitCard>,
    /// Units it needs: as stated, else all that feed it.
    pub needed: usize,
    /// Loss for want of its own feeders; `None` where none feeds it, too few do, or one has no forecast.
    pub loss: Option<Loss>,
    /// Chance that it or a branch it hangs on is lost so; `None` where nothing is known of any of them.
    pub chance: Option<f64>,
    /// Names of the branches it hangs on, nearest first.
    pub hangs_on: Vec<String>,
}

/// One building's outlook.
#[derive(Clone, Debug)]
pub struct BuildingOutlook {
    /// The building.
    pub building: BuildingCard,
    /// Its kinds, by code; those never fitted are left out.
    pub kinds: Vec<KindOutlook>,
    /// All of them together; `None` without kinds.
    pub whole: Option<Totals>,
    /// Its branches, by name.
    pub branches: Vec<BranchOutlook>,
    /// Chance that any of them is lost in the season.
    pub any_branch: Option<f64>,
    /// The share of common causes reckoned with.
    pub common: f64,
    /// The season.
    pub season: Season,
    /// Units in service whose record cannot be.
    pub unreadable: usize,
    /// Today, where it stands.
    pub today: NaiveDate,
}

/// A kind of the building with its fit and its units.
struct Here {
    kind: Kind,
    said: FitSaid,
    kept: KeptFit,
    standing: Standing,
    /// Units in service, ready for the model.
    units: Vec<(UnitCard, UnitHistory)>,
}

/// One building's outlook; `common` is the share of failures of plant with a common cause, 0 to 1.
///
/// # Errors
/// [`Error::NotFound`] for a building out of reach; the store's own.
pub fn building_outlook(
    world: &World,
    seat: &Seat,
    id: BuildingId,
    common: f64,
) -> Result<BuildingOutlook, Error> {
    may_read(seat, id)?;
    world.acting(seat, |tx| {
        let building = tx.building(id)?;
        let today = super::today(tx);
        let (here, unreadable) = gather(tx, id, today)?;
        let mut kinds = Vec::new();
        for one in &here {
            kinds.push(KindOutlook {
                kind: one.kind.clone(),
                units: one.units.len(),
                totals: totals(&[one], today)?,
                factor: one.standing.factor(),
                fit: one.said.clone(),
            });
        }
        let all: Vec<&Here> = here.iter().collect();
        let cards = tx.branches(id, today)?;
        let branches = branches(&here, cards, common.clamp(0.0, 1.0), today);
        Ok(BuildingOutlook {
            whole: match all.as_slice() {
                [] => None,
                all => Some(totals(all, today)?),
            },
            any_branch: any_of(branches.iter().filter_map(|b| b.loss.map(|l| l.chance))),
            branches,
            kinds,
            building,
            common: common.clamp(0.0, 1.0),
            season: Season::ahead_of(today),
            unreadable,
            today,
        })
    })
}

fn gather(tx: &mut Tx<'_>, id: BuildingId, today: NaiveDate) -> Result<(Vec<Here>, usize), Error> {
    type Units = Vec<(UnitCard, UnitHistory, bool)>;
    let mut by_kind: BTreeMap<String, Units> = BTreeMap::new();
    let mut unreadable = 0;
    for facts in load(tx, Which::Building(id))? {
        let serves = in_service(&facts);
        match facts.ready(today) {
            Ok(ready) => {
                let own = by_kind.entry(facts.card.kind.clone()).or_default();
                own.push((facts.card, ready.history, serves));
            }
            Err(_why) => unreadable += usize::from(serves),
        }
    }
    let names = tx.kinds()?;
    let mut here = Vec::new();
    for (code, units) in by_kind {
        let kind = names.iter().find(|k| k.code == code);
        let (Some(kind), Some(row)) = (kind, tx.last_fit(&code)?) else {
            continue;
        };
        let kept: KeptFit = serde_json::from_value(row.body.clone()).map_err(store::Error::from)?;
        let all: Vec<&UnitHistory> = units.iter().map(|(_, h, _)| h).collect();
        let standing = kept.standing(id, &all).map_err(wrong)?;
        let serving = units.into_iter().filter(|(_, _, serves)| *serves);
        let units: Vec<(UnitCard, UnitHistory)> = serving.map(|(c, h, _)| (c, h)).collect();
        if !units.is_empty() {
            here.push(Here {
                kind: kind.clone(),
                said: FitSaid::of(&row, &kept),
                kept,
                standing,
                units,
            });
        }
    }
    Ok((here, unreadable))
}

/// Totals of these kinds together; each kind's season has its own months.
fn totals(kinds: &[&Here], today: NaiveDate) -> Result<Totals, Error> {
    let units: Vec<Vec<&UnitHistory>> = kinds
        .iter()
        .map(|k| k.units.iter().map(|(_, h)| h).collect())
        .collect();
    let members: Vec<(Member<'_>, &Standing)> = kinds
        .iter()
        .zip(&units)
        .map(|(k, units)| {
            let member = Member {
                prior: &k.kept.prior,
                fit: &k.kept.fit,
                units,
            };
            (member, &k.standing)
        })
        .collect();
    let over = |place: usize| -> Result<Total, Error> {
        let horizons: Vec<Horizon> = kinds
            .iter()
            .map(|k| {
                let [year, season, quarter, three_years] = k.kept.horizons(today);
                match place {
                    0 => year,
                    1 => season,
                    2 => quarter,
                    _ => three_years,
                }
            })
            .collect();
        let each: Vec<(Member<'_>, &Standing, &Horizon)> = members
            .iter()
            .zip(&horizons)
            .map(|((member, standing), horizon)| (*member, *standing, horizon))
            .collect();
        total_in_building(&each).map_err(wrong)
    };
    Ok(Totals {
        year: over(0)?,
        season: over(1)?,
        quarter: over(2)?,
        three_years: over(3)?,
    })
}

fn branches(
    here: &[Here],
    cards: Vec<BranchCard>,
    common: f64,
    today: NaiveDate,
) -> Vec<BranchOutlook> {
    let mut own: BTreeMap<BranchId, BranchOutlook> = cards
        .iter()
        .map(|b| (b.id, branch_alone(here, b, common, today)))
        .collect();
    let above: BTreeMap<BranchId, Vec<BranchId>> = cards
        .iter()
        .map(|b| (b.id, ancestors(b.id, &cards)))
        .collect();
    let alone: BTreeMap<BranchId, (String, Option<f64>)> = own
        .iter()
        .map(|(id, b)| (*id, (b.branch.name.clone(), b.loss.map(|l| l.chance))))
        .collect();
    let mut found = Vec::new();
    for branch in cards {
        let Some(mut outlook) = own.remove(&branch.id) else {
            continue;
        };
        let over = above.get(&branch.id).map_or(&[][..], Vec::as_slice);
        let known = over.iter().filter_map(|id| alone.get(id));
        outlook.hangs_on = known.clone().map(|(name, _)| name.clone()).collect();
        let mine = outlook.loss.map(|l| l.chance);
        outlook.chance = any_of(known.filter_map(|(_, chance)| *chance).chain(mine));
        found.push(outlook);
    }
    found
}

/// Chance of at least one of these that do not depend on one another; `None` of none.
fn any_of(chances: impl Iterator<Item = f64>) -> Option<f64> {
    chances.fold(None, |so_far, p| {
        let none = so_far.map_or(1.0, |chance: f64| 1.0 - chance);
        Some(1.0 - none * (1.0 - p))
    })
}

/// The branches a branch hangs on, nearest first; a ring is walked once.
fn ancestors(id: BranchId, cards: &[BranchCard]) -> Vec<BranchId> {
    let mut seen: BTreeSet<BranchId> = BTreeSet::from([id]);
    let (mut order, mut next) = (Vec::new(), vec![id]);
    while let Some(one) = next.pop() {
        let parents = cards.iter().filter(|b| b.id == one);
        for parent in parents.flat_map(|b| &b.fed_by_branches) {
            if seen.insert(*parent) {
                order.push(*parent);
                next.push(*parent);
            }
        }
    }
    order
}

/// A branch by its own feeders alone.
fn branch_alone(
    here: &[Here],
    branch: &BranchCard,
    common: f64,
    today: NaiveDate,
) -> BranchOutlook {
    let found: Vec<(&Here, &(UnitCard, UnitHistory))> = branch
        .fed_by
        .iter()
        .filter_map(|id| find(here, *id))
        .collect();
    let stated = branch.needed.and_then(|n| usize::try_from(n).ok());
    let needed = stated.unwrap_or(branch.fed_by.len());
    // One unit without a forecast, and nothing can be said of all.
    let whole = found.len() == branch.fed_by.len() && !found.is_empty();
    let loss = match found.first() {
        Some((kind, _)) if whole && (1..=found.len()).contains(&needed) => {
            let feeders: Vec<Feeder<'_>> = found
                .iter()
                .map(|(kind, (_, history))| Feeder {
                    prior: &kind.kept.prior,
                    fit: &kind.kept.fit,
                    history,
                    standing: &kind.standing,
                })
                .collect();
            let need = Need {
                needed,
                common,
                repair: REPAIR_DAYS / 365.25,
            };
            let season = Season::ahead_of(today).horizon(&kind.kept.month_shares);
            // The last day of the season itself is too short a stretch to speak of.
            loss(&feeders, need, &season).ok()
        }
        _ => None,
    };
    BranchOutlook {
        feeders: found.iter().map(|(_, (card, _))| card.clone()).collect(),
        branch: branch.clone(),
        needed,
        chance: loss.map(|l| l.chance),
        loss,
        hangs_on: Vec::new(),
    }
}

fn find(here: &[Here], id: UnitId) -> Option<(&Here, &(UnitCard, UnitHistory))> {
    here.iter()
        .find_map(|kind| Some((kind, kind.units.iter().find(|(card, _)| card.id == id)?)))
}
