//! What a plan is made from: what was stated, or that with one thing otherwise.
use std::collections::BTreeMap;

use chrono::NaiveDate;
use costing::weigh::Levers;
use planning::ProgrammeInput;
use planning::programme::{
    Apart, Consultation, ProgrammeLimits, ProgrammeOption, ProgrammeUnit, YearMoney,
};
use serde::{Deserialize, Serialize};
use store::{Tie, Tx};
use terms::place::BuildingCard;
use terms::{BuildingId, ExpectedPounds, Pence, UnitId, UsedAs};
use uuid::Uuid;

use super::disruption::{Fed, Fitting};
use super::figures::in_year;
use super::money::{Limits, Stated, first_year, kept_limits, money_of, purse};
use crate::Error;
use crate::advice::{Candidate, CandidateOption, candidates_under};

/// What is asked otherwise than stated.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "what")]
pub enum WhatIf {
    /// Nothing: the plan as stated.
    AsStated,
    /// So much more (or less) comes in every year.
    Money {
        /// Pence a year.
        pence: i64,
    },
    /// Nothing is replaced by plan, also not what ought to be.
    Nothing,
    /// Each unit is replaced when it is expected to fail, or as soon after as there is money.
    OnFailure,
    /// The oldest first.
    OldestFirst,
    /// Another yearly rate of discount.
    Rate {
        /// Per cent, real.
        percent: f64,
    },
    /// New units cost so much more (or less).
    Prices {
        /// Per cent of today's prices.
        percent: f64,
    },
    /// Nothing, but the money is one purse's that other buildings pay from too.
    Shared {
        /// Buildings that pay from it.
        buildings: u32,
        /// The programme it is a part of, by which that is found again.
        #[serde(default)]
        of: Option<Uuid>,
    },
}

impl WhatIf {
    fn levers(self, rate: f64) -> Levers {
        let usual = Levers::default();
        match self {
            Self::Rate { percent } if rate > 0.0 => Levers {
                rate: percent / 100.0 / rate,
                ..usual
            },
            Self::Prices { percent } => Levers {
                capex: 1.0 + percent / 100.0,
                ..usual
            },
            _ => usual,
        }
    }
}

/// Everything a plan was made from; kept with it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Asked {
    /// Purse and units.
    pub input: ProgrammeInput,
    /// What binds besides.
    pub limits: ProgrammeLimits,
    /// No money was stated, so the plan minds none.
    pub unlimited: bool,
    /// Failures expected in each year were nothing replaced: those for which money is set aside, at each kind's likely repair
    /// price. Empty in a plan kept before they were.
    #[serde(default)]
    pub failures: Vec<f64>,
}

/// The same with what it was gathered from.
pub(super) struct Gathered {
    pub asked: Asked,
    pub units: BTreeMap<UnitId, Candidate>,
    pub money: Vec<(i32, Stated)>,
    pub stated: Limits,
    pub ties: Vec<Tie>,
    pub flats: u32,
    /// Homes that lose heat when a unit is out.
    pub fed: Fed,
}

/// Gathers what a plan of a building is made from.
pub(super) fn gather(
    tx: &mut Tx<'_>,
    building: &BuildingCard,
    what_if: WhatIf,
    today: NaiveDate,
) -> Result<Gathered, Error> {
    gather_for(tx, building, what_if, (today, None))
}

/// Its flats, one at least.
fn flats_of(tx: &mut Tx<'_>, building: &BuildingCard) -> Result<u32, Error> {
    let spaces = tx.spaces(Some(building.id))?;
    let flats = spaces.iter().filter(|s| s.used_as == UsedAs::Flat).count();
    Ok(flats.max(1) as u32)
}

