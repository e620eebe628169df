//! Checks a programme against the rules, from the rules alone; shares nothing with the method.
use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use terms::{ExpectedPounds, Pence, UnitId};

use super::{Programme, ProgrammeInput, ProgrammeLimits, ProgrammeUnit, Replacement, YearLine};

/// A rule a programme breaks.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ProgrammeBreach {
    /// Not one line a year, or a line of another year.
    YearsDiffer,
    /// A unit named twice, not in the input, or nowhere.
    UnitCount {
        /// The unit.
        unit: UnitId,
        /// How often it has a year or is left out.
        times: u32,
    },
    /// Another price than the input's.
    CashDiffers(UnitId),
    /// With an option that is not on offer in that year.
    NotOnOffer(UnitId),
    /// The reserve ends a year under its floor, whether anything is paid in it or not.
    UnderFloor {
        /// Place of the year.
        year: u32,
        /// By how much.
        by: Pence,
    },
    /// It costs another sum than is said of it.
    CostDiffers {
        /// Pence, by the rules.
        rules: Pence,
    },
    /// In a year after its last.
    PastLatest(UnitId),
    /// opening + comes in − set aside − spent is not the reserve, or the year does not start where the
    /// last one ended.
    SumsDiffer {
        /// Place of the year.
        year: u32,
    },
    /// Money was spent that took the reserve under the floor, or over the year's cap.
    OverSpent {
        /// Place of the year.
        year: u32,
        /// By how much.
        by: Pence,
    },
    /// What is paid beside the replacements is not what the limits say.
    SetUpDiffers {
        /// Place of the year.
        year: u32,
        /// By the rules.
        rules: Pence,
    },
    /// Not in the year a person pinned it to.
    NotWherePinned(UnitId),
    /// In a year a person forbade.
    Forbidden(UnitId),
    /// Units bound together that are not in one year (place of the set).
    TornApart(usize),
    /// Too many units out in one year of a set that must not be (place of the set).
    OutAtOnce(usize),
    /// More replacements in a year than allowed.
    HomesOver {
        /// Place of the year.
        year: u32,
    },
    /// More home-hours of disruption in a year than allowed.
    HoursOver {
        /// Place of the year.
        year: u32,
        /// Home-hours by the rules.
        hours: u32,
    },
    /// Works that need consultation before it could be finished.
    ConsultedTooEarly {
        /// Place of the year.
        year: u32,
    },
}

/// Every rule the programme breaks.
pub fn audit(input: &ProgrammeInput, programme: &Programme) -> Vec<ProgrammeBreach> {
    let mut breaches = Vec::new();
    let same_years = programme.years.len() == input.years.len()
        && (input.first_year..)
            .zip(&programme.years)
            .all(|(year, line)| line.year == year);
    if !same_years {
        breaches.push(ProgrammeBreach::YearsDiffer);
        return breaches;
    }
    units(input, programme, &mut breaches);
    let mut purse = input.opening.0;
    for (year, (line, money)) in (0u32..).zip(programme.years.iter().zip(&input.years)) {
        let spent: i64 = line.replacements.iter().map(|r| r.cash.0).sum();
        let out = spent + line.set_up.0;
        let reserve = purse + money.comes_in.0 - money.set_aside.0 - out;
        let given = line.comes_in == money.comes_in && line.set_aside == money.set_aside;
        let sums = line.opening.0 == purse && line.spent.0 == spent && line.reserve.0 == reserve;
        if !(given && sums) {
            breaches.push(ProgrammeBreach::SumsDiffer { year });
        }
        let under = input.floor.0 - reserve;
        let over = money.cap.map_or(0, |cap| out - cap.0);
        if out > 0 && under.max(over) > 0 {
            let by = Pence(under.max(over));
            breaches.push(ProgrammeBreach::OverSpent { year, by });
        }
        purse = reserve;
    }
    breaches
}

fn units(input: &ProgrammeInput, programme: &Programme, breaches: &mut Vec<ProgrammeBreach>) {
    let mut times: BTreeMap<UnitId, u32> = input.units.iter().map(|u| (u.unit, 0)).collect();
    let given: BTreeMap<UnitId, _> = input.units.iter().map(|u| (u.unit, u)).collect();
    for (year, line) in (0u32..).zip(&programme.years) {
        for replaced in &line.replacements {
            *times.entry(replaced.unit).or_insert(10) += 1;
            let Some(unit) = given.get(&replaced.unit) else {
                continue;
            };
            if offered(unit, replaced, year) == Offer::Unknown {
                breaches.push(ProgrammeBreach::CashDiffers(unit.unit));
            }
            if unit.latest.is_some_and(|latest| year > latest) {
                breaches.push(ProgrammeBreach::PastLatest(unit.unit));
            }
        }
    }
    for (unit, _) in &programme.left_out {
        *times.entry(*unit).or_insert(10) += 1;
    }
    for (unit, times) in times {
        if times != 1 {
            breaches.push(ProgrammeBreach::UnitCount { unit, times });
        }
    }
}

