//! What another year of a unit costs where two buildings pay from one purse, held against every plan there is.
use planning::Unhurried;
use planning::programme::optimal::{Joint, Part, Settings, SharedPurse, Taken, prove_jointly};
use planning::programme::{ProgrammeInput, ProgrammeLimits};
use proptest::prelude::*;
use terms::Pence;

use crate::asked::asked;
use crate::trying::every;

type Building = (ProgrammeInput, ProgrammeLimits);
type Plans = Vec<(i64, Vec<i64>)>;

fn planned(buildings: &[&Building], purse: &SharedPurse) -> Joint {
    let parts: Vec<Part<'_>> = buildings
        .iter()
        .map(|(input, limits)| Part {
            input,
            limits,
            own_purse: false,
        })
        .collect();
    prove_jointly(&parts, purse, Settings::default(), &Unhurried)
}

/// Every plan of a building whose own purse binds nothing.
fn plans((input, limits): &Building) -> Plans {
    let mut free = input.clone();
    (free.opening, free.floor) = (Pence(1_000_000_000), Pence(0));
    every(&free, limits)
}

/// Whether the shared purse can pay these sums; `aside` is set aside in it a year.
fn pays(purse: &SharedPurse, aside: i64, paid: &[i64]) -> bool {
    let mut left = purse.opening.0;
    paid.iter().enumerate().all(|(t, paid)| {
        let held = purse.held.get(t).copied().unwrap_or_default();
        left += purse.comes_in[t].0 - aside - held.set_aside.0 - held.paid.0 - paid;
        let under = purse.cap.is_none_or(|cap| paid + held.paid.0 <= cap.0);
        left >= purse.floor.0 && under
    })
}

/// The least cost of all plans of one building.
fn least_of_one(plans: &Plans, purse: &SharedPurse, aside: i64) -> Option<i64> {
    let fit = plans.iter().filter(|p| pays(purse, aside, &p.1));
    fit.map(|p| p.0).min()
}

/// The least cost of all plans of two buildings.
fn least_of_two(a: &Plans, b: &Plans, purse: &SharedPurse, aside: i64) -> Option<i64> {
    let both = a.iter().flat_map(|x| b.iter().map(move |y| (x, y)));
    both.filter(|(x, y)| {
        let sum: Vec<i64> = x.1.iter().zip(&y.1).map(|(p, q)| p + q).collect();
        pays(purse, aside, &sum)
    })
    .map(|(x, y)| x.0 + y.0)
    .min()
}

/// Set aside a year in each building, pence.
const ASIDE: i64 = 2_000;

fn two() -> impl Strategy<Value = (Building, Building, SharedPurse)> {
    let purse = (0i64..2_500, 0i64..2_000, prop::option::of(300i64..3_000));
    (asked(), asked(), purse).prop_map(|(mut a, mut b, purse)| {
        for building in [&mut a, &mut b] {
            building.0.units.truncate(3);
            let known: Vec<_> = building.0.units.iter().map(|u| u.unit).collect();
            building.1.pinned.retain(|(id, _)| known.contains(id));
            building.1.forbidden.retain(|(id, _)| known.contains(id));
            building.1.apart.clear();
            for year in &mut building.0.years {
                year.set_aside = Pence(ASIDE);
            }
        }
        let purse = SharedPurse {
            opening: Pence(purse.0 * 100),
            floor: Pence(0),
            comes_in: vec![Pence(purse.1 * 100); 3],
            cap: purse.2.map(|pounds| Pence(pounds * 100)),
            held: Vec::new(),
        };
        (a, b, purse)
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    /// With the other building kept to its plan, and with both planned anew: the cost is that of the best of all plans.
    #[test]
    fn another_year_costs_what_trying_every_plan_says((a, b, purse) in two()) {
        let (of_a, of_b) = (plans(&a), plans(&b));
        let joint = planned(&[&a, &b], &purse);
        let Some(base) = least_of_two(&of_a, &of_b, &purse, 2 * ASIDE) else {
            prop_assert!(joint.parts.is_empty());
            return Ok(());
        };
        prop_assert_eq!(joint.cost, Pence(base));
        let lines = joint.parts[1].programme.years.iter();
        let left = SharedPurse {
            held: lines
                .map(|line| Taken {
                    paid: Pence(line.spent.0 + line.set_up.0),
                    set_aside: line.set_aside,
                })
                .collect(),
            ..purse.clone()
        };
        for unit in &a.0.units {
            for year in 0..3 {
                let mut there = a.clone();
                there.1.pinned.retain(|(id, _)| *id != unit.unit);
                there.1.forbidden.retain(|(id, _)| *id != unit.unit);
                there.1.pinned.push((unit.unit, year));
                let plans_there = plans(&there);
                let kept = planned(&[&there], &left);
                let least = least_of_one(&plans_there, &left, ASIDE);
                prop_assert_eq!((!kept.parts.is_empty()).then_some(kept.cost.0), least);
                let anew = planned(&[&there, &b], &purse);
                let all = least_of_two(&plans_there, &of_b, &purse, 2 * ASIDE);
                prop_assert_eq!((!anew.parts.is_empty()).then_some(anew.cost.0), all);
                // The other building as it was is one of the plans of both.
                if let (Some(kept), Some(all)) = (least, all) {
                    prop_assert!(all <= kept + joint.parts[1].cost.0);
                } else {
                    prop_assert!(least.is_none(), "a plan with the other kept is a plan of both");
                }
            }
        }
    }
}
