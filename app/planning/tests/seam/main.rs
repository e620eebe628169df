//! The optimiser behind the programme's seam, judged by the audits that share nothing with it and, on tiny
//! cases, by trying every plan. Invented data.
mod asked;
mod shared;
mod swapping;
mod trying;

use planning::Unhurried;
use planning::programme::optimal::{
    Clashing, JointClash, OptimalProgramme, Part, PlainWay, Proven, Settings, SharedPurse, Verdict,
    plain_jointly, prove_jointly,
};
use planning::programme::{
    ProgrammeInput, ProgrammeLimits, ProgrammeOption, ProgrammeUnit, YearMoney, audit, audit_proven,
};
use proptest::prelude::*;
use terms::{ExpectedPounds, Pence};

use crate::asked::{asked, id, unit};
use crate::trying::by_trying;

fn prove(input: &ProgrammeInput, limits: &ProgrammeLimits) -> Proven {
    OptimalProgramme {
        limits,
        settings: Settings::default(),
        allowance: &Unhurried,
    }
    .prove(input)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_plan_is_the_best_of_all_and_breaks_nothing((input, limits) in asked()) {
        let proven = prove(&input, &limits);
        let Some(least) = by_trying(&input, &limits) else {
            prop_assert_eq!(proven.verdict, Verdict::Infeasible);
            prop_assert!(!proven.clash.is_empty());
            return Ok(());
        };
        prop_assert_eq!(proven.verdict, Verdict::Optimal);
        prop_assert_eq!((proven.cost, proven.bound), (Pence(least), Pence(least)));
        let found = audit_proven(&input, &limits, (&proven.programme, proven.cost));
        prop_assert_eq!(found, vec![]);
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

/// Must go by the second year, and pinned: a pin before that holds, one after it is no way round it, and both are named.
#[test]
fn a_pin_does_not_walk_round_a_last_year() {
    let mut input = ProgrammeInput {
        first_year: 2027,
        opening: Pence(100_000),
        floor: Pence(0),
        years: vec![YearMoney::default(); 3],
        units: vec![unit(0, &[10, 20, 5, 4], 600, 0)],
    };
    input.units[0].latest = Some(1);
    let pinned = |year: u32| ProgrammeLimits {
        pinned: vec![(id(0), year)],
        ..ProgrammeLimits::default()
    };
    for (year, cost) in [(0, 1_000), (1, 2_000)] {
        let proven = prove(&input, &pinned(year));
        assert_eq!(
            (proven.verdict, proven.cost),
            (Verdict::Optimal, Pence(cost))
        );
        assert_eq!(proven.programme.years[year as usize].replacements.len(), 1);
    }
    let proven = prove(&input, &pinned(2));
    assert_eq!(proven.verdict, Verdict::Infeasible);
    let must = |year: u32, pinned: bool| Clashing::MustBy {
        unit: id(0),
        year: Some(year),
        pinned,
    };
    assert_eq!(proven.clash, [must(2, true), must(1, false)]);
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

/// Three buildings of one unit each: each costs 10, 110 or 210 pounds in years 0, 1, 2 and 900 kept.
fn three_buildings() -> Vec<ProgrammeInput> {
    let one = |n: usize| ProgrammeInput {
        first_year: 2027,
        opening: Pence(0),
        floor: Pence(0),
        years: vec![
            YearMoney {
                comes_in: Pence(10_000_000),
                ..YearMoney::default()
            };
            3
        ],
        units: vec![unit(n, &[10, 110, 210, 900], 500, 0)],
    };
    (0..3).map(one).collect()
}

/// A purse into which so many pounds come each year.
fn shared_purse(pounds: i64) -> SharedPurse {
    SharedPurse {
        opening: Pence(0),
        floor: Pence(0),
        comes_in: vec![Pence(pounds * 100); 3],
        cap: None,
        held: Vec::new(),
    }
}

/// A purse for one a year: the shared purse decides who waits, and the sum of the parts is the whole. By hand: one of
/// each year is the only way, whoever it is, at 330.
#[test]
fn buildings_that_share_a_purse_wait_for_each_other() {
    let inputs = three_buildings();
    let limits = ProgrammeLimits::default();
    let parts = |own: bool| -> Vec<Part<'_>> {
        let part = |input| Part {
            input,
            limits: &limits,
            own_purse: own,
        };
        inputs.iter().map(part).collect()
    };
    let prove = |own: bool, pounds: i64| {
        let purse = shared_purse(pounds);
        prove_jointly(&parts(own), &purse, Settings::default(), &Unhurried)
    };
    let joint = prove(false, 500);
    assert_eq!(joint.verdict, Verdict::Optimal);
    assert_eq!((joint.cost, joint.bound), (Pence(33_000), Pence(33_000)));
    assert_eq!(joint.unbound, Pence(3_000));
    assert_eq!(joint.paid, vec![Pence(50_000); 3]);
    let sum: i64 = joint.parts.iter().map(|p| p.cost.0).sum();
    assert_eq!(sum, joint.cost.0);
    for part in &joint.parts {
        let all = part.programme.years.iter();
        assert_eq!(all.map(|y| y.replacements.len()).sum::<usize>(), 1);
    }
    // With enough for all nobody waits, and an own purse that suffices changes nothing.
    assert_eq!(prove(true, 1_500).cost, Pence(3_000));
    // Set aside takes from the shared purse what it takes from a building's own.
    let mut saving = inputs.clone();
    saving[0].years[0].set_aside = Pence(100);
    let with: Vec<Part<'_>> = saving
        .iter()
        .map(|input| Part {
            input,
            limits: &limits,
            own_purse: false,
        })
        .collect();
    let later = prove_jointly(&with, &shared_purse(500), Settings::default(), &Unhurried);
    assert!(
        later.cost > joint.cost && later.paid[0] == Pence(0),
        "{later:?}"
    );
    let (plain, undone) = plain_jointly(&parts(false), &shared_purse(500), PlainWay::OldestFirst);
    assert!(plain >= joint.cost && undone == 0);
}

/// A building that may pay nothing like a boiler's price in the first year waits, whoever's purse it pays from. By hand: one
/// of three waits a year, at 10 + 10 + 110; with a pin to that year the building's own cap and the pin clash.
#[test]
fn a_buildings_own_most_in_a_year_holds_in_a_shared_purse() {
    let mut inputs = three_buildings();
    inputs[1].years[0].cap = Some(Pence(40_000));
    inputs[1].years[1].cap = Some(Pence(50_000));
    let free = ProgrammeLimits::default();
    let pinned = ProgrammeLimits {
        pinned: vec![(id(1), 0)],
        ..ProgrammeLimits::default()
    };
    let prove = |second: &ProgrammeLimits| {
        let parts: Vec<Part<'_>> = inputs
            .iter()
            .enumerate()
            .map(|(b, input)| Part {
                input,
                limits: if b == 1 { second } else { &free },
                own_purse: false,
            })
            .collect();
        prove_jointly(
            &parts,
            &shared_purse(1_500),
            Settings::default(),
            &Unhurried,
        )
    };
    let joint = prove(&free);
    assert_eq!(
        (joint.verdict, joint.cost),
        (Verdict::Optimal, Pence(13_000))
    );
    for (part, input) in joint.parts.iter().zip(&inputs) {
        assert_eq!(audit(input, &part.programme), []);
    }
    let clash = prove(&pinned).clash;
    let must = Clashing::MustBy {
        unit: id(1),
        year: Some(0),
        pinned: true,
    };
    assert_eq!(clash.len(), 2, "{clash:?}");
    for named in [must, Clashing::Cap] {
        assert!(clash.contains(&JointClash::Of(1, named)), "{clash:?}");
    }
}

/// Two that must be done in the first year, and money for one: the clash names the purse and both.
#[test]
fn a_shared_purse_clashes_with_what_two_buildings_must_do() {
    let inputs = three_buildings();
    let pin = |n: usize| ProgrammeLimits {
        pinned: vec![(id(n), 0)],
        ..ProgrammeLimits::default()
    };
    let pinned = [pin(0), pin(1), ProgrammeLimits::default()];
    let asked: Vec<Part<'_>> = inputs
        .iter()
        .zip(&pinned)
        .map(|(input, limits)| Part {
            input,
            limits,
            own_purse: false,
        })
        .collect();
    let clash = prove_jointly(&asked, &shared_purse(500), Settings::default(), &Unhurried);
    assert_eq!(clash.verdict, Verdict::Infeasible);
    let must = |b: usize| {
        JointClash::Of(
            b,
            Clashing::MustBy {
                unit: id(b),
                year: Some(0),
                pinned: true,
            },
        )
    };
    assert_eq!(clash.clash.len(), 3, "{:?}", clash.clash);
    for named in [must(0), must(1), JointClash::SharedFloor] {
        assert!(clash.clash.contains(&named), "{:?}", clash.clash);
    }
}

/// A dear option that costs less over the years and a cheap one that costs more: with money the dear one, without it
/// the cheap one, at the price of that option. By hand: 10 pounds for 800, or 40 pounds for 300; kept 500.
#[test]
fn of_several_options_the_one_the_purse_can_pay_is_taken_and_said() {
    let mut one = unit(0, &[10, 20, 30, 500], 800, 0);
    let cheap: Vec<Option<ExpectedPounds>> = [40, 50, 60, 500]
        .iter()
        .map(|w| Some(ExpectedPounds(f64::from(*w))))
        .collect();
    let mut options = one.choices();
    options.push(ProgrammeOption {
        home_hours: 1,
        option: "smaller".to_owned(),
        cash: Pence(30_000),
        by_year: cheap,
    });
    one.options = options;
    let limits = ProgrammeLimits::default();
    for (pounds, option, cost) in [(800, "like-for-like", 1_000), (300, "smaller", 4_000)] {
        let input = ProgrammeInput {
            first_year: 2027,
            opening: Pence(pounds * 100),
            floor: Pence(0),
            years: vec![YearMoney::default(); 3],
            units: vec![one.clone()],
        };
        let proven = prove(&input, &limits);
        let done = &proven.programme.years[0].replacements[0];
        assert_eq!(
            (done.option.as_str(), done.cash),
            (option, Pence(pounds * 100))
        );
        assert_eq!((proven.cost, proven.bound), (Pence(cost), Pence(cost)));
        let found = audit_proven(&input, &limits, (&proven.programme, proven.cost));
        assert_eq!(found, []);
    }
}

/// Replaced when it fails: in the year one failure is expected, or as soon after as there is money. By hand.
#[test]
fn on_failure_each_unit_goes_when_it_is_expected_to_fail() {
    let failing = |n: usize, year: Option<u32>| ProgrammeUnit {
        fails: year,
        ..unit(n, &[10, 20, 30, 40], 500, 0)
    };
    let input = ProgrammeInput {
        first_year: 2027,
        opening: Pence(50_000),
        floor: Pence(0),
        years: [0, 0, 50_000]
            .map(|pence| YearMoney {
                comes_in: Pence(pence),
                ..YearMoney::default()
            })
            .to_vec(),
        units: vec![failing(0, Some(1)), failing(1, Some(1)), failing(2, None)],
    };
    let limits = ProgrammeLimits::default();
    let way = OptimalProgramme {
        limits: &limits,
        settings: Settings::default(),
        allowance: &Unhurried,
    }
    .plain_way(&input, PlainWay::OnFailure);
    let year = |n: usize| {
        let mut years = way.programme.years.iter();
        years.position(|l| l.replacements.iter().any(|r| r.unit == id(n)))
    };
    // The second waits for the money of the third year; the third is not expected to fail and stays.
    assert_eq!((year(0), year(1), year(2)), (Some(1), Some(2), None));
    assert_eq!(way.cost, Pence(2_000 + 3_000 + 4_000));
    assert_eq!(audit(&input, &way.programme), []);
}
