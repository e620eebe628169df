//! Properties of every plan.
use chrono::NaiveDate;
use planning::rounds::{
    Demands, ExtraDay, PlainRounds, PlannedJob, Promise, RoundInput, RoundPlanner, Rule, WhyNot,
    audit,
};
use proptest::prelude::*;
use terms::people::Covers;

use crate::estate::{after, day, engineer, firm, id, input};

/// What a generated job asks of its day.
#[derive(Clone, Debug)]
struct Asks {
    space: Option<u8>,
    rare: u8,
    slot: Option<(u32, u32)>,
    weekdays: Vec<u32>,
}

/// What differs from day to day: a firm's own week, short days, a day more, seasons and light.
fn vary(out: &mut RoundInput, from: NaiveDate) {
    // The second firm works three days, one of them a Saturday; somebody has a short day now and then.
    let long = Some((7 * 60, 15 * 60));
    out.firms[1].week = Some([None, long, long, None, None, Some((540, 780)), None]);
    out.engineers[0].short = (0..8u64).map(|k| (after(from, 11 * k), 600, 840)).collect();
    out.extra = vec![ExtraDay {
        engineer: id(11),
        firm: id(1),
        week: after(from, 14),
        minutes: 480,
    }];
    out.heating_seasons = vec![
        (from, after(from, 40)),
        (after(from, 120), after(from, 150)),
    ];
    out.daylight = (0..200u64)
        .map(|d| (after(from, d), (500 + d as u32, 950 - d as u32)))
        .collect();
}

fn demands() -> impl Strategy<Value = Asks> {
    (
        prop::option::of(0u8..3),
        0u8..12,
        prop::option::weighted(0.2, (480u32..840, 60u32..300)),
        prop::option::weighted(0.2, prop::collection::vec(0u32..7, 1..4)),
    )
        .prop_map(|(space, rare, slot, weekdays)| Asks {
            space,
            rare,
            slot: slot.map(|(from, long)| (from, from + long)),
            weekdays: weekdays.unwrap_or_default(),
        })
}

fn of(asks: &Asks) -> Demands {
    Demands {
        space: None,
        pair: asks.rare == 0,
        slots: asks.slot.into_iter().collect(),
        weekdays: asks.weekdays.clone(),
        heat_off: asks.rare == 1,
        daylight: asks.rare == 2 || asks.rare == 0,
    }
}

pub fn any_input() -> impl Strategy<Value = RoundInput> {
    let one = (
        (0u128..4, 0u8..3, 0u64..120, 0u64..60),
        (
            10u32..200,
            0usize..4,
            0.0..9.0f64,
            prop::option::of(0u64..90),
        ),
        demands(),
    );
    let covers = [Covers::Gas, Covers::Water, Covers::Unvented];
    (
        prop::collection::vec(one, 0..60),
        (0u32..2_500, 0u32..1_500),
        prop::collection::vec(0u64..120, 0..6),
    )
        .prop_map(move |(jobs, (big, small), away)| {
            let from = day("2026-11-30");
            let jobs = jobs
                .into_iter()
                .enumerate()
                .map(
                    |(
                        n,
                        ((building, stair, first, length), (minutes, need, risk, notice), asks),
                    )| {
                        PlannedJob {
                            id: id(n as u128 + 1_000),
                            building: id(building),
                            stair: stair.to_string(),
                            window_first: after(from, first),
                            deadline: after(from, first + length),
                            not_before: notice.map(|days| after(from, days)),
                            minutes,
                            needs: covers.get(need).copied().into_iter().collect(),
                            risk_weight: risk,
                            firm: (n % 7 == 0).then(|| id(2)),
                            promise: None,
                            demands: Demands {
                                space: asks.space.map(|s| id(building * 10 + u128::from(s) + 1)),
                                ..of(&asks)
                            },
                        }
                    },
                )
                .collect();
            let mut out = input(jobs);
            out.firms = vec![firm(1, big), firm(2, small)];
            out.firms[1].buildings = Some(vec![id(0), id(1)]);
            out.engineers = vec![
                engineer(10, 1, &[Covers::Gas]),
                engineer(11, 1, &[Covers::Gas, Covers::Unvented, Covers::Water]),
                engineer(12, 2, &[Covers::Gas, Covers::Water]),
            ];
            vary(&mut out, from);
            out.engineers[1].away = away.into_iter().map(|days| after(from, days)).collect();
            out
        })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 128, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_plan_obeys_the_rules_and_its_bound(input in any_input()) {
        let plan = PlainRounds.plan(&input);
        prop_assert_eq!(audit(&input, &plan), vec![]);
        prop_assert_eq!(plan.placed.len() + plan.unplaced.len(), input.jobs.len());
        prop_assert!(plan.facts.attendances >= plan.facts.attendances_at_least);
        // Whoever found no hours finds none in what is left either.
        for left in &plan.unplaced {
            let what = input.jobs.iter().find(|j| j.id == left.job).unwrap();
            if matches!(left.why, WhyNot::HoursFull { .. }) {
                prop_assert!(left.first_room.is_none_or(|room| room > what.deadline), "{left:?}");
            }
        }
        prop_assert_eq!(&PlainRounds.plan(&input), &plan);
    }

    #[test]
    fn a_second_plan_moves_nothing(input in any_input()) {
        let plan = PlainRounds.plan(&input);
        let again = PlainRounds.replan(&input, &plan);
        prop_assert_eq!(audit(&input, &again.plan), vec![]);
        prop_assert!(again.plan.placed.len() >= plan.placed.len());
    }

    #[test]
    fn a_change_leaves_promises_alone(input in any_input(), away in 0u64..60) {
        let plan = PlainRounds.plan(&input);
        let mut changed = input.clone();
        for (n, visit) in plan.placed.iter().enumerate().filter(|(n, _)| n % 3 == 0) {
            let what = changed.jobs.iter_mut().find(|j| j.id == visit.job).unwrap();
            what.promise = Some(Promise {
                day: visit.day,
                start_minute: visit.start_minute,
                firm: visit.firm,
                engineer: visit.engineer,
                second: visit.second,
            });
            prop_assert!(n < plan.placed.len());
        }
        changed.engineers[0].away.push(after(input.from, away));
        let again = PlainRounds.replan(&changed, &plan);
        for breach in audit(&changed, &again.plan) {
            // A promise on the day off is for a person to settle.
            prop_assert!(breach.promised && breach.rule == Rule::NotWorking, "{breach:?}");
        }
        for moved in &again.moved {
            let what = changed.jobs.iter().find(|j| j.id == moved.job).unwrap();
            prop_assert!(what.promise.is_none());
        }
    }
}
