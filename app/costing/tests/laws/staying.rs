//! Failures in parts that stay when the unit is replaced.
use costing::weigh::{Levers, weigh};
use costing::{DecisionCase, FaultInHand, Param, Yearly, shown};
use proptest::prelude::*;
use terms::Pence;

use crate::cases::{advice_of, case, sample};

/// The sample's four years at rate 0, a failure a year, half of them in parts that stay: a failure costs 225 + 0.15 × 80 + 20 =
/// 257, so each year of keeping is 128.50 cheaper beside replacing (arithmetic).
#[test]
fn half_of_them_by_hand() {
    let mut all = sample();
    all.rate = 0.0;
    all.horizon = 4;
    all.old.faults = Yearly::Same(1.0);
    let mut half = all.clone();
    half.old.stays = Yearly::Same(0.5);
    let (all, half) = (advice_of(&all), advice_of(&half));
    for k in 0..=4 {
        let fell = all.keep[k].unwrap() - half.keep[k].unwrap();
        let by_hand = 128.5 * k as f64;
        assert!((fell - by_hand).abs() < 1e-9, "{k}: {fell} for {by_hand}");
    }
    // Two of the four failures over four years: 2 × 257.
    assert!((half.staying_cost - 514.0).abs() < 1e-9);
    assert_eq!(all.staying_cost, 0.0);
    // What they cost stands in both paths alike, so the fork begins and ends as far apart as the answers say.
    let end = |advice: &costing::Advice| {
        let keep = advice.fork.keep.years[4].expected;
        (keep, advice.fork.replace[0].years[4].expected)
    };
    let ((keep, new), (kept, fitted)) = (end(&all), end(&half));
    assert!((keep - kept).abs() < 1e-9, "keeping costs what it did");
    assert!(
        (fitted - new - 514.0).abs() < 1e-9,
        "a new one stops half only"
    );
}

/// A part that stays beside one option only: a tenth of one failure a year for ever, 25.70 a year on that option's level cost.
#[test]
fn what_stays_beside_one_option_is_its_own_cost() {
    let mut case = sample();
    case.old.faults = Yearly::Same(1.0);
    let mut with = case.clone();
    with.options[0].stays = 0.1;
    let (case, with) = (advice_of(&case), advice_of(&with));
    let more = with.options[0].annual_cost - case.options[0].annual_cost;
    // At mid-year: 25.70 × 1.035^½ (arithmetic).
    assert!((more - 25.7 * 1.035_f64.sqrt()).abs() < 1e-9, "{more}");
    assert_eq!(with.options[0].n, case.options[0].n);
}

#[test]
fn shares_that_cannot_be_are_refused_with_their_place() {
    let refused = |change: fn(&mut DecisionCase)| {
        let mut case = sample();
        change(&mut case);
        case.checked().unwrap_err().to_string()
    };
    let told = refused(|c| c.old.stays = Yearly::Same(1.2));
    assert!(told.starts_with("old.stays, year 1"), "{told}");
    let told = refused(|c| c.old.stays = Yearly::Each(vec![0.1]));
    assert!(told.starts_with("old.stays: 1 entries, 10 years"), "{told}");
    let told = refused(|c| {
        c.old.stays = Yearly::Same(0.7);
        c.options[0].stays = 0.4;
    });
    assert!(told.starts_with("options[0].stays"), "{told}");
}

/// The fault in hand lies in what stays: the new unit would not put it right, so the quote is paid either way and cannot speak
/// for replacing. Advantage = quote − limit all the same.
#[test]
fn a_fault_in_what_stays_is_paid_for_either_way() {
    let with = |pence: i64, leaves: bool| {
        let mut case = sample();
        case.fault_in_hand = Some(FaultInHand::new(Pence(pence), 15.0, 40.0));
        case.options[0].leaves_fault = leaves;
        let advice = advice_of(&case);
        let said = shown(Pence(pence), &advice).unwrap();
        assert_eq!(said.advantage.0, pence - said.limit.0);
        advice
    };
    let advantage = |pence, leaves| with(pence, leaves).advantage_replace_now.unwrap();
    assert!((advantage(90_000, true) - advantage(10_000, true)).abs() < 1e-9);
    assert!((advantage(90_000, false) - advantage(10_000, false) - 800.0).abs() < 1e-9);
    assert!((advantage(90_000, true) + 900.0 - advantage(90_000, false)).abs() < 1e-9);
    let (a, b) = (with(90_000, true), with(10_000, true));
    assert_eq!(a.break_even_year, b.break_even_year);
    let quote = a.tornado.iter().find(|row| row.param == Param::Quote);
    assert_eq!(quote.and_then(|row| row.switch_multiplier), None);
}

