//! The worked dates of the trade file on duties, section 3, and what must hold of every run of them.
#![expect(
    clippy::expect_used,
    reason = "a helper of a test stops at what cannot be"
)]

use chrono::{Datelike, NaiveDate};
use inspection::calendar::{add_days, add_months, days_between};
use inspection::clock::{self, DemandOrNotice, WorkingDays};
use inspection::duties::{
    Every, G3Reason, Round, W1Result, W3Result, g3, keep_gas_record, w1, w1_chain, w2, w3, w4,
    window_w1,
};
use inspection::{InspectionError, RuleBook};
use proptest::prelude::*;

fn day(text: &str) -> NaiveDate {
    text.parse().expect("a date")
}

// Law text read: SI 1998/2451 regulation 36A by SI 2018/139; dates worked in DUTIES section 3.
#[test]
fn keep_the_date_as_worked_in_the_trade_file() {
    assert_eq!(
        window_w1(day("2026-03-15")),
        (day("2026-01-16"), day("2026-03-15"))
    );
    for (deadline, done, result, next) in [
        ("2026-03-15", "2026-02-12", W1Result::Kept, "2027-03-15"),
        ("2026-03-15", "2026-01-16", W1Result::Kept, "2027-03-15"),
        (
            "2026-03-15",
            "2026-01-15",
            W1Result::ResetEarly,
            "2027-01-15",
        ),
        (
            "2026-03-15",
            "2026-01-05",
            W1Result::ResetEarly,
            "2027-01-05",
        ),
        ("2026-03-15", "2026-03-15", W1Result::Kept, "2027-03-15"),
        ("2026-03-15", "2026-03-20", W1Result::Late, "2027-03-20"),
        // The published example of the regulation.
        ("2019-02-10", "2019-01-05", W1Result::Kept, "2020-02-10"),
        // Month ends.
        (
            "2026-04-30",
            "2026-02-28",
            W1Result::ResetEarly,
            "2027-02-28",
        ),
        ("2026-04-30", "2026-03-01", W1Result::Kept, "2027-04-30"),
        (
            "2026-02-28",
            "2025-12-28",
            W1Result::ResetEarly,
            "2026-12-28",
        ),
        ("2026-02-28", "2025-12-29", W1Result::Kept, "2027-02-28"),
        (
            "2026-10-31",
            "2026-08-31",
            W1Result::ResetEarly,
            "2027-08-31",
        ),
        ("2026-10-31", "2026-09-01", W1Result::Kept, "2027-10-31"),
    ] {
        let outcome = w1(Some(day(deadline)), day(done), true);
        assert_eq!(
            (outcome.result, outcome.next_deadline),
            (result, Some(day(next))),
            "{done}"
        );
    }
    let late = w1(Some(day("2026-03-15")), day("2026-03-20"), true);
    assert_eq!(late.days_late, 5);
}

#[test]
fn a_leap_day_becomes_the_28th_and_stays_there() {
    let first = w1(None, day("2024-02-29"), true);
    assert_eq!(first.next_deadline, Some(day("2025-02-28")));
    let checks: Vec<NaiveDate> = (2025..2029).map(|y| day(&format!("{y}-02-01"))).collect();
    let chain = w1_chain(first.next_deadline, &checks);
    assert_eq!(chain.deadlines.last(), Some(&day("2029-02-28")));
    assert!(
        chain
            .deadlines
            .iter()
            .all(|d| (d.month(), d.day()) == (2, 28))
    );
}

#[test]
fn a_visit_without_the_check_items_is_no_check() {
    let outcome = w1(Some(day("2026-03-15")), day("2026-03-20"), false);
    assert_eq!(outcome.result, W1Result::NotACheck);
    assert_eq!(
        (outcome.next_deadline, outcome.days_late),
        (Some(day("2026-03-15")), 0)
    );
    assert!(
        outcome.sentence().contains("no check happened"),
        "{}",
        outcome.sentence()
    );
}

#[test]
fn the_sentence_reads_as_it_is_said() {
    assert_eq!(
        w1(Some(day("2026-03-15")), day("2026-02-12"), true).sentence(),
        "Done on 12 February 2026, inside the two months before 15 March 2026, so the next is due by 15 March 2027."
    );
}