/// What a unit stands with in a year, held against what is offered.
#[derive(Clone, Copy, PartialEq)]
enum Offer {
    /// None of the unit's options at that price.
    Unknown,
    /// One of them, not on offer in that year.
    Shut,
    /// One of them, with its expected cost then.
    Open(ExpectedPounds),
}

fn offered(unit: &ProgrammeUnit, replaced: &Replacement, year: u32) -> Offer {
    let at = |by_year: &[Option<ExpectedPounds>]| {
        let cost = by_year.get(year as usize).copied().flatten();
        cost.map_or(Offer::Shut, Offer::Open)
    };
    // Where no options are listed there is the unit's own.
    if unit.options.is_empty() {
        let same = unit.cash == replaced.cash && unit.option == replaced.option;
        return if same {
            at(&unit.by_year)
        } else {
            Offer::Unknown
        };
    }
    let mut all = unit.options.iter();
    let one = all.find(|c| c.cash == replaced.cash && c.option == replaced.option);
    one.map_or(Offer::Unknown, |c| at(&c.by_year))
}

/// What a programme costs by the rules, whole pence: every unit's expected cost in its year with its option, those that are
/// kept at the least their course knows from the programme's end on (or at its end, where it is shorter), and what is paid
/// beside in each year, discounted; each figure rounded to the penny. `None` where a unit stands where it is not on offer.
pub fn cost_by_the_rules(
    input: &ProgrammeInput,
    limits: &ProgrammeLimits,
    programme: &Programme,
) -> Option<Pence> {
    let pence = |pounds: f64| (pounds * 100.0).round() as i64;
    let mut stands: BTreeMap<UnitId, (u32, &Replacement)> = BTreeMap::new();
    for (year, line) in (0u32..).zip(&programme.years) {
        stands.extend(line.replacements.iter().map(|r| (r.unit, (year, r))));
    }
    let mut cost = 0;
    for unit in &input.units {
        cost += match stands.get(&unit.unit) {
            Some(&(year, replaced)) => match offered(unit, replaced, year) {
                Offer::Open(cost) => pence(cost.0),
                Offer::Unknown | Offer::Shut => return None,
            },
            // What has no sound price is never replaced, and counted as nothing.
            None if unit.cash.0 < 0 => 0,
            None => {
                let end = unit.by_year.len().saturating_sub(1);
                let beyond = unit.by_year.iter().skip(input.years.len().min(end));
                let least = beyond.flatten().map(|w| w.0).reduce(f64::min);
                pence(least?)
            }
        };
    }
    let units = by_id(input);
    for (year, line) in (0i32..).zip(&programme.years) {
        let worth = |paid: i64| (paid as f64 / (1.0 + limits.rate).powi(year)).round() as i64;
        let (come, stairs, consulted) = beside(&units, limits, line);
        cost += worth(come) + worth(limits.stair_set_up.0) * stairs + worth(consulted);
    }
    Some(Pence(cost))
}

/// The units by their ids.
pub(super) type ById<'a> = BTreeMap<UnitId, &'a ProgrammeUnit>;

/// The units by their ids; of two with one id the first, as elsewhere.
pub(super) fn by_id(input: &ProgrammeInput) -> ById<'_> {
    let mut found = ById::new();
    for unit in &input.units {
        found.entry(unit.unit).or_insert(unit);
    }
    found
}

/// What is paid beside a year's replacements: coming to the building, at how many stairs, consulting.
pub(super) fn beside(
    units: &ById<'_>,
    limits: &ProgrammeLimits,
    line: &YearLine,
) -> (i64, i64, i64) {
    let mut stairs: Vec<&str> = Vec::new();
    for replaced in &line.replacements {
        let unit = units.get(&replaced.unit);
        let here = unit.map_or("", |u| u.stair.as_str());
        if !here.is_empty() && !stairs.contains(&here) {
            stairs.push(here);
        }
    }
    let stairs = stairs.len() as i64;
    let come = if line.replacements.is_empty() {
        0
    } else {
        limits.set_up.0
    };
    let paid = line.spent.0 + come + limits.stair_set_up.0 * stairs;
    let consulted = limits.consultation.filter(|c| paid > c.above.0);
    (come, stairs, consulted.map_or(0, |c| c.costs.0))
}