fn staying(case: &DecisionCase, share: f64) -> DecisionCase {
    let mut case = case.clone();
    case.old.stays = Yearly::Same(share);
    case
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    /// Nothing that stays leaves every figure as it was, to the last bit; said by the year, too.
    #[test]
    fn no_share_changes_nothing(case in case()) {
        let mut by_year = case.clone();
        by_year.old.stays = Yearly::Each(vec![0.0; case.horizon as usize]);
        let plain = advice_of(&case);
        prop_assert_eq!(&plain, &advice_of(&by_year));
        prop_assert_eq!(plain.staying_cost, 0.0);
    }

    /// The more of its failures stay, the less speaks for replacing it.
    #[test]
    fn the_advantage_falls_as_the_share_rises(case in case(), a in 0.0..1.0f64, b in 0.0..1.0f64) {
        let (less, more) = (a.min(b), a.max(b));
        let of = |share| advice_of(&staying(&case, share)).advantage_replace_now.unwrap();
        let (before, after) = (of(less), of(more));
        prop_assert!(after <= before + 1e-6, "{} at {}, {} at {}", before, less, after, more);
    }

    /// Where all of them stay, a new unit is better only by what it saves elsewhere: all is as if the old one never failed, but
    /// for the risk that it is lost, which goes by all failures.
    #[test]
    fn with_all_of_them_staying_failures_say_nothing(case in case()) {
        let mut never = case;
        never.old.write_off_share = 0.0;
        let stays = advice_of(&staying(&never, 1.0));
        never.old.faults = Yearly::Each(vec![0.0; never.horizon as usize]);
        let never = advice_of(&never);
        prop_assert_eq!(&stays.keep, &never.keep);
        prop_assert_eq!(stays.advantage_replace_now, never.advantage_replace_now);
        prop_assert_eq!(stays.probability_replace_cheaper, never.probability_replace_cheaper);
    }

    /// A part that stays beside the one option there is, said of that option or of all: with as many failures every year and
    /// one rate, the two are the same to the rounding.
    #[test]
    fn said_of_one_option_or_of_all_it_is_the_same(case in case(), share in 0.0..1.0f64, fails in 0.0..2.5f64) {
        let mut of_all = case;
        of_all.options.truncate(1);
        of_all.later.clear();
        of_all.old.faults = Yearly::Same(fails);
        // Its own cost of a failure in warranty, or a failure that ends it, is not one of a part that stays.
        of_all.old.warranty_years = 0.0;
        of_all.old.write_off_share = 0.0;
        let mut of_one = of_all.clone();
        of_all.old.stays = Yearly::Same(share);
        of_one.options[0].stays = share;
        let (a, b) = (advice_of(&of_all), advice_of(&of_one));
        let (x, y) = (a.advantage_replace_now.unwrap(), b.advantage_replace_now.unwrap());
        prop_assert!((x - y).abs() < 1e-6 * (1.0 + y.abs()), "{} and {}", x, y);
        let (x, y) = (a.probability_replace_cheaper.unwrap(), b.probability_replace_cheaper.unwrap());
        prop_assert!((x - y).abs() < 1e-6, "{} and {}", x, y);
    }

    /// How often the old unit fails moves what stays on both sides alike.
    #[test]
    fn the_lever_on_failures_moves_both_sides(case in case(), share in 0.0..1.0f64, by in 0.2..3.0f64) {
        let case = staying(&case, share);
        let mut often = case.clone();
        if let Yearly::Each(list) = &mut often.old.faults {
            for m in list.iter_mut() {
                *m *= by;
            }
        }
        let levers = Levers { faults_old: by, ..Levers::default() };
        let by_lever = weigh(&case.checked().unwrap(), &levers).advantage().unwrap();
        let by_case = weigh(&often.checked().unwrap(), &Levers::default()).advantage().unwrap();
        prop_assert!((by_lever - by_case).abs() < 1e-6 * (1.0 + by_case.abs()));
    }
}