// DUTIES section 3, G3 (published page).
#[test]
fn a_new_boiler_lines_up_once() {
    let fitted = day("2025-06-01");
    let aligned = g3(fitted, Some(day("2026-07-20")), false, None);
    assert_eq!(
        (aligned.reason, aligned.first_check_by),
        (G3Reason::Aligned, day("2026-07-20"))
    );
    let far = g3(fitted, Some(day("2026-08-20")), false, None);
    assert_eq!(
        (far.reason, far.first_check_by),
        (G3Reason::TooFar, day("2026-06-01"))
    );
    assert_eq!(
        g3(day("2024-02-29"), None, false, None).latest_aligned,
        day("2025-04-28")
    );
}

// DUTIES section 3, E1: law text and published page.
#[test]
fn wiring_dates() {
    let book = RuleBook::shipped().expect("the shipped book");
    assert_eq!(
        w2(None, day("2021-09-03"), 60, None).next_deadline,
        day("2026-09-03")
    );
    let early = w2(Some(day("2026-09-03")), day("2026-06-03"), 60, None);
    assert_eq!(early.next_deadline, day("2031-06-03"));
    let due = |event, on| w4(book, event, day(on), None).expect("an event").due;
    assert_eq!(due("eicr_remedy", "2026-08-04"), day("2026-08-31"));
    assert_eq!(due("eicr_copy_to_tenant", "2026-08-04"), day("2026-09-01"));
    assert_eq!(
        due("gas_record_to_existing_tenant", "2026-02-12"),
        day("2026-03-12")
    );
    assert_eq!(due("riddor_report", "2026-02-12"), day("2026-02-26"));
    let unknown = w4(book, "moon_landing", day("2026-08-04"), None);
    assert!(matches!(unknown, Err(InspectionError::Unknown { .. })));
}

// DUTIES section 3, S2 (law text).
#[test]
fn eighteen_months() {
    let cost = clock::section20b(day("2024-10-10"), None, DemandOrNotice::Notice);
    assert_eq!(
        (cost.last_day_notice, cost.last_day_demand),
        (day("2026-04-09"), day("2026-04-10"))
    );
    let end = clock::section20b(day("2024-08-31"), None, DemandOrNotice::Demand);
    assert_eq!(
        (end.last_day_notice, end.last_day_demand),
        (day("2026-02-27"), day("2026-02-28"))
    );
}

#[test]
fn two_further_checks_end_the_keeping() {
    let checks = [day("2026-02-12"), day("2025-02-10")];
    let keep = keep_gas_record(day("2024-02-12"), &checks, None);
    assert_eq!(keep.keep_until, Some(day("2026-02-12")));
}

// 31 January, 28 February, 31 March: DUTIES section 1, W3.
#[test]
fn a_month_end_round_comes_back_to_the_31st() {
    let round = Round {
        anchor: day("2026-01-31"),
        every: 1,
        unit: Every::Months,
    };
    let nominal: Vec<NaiveDate> = (0..3).map(|j| round.nominal(j)).collect();
    assert_eq!(
        nominal,
        [day("2026-01-31"), day("2026-02-28"), day("2026-03-31")]
    );
    let nothing = Round { every: 0, ..round };
    assert!(w3(&nothing, 0, day("2026-01-31")).is_err());
}

// Bank holidays of England that fall on Monday to Friday: PyPI `holidays` 0.109 (GB, ENG).
const BANK_HOLIDAYS: [(i32, &str); 14] = [
    (2019, "01-01 04-19 04-22 05-06 05-27 08-26 12-25 12-26"),
    (2020, "01-01 04-10 04-13 05-08 05-25 08-31 12-25 12-28"),
    (2021, "01-01 04-02 04-05 05-03 05-31 08-30 12-27 12-28"),
    (
        2022,
        "01-03 04-15 04-18 05-02 06-02 06-03 08-29 09-19 12-26 12-27",
    ),
    (
        2023,
        "01-02 04-07 04-10 05-01 05-08 05-29 08-28 12-25 12-26",
    ),
    (2024, "01-01 03-29 04-01 05-06 05-27 08-26 12-25 12-26"),
    (2025, "01-01 04-18 04-21 05-05 05-26 08-25 12-25 12-26"),
    (2026, "01-01 04-03 04-06 05-04 05-25 08-31 12-25 12-28"),
    (2027, "01-01 03-26 03-29 05-03 05-31 08-30 12-27 12-28"),
    (2028, "01-03 04-14 04-17 05-01 05-29 08-28 12-25 12-26"),
    (2029, "01-01 03-30 04-02 05-07 05-28 08-27 12-25 12-26"),
    (2030, "01-01 04-19 04-22 05-06 05-27 08-26 12-25 12-26"),
    (2031, "01-01 04-11 04-14 05-05 05-26 08-25 12-25 12-26"),
    (2032, "01-01 03-26 03-29 05-03 05-31 08-30 12-27 12-28"),
];

