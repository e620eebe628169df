//! Small programmes as people state them.
use planning::programme::{
    Apart, Consultation, ProgrammeInput, ProgrammeLimits, ProgrammeUnit, YearMoney,
};
use proptest::prelude::*;
use terms::{BuildingId, ExpectedPounds, Pence, UnitId};
use uuid::Uuid;

pub fn id(n: usize) -> UnitId {
    UnitId(Uuid::from_u128(n as u128 + 1))
}

pub fn unit(n: usize, courses: &[i64], pounds: i64, stair: u8) -> ProgrammeUnit {
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
        fails: None,
        home_hours: 1 + (n % 3) as u32 * 4,
        options: Vec::new(),
    }
}

pub fn asked() -> impl Strategy<Value = (ProgrammeInput, ProgrammeLimits)> {
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
    let binds = (
        prop::option::of((0usize..5, 0u32..3)),
        prop::option::of(200i64..2_500),
        prop::option::of(4u32..16),
    );
    (units, money, ties, other, binds).prop_map(|(units, money, ties, other, binds)| {
        let mut units: Vec<ProgrammeUnit> = units
            .iter()
            .enumerate()
            .map(|(n, (course, pounds, stair))| unit(n, course, *pounds, *stair))
            .collect();
        let known = units.len();
        // Now and then a unit must go by a year, pinned or not, and a year may pay no more than so much.
        if let Some(one) = binds.0.and_then(|(u, _)| units.get_mut(u)) {
            one.latest = binds.0.map(|(_, year)| year);
        }
        let input = ProgrammeInput {
            first_year: 2027,
            opening: Pence(money.1 * 100),
            floor: Pence(money.2 * 100),
            years: vec![
                YearMoney {
                    comes_in: Pence(money.0 * 100),
                    set_aside: Pence(0),
                    cap: binds.1.map(|pounds| Pence(pounds * 100)),
                };
                3
            ],
            units,
        };
        let mut limits = limits(known, ties, other);
        limits.hours_a_year = binds.2;
        (input, limits)
    })
}

type Tie = Option<(usize, u32)>;
type Other = (i64, i64, Option<u32>, Option<(i64, u32)>);

fn limits(known: usize, ties: (Tie, Tie, bool, bool), other: Other) -> ProgrammeLimits {
    let mine = |tie: Tie| -> Vec<(UnitId, u32)> {
        tie.filter(|(u, _)| *u < known)
            .map(|(u, t)| (id(u), t))
            .into_iter()
            .collect()
    };
    let two = vec![id(0), id(1)];
    ProgrammeLimits {
        set_up: Pence(other.0 * 100),
        stair_set_up: Pence(other.1 * 100),
        rate: 0.0,
        homes_a_year: other.2,
        hours_a_year: None,
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
    }
}
