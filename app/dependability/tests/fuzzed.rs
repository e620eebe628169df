//! No finite input makes a judgement, a drill or a fleet in columns panic or answer what is not a number.
use dependability::baselines::Said;
use dependability::columns::Columns;
use dependability::drill::{
    Cover, Estate, Fallible, Group, NIGHTS, Prices, Supply, Together, changes, drill,
};
use dependability::judgement::{Case, judge};
use dependability::score::Scored;
use numerics::{CountLaw, End};
use proptest::prelude::*;

fn law() -> impl Strategy<Value = CountLaw> {
    (1e-6_f64..50.0, prop_oneof![Just(0.0), 1e-9_f64..40.0])
        .prop_map(|(mean, inv_size)| CountLaw { mean, inv_size })
}

fn case() -> impl Strategy<Value = Case> {
    (law(), law(), law(), law(), 0_u64..12, 0_u8..12, 0_u8..30).prop_map(
        |(ours, average, age, prior, observed, group, unit)| Case {
            group: group.to_string(),
            unit: unit.to_string(),
            scored: Said {
                ours,
                average,
                age,
                prior,
            }
            .map(|law| Scored { law, observed }),
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, ..ProptestConfig::default() })]

    #[test]
    fn a_law_met_by_its_mean_and_chance_is_a_law(mean in 0.0_f64..1e6, chance in 0.0_f64..1.0) {
        let law = CountLaw::meeting(mean, chance);
        prop_assert!(law.inv_size.is_finite() && law.inv_size >= 0.0);
        prop_assert!((0.0..=1.0).contains(&law.at_least_one()));
        // A chance that such a law can have is met.
        if mean > 1e-3 && chance > 1e-3 && chance < -(-mean).exp_m1() && law.inv_size < 1e12 {
            prop_assert!((law.at_least_one() - chance).abs() < 1e-6, "{law:?} for {chance}");
        }
    }

    #[test]
    fn a_judgement_is_whole(cases in prop::collection::vec(case(), 0..60)) {
        let Some(found) = judge(&cases) else {
            prop_assert!(cases.is_empty());
            return Ok(());
        };
        let s = found.scores;
        for way in [s.ours, s.average, s.age, s.prior] {
            prop_assert!(way.ln_count.is_finite() && way.ln_event.is_finite() && way.brier.is_finite());
            prop_assert!(way.named <= found.failed as f64 + 1e-9 && way.named >= 0.0);
        }
        prop_assert!(found.unlike.is_finite() && found.buildings <= cases.len());
        prop_assert!(found.luck95.0 <= found.luck80.0 && found.luck80.0 <= found.luck80.1 && found.luck80.1 <= found.luck95.1);
        prop_assert_eq!(found.groups.iter().map(|g| g.units).sum::<usize>(), cases.len());
        for one in found.against.iter().flatten() {
            prop_assert!(one.mean.is_finite() && one.bootstrap95.0 <= one.bootstrap95.1);
            prop_assert!(!(one.better() && one.worse()));
        }
    }

    #[test]
    fn a_drill_is_whole(
        units in prop::collection::vec((0.0_f64..3.0, 0.0_f64..20.0, 0.0_f64..0.5), 1..8),
        (sd, common) in (0.0_f64..3.0, 0.0_f64..=1.0),
        numbers in (0_u32..4, 0_u32..3, 1_u32..6, 0_u32..9, 1_u32..4),
        spells in (0.0_f64..5.0, 1_u32..20, 1.0_f64..6.0),
        (lead, van, needed) in (0_u32..40, any::<bool>(), 0_usize..4),
    ) {
        let count = units.len();
        let estate = Estate {
            units: units.into_iter().map(|(expected, inv_size, needs)| Fallible { expected, inv_size, shared: vec![(0, sd)], calendar: 0, needs: vec![(0, needs)] }).collect(),
            parts: vec![Supply { lead_days: lead, on_van: van }],
            groups: vec![
                Group { units: (0..count).collect(), needed: needed.min(count), homes: vec![0, 1, 2] },
                Group { units: vec![0], needed: 1, homes: vec![3] },
            ],
            calendars: vec![(0..NIGHTS).map(|d| d as f64 + 1.0).collect()],
            homes: 4,
            doubts: 1,
            together: vec![Together { units: (0..count).collect(), common }],
        };
        let cover = Cover {
            engineers: numbers.0,
            weekend_engineers: numbers.1,
            visits_each: numbers.2,
            heaters: numbers.3,
            heaters_a_home: numbers.4,
            spells: spells.0,
            spell_nights: spells.1,
            spell_factor: spells.2,
        };
        let found = drill(&estate, &cover, 40, 1).unwrap();
        prop_assert!(found.faults.is_finite() && found.cold_nights.is_finite());
        prop_assert!((found.worst.iter().sum::<f64>() - 1.0).abs() < 1e-9 && found.worst.len() <= 5);
        let tried = changes(&estate, &cover, &Prices { heater: 1, engineer: 1, parts: vec![1] }, (40, 1)).unwrap();
        prop_assert_eq!(tried.now.happened, found.short.happened);
        prop_assert!(tried.single.iter().all(|s| s.short.ci95.0.is_finite() && s.short.ci95.1 <= 1.0));
    }

    #[test]
    fn a_fleet_in_columns_ends_with_a_verdict_or_a_reason(
        units in prop::collection::vec((0.0_f64..30.0, 0.0_f64..12.0, prop::collection::vec(0.0_f64..1.0, 0..5)), 1..30),
    ) {
        let mut columns = Columns::new(0, 10.0);
        for (from, years, places) in &units {
            let ages: Vec<f64> = places.iter().map(|p| from + p * years).collect();
            let pushed = columns.push(&[(*from, from + years, &[])], &ages);
            // Rounding may put a failure a hair beyond the end.
            prop_assert!(pushed.is_ok() || ages.iter().any(|a| *a > from + years));
        }
        let fit = columns.fit(None, 1);
        if fit.end == End::Converged {
            prop_assert!(fit.at.iter().all(|v| v.is_finite()));
            for one in columns.ahead(&fit, 1.0, 1) {
                prop_assert!(one.expected >= 0.0 && (0.0..=1.0).contains(&one.chance), "{one:?}");
            }
        }
    }
}
