//! Cases for the laws: the sample of the design pages, and any case at all.
use costing::{
    Advice, DecisionCase, Failures, FaultCost, FaultInHand, OldUnit, ReplacementOption, Yearly,
    advise,
};
use proptest::prelude::*;
use terms::Pence;
use terms::trade::LaterRate;

pub fn advice_of(case: &DecisionCase) -> Advice {
    advise(&case.clone().checked().unwrap())
}

/// Flat 22 of the design pages: a combi with two recent repairs, inputs and figures invented by us.
pub fn sample() -> DecisionCase {
    let fault_cost = FaultCost {
        repair_mean: 225.0,
        repair_cv: 0.5,
        emergency_share: 0.15,
        emergency_premium: 80.0,
        disruption: 20.0,
    };
    let shape = 1.45_f64;
    DecisionCase {
        rate: 0.035,
        later: Vec::new(),
        horizon: 10,
        old: OldUnit {
            faults: Yearly::Each((0..10).map(|i| 0.76 * 1.08_f64.powi(i)).collect()),
            service: Yearly::Same(92.0),
            energy: Yearly::default(),
            other: Yearly::default(),
            frailty_var: 0.17,
            fault_cost,
            write_off_share: 0.0,
            write_off_range: None,
            write_off_premium: 0.0,
            warranty_years: 0.0,
            warranty_excess: 0.0,
            stays: Yearly::default(),
        },
        options: vec![ReplacementOption {
            code: "like-for-like".to_owned(),
            capex: 2750.0,
            install_disruption: 50.0,
            life_max: 18,
            // An intensity of 0.18 a year at 10 years: Λ(t) = (t/θ)^β with β Λ(10)/10 = 0.18.
            failures: Failures::PowerLaw {
                theta: 10.0 / (1.8 / shape).powf(1.0 / shape),
                beta: shape,
            },
            warranty_years: 7,
            warranty_excess: 0.0,
            service: Yearly::Same(92.0),
            energy: Yearly::default(),
            disposal: 0.0,
            fault_cost,
            grant: 0.0,
            grant_to: None,
            unplanned_premium: 0.0,
            from: 0,
            to: None,
            stays: 0.0,
            leaves_fault: false,
        }],
        fault_in_hand: Some(FaultInHand::new(Pence(41_200), 15.0, 40.0)),
    }
}

pub fn cost() -> impl Strategy<Value = FaultCost> {
    (20.0..900.0, 0.0..1.2, 0.0..1.0, 0.0..250.0, 0.0..150.0).prop_map(
        |(repair_mean, repair_cv, emergency_share, emergency_premium, disruption)| FaultCost {
            repair_mean,
            repair_cv,
            emergency_share,
            emergency_premium,
            disruption,
        },
    )
}

pub fn option() -> impl Strategy<Value = ReplacementOption> {
    (
        (100.0..12_000.0, 0.0..200.0, 1u32..30, 0.5..40.0, 0.6..3.5),
        (0u32..12, 0.0..60.0, 0.0..200.0, -200.0..200.0),
        (cost(), 0.0..900.0, 0u32..4, (0.0..300.0, 0.0..1_200.0)),
    )
        .prop_map(|(a, b, c)| ReplacementOption {
            code: "first".to_owned(),
            capex: a.0,
            install_disruption: a.1,
            life_max: a.2,
            failures: Failures::PowerLaw {
                theta: a.3,
                beta: a.4,
            },
            warranty_years: b.0,
            warranty_excess: b.1,
            service: Yearly::Same(b.2),
            energy: Yearly::Same(c.3.1),
            disposal: b.3,
            fault_cost: c.0,
            grant: c.1,
            grant_to: Some(c.2),
            unplanned_premium: c.3.0,
            from: 0,
            to: None,
            stays: 0.0,
            leaves_fault: false,
        })
}

/// No later rates, or two from some years on.
fn later() -> impl Strategy<Value = Vec<LaterRate>> {
    let rate = || prop_oneof![Just(0.0), 0.001..0.12];
    prop_oneof![
        Just(Vec::new()),
        (1u32..20, rate(), 1u32..30, rate()).prop_map(|(first, a, more, b)| {
            vec![
                LaterRate {
                    after: first,
                    rate: a,
                },
                LaterRate {
                    after: first + more,
                    rate: b,
                },
            ]
        }),
    ]
}

pub fn case() -> impl Strategy<Value = DecisionCase> {
    (
        (prop_oneof![Just(0.0), 0.001..0.12], later()),
        prop::collection::vec(0.0..2.5f64, 1..15),
        (
            0.0..200.0,
            0.0..1.5,
            cost(),
            (
                prop_oneof![Just(0.0), 0.0..0.4],
                0.0..900.0,
                0.0..1_500.0,
                (prop_oneof![Just(0.0), 0.0..12.0], 0.0..60.0),
            ),
        ),
        (option(), option()),
        prop::option::of((0i64..200_000, 0.0..80.0, 0.0..80.0)),
    )
        .prop_map(|((rate, later), faults, old, (first, mut second), hand)| {
            "second".clone_into(&mut second.code);
            DecisionCase {
                rate,
                later,
                horizon: u32::try_from(faults.len()).unwrap(),
                old: OldUnit {
                    faults: Yearly::Each(faults),
                    service: Yearly::Same(old.0),
                    energy: Yearly::Same(old.3.2),
                    other: Yearly::default(),
                    frailty_var: old.1,
                    fault_cost: old.2,
                    write_off_share: old.3.0,
                    write_off_range: None,
                    write_off_premium: old.3.1,
                    warranty_years: old.3.3.0,
                    warranty_excess: old.3.3.1,
                    stays: Yearly::default(),
                },
                options: vec![first, second],
                fault_in_hand: hand.map(|h| FaultInHand::new(Pence(h.0), h.1, h.2)),
            }
        })
}

pub fn scaled(case: &DecisionCase, by: f64) -> DecisionCase {
    let cost = |c: &mut FaultCost| {
        c.repair_mean *= by;
        c.emergency_premium *= by;
        c.disruption *= by;
    };
    let yearly = |y: &mut Yearly| match y {
        Yearly::Same(one) => *one *= by,
        Yearly::Each(list) => list.iter_mut().for_each(|one| *one *= by),
    };
    let mut out = case.clone();
    cost(&mut out.old.fault_cost);
    out.old.write_off_premium *= by;
    out.old.warranty_excess *= by;
    yearly(&mut out.old.service);
    yearly(&mut out.old.energy);
    yearly(&mut out.old.other);
    for option in &mut out.options {
        cost(&mut option.fault_cost);
        yearly(&mut option.service);
        yearly(&mut option.energy);
        for amount in [
            &mut option.capex,
            &mut option.install_disruption,
            &mut option.warranty_excess,
            &mut option.disposal,
            &mut option.grant,
            &mut option.unplanned_premium,
        ] {
            *amount *= by;
        }
    }
    if let Some(hand) = &mut out.fault_in_hand {
        hand.quote *= by;
        hand.wait_cost_repair *= by;
        hand.wait_cost_replace *= by;
    }
    out
}

pub fn quoted(case: &DecisionCase) -> Pence {
    Pence((case.fault_in_hand.map_or(0.0, |f| f.quote) * 100.0).round() as i64)
}
