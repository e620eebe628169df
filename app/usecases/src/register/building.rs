//! The buildings at a glance, and one building shaded by one question.
use std::collections::BTreeMap;

use chrono::{Months, NaiveDate};
use store::Tx;
use store::branches::BranchCard;
use store::history::History;
use store::outages::{OutageCard, WhichOutages};
use store::standing::{DutyNow, ForecastNow};
use store::units::{Stay, Which};
use terms::place::{BuildingCard, SpaceCard};
use terms::trade::{DutyRule, Kind};
use terms::unit::{Reading, UnitCard};
use terms::{BuildingId, Fate, Pence, SpaceId, UnitId, UsedAs, counting_order};

use super::likely::{Likely, any, likely};
use super::needed::{Needed, needed_in};
use super::section::{SectionLevel, section_of};
use super::trouble::{Trouble, Troubles};
use super::{READERS, may_read};
use crate::duties::dates::by_last_day;
use crate::{Error, Seat, World};

/// Kinds whose failure takes neither heat nor hot water from a flat: they are left out of that question.
const SIDE_KINDS: [&str; 4] = ["CT", "HM", "TMV", "WT"];

fn gives_heat(unit: &UnitCard) -> bool {
    !SIDE_KINDS.contains(&unit.kind.as_str())
}

/// Months over which the money question counts.
const MONEY_MONTHS: u32 = 36;

/// What a drawing is shaded by.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Question {
    /// Where is heat most likely to fail?
    #[default]
    Heat,
    /// Whose check is next?
    Checks,
    /// What is oldest?
    Oldest,
    /// Where did the money go?
    Money,
    /// Which pipe feeds whom?
    Pipes,
}

/// The duty of a flat that comes first.
#[derive(Clone, Debug, PartialEq)]
pub struct NextCheck {
    /// The rule's name.
    pub name: String,
    /// Its code.
    pub rule: String,
    /// The unit.
    pub unit: UnitId,
    /// By when.
    pub deadline: NaiveDate,
}

/// A flat as it stands now.
#[derive(Clone, Debug)]
pub struct FlatNow {
    /// The space.
    pub space: SpaceCard,
    /// Its units in service, by number.
    pub units: Vec<UnitCard>,
    /// Chance that one of those that give heat or hot water fails in the season: estimate, low, high.
    pub chance: Option<(f64, f64, f64)>,
    /// The likeliest of them.
    pub likeliest: Option<UnitCard>,
    /// The duty that comes first.
    pub next_check: Option<NextCheck>,
    /// Duties of it that have no date yet.
    pub undated: usize,
    /// Its oldest unit with a known or doubtful date.
    pub oldest: Option<UnitCard>,
    /// Spent on failures and repairs in the months of the question; `None` when nothing ever stood there.
    pub spent: Option<Pence>,
    /// Failures in those months.
    pub failures: usize,
    /// Something wrong now.
    pub trouble: Option<Trouble>,
}

/// A unit of the plant room, the roof or a riser cupboard, with its last readings.
#[derive(Clone, Debug)]
pub struct PlantUnit {
    /// The unit.
    pub unit: UnitCard,
    /// Newest of each code, at most three.
    pub readings: Vec<Reading>,
    /// Chance of a failure in the season.
    pub chance: Option<(f64, f64, f64)>,
    /// Its duty that comes first.
    pub next_check: Option<NextCheck>,
    /// Something wrong now.
    pub trouble: Option<Trouble>,
}

/// One building under one question.
#[derive(Clone, Debug)]
pub struct BuildingView {
    /// The building.
    pub building: BuildingCard,
    /// Its storeys, lowest first.
    pub section: Vec<SectionLevel>,
    /// Its flats, lowest storey first, left to right.
    pub flats: Vec<FlatNow>,
    /// Plant and shared units.
    pub plant: Vec<PlantUnit>,
    /// Branches.
    pub branches: Vec<BranchCard>,
    /// How many of a kind its spaces need, where somebody said so.
    pub needed: Vec<Needed>,
    /// The shape of its top: "flat", "pitched" or "sheds".
    pub roof: String,
    /// Outages that last.
    pub outages: Vec<OutageCard>,
    /// The kinds, for names.
    pub kinds: Vec<Kind>,
    /// How many of the units in flats that give heat or hot water are likely to fail in the season.
    pub likely: Option<Likely>,
    /// First and last day of that season.
    pub season: Option<(NaiveDate, NaiveDate)>,
    /// First day of the months the money question counts.
    pub money_from: NaiveDate,
    /// Today.
    pub today: NaiveDate,
}

