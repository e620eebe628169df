//! The optimiser behind the programme's seam, judged by the audits that share nothing with it and, on tiny
//! cases, by trying every plan. Invented data.
use planning::Unhurried;
use planning::programme::optimal::{
    Clashing, OptimalProgramme, PlainWay, Proven, Settings, Verdict,
};
use planning::programme::{
    Apart, Consultation, ProgrammeInput, ProgrammeLimits, ProgrammeUnit, YearMoney, audit,
    audit_limits,
};
use proptest::prelude::*;
use terms::{BuildingId, ExpectedPounds, Pence, UnitId};
use uuid::Uuid;

fn id(n: usize) -> UnitId {
    UnitId(Uuid::from_u128(n as u128 + 1))
}

fn unit(n: usize, courses: &[i64], pounds: i64, stair: u8) -> ProgrammeUnit {
    let by_year: Vec<Option<ExpectedPounds>> = courses
        .iter()
        .map(|w| (*w > 0).then_some(ExpectedPounds(*w as f64)))
        .collect();
    let best = courses.iter().enumerate().filter(|(_, w)| **w > 0);
    let best = best.min_by_key(|(_, w)| **w).map(|(t, _)| t as u32);
    ProgrammeUnit {
        unit: id(n),
        building: BuildingId(Uuid::from_u128(1)),
        stair: if stair == 0 {
            String::new()
        } else {
            stair.to_string()
        },
        age: (n % 30) as u32,
        option: "like-for-like".to_owned(),
        cash: Pence(pounds * 100),
        best_year: best.filter(|t| *t + 1 < courses.len() as u32),
        by_year,
        latest: None,
    }
}

fn prove(input: &ProgrammeInput, limits: &ProgrammeLimits) -> Proven {
    OptimalProgramme {
        limits,
        settings: Settings::default(),
        allowance: &Unhurried,
    }
    .prove(input)
}

/// The least cost of all plans, by trying every one; written from the rules, not from the planner.
fn by_trying(input: &ProgrammeInput, limits: &ProgrammeLimits) -> Option<i64> {
    let years = input.years.len();
    let mut least = None;
    let mut at = vec![0usize; input.units.len()];
    loop {
        let cost = cost_of(input, limits, &at);
        least = match (least, cost) {
            (Some(a), Some(b)) => Some(std::cmp::min::<i64>(a, b)),
            (a, b) => a.or(b),
        };
        let Some(next) = at.iter().position(|t| *t < years) else {
            return least;
        };
        at[..next].fill(0);
        at[next] += 1;
    }
}

/// Pence of one plan (year = number of years: kept beyond); `None` where it breaks a limit.
fn cost_of(input: &ProgrammeInput, limits: &ProgrammeLimits, at: &[usize]) -> Option<i64> {
    let years = input.years.len();
    let mut cost = 0;
    for (unit, t) in input.units.iter().zip(at) {
        let pinned = limits.pinned.iter().find(|p| p.0 == unit.unit).map(|p| p.1);
        if pinned.is_some_and(|year| year as usize != *t)
            || limits.forbidden.contains(&(unit.unit, *t as u32))
        {
            return None;
        }
        // Kept beyond: what its course says from the programme's end on, or its end.
        let from = if *t == years {
            years.min(unit.by_year.len() - 1)
        } else {
            *t
        };
        let until = if *t == years {
            unit.by_year.len()
        } else {
            t + 1
        };
        let least = unit.by_year[from..until].iter().flatten();
        let least = least.map(|w| (w.0 * 100.0).round() as i64).min()?;
        cost += least;
    }
    let mut purse = input.opening.0;
    for (t, money) in input.years.iter().enumerate() {
        let here: Vec<&ProgrammeUnit> = input
            .units
            .iter()
            .zip(at)
            .filter(|(_, year)| **year == t)
            .map(|(unit, _)| unit)
            .collect();
        let mut stairs: Vec<&str> = here.iter().map(|u| u.stair.as_str()).collect();
        stairs.retain(|s| !s.is_empty());
        stairs.sort_unstable();
        stairs.dedup();
        let mut paid = limits.stair_set_up.0 * stairs.len() as i64;
        paid += if here.is_empty() { 0 } else { limits.set_up.0 };
        cost += paid;
        paid += here.iter().map(|u| u.cash.0).sum::<i64>();
        if let Some(c) = limits.consultation.filter(|c| paid > c.above.0) {
            paid += c.costs.0;
            cost += c.costs.0;
            if t < c.from as usize {
                return None;
            }
        }
        if limits
            .homes_a_year
            .is_some_and(|most| here.len() > most as usize)
        {
            return None;
        }
        purse += money.comes_in.0 - money.set_aside.0 - paid;
        if purse < input.floor.0 {
            return None;
        }
        for set in &limits.apart {
            let out = here.iter().filter(|u| set.units.contains(&u.unit)).count();
            if out > set.at_once as usize {
                return None;
            }
        }
    }
    for set in &limits.together {
        let years: Vec<usize> = input
            .units
            .iter()
            .zip(at)
            .filter(|(u, _)| set.contains(&u.unit))
            .map(|(_, t)| *t)
            .collect();
        if years.windows(2).any(|pair| pair[0] != pair[1]) {
            return None;
        }
    }
    Some(cost)
}

