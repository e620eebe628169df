//! One building's outlook: how many failures to expect, kind by kind and together, and how likely a branch is lost.
use std::collections::BTreeMap;

use chrono::NaiveDate;
use dependability::shared_feeders::AnyLoss;
use dependability::{Factor, Horizon, Member, Standing, Total, UnitHistory, total_in_building};
use store::Tx;
use store::units::Which;
use terms::place::BuildingCard;
use terms::trade::Kind;
use terms::unit::UnitCard;
use terms::{BuildingId, UsedAs};

use super::branch_loss::{BranchOutlook, any_of, branches};
use super::histories::Facts;
use super::kept::{KeptFit, in_service, load};
use super::outlook::FitSaid;
use super::reading::wrong;
use super::season::Season;
use crate::register::may_read;
use crate::{Error, Seat, World};

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

/// One plant room: what feeds more than one home.
#[derive(Clone, Debug, PartialEq)]
pub struct PlantOutlook {
    /// Its name.
    pub name: String,
    /// Units in service there that can be forecast.
    pub units: usize,
    /// Failures to expect of them over the next 12 months.
    pub year: Total,
    /// The same over the heating season ahead.
    pub season: Total,
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
    /// Its plant rooms, by name; those without a unit that can be forecast are left out.
    pub plants: Vec<PlantOutlook>,
    /// Its branches, by name.
    pub branches: Vec<BranchOutlook>,
    /// Chance that any of them is lost in the season, units they share counted once.
    pub any_branch: Option<AnyLoss>,
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
pub(super) struct Here {
    kind: Kind,
    said: FitSaid,
    pub kept: KeptFit,
    pub standing: Standing,
    /// Units in service, ready for the model.
    pub units: Vec<(UnitCard, UnitHistory)>,
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
        let common = common.clamp(0.0, 1.0);
        let branches = branches(&here, cards, common, today);
        let each: Vec<&BranchOutlook> = branches.iter().collect();
        Ok(BuildingOutlook {
            whole: match all.as_slice() {
                [] => None,
                all => Some(totals(all, today)?),
            },
            any_branch: any_of(&here, &each, common, today),
            plants: plants(tx, id, &here, today)?,
            branches,
            kinds,
            building,
            common,
            season: Season::ahead_of(today),
            unreadable,
            today,
        })
    })
}

fn gather(tx: &mut Tx<'_>, id: BuildingId, today: NaiveDate) -> Result<(Vec<Here>, usize), Error> {
    let mut by_kind: BTreeMap<String, Vec<Facts>> = BTreeMap::new();
    let mut unreadable = 0;
    for facts in load(tx, Which::Building(id))? {
        // Whether a record can be read does not turn on what is asked of it.
        if facts.ready(today, &[]).is_err() {
            unreadable += usize::from(in_service(&facts));
            continue;
        }
        by_kind
            .entry(facts.card.kind.clone())
            .or_default()
            .push(facts);
    }
    let names = tx.kinds()?;
    let mut here = Vec::new();
    for (code, units) in by_kind {
        let kind = names.iter().find(|k| k.code == code);
        let (Some(kind), Some(row)) = (kind, tx.last_fit(&code)?) else {
            continue;
        };
        let Some(kept) = KeptFit::read(&row) else {
            continue;
        };
        let asked = &kept.prior.covariates;
        let units: Vec<(UnitCard, UnitHistory, bool)> = units
            .into_iter()
            .filter_map(|facts| {
                let ready = facts.ready(today, asked).ok()?;
                let serves = in_service(&facts);
                Some((facts.card, ready.history, serves))
            })
            .collect();
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

/// What to expect of each plant room, all kinds in it together.
fn plants(
    tx: &mut Tx<'_>,
    id: BuildingId,
    here: &[Here],
    today: NaiveDate,
) -> Result<Vec<PlantOutlook>, Error> {
    let mut found = Vec::new();
    for space in tx.spaces(Some(id))? {
        if space.used_as != UsedAs::Plant {
            continue;
        }
        let inside: Vec<(&Here, Vec<&UnitHistory>)> = here
            .iter()
            .map(|kind| {
                let there = kind.units.iter().filter(|(c, _)| c.space == space.id);
                (kind, there.map(|(_, history)| history).collect::<Vec<_>>())
            })
            .filter(|(_, units)| !units.is_empty())
            .collect();
        if inside.is_empty() {
            continue;
        }
        let [year, season] = [0, 1].map(|place| {
            let horizons: Vec<Horizon> = inside
                .iter()
                .map(|(kind, _)| {
                    let [year, season, ..] = kind.kept.horizons(today);
                    if place == 0 { year } else { season }
                })
                .collect();
            let each: Vec<(Member<'_>, &Standing, &Horizon)> = inside
                .iter()
                .zip(&horizons)
                .map(|((kind, units), horizon)| {
                    let member = Member {
                        prior: &kind.kept.prior,
                        fit: &kind.kept.fit,
                        units,
                    };
                    (member, &kind.standing, horizon)
                })
                .collect();
            total_in_building(&each).map_err(wrong)
        });
        found.push(PlantOutlook {
            name: space.name,
            units: inside.iter().map(|(_, units)| units.len()).sum(),
            year: year?,
            season: season?,
        });
    }
    found.sort_by(|a, b| a.name.cmp(&b.name));
    Ok(found)
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