/// A building in the list.
#[derive(Clone, Debug)]
pub struct BuildingSummary {
    /// The building.
    pub building: BuildingCard,
    /// Its storeys, lowest first.
    pub section: Vec<SectionLevel>,
    /// Its flats.
    pub flats: usize,
    /// Units in service that give heat or hot water, by kind: name, plural, number; the most frequent first.
    pub kinds: Vec<(String, String, usize)>,
    /// Flats with something wrong now.
    pub troubled: Vec<SpaceId>,
    /// How many of the units in flats that give heat or hot water are likely to fail in the season.
    pub likely: Option<Likely>,
    /// Last day of that season.
    pub season_until: Option<NaiveDate>,
}

/// Every building the seat may read.
///
/// # Errors
/// [`Error::Forbidden`] for a contractor.
pub fn buildings_overview(world: &World, seat: &Seat) -> Result<Vec<BuildingSummary>, Error> {
    seat.must_be(&READERS)?;
    world.acting(seat, |tx| {
        let kinds = tx.kinds()?;
        let buildings: Vec<BuildingCard> = tx
            .buildings()?
            .into_iter()
            .filter(|b| seat.grant().reaches(b.id))
            .collect();
        let troubles = Troubles::load(tx, None)?;
        buildings
            .into_iter()
            .map(|building| summary(tx, building, &kinds, &troubles))
            .collect()
    })
}

fn summary(
    tx: &mut Tx<'_>,
    building: BuildingCard,
    kinds: &[Kind],
    troubles: &Troubles,
) -> Result<BuildingSummary, Error> {
    let spaces = tx.spaces(Some(building.id))?;
    let levels = tx.levels_of(building.id)?;
    let units = in_service(tx.units(Which::Building(building.id))?);
    let flats: Vec<&SpaceCard> = spaces
        .iter()
        .filter(|s| s.used_as == UsedAs::Flat)
        .collect();
    let ids: Vec<UnitId> = units
        .iter()
        .filter(|u| gives_heat(u) && flats.iter().any(|f| f.id == u.space))
        .map(|u| u.id)
        .collect();
    let forecasts = tx.forecasts_now(&ids)?;
    let chances: Vec<f64> = forecasts.iter().map(|f| f.season.0).collect();
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for unit in units.iter().filter(|u| gives_heat(u)) {
        *counts.entry(unit.kind.as_str()).or_default() += 1;
    }
    let mut named: Vec<(String, String, usize)> = counts
        .into_iter()
        .map(|(code, count)| {
            let kind = kinds.iter().find(|k| k.code == code);
            let name = kind.map_or(code, |k| k.name.as_str());
            let plural = kind.map_or(code, |k| k.plural.as_str());
            (name.to_owned(), plural.to_owned(), count)
        })
        .collect();
    named.sort_by_key(|(name, _, count)| (usize::MAX - count, name.clone()));
    let troubled = flats
        .iter()
        .filter(|flat| troubles.of(flat.id).is_some())
        .map(|flat| flat.id)
        .collect();
    Ok(BuildingSummary {
        section: section_of(&levels, &spaces),
        flats: flats.len(),
        kinds: named,
        troubled,
        likely: (!chances.is_empty()).then(|| likely(&chances)),
        season_until: forecasts.first().map(|f| f.season_days.1),
        building,
    })
}

fn in_service(units: Vec<UnitCard>) -> Vec<UnitCard> {
    units
        .into_iter()
        .filter(|u| u.fate == Fate::InService)
        .collect()
}