/// The same for so many years; for as many as are stated where none are named.
pub(super) fn gather_for(
    tx: &mut Tx<'_>,
    building: &BuildingCard,
    what_if: WhatIf,
    (today, years): (NaiveDate, Option<i32>),
) -> Result<Gathered, Error> {
    let rate = tx.rate_on(tx.today())?.rate;
    let stated = kept_limits(tx, building.id)?;
    let ahead = years.unwrap_or(stated.years_ahead());
    let levers = what_if.levers(rate);
    let units: BTreeMap<UnitId, Candidate> = candidates_under(tx, &levers, ahead.unsigned_abs())?
        .into_iter()
        .filter(|c| c.building == building.id)
        .map(|c| (c.unit, c))
        .collect();
    let first_year = first_year(today);
    let money = money_of(&tx.budgets()?, building.id, first_year..first_year + ahead);
    let unlimited = money.iter().all(|(_, stated)| *stated == Stated::Nothing);
    let likely = likely(tx, &units, ahead.unsigned_abs() as usize)?;
    let ties = tx.plan_ties(building.id)?;
    let rate = match what_if {
        WhatIf::Rate { percent } => percent / 100.0,
        _ => rate,
    };
    let span = (first_year, ahead);
    let limits = limits(tx, building.id, &stated, &ties, (span, rate), today)?;
    let by = latest_of(&ties, span);
    let beside = limits.set_up.0 + limits.stair_set_up.0 * units.len() as i64;
    let most_aside = likely.iter().map(|(_, pence)| pence.0).max();
    let enough = most_aside.unwrap_or(0) + units.values().map(dearest).sum::<i64>() + beside;
    let more = match what_if {
        WhatIf::Money { pence } => pence,
        _ => 0,
    };
    let comes_in = |stated: Stated| {
        if unlimited {
            Pence(enough)
        } else {
            Pence((stated.pence().0 + more).max(0))
        }
    };
    let cap = stated.cap;
    let years = money
        .iter()
        .zip(&likely)
        .map(|((_, stated), year)| YearMoney {
            comes_in: comes_in(*stated),
            set_aside: year.1,
            cap,
        });
    let (opening, floor) = purse(tx, building.id)?;
    let (fitting, fed) = (Fitting::shipped(), Fed::of(tx, building.id, today)?);
    let input = ProgrammeInput {
        first_year,
        opening,
        floor,
        years: years.collect(),
        units: units
            .values()
            .map(|u| wanted(u, (ahead, by.get(&u.unit).copied()), (&fitting, &fed)))
            .collect(),
    };
    Ok(Gathered {
        asked: Asked {
            input,
            limits,
            unlimited,
            failures: likely.iter().map(|(failures, _)| *failures).collect(),
        },
        units,
        money,
        stated,
        ties,
        flats: flats_of(tx, building)?,
        fed,
    })
}

/// Everything but the purse, as the planner takes it. Years are places from the first.
fn limits(
    tx: &mut Tx<'_>,
    building: BuildingId,
    stated: &Limits,
    ties: &[Tie],
    ((first_year, ahead), rate): ((i32, i32), f64),
    today: NaiveDate,
) -> Result<ProgrammeLimits, Error> {
    let place = |year: i32| u32::try_from(year - first_year).ok();
    let inside = |year: Option<i32>| year.and_then(place).filter(|t| *t < ahead as u32);
    let tied = |what: &str| -> Vec<(UnitId, u32)> {
        ties.iter()
            .filter(|tie| tie.what == what)
            .filter_map(|tie| Some((inside(tie.year)?, &tie.units)))
            .flat_map(|(year, units)| units.iter().map(move |unit| (*unit, year)))
            .collect()
    };
    let apart = tx.branches(building, today)?;
    let apart = apart.into_iter().filter_map(|branch| {
        let needed = u32::try_from(branch.needed?).ok()?;
        let there = branch.fed_by.len() as u32;
        // Where all are needed there is no spare: then at least never two at once.
        (there > 1).then(|| Apart {
            name: branch.name,
            units: branch.fed_by,
            at_once: there.saturating_sub(needed).max(1),
        })
    });
    Ok(ProgrammeLimits {
        set_up: stated.set_up,
        stair_set_up: stated.stair_set_up,
        rate,
        homes_a_year: stated.homes_a_year,
        hours_a_year: stated.hours_a_year,
        consultation: stated.consult_above.map(|above| Consultation {
            above,
            costs: stated.consult_costs,
            from: stated
                .consult_from
                .map_or(0, |year| place(year).unwrap_or(0)),
        }),
        pinned: tied("pin"),
        forbidden: tied("forbid"),
        together: merged(ties.iter().filter(|tie| tie.what == "together")),
        apart: apart.collect(),
    })
}

/// The last place of every unit that must go by a year; a year before the first counts as the first.
fn latest_of(ties: &[Tie], (first_year, ahead): (i32, i32)) -> BTreeMap<UnitId, u32> {
    let mut latest: BTreeMap<UnitId, u32> = BTreeMap::new();
    for tie in ties.iter().filter(|tie| tie.what == "by") {
        let year = tie.year.unwrap_or(first_year);
        let place = u32::try_from(year - first_year).unwrap_or(0);
        // What need only go after these years binds none of them.
        for unit in tie.units.iter().filter(|_| place < ahead.unsigned_abs()) {
            let known = latest.entry(*unit).or_insert(place);
            *known = place.min(*known);
        }
    }
    latest
}

/// The most a unit can cost on the day.
fn dearest(unit: &Candidate) -> i64 {
    let all = unit.options.iter().map(|o| o.capex.0);
    all.chain([unit.capex.0, 0]).max().unwrap_or(0)
}

