//! Who heats which home, and what is expected of each such unit over a winter.
use std::collections::{BTreeMap, BTreeSet};

use dependability::CountLaw;
use dependability::drill::{Cover, Doubt, Estate, Fallible, Group, NIGHTS, Supply};
use dependability::frailty::Posterior;
use store::Tx;
use store::branches::BranchCard;
use store::units::Which;
use terms::unit::UnitCard;
use terms::{BranchId, BuildingId, Fate, Pence, SpaceId, UnitId, UsedAs};

use super::plants::{SharedDoubts, plants};
use super::{AskedPart, DrillAsk, PARTS};
use crate::Error;
use crate::forecast::{self, MONTH_SHARES, Told};
use crate::part_prices::{part_prices, shares_of};

/// Kinds that heat the flat they stand in.
const OF_A_FLAT: [&str; 6] = ["CB", "GB", "EB", "HIU", "TS", "HP"];
/// Days of the winter's months from October on.
const MONTHS: [(usize, usize); 6] = [(9, 31), (10, 30), (11, 31), (0, 31), (1, 28), (2, 31)];
/// What the form starts with: judgement, no source.
const COVER: Cover = Cover {
    engineers: 2,
    weekend_engineers: 1,
    visits_each: 4,
    heaters: 6,
    heaters_a_home: 2,
    spells: 2.0,
    spell_nights: 5,
    spell_factor: 2.0,
};
const OF_TEN: f64 = 7.0;
const HEATER: Pence = Pence(4_500);
const ENGINEER: Pence = Pence(900_000);
const LEAD_DAYS: u32 = 3;
/// A unit that heats a home with its forecast.
struct Heating {
    id: UnitId,
    building: BuildingId,
    kind: String,
    told: Told,
}

/// Who heats whom.
pub(super) struct Gathered {
    units: Vec<Heating>,
    groups: Vec<(BTreeSet<UnitId>, usize, Vec<SpaceId>)>,
    shares: BTreeMap<String, [f64; 12]>,
    parts: BTreeMap<(String, String), (String, Pence)>,
    /// Cover as the register has it, over the trade's.
    cover: Cover,
    /// Units that heat a home and have no forecast.
    pub without: usize,
    /// Flats that no unit on record heats.
    pub unheated: usize,
}

/// The units in service that heat flats, of one building or of all.
pub(super) fn gather(tx: &mut Tx<'_>, of: Option<BuildingId>) -> Result<Gathered, Error> {
    let cards = tx.units(of.map_or(Which::All, Which::Building))?;
    let serving: Vec<UnitCard> = cards
        .into_iter()
        .filter(|c| c.fate == Fate::InService)
        .collect();
    let flats: BTreeSet<SpaceId> = tx
        .spaces(of)?
        .into_iter()
        .filter(|s| s.used_as == UsedAs::Flat)
        .map(|s| s.id)
        .collect();
    let mut groups: Vec<(BTreeSet<UnitId>, usize, Vec<SpaceId>)> = serving
        .iter()
        .filter(|c| OF_A_FLAT.contains(&c.kind.as_str()) && flats.contains(&c.space))
        .map(|c| (BTreeSet::from([c.id]), 1, vec![c.space]))
        .collect();
    let buildings = match of {
        Some(building) => vec![building],
        None => tx.buildings()?.into_iter().map(|b| b.id).collect(),
    };
    let alive: BTreeSet<UnitId> = serving.iter().map(|c| c.id).collect();
    let today = tx.today();
    for building in buildings.iter().copied() {
        let branches = tx.branches(building, today)?;
        groups.extend(fed(&branches, &alive, &flats));
    }
    let heated: BTreeSet<SpaceId> = groups.iter().flat_map(|g| g.2.clone()).collect();
    let heating: BTreeSet<UnitId> = groups.iter().flat_map(|g| g.0.clone()).collect();
    let ids: Vec<UnitId> = heating.iter().copied().collect();
    let mut told = forecast::of_units(tx, &ids)?;
    let units: Vec<Heating> = serving
        .into_iter()
        .filter_map(|card| {
            let told = told
                .remove(&card.id)
                .filter(|_| heating.contains(&card.id))?;
            Some(Heating {
                id: card.id,
                building: card.building,
                kind: card.kind,
                told,
            })
        })
        .collect();
    let kinds: BTreeSet<String> = units.iter().map(|u| u.kind.clone()).collect();
    let mut shares = BTreeMap::new();
    for (kind, row) in tx.last_fits()? {
        if kinds.contains(&kind) {
            // Without a fit that can be read, the trade's months.
            let fit = forecast::KeptFit::read(&row);
            shares.extend(fit.map(|fit| (kind, fit.month_shares)));
        }
    }
    Ok(Gathered {
        without: heating.len() - units.len(),
        unheated: flats.difference(&heated).count(),
        parts: part_prices(tx, &kinds)?,
        cover: on_record(tx, &buildings)?,
        shares,
        units,
        groups,
    })
}