/// One building as it stands now.
///
/// # Errors
/// [`Error::NotFound`] for a building of another estate or another landlord.
pub fn building_view(world: &World, seat: &Seat, id: BuildingId) -> Result<BuildingView, Error> {
    may_read(seat, id)?;
    world.acting(seat, |tx| {
        let building = tx.building(id)?;
        let facts = Facts::load(tx, id)?;
        let season = facts.forecasts.values().next().map(|f| f.season_days);
        let flats: Vec<FlatNow> = facts
            .spaces
            .iter()
            .filter(|s| s.used_as == UsedAs::Flat)
            .map(|space| facts.flat(space))
            .collect();
        let chances: Vec<f64> = flats
            .iter()
            .flat_map(|flat| &flat.units)
            .filter(|unit| gives_heat(unit))
            .filter_map(|unit| facts.forecasts.get(&unit.id))
            .map(|f| f.season.0)
            .collect();
        let mut plant = Vec::new();
        for unit in &facts.units {
            let shared = facts
                .spaces
                .iter()
                .any(|s| s.id == unit.space && s.used_as != UsedAs::Flat);
            if shared {
                let readings = newest(tx.readings_of(unit.id)?);
                plant.push(facts.plant_unit(unit, readings));
            }
        }
        plant.sort_by_cached_key(|p| counting_order(&p.unit.number));
        let kinds = tx.kinds()?;
        let needed = needed_in(tx, id, (&facts.spaces, &facts.units, &kinds))?;
        Ok(BuildingView {
            needed,
            section: section_of(&tx.levels_of(id)?, &facts.spaces),
            roof: tx.roof(id)?.unwrap_or_else(|| "flat".to_owned()),
            branches: tx.branches(id, tx.today())?,
            outages: tx
                .outages(WhichOutages::Open)?
                .into_iter()
                .filter(|o| o.building == id)
                .collect(),
            kinds,
            likely: (!chances.is_empty()).then(|| likely(&chances)),
            season,
            money_from: facts.money_from,
            today: tx.today(),
            building,
            flats,
            plant,
        })
    })
}

fn newest(readings: Vec<(Option<terms::VisitId>, Reading)>) -> Vec<Reading> {
    let mut found: Vec<Reading> = Vec::new();
    for (_, reading) in readings {
        if found.len() < 3 && found.iter().all(|r| r.code != reading.code) {
            found.push(reading);
        }
    }
    found
}

/// What a building's view is worked out from.
struct Facts {
    spaces: Vec<SpaceCard>,
    units: Vec<UnitCard>,
    forecasts: BTreeMap<UnitId, ForecastNow>,
    duties: Vec<DutyNow>,
    rules: Vec<DutyRule>,
    troubles: Troubles,
    stays: Vec<Stay>,
    histories: BTreeMap<UnitId, History>,
    money_from: NaiveDate,
}

impl Facts {
    fn load(tx: &mut Tx<'_>, id: BuildingId) -> Result<Self, Error> {
        let units = in_service(tx.units(Which::Building(id))?);
        let ids: Vec<UnitId> = units.iter().map(|u| u.id).collect();
        let stays = tx.stays_in_building(id)?;
        let mut stood: Vec<UnitId> = stays.iter().map(|s| s.unit).collect();
        stood.sort_unstable();
        stood.dedup();
        let now = tx.at();
        let today = tx.today();
        let rules = tx.duty_rules()?;
        Ok(Self {
            spaces: tx.spaces(Some(id))?,
            forecasts: tx
                .forecasts_now(&ids)?
                .into_iter()
                .map(|f| (f.unit, f))
                .collect(),
            duties: by_last_day(&rules, tx.duties_now(Some(id))?),
            rules,
            troubles: Troubles::load(tx, Some(id))?,
            histories: tx.histories(&stood, now)?,
            money_from: today
                .checked_sub_months(Months::new(MONEY_MONTHS))
                .unwrap_or(today),
            units,
            stays,
        })
    }

