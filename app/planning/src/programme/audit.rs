//! Checks a programme against the rules, from the rules alone; shares nothing with the method.
use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use terms::{Pence, UnitId};

use super::{Programme, ProgrammeInput};

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
        let reserve = purse + money.comes_in.0 - money.set_aside.0 - spent;
        let given = line.comes_in == money.comes_in && line.set_aside == money.set_aside;
        let sums = line.opening.0 == purse && line.spent.0 == spent && line.reserve.0 == reserve;
        if !(given && sums) {
            breaches.push(ProgrammeBreach::SumsDiffer { year });
        }
        let under = input.floor.0 - reserve;
        let over = money.cap.map_or(0, |cap| spent - cap.0);
        if spent > 0 && under.max(over) > 0 {
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
            if unit.cash != replaced.cash {
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