/// Heaters in stock, lent ones too, and one engineer for every firm that is stated to come to these buildings on weekends
/// now; where the register says nothing of one of them, the trade's for all: the firms of the others do not come there. How
/// many a firm sends on a weekday no register says.
fn on_record(tx: &mut Tx<'_>, buildings: &[BuildingId]) -> Result<Cover, Error> {
    let today = tx.today();
    let kept = tx.heaters()?;
    let stock = kept.iter().filter(|h| h.ended_on.is_none()).count();
    let mut stated = tx.cover()?;
    stated.retain(|c| c.from_on <= today && c.until_on.is_none_or(|last| today <= last));
    stated.retain(|c| buildings.contains(&c.building));
    let told: BTreeSet<BuildingId> = stated.iter().map(|c| c.building).collect();
    let all_told = !buildings.is_empty() && buildings.iter().all(|b| told.contains(b));
    let firms: BTreeSet<_> = stated
        .iter()
        .filter(|c| matches!(c.hours.as_str(), "weekends" | "both"))
        .map(|c| c.firm)
        .collect();
    let count = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
    Ok(Cover {
        heaters: if kept.is_empty() {
            COVER.heaters
        } else {
            count(stock)
        },
        weekend_engineers: if all_told {
            count(firms.len())
        } else {
            COVER.weekend_engineers
        },
        ..COVER
    })
}

/// Branches fed by units: the flats that hang on them, or on what they feed.
fn fed(
    branches: &[BranchCard],
    alive: &BTreeSet<UnitId>,
    flats: &BTreeSet<SpaceId>,
) -> Vec<(BTreeSet<UnitId>, usize, Vec<SpaceId>)> {
    let mut groups = Vec::new();
    for branch in branches {
        let units: BTreeSet<UnitId> = branch
            .fed_by
            .iter()
            .copied()
            .filter(|u| alive.contains(u))
            .collect();
        if units.is_empty() {
            continue;
        }
        let mut reached: BTreeSet<BranchId> = BTreeSet::from([branch.id]);
        loop {
            let more: Vec<BranchId> = branches
                .iter()
                .filter(|b| !reached.contains(&b.id))
                .filter(|b| b.fed_by_branches.iter().any(|f| reached.contains(f)))
                .map(|b| b.id)
                .collect();
            if more.is_empty() {
                break;
            }
            reached.extend(more);
        }
        let homes: BTreeSet<SpaceId> = branches
            .iter()
            .filter(|b| reached.contains(&b.id))
            .flat_map(|b| b.spaces.iter().copied())
            .filter(|s| flats.contains(s))
            .collect();
        let needed = branch.needed.and_then(|n| usize::try_from(n).ok());
        let needed = needed.unwrap_or(units.len()).min(units.len());
        if !homes.is_empty() {
            groups.push((units, needed, homes.into_iter().collect()));
        }
    }
    groups
}

impl Gathered {
    /// Homes with anything that heats them.
    pub fn homes(&self) -> usize {
        let homes: BTreeSet<SpaceId> = self.groups.iter().flat_map(|g| g.2.clone()).collect();
        homes.len()
    }