#[test]
fn bank_holidays_as_published() {
    for (year, days) in BANK_HOLIDAYS {
        let ours: Vec<String> = WorkingDays::england()
            .bank_holidays(year)
            .iter()
            .map(|d| d.format("%m-%d").to_string())
            .collect();
        assert_eq!(ours.join(" "), days, "{year}");
    }
}

#[test]
fn a_published_list_rules_its_years_and_no_others() {
    let days = WorkingDays::england_published(&[day("2026-07-01")]);
    assert!(!days.is_working(day("2026-07-01")));
    assert!(
        days.is_working(day("2026-12-25")),
        "the list of 2026 does not hold it"
    );
    assert!(!days.is_working(day("2027-12-27")));
    assert!(WorkingDays::of("scotland").is_err());
}

fn any_day() -> impl Strategy<Value = NaiveDate> {
    (0_i64..14_610).prop_map(|n| add_days(day("2015-01-01"), n))
}

proptest! {
    /// Forty years of checks kept inside the window: the day never drifts earlier, and no deadline
    /// lies later than a year and two months after the check it follows.
    #[test]
    fn a_kept_date_never_drifts(first in any_day(), early in prop::collection::vec(0_i64..59, 40)) {
        let mut deadline = first;
        for (year, days_early) in early.iter().enumerate() {
            let done = add_days(deadline, -days_early);
            prop_assert!(done >= window_w1(deadline).0);
            let outcome = w1(Some(deadline), done, true);
            prop_assert_eq!(outcome.result, W1Result::Kept);
            let next = outcome.next_deadline.expect("a kept date has a next one");
            prop_assert!(next <= add_months(done, 14));
            // The month never changes; the day only ever falls back from the 29th.
            let years = i32::try_from(year).expect("small") + 1;
            let plain = add_months(first, 12 * years);
            prop_assert!(days_between(next, plain) <= 1 && next <= plain);
            prop_assert_eq!(next.month(), first.month());
            deadline = next;
        }
    }

    /// Whatever the day, the next deadline is never later than the rule's longest span: 12 months
    /// after the deadline if kept, 12 months after the check if not.
    #[test]
    fn a_deadline_is_never_later_than_the_rule_allows(deadline in any_day(), done in any_day()) {
        let outcome = w1(Some(deadline), done, true);
        let next = outcome.next_deadline.expect("a complete check has a next deadline");
        let kept = outcome.result == W1Result::Kept;
        prop_assert_eq!(next, add_months(if kept { deadline } else { done }, 12));
        prop_assert_eq!(kept, done <= deadline && done > add_months(deadline, -2));
        prop_assert!(days_between(done, next) <= 428);
        prop_assert!(days_between(done, next) >= 364);
    }

    /// Every other rule in the same forty years: nothing lies later than its own arithmetic.
    #[test]
    fn other_rules_hold_their_spans(anchor in any_day(), done in any_day(), every in 1_u32..13) {
        let after = w2(Some(anchor), done, 60, Some(12 * every));
        prop_assert!(after.next_deadline <= add_months(done, 60));
        let round = Round { anchor, every, unit: Every::Months };
        let outcome = w3(&round, 0, done).expect("an interval");
        if outcome.result == W3Result::EarlyOpen {
            prop_assert!(done < outcome.earliest);
            prop_assert_eq!(outcome.next_nominal, outcome.nominal);
        } else {
            prop_assert!(outcome.earliest <= done);
            prop_assert!(done < round.earliest(outcome.round + 1));
            prop_assert_eq!(outcome.result == W3Result::OnTime, outcome.missed == 0 && done <= outcome.latest);
        }
    }

    /// The n-th working day is a working day with n − 1 working days before it.
    #[test]
    fn working_days_are_counted_right(start in any_day(), n in 1_u32..30) {
        let days = WorkingDays::england();
        let due = days.after(start, n);
        prop_assert!(days.is_working(due));
        let mut passed = 0;
        let mut at = start;
        while at < due {
            at = add_days(at, 1);
            passed += u32::from(days.is_working(at));
        }
        prop_assert_eq!(passed, n);
    }
}