/// Units bound together, sets that share a unit made one.
fn merged<'a>(ties: impl Iterator<Item = &'a Tie>) -> Vec<Vec<UnitId>> {
    let mut sets: Vec<Vec<UnitId>> = Vec::new();
    for tie in ties {
        let shares = |set: &Vec<UnitId>| set.iter().any(|u| tie.units.contains(u));
        let (with, without): (Vec<_>, Vec<_>) = sets.into_iter().partition(shares);
        let mut one: Vec<UnitId> = with
            .into_iter()
            .flatten()
            .chain(tie.units.clone())
            .collect();
        one.sort_unstable();
        one.dedup();
        sets = without;
        sets.push(one);
    }
    sets
}

/// Failures expected in each of so many years were nothing replaced, and what they cost at each kind's likely repair price, in
/// whole pounds. The same courses are behind what a plan says of failures; what its replacements save of them is not taken off
/// here, for that is known only once it is made.
fn likely(
    tx: &mut Tx<'_>,
    units: &BTreeMap<UnitId, Candidate>,
    years: usize,
) -> Result<Vec<(f64, Pence)>, Error> {
    let mut by_kind: BTreeMap<&str, Vec<f64>> = BTreeMap::new();
    for unit in units.values() {
        let kind = by_kind.entry(unit.kind.as_str());
        let sums = kind.or_insert_with(|| vec![0.0; years]);
        for (t, sum) in sums.iter_mut().enumerate() {
            *sum += in_year(&unit.faults_old, t);
        }
    }
    let mut found = vec![(0.0, 0.0); years];
    for (kind, failures) in &by_kind {
        let price = tx
            .prices_of(kind)?
            .into_iter()
            .filter(|p| p.item == "repair" && p.firm.is_none())
            .max_by_key(|p| p.as_at);
        let price = price.map_or(0.0, |p| p.likely.to_pounds());
        for (sum, failures) in found.iter_mut().zip(failures) {
            sum.0 += failures;
            sum.1 += failures * price;
        }
    }
    let whole = |pounds: f64| ExpectedPounds(pounds.round_ties_even()).to_pence();
    let years = found.into_iter();
    Ok(years.map(|(n, pounds)| (n, whole(pounds))).collect())
}

/// A candidate as the planner takes it: replaced in year 0 when that is the cheaper course, else in its best
/// year; a best year at the end of its horizon says only "not within it".
fn wanted(
    candidate: &Candidate,
    (ahead, latest): (i32, Option<u32>),
    (fitting, fed): (&Fitting, &Fed),
) -> ProgrammeUnit {
    let homes = fed.homes(candidate).max(1);
    let disturbs = |option: &str| fitting.hours(&candidate.kind, option) * homes;
    let now = candidate.advantage.0 > 0.0;
    let horizon = u32::try_from(candidate.keep.len().saturating_sub(1)).unwrap_or(u32::MAX);
    let best = candidate.best_keep;
    let pounds = |keep: &[Option<f64>]| keep.iter().map(|w| w.map(ExpectedPounds)).collect();
    let option = |option: &CandidateOption| ProgrammeOption {
        option: option.code.clone(),
        cash: option.capex,
        home_hours: disturbs(&option.code),
        by_year: pounds(&option.keep),
    };
    ProgrammeUnit {
        unit: candidate.unit,
        building: candidate.building,
        stair: candidate.stair.clone(),
        age: candidate.age.max(0.0) as u32,
        option: candidate.option.clone(),
        cash: candidate.capex,
        by_year: pounds(&candidate.keep),
        best_year: if now {
            Some(0)
        } else {
            Some(best).filter(|best| *best < horizon)
        },
        latest,
        fails: fails(&candidate.faults_old).filter(|year| *year < ahead.unsigned_abs()),
        options: candidate.options.iter().map(option).collect(),
        home_hours: disturbs(&candidate.option),
    }
}

/// The year by whose end one failure is expected.
fn fails(faults: &[f64]) -> Option<u32> {
    let mut sum = 0.0;
    let year = faults.iter().position(|year| {
        sum += year;
        sum >= 1.0
    });
    year.and_then(|year| u32::try_from(year).ok())
}

#[cfg(test)]
mod tests {
    use super::fails;

    /// 0.4 + 0.4 + 0.4 passes one failure in the third year. By hand.
    #[test]
    fn a_unit_fails_in_the_year_its_expected_failures_pass_one() {
        assert_eq!(fails(&[0.4, 0.4, 0.4]), Some(2));
        assert_eq!(fails(&[1.0, 0.0]), Some(0));
        assert_eq!(fails(&[0.1; 5]), None);
        assert_eq!(fails(&[]), None);
    }
}