/// Home-hours of one replacement: those of the option it is done with.
fn disrupts(units: &ById<'_>, replaced: &Replacement) -> u32 {
    let Some(unit) = units.get(&replaced.unit) else {
        return 0;
    };
    let mut all = unit.options.iter();
    let one = all.find(|c| c.cash == replaced.cash && c.option == replaced.option);
    one.map_or(unit.home_hours, |c| c.home_hours)
}

/// [`audit`] and [`audit_limits`], and what only a plan of least cost must keep: the floor in every year, each option where it is
/// on offer, the cost that is said of it.
pub fn audit_proven(
    input: &ProgrammeInput,
    limits: &ProgrammeLimits,
    (programme, cost): (&Programme, Pence),
) -> Vec<ProgrammeBreach> {
    let mut breaches = audit(input, programme);
    breaches.extend(audit_limits(input, limits, programme));
    let units = by_id(input);
    for (year, line) in (0u32..).zip(&programme.years) {
        let by = Pence(input.floor.0 - line.reserve.0);
        if by.0 > 0 {
            breaches.push(ProgrammeBreach::UnderFloor { year, by });
        }
        for replaced in &line.replacements {
            let unit = units.get(&replaced.unit);
            if unit.is_some_and(|u| offered(u, replaced, year) == Offer::Shut) {
                breaches.push(ProgrammeBreach::NotOnOffer(replaced.unit));
            }
        }
    }
    if let Some(rules) = cost_by_the_rules(input, limits, programme)
        && rules != cost
    {
        breaches.push(ProgrammeBreach::CostDiffers { rules });
    }
    breaches
}

/// Every one of the further limits the programme breaks, those of [`audit`] apart.
pub fn audit_limits(
    input: &ProgrammeInput,
    limits: &ProgrammeLimits,
    programme: &Programme,
) -> Vec<ProgrammeBreach> {
    let mut breaches = Vec::new();
    let units = by_id(input);
    let mut year_of: BTreeMap<UnitId, u32> = BTreeMap::new();
    for (year, line) in (0u32..).zip(&programme.years) {
        let mut stairs: Vec<&str> = Vec::new();
        for replaced in &line.replacements {
            year_of.insert(replaced.unit, year);
            let unit = units.get(&replaced.unit);
            let here = unit.map_or("", |u| u.stair.as_str());
            if !here.is_empty() && !stairs.contains(&here) {
                stairs.push(here);
            }
        }
        let count = line.replacements.len();
        let mut rules = limits.stair_set_up.0 * stairs.len() as i64;
        if count > 0 {
            rules += limits.set_up.0;
        }
        if let Some(consulted) = limits.consultation
            && line.spent.0 + rules > consulted.above.0
        {
            rules += consulted.costs.0;
            if year < consulted.from {
                breaches.push(ProgrammeBreach::ConsultedTooEarly { year });
            }
        }
        if line.set_up.0 != rules {
            let rules = Pence(rules);
            breaches.push(ProgrammeBreach::SetUpDiffers { year, rules });
        }
        if limits
            .homes_a_year
            .is_some_and(|most| count > most as usize)
        {
            breaches.push(ProgrammeBreach::HomesOver { year });
        }
        let hours: u32 = line.replacements.iter().map(|r| disrupts(&units, r)).sum();
        if limits.hours_a_year.is_some_and(|most| hours > most) {
            breaches.push(ProgrammeBreach::HoursOver { year, hours });
        }
    }
    for (unit, year) in &limits.pinned {
        if year_of.get(unit) != Some(year) {
            breaches.push(ProgrammeBreach::NotWherePinned(*unit));
        }
    }
    for (unit, year) in &limits.forbidden {
        if year_of.get(unit) == Some(year) {
            breaches.push(ProgrammeBreach::Forbidden(*unit));
        }
    }
    for (place, set) in limits.together.iter().enumerate() {
        let years: Vec<Option<&u32>> = set.iter().map(|u| year_of.get(u)).collect();
        if years.windows(2).any(|pair| pair[0] != pair[1]) {
            breaches.push(ProgrammeBreach::TornApart(place));
        }
    }
    for (place, set) in limits.apart.iter().enumerate() {
        let mut out: BTreeMap<u32, u32> = BTreeMap::new();
        for year in set.units.iter().filter_map(|u| year_of.get(u)) {
            *out.entry(*year).or_default() += 1;
        }
        if out.values().any(|count| *count > set.at_once) {
            breaches.push(ProgrammeBreach::OutAtOnce(place));
        }
    }
    breaches
}
