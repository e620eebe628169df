//! Forty years of every window rule: a kept date never drifts earlier, no deadline lies later than its rule's longest
//! span, and every date says its day in a sentence. The rules: trade file on duties, section 1.
#![expect(
    clippy::expect_used,
    reason = "a helper of a test stops at what cannot be"
)]

use chrono::NaiveDate;
use inspection::RuleBook;
use inspection::calendar::{add_days, add_months, date_words, days_between};
use inspection::duties::{
    EventReason, Every, G3Reason, Round, V1Reason, W1Result, W3Result, g3, v1, w1, w2, w3, w4, w6,
};
use proptest::prelude::*;

fn any_day() -> impl Strategy<Value = NaiveDate> {
    let first = NaiveDate::from_ymd_opt(2015, 1, 1).expect("a day");
    (0_i64..14_610).prop_map(move |n| add_days(first, n))
}

proptest! {
    /// W1, forty checks on any day round their deadline: each leaves a deadline no later than twelve months after the
    /// later of its day and its deadline, no earlier than twelve months after its day, and says it.
    #[test]
    fn forty_years_of_checks_that_keep_the_date(first in any_day(), shift in prop::collection::vec(-120_i64..60, 40)) {
        let mut deadline = first;
        for days in shift {
            let done = add_days(deadline, days);
            let outcome = w1(Some(deadline), done, true);
            let next = outcome.next_deadline.expect("a whole check leaves a date");
            prop_assert!(next >= add_months(done, 12), "never earlier than a year after the check");
            prop_assert!(next <= add_months(done.max(deadline), 12));
            // Two months at the most are won: the window's first day is the day after deadline less two months.
            prop_assert!(next <= add_months(done, 14));
            if outcome.result == W1Result::Kept {
                prop_assert!(next > deadline && outcome.treated_as == Some(deadline));
            }
            prop_assert!(outcome.sentence().contains(&date_words(next)), "{}", outcome.sentence());
            deadline = next;
        }
    }

    /// W2, forty years: never later than the interval after the last completion, whatever the report shortens.
    #[test]
    fn forty_years_of_intervals(first in any_day(), gaps in prop::collection::vec((0_i64..500, 1_u32..13), 40)) {
        let mut done = first;
        let mut deadline = None;
        for (gap, shorter) in gaps {
            let outcome = w2(deadline, done, 12, Some(shorter));
            prop_assert_eq!(outcome.next_deadline, add_months(done, i32::try_from(shorter.min(12)).expect("small")));
            prop_assert!(outcome.sentence().contains(&date_words(outcome.next_deadline)));
            deadline = Some(outcome.next_deadline);
            done = add_days(done, gap);
        }
    }

    /// W3, 480 months in their tolerance: the round's dates are those counted from its first, for ever.
    #[test]
    fn forty_years_of_monthly_rounds_keep_their_dates(first in any_day(), slips in prop::collection::vec(-7_i64..8, 480)) {
        let round = Round { anchor: first, every: 1, unit: Every::Months };
        for (month, slip) in slips.iter().enumerate() {
            let open = u32::try_from(month).expect("small");
            let within = (*slip).clamp(-round.tolerance_days(open), round.tolerance_days(open));
            let outcome = w3(&round, open, add_days(round.nominal(open), within)).expect("an interval");
            prop_assert_eq!(outcome.result, W3Result::OnTime);
            let counted = add_months(first, i32::try_from(open).expect("small") + 1);
            prop_assert_eq!(outcome.next_nominal, counted, "counted from the first date, never from the last");
            prop_assert!(days_between(outcome.done, outcome.next_nominal) <= 31 + 7);
            prop_assert!(outcome.sentence().contains(&date_words(counted)));
        }
    }

    /// W3 at any interval: a round done late never moves the dates after it, and a round done too early closes nothing.
    #[test]
    fn a_round_done_at_any_time_leaves_a_date_of_its_own_count(first in any_day(), every in 1_u32..13, done in any_day()) {
        let round = Round { anchor: first, every, unit: Every::Months };
        let outcome = w3(&round, 0, done).expect("an interval");
        let counted = (0..600).map(|j| round.nominal(j)).any(|d| d == outcome.next_nominal);
        prop_assert!(counted, "{} is no date of the round", outcome.next_nominal);
        let interval = days_between(outcome.nominal, round.nominal(outcome.round + 1));
        prop_assert!(outcome.tolerance_days * 4 <= interval && outcome.tolerance_days <= 14);
    }

    /// W4, every event of the rule book on any day: exactly its days later, and a report only shortens.
    #[test]
    fn every_event_is_due_on_its_day(on in any_day(), own in 1_i64..60) {
        let book = RuleBook::shipped().expect("the shipped book");
        for rule in book.events() {
            let plain = w4(book, &rule.event, on, None).expect("an event");
            prop_assert_eq!(days_between(on, plain.due), rule.days);
            prop_assert!(plain.sentence().contains(&date_words(plain.due)));
            let shorter = w4(book, &rule.event, on, Some(own)).expect("an event");
            prop_assert!(shorter.due <= plain.due, "a report never lengthens the time");
            if rule.counting == EventReason::DaysStartingWith {
                prop_assert_eq!(days_between(on, shorter.due), rule.days.min(own - 1));
            }
        }
    }

    /// W6, forty years of reviews with changes in between: due at the first change after the review, never past the gap.
    #[test]
    fn forty_years_of_reviews(first in any_day(), changes in prop::collection::vec(0_i64..14_610, 0..12), gap in 1_u32..61) {
        let triggers: Vec<NaiveDate> = changes.iter().map(|n| add_days(first, *n)).collect();
        let mut last = first;
        for _ in 0..40 {
            let outcome = w6(last, gap, &triggers);
            let longest = add_months(last, i32::try_from(gap).expect("small"));
            prop_assert!(outcome.due > last && outcome.due <= longest);
            let earliest = triggers.iter().copied().filter(|t| *t > last).min();
            prop_assert!(earliest.is_none_or(|t| t >= outcome.due));
            prop_assert!(outcome.sentence().contains(&date_words(outcome.due)));
            last = outcome.due;
        }
    }

    /// G3: the one move never reaches past fourteen months after fitting, nor two months past the unit's own date, and
    /// once used it moves nothing.
    #[test]
    fn a_first_check_moves_once_and_not_far(fitted in any_day(), flat in prop::option::of(-60_i64..600)) {
        let flat = flat.map(|days| add_days(fitted, days));
        let outcome = g3(fitted, flat, false, None);
        prop_assert!(outcome.first_check_by >= outcome.own_deadline);
        prop_assert!(outcome.first_check_by <= add_months(fitted, 14));
        prop_assert!(outcome.first_check_by <= add_months(outcome.own_deadline, 2));
        prop_assert_eq!(outcome.aligned, outcome.reason == G3Reason::Aligned);
        let again = g3(fitted, flat, true, None);
        prop_assert_eq!(again.first_check_by, outcome.own_deadline);
        prop_assert!(outcome.sentence().contains(&date_words(outcome.first_check_by)));
    }

    /// V1: the tests of a care valve follow each other, and a valve that moved is never tested later than one that did not.
    #[test]
    fn a_valve_that_moved_is_tested_sooner(fitted in any_day(), one in -5.0_f64..5.0, two in -5.0_f64..5.0) {
        let outcome = v1(fitted, Some(one), Some(two));
        let third = outcome.third.expect("both results are known");
        prop_assert!(outcome.first.1 < outcome.second.0 && outcome.second.1 < third.0);
        let still = v1(fitted, Some(0.0), Some(0.0)).third.expect("both results are known");
        prop_assert!(third.1 <= still.1);
        prop_assert_eq!(third.1 < still.1, outcome.reason == V1Reason::Sooner);
        prop_assert!(days_between(fitted, third.1) <= 28 * 7);
    }
}