fn asked() -> impl Strategy<Value = (ProgrammeInput, ProgrammeLimits)> {
    let units = prop::collection::vec(
        (prop::collection::vec(1i64..2_000, 4), 100i64..1_500, 0u8..3),
        1..5,
    );
    let money = (0i64..1_500, 0i64..2_000, 0i64..400);
    let ties = (
        prop::option::of((0usize..5, 0u32..3)),
        prop::option::of((0usize..5, 0u32..3)),
        any::<bool>(),
        any::<bool>(),
    );
    let other = (
        0i64..200,
        0i64..100,
        prop::option::of(1u32..4),
        prop::option::of((500i64..2_000, 0u32..2)),
    );
    (units, money, ties, other).prop_map(|(units, money, ties, other)| {
        let units: Vec<ProgrammeUnit> = units
            .iter()
            .enumerate()
            .map(|(n, (course, pounds, stair))| unit(n, course, *pounds, *stair))
            .collect();
        let known = units.len();
        let input = ProgrammeInput {
            first_year: 2027,
            opening: Pence(money.1 * 100),
            floor: Pence(money.2 * 100),
            years: vec![
                YearMoney {
                    comes_in: Pence(money.0 * 100),
                    set_aside: Pence(0),
                    cap: None,
                };
                3
            ],
            units,
        };
        let mine = |tie: Option<(usize, u32)>| -> Vec<(UnitId, u32)> {
            tie.filter(|(u, _)| *u < known)
                .map(|(u, t)| (id(u), t))
                .into_iter()
                .collect()
        };
        let two = vec![id(0), id(1)];
        let limits = ProgrammeLimits {
            set_up: Pence(other.0 * 100),
            stair_set_up: Pence(other.1 * 100),
            rate: 0.0,
            homes_a_year: other.2,
            consultation: other.3.map(|(above, from)| Consultation {
                above: Pence(above * 100),
                costs: Pence(5_000),
                from,
            }),
            pinned: mine(ties.0),
            forbidden: mine(ties.1),
            together: (ties.2 && known > 2)
                .then(|| two.clone())
                .into_iter()
                .collect(),
            apart: (ties.3 && known > 3)
                .then(|| Apart {
                    name: "pumps".to_owned(),
                    units: vec![id(2), id(3)],
                    at_once: 1,
                })
                .into_iter()
                .collect(),
        };
        (input, limits)
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_plan_is_the_best_of_all_and_breaks_nothing((input, limits) in asked()) {
        let proven = prove(&input, &limits);
        match by_trying(&input, &limits) {
            Some(least) => {
                prop_assert_eq!(proven.verdict, Verdict::Optimal);
                prop_assert_eq!((proven.cost, proven.bound), (Pence(least), Pence(least)));
                prop_assert_eq!(audit(&input, &proven.programme), vec![]);
                prop_assert_eq!(audit_limits(&input, &limits, &proven.programme), vec![]);
                let plain = OptimalProgramme {
                    limits: &limits,
                    settings: Settings::default(),
                    allowance: &Unhurried,
                };
                for way in [PlainWay::OldestFirst, PlainWay::OnFailure] {
                    let way = plain.plain_way(&input, way);
                    prop_assert_eq!(audit(&input, &way.programme), vec![]);
                    prop_assert!(!way.undone.is_empty() || way.cost >= proven.cost);
                }
            }
            None => {
                prop_assert_eq!(proven.verdict, Verdict::Infeasible);
                prop_assert!(!proven.clash.is_empty());
            }
        }
    }
}

/// Two pins in one year that the purse cannot pay: those three limits, and without any of them there is a plan.
#[test]
fn what_clashes_is_named_and_nothing_else() {
    let units = vec![
        unit(0, &[10, 20, 30, 40], 600, 0),
        unit(1, &[10, 20, 30, 40], 600, 0),
        unit(2, &[10, 20, 30, 40], 100, 0),
    ];
    let input = ProgrammeInput {
        first_year: 2027,
        opening: Pence(100_000),
        floor: Pence(0),
        years: vec![YearMoney::default(); 3],
        units,
    };
    let limits = ProgrammeLimits {
        pinned: vec![(id(0), 1), (id(1), 1), (id(2), 2)],
        ..ProgrammeLimits::default()
    };
    let proven = prove(&input, &limits);
    assert_eq!(proven.verdict, Verdict::Infeasible);
    let pin = |n: usize| Clashing::MustBy {
        unit: id(n),
        year: Some(1),
        pinned: true,
    };
    let reserve = Clashing::Reserve { dry: Vec::new() };
    assert_eq!(proven.clash.len(), 3, "{:?}", proven.clash);
    for limit in [pin(0), pin(1), reserve] {
        assert!(proven.clash.contains(&limit), "{:?}", proven.clash);
    }
    for one in 0..3 {
        let mut freed = limits.clone();
        let mut money = input.clone();
        if one < 2 {
            freed.pinned.remove(one);
        } else {
            money.opening = Pence(130_000);
        }
        assert!(
            prove(&money, &freed).stands(),
            "without limit {one} a plan exists"
        );
    }
}

/// What is set aside alone empties the purse: the years are named.
#[test]
fn a_purse_that_runs_dry_without_any_replacement_is_said() {
    let mut input = ProgrammeInput {
        first_year: 2027,
        opening: Pence(1_000),
        floor: Pence(0),
        years: vec![YearMoney::default(); 3],
        units: vec![unit(0, &[10, 20, 30, 40], 600, 0)],
    };
    input.years[1].set_aside = Pence(1_500);
    input.years[2].comes_in = Pence(9_000);
    let proven = prove(&input, &ProgrammeLimits::default());
    assert_eq!(proven.clash, [Clashing::Reserve { dry: vec![1] }]);
    assert!(!proven.stands());
}
