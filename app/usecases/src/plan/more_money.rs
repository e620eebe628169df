//! What £1,000 more in the purse would buy.
use planning::programme::optimal::{OptimalProgramme, Proven, Settings};
use serde::{Deserialize, Serialize};
use terms::{Pence, UnitId};

use super::asking::Asked;
use super::figures::years_of;
use super::making::allowance;

/// What is tried to see what more money would buy.
pub(super) const THOUSAND: i64 = 1_000 * 100;

/// What more money would buy, found by solving again.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct MoreMoney {
    /// What was put into the purse before the first year.
    pub pence: Pence,
    /// What the plan would cost less.
    pub saves: Pence,
    /// Units that would have an earlier year, or one at all: (unit, year before, year then).
    pub sooner: Vec<(UnitId, Option<i32>, i32)>,
}

/// Solves again with it.
pub(super) fn more_money(asked: &Asked, proven: &Proven, seconds: f64) -> MoreMoney {
    let mut richer = asked.input.clone();
    richer.opening.0 += THOUSAND;
    let left = allowance(seconds);
    let again = OptimalProgramme {
        limits: &asked.limits,
        settings: Settings::default(),
        allowance: &left,
    }
    .prove(&richer);
    bought(proven, &again)
}

/// What the plan made with the money buys. The plan as it stands keeps the richer purse too: a search that ran out of time,
/// with no plan or none that costs less, bought nothing.
fn bought(proven: &Proven, again: &Proven) -> MoreMoney {
    if !again.stands() || again.cost >= proven.cost {
        return MoreMoney {
            pence: Pence(THOUSAND),
            saves: Pence(0),
            sooner: Vec::new(),
        };
    }
    let before = years_of(&proven.programme);
    let sooner = years_of(&again.programme)
        .into_iter()
        .filter_map(|(unit, year)| {
            let was = before.get(&unit).copied();
            was.is_none_or(|was| year < was)
                .then_some((unit, was, year))
        })
        .collect();
    MoreMoney {
        pence: Pence(THOUSAND),
        saves: Pence(proven.cost.0 - again.cost.0),
        sooner,
    }
}

#[cfg(test)]
mod tests {
    use planning::Programme;
    use planning::programme::optimal::Verdict;
    use planning::programme::{ProgrammeVerdict, Replacement, YearLine};
    use terms::ExpectedPounds;
    use uuid::Uuid;

    use super::*;

    /// A plan of so many pence whose one unit is replaced in a year.
    fn plan(verdict: Verdict, cost: i64, year: i32) -> Proven {
        let replaced = Replacement {
            unit: UnitId(Uuid::from_u128(1)),
            option: "like for like".to_owned(),
            cash: Pence(100),
            years_late: 0,
            delay_costs: None,
        };
        let line = YearLine {
            year,
            opening: Pence(0),
            comes_in: Pence(0),
            set_aside: Pence(0),
            replacements: vec![replaced],
            spent: Pence(100),
            set_up: Pence(0),
            carried: Vec::new(),
            reserve: Pence(0),
        };
        Proven {
            programme: Programme {
                years: vec![line],
                left_out: Vec::new(),
                spent: Pence(100),
                delays_cost: ExpectedPounds(0.0),
                delays_cost_at_least: ExpectedPounds(0.0),
                under_floor: Vec::new(),
                verdict: ProgrammeVerdict::EveryBestYear,
            },
            verdict,
            cost: Pence(cost),
            bound: Pence(cost),
            unbound: Pence(cost),
            clash: Vec::new(),
            fewest: false,
        }
    }

    #[test]
    fn more_money_buys_nothing_where_the_second_search_found_nothing_better() {
        let stands = plan(Verdict::Optimal, 5_000, 2028);
        let better = bought(&stands, &plan(Verdict::Optimal, 4_000, 2027));
        assert_eq!(better.saves, Pence(1_000));
        assert_eq!(better.sooner.len(), 1);
        // As dear, dearer, and no plan at all, whose figure is what nothing would cost.
        for again in [
            plan(Verdict::Optimal, 5_000, 2027),
            plan(Verdict::WithinGap, 6_000, 2027),
            plan(Verdict::NothingFound, 1_000, 2027),
        ] {
            let nothing = bought(&stands, &again);
            assert_eq!((nothing.saves, nothing.sooner.len()), (Pence(0), 0));
        }
    }
}
