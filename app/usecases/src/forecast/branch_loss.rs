//! How likely a branch is lost: too few of the units that feed it left, or a branch it hangs on lost.
use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;
use dependability::redundancy::{Feeder, Loss, Need, loss};
use dependability::shared_feeders::{AnyLoss, Branch, any_lost};
use dependability::{Horizon, UnitHistory};
use store::branches::BranchCard;
use terms::unit::UnitCard;
use terms::{BranchId, UnitId};

use super::season::Season;
use super::whole_building::Here;

/// Share of failures of plant that take all its like units at once (a flooded plant room, a lost supply, one bad
/// setting), unless another is asked for. Common practice, no source.
pub const COMMON_SHARE: f64 = 0.1;
/// Days a failed unit of plant stands still. Common practice, no source.
pub const REPAIR_DAYS: f64 = 3.0;
/// The same in years.
const REPAIR: f64 = REPAIR_DAYS / 365.25;

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
    /// That chance is this at most: the branches share too many units in too many ways to go through.
    pub at_most: bool,
    /// Names of the branches it hangs on, nearest first.
    pub hangs_on: Vec<String>,
}

pub(super) fn branches(
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
    let alone: BTreeMap<BranchId, BranchOutlook> = own.clone();
    let mut found = Vec::new();
    for branch in cards {
        let Some(mut outlook) = own.remove(&branch.id) else {
            continue;
        };
        let over = above.get(&branch.id).map_or(&[][..], Vec::as_slice);
        let known = over.iter().filter_map(|id| alone.get(id));
        outlook.hangs_on = known.clone().map(|b| b.branch.name.clone()).collect();
        let all: Vec<&BranchOutlook> = known.chain([&outlook]).collect();
        let any = any_of(here, &all, common, today);
        outlook.chance = any.map(|any| any.value);
        outlook.at_most = any.is_some_and(|any| any.at_most);
        found.push(outlook);
    }
    found
}

/// Chance that at least one of these branches is lost for want of its own feeders, units they share counted once; `None`
/// where nothing is known of any of them.
pub(super) fn any_of(
    here: &[Here],
    outlooks: &[&BranchOutlook],
    common: f64,
    today: NaiveDate,
) -> Option<AnyLoss> {
    let known: Vec<(&BranchOutlook, Loss)> = outlooks
        .iter()
        .filter_map(|b| Some((*b, b.loss?)))
        .collect();
    // One branch alone has been reckoned already.
    if let [(_, only)] = known.as_slice() {
        return Some(AnyLoss {
            value: only.chance,
            at_most: false,
        });
    }
    // In the order of the branches, so that a unit's own rate is drawn as it is for the first of them.
    let mut seen: BTreeSet<UnitId> = BTreeSet::new();
    let units: Vec<UnitId> = known
        .iter()
        .flat_map(|(b, _)| b.feeders.iter().map(|card| card.id))
        .filter(|id| seen.insert(*id))
        .collect();
    let found: Vec<(&Here, &(UnitCard, UnitHistory))> =
        units.iter().filter_map(|id| find(here, *id)).collect();
    let season = Season::ahead_of(today);
    let seasons: Vec<Horizon> = found
        .iter()
        .map(|(kind, _)| season.horizon(&kind.kept.month_shares))
        .collect();
    let feeders: Vec<(Feeder<'_>, &Horizon)> = found
        .iter()
        .map(|(kind, unit)| feeder(kind, unit))
        .zip(&seasons)
        .collect();
    let place = |id: UnitId| found.iter().position(|(_, (card, _))| card.id == id);
    let branches: Vec<Branch> = known
        .iter()
        .map(|(b, _)| Branch {
            feeders: b.feeders.iter().filter_map(|c| place(c.id)).collect(),
            needed: b.needed,
        })
        .collect();
    if branches.is_empty() {
        return None;
    }
    // The last day of the season itself is too short a stretch to speak of.
    any_lost(&feeders, &branches, (common, REPAIR)).ok()
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
                .map(|(kind, unit)| feeder(kind, unit))
                .collect();
            let need = Need {
                needed,
                common,
                repair: REPAIR,
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
        at_most: false,
        loss,
        hangs_on: Vec::new(),
    }
}

fn feeder<'a>(kind: &'a Here, (_, history): &'a (UnitCard, UnitHistory)) -> Feeder<'a> {
    Feeder {
        prior: &kind.kept.prior,
        fit: &kind.kept.fit,
        history,
        standing: &kind.standing,
    }
}

fn find(here: &[Here], id: UnitId) -> Option<(&Here, &(UnitCard, UnitHistory))> {
    here.iter()
        .find_map(|kind| Some((kind, kind.units.iter().find(|(card, _)| card.id == id)?)))
}