    /// What the form starts with: what was asked last, over the register's, over the trade's; the parts are those expected most often now.
    pub fn starting(&self, building: Option<BuildingId>, last: Option<&DrillAsk>) -> DrillAsk {
        let mut often: BTreeMap<(&str, &str), f64> = BTreeMap::new();
        for unit in &self.units {
            for (code, share) in shares_of(&unit.told) {
                let expected = unit.told.row.expected_12m * share;
                *often.entry((unit.kind.as_str(), code)).or_default() += expected;
            }
        }
        let mut often: Vec<((&str, &str), f64)> = often.into_iter().collect();
        often.sort_by(|a, b| b.1.total_cmp(&a.1));
        let parts = often
            .into_iter()
            .filter_map(|((kind, code), _)| {
                let key = (kind.to_owned(), code.to_owned());
                let (name, price) = self.parts.get(&key)?;
                let before =
                    last.and_then(|l| l.parts.iter().find(|p| p.kind == kind && p.code == code));
                Some(before.cloned().unwrap_or_else(|| AskedPart {
                    kind: key.0,
                    code: key.1,
                    name: name.clone(),
                    lead_days: LEAD_DAYS,
                    on_van: false,
                    price: *price,
                }))
            })
            .take(PARTS)
            .collect();
        DrillAsk {
            building,
            cover: last.map_or(self.cover, |l| l.cover),
            of_ten: last.map_or(OF_TEN, |l| l.of_ten),
            heater_price: last.map_or(HEATER, |l| l.heater_price),
            engineer_price: last.map_or(ENGINEER, |l| l.engineer_price),
            parts,
        }
    }

    /// The room's input.
    pub fn estate(&self, ask: &DrillAsk) -> Estate {
        let kinds: Vec<&String> = self
            .units
            .iter()
            .map(|u| &u.kind)
            .collect::<BTreeSet<_>>()
            .into_iter()
            .collect();
        let places: BTreeMap<UnitId, usize> = self
            .units
            .iter()
            .enumerate()
            .map(|(i, u)| (u.id, i))
            .collect();
        let homes: BTreeSet<SpaceId> = self.groups.iter().flat_map(|g| g.2.clone()).collect();
        let homes: BTreeMap<SpaceId, usize> =
            homes.into_iter().enumerate().map(|(i, s)| (s, i)).collect();
        let group = |(units, needed, spaces): &(BTreeSet<UnitId>, usize, Vec<SpaceId>)| {
            let known: Vec<usize> = units
                .iter()
                .filter_map(|u| places.get(u).copied())
                .collect();
            // A unit without a forecast never fails: it is one the group always has.
            let always = units.len() - known.len();
            Group {
                needed: needed.saturating_sub(always).min(known.len()),
                units: known,
                homes: spaces
                    .iter()
                    .filter_map(|s| homes.get(s).copied())
                    .collect(),
            }
        };
        let groups: Vec<Group> = self.groups.iter().map(group).collect();
        let mut doubts = SharedDoubts::default();
        Estate {
            units: self
                .units
                .iter()
                .map(|u| self.fallible(u, ask, &kinds, &mut doubts))
                .collect(),
            doubts: doubts.count(),
            together: plants(&groups),
            parts: ask
                .parts
                .iter()
                .map(|p| Supply {
                    lead_days: p.lead_days,
                    on_van: p.on_van,
                })
                .collect(),
            groups,
            calendars: kinds.iter().map(|kind| self.calendar(kind)).collect(),
            homes: homes.len(),
        }
    }

    fn months(&self, kind: &str) -> [f64; 12] {
        self.shares.get(kind).copied().unwrap_or(MONTH_SHARES)
    }

    fn calendar(&self, kind: &str) -> Vec<f64> {
        let shares = self.months(kind);
        let days = MONTHS
            .iter()
            .flat_map(|(month, days)| std::iter::repeat_n(shares[*month] / *days as f64, *days));
        days.take(NIGHTS).collect()
    }

    fn fallible(
        &self,
        unit: &Heating,
        ask: &DrillAsk,
        kinds: &[&String],
        doubts: &mut SharedDoubts,
    ) -> Fallible {
        let shares = self.months(&unit.kind);
        let winter: f64 = MONTHS.iter().map(|(month, _)| shares[*month]).sum();
        let row = &unit.told.row;
        let law = CountLaw::meeting(row.expected_12m, row.year.chance);
        let told = &unit.told.kept.forecast;
        let z = Posterior {
            theta: unit.told.kept.theta,
            n: f64::from(told.n),
            mu: told.mu,
        };
        let doubt = Doubt::of(law.inv_size, &z, told.building);
        let needs = shares_of(&unit.told)
            .filter_map(|(code, share)| {
                let wanted = |p: &AskedPart| p.kind == unit.kind && p.code == code;
                Some((ask.parts.iter().position(wanted)?, share))
            })
            .collect();
        Fallible {
            expected: row.expected_12m * winter * ask.of_ten / 10.0,
            inv_size: doubt.own,
            shared: doubts.of(&unit.kind, unit.building, &doubt),
            calendar: kinds.iter().position(|k| **k == unit.kind).unwrap_or(0),
            needs,
        }
    }
}