    fn flat(&self, space: &SpaceCard) -> FlatNow {
        let units: Vec<UnitCard> = self
            .units
            .iter()
            .filter(|u| u.space == space.id)
            .cloned()
            .collect();
        let ids: Vec<UnitId> = units.iter().map(|u| u.id).collect();
        let (next_check, undated) = self.next_check(&ids);
        let oldest = units
            .iter()
            .filter(|u| u.installed.is_some())
            .min_by_key(|u| u.installed)
            .cloned();
        let (spent, failures) = self.spent(space.id);
        let heat: Vec<&UnitCard> = units.iter().filter(|u| gives_heat(u)).collect();
        let heat_ids: Vec<UnitId> = heat.iter().map(|u| u.id).collect();
        let chance_of = |u: &UnitCard| self.forecasts.get(&u.id).map_or(0.0, |f| f.season.0);
        let likeliest = heat
            .into_iter()
            .max_by(|a, b| chance_of(a).total_cmp(&chance_of(b)))
            .cloned();
        FlatNow {
            chance: self.chance(&heat_ids),
            likeliest,
            trouble: self.troubles.of(space.id),
            space: space.clone(),
            units,
            next_check,
            undated,
            oldest,
            spent,
            failures,
        }
    }

    fn plant_unit(&self, unit: &UnitCard, readings: Vec<Reading>) -> PlantUnit {
        let alone = self.units.iter().filter(|u| u.space == unit.space).count() == 1;
        PlantUnit {
            chance: self.chance(&[unit.id]),
            next_check: self.next_check(&[unit.id]).0,
            trouble: self.troubles.of_unit(unit, alone),
            unit: unit.clone(),
            readings,
        }
    }

    /// The chance that one of the units fails; a unit without a forecast leaves it unknown.
    fn chance(&self, units: &[UnitId]) -> Option<(f64, f64, f64)> {
        let found: Vec<&ForecastNow> = units
            .iter()
            .filter_map(|id| self.forecasts.get(id))
            .collect();
        if found.is_empty() {
            return None;
        }
        Some((
            any(found.iter().map(|f| f.season.0)),
            any(found.iter().map(|f| f.season.1)),
            any(found.iter().map(|f| f.season.2)),
        ))
    }

    fn next_check(&self, units: &[UnitId]) -> (Option<NextCheck>, usize) {
        let theirs: Vec<&DutyNow> = self
            .duties
            .iter()
            .filter(|d| units.contains(&d.unit))
            .collect();
        let undated = theirs.iter().filter(|d| d.deadline.is_none()).count();
        let next = theirs
            .iter()
            .filter_map(|d| d.deadline.map(|deadline| (deadline, *d)))
            .min_by_key(|(deadline, d)| (*deadline, d.rule.clone()))
            .map(|(deadline, duty)| NextCheck {
                name: self
                    .rules
                    .iter()
                    .find(|r| r.code == duty.rule)
                    .map_or_else(|| duty.rule.clone(), |r| r.name.clone()),
                rule: duty.rule.clone(),
                unit: duty.unit,
                deadline,
            });
        (next, undated)
    }

    /// Money for failures and repairs of whatever stood in a space on the day it happened.
    fn spent(&self, space: SpaceId) -> (Option<Pence>, usize) {
        let here: Vec<&Stay> = self.stays.iter().filter(|s| s.space == space).collect();
        if here.is_empty() {
            return (None, 0);
        }
        let (mut sum, mut count) = (0, 0);
        for stay in here {
            let Some(history) = self.histories.get(&stay.unit) else {
                continue;
            };
            let inside = |day: NaiveDate| {
                day >= self.money_from
                    && stay.from_on.is_none_or(|from| day >= from)
                    && stay.until_on.is_none_or(|until| day <= until)
            };
            for failure in history.failures.iter().filter(|f| inside(f.happened_on)) {
                sum += failure.cost.map_or(0, |c| c.0);
                count += usize::from(!failure.no_fault_found);
            }
            sum += history
                .services
                .iter()
                .filter(|s| s.what == "repair" && inside(s.happened_on))
                .map(|s| s.cost.map_or(0, |c| c.0))
                .sum::<i64>();
        }
        (Some(Pence(sum)), count)
    }
}
