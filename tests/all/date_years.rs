//! Forty years of rows through the very replay the program keeps its dates by (`usecases::duties::dates::replay`), and the
//! hour clocks over every change of the clocks in them. The rules: trade file on duties, section 1.
use chrono::{Datelike, NaiveDate, TimeDelta, Weekday};
use inspection::calendar::{add_days, add_months, date_words, days_between};
use inspection::clock::{Basis, HoursQuery, LocalTime, hours};
use store::duties::Completion;
use terms::trade::DutyRule;
use usecases::duties::dates::{Step, replay, replay_dated, window};

use crate::support::dated::{Dice, row, rule};

/// Forty years of checks, each some days from the deadline before it; the first row states a deadline.
fn lived(
    rule: &DutyRule,
    first: NaiveDate,
    mut slip: impl FnMut(NaiveDate) -> i64,
) -> Vec<(NaiveDate, NaiveDate, Step)> {
    let mut rows = vec![row(None, Some(first))];
    let mut told = Vec::new();
    let mut deadline = first;
    while days_between(first, deadline) < 14_610 {
        let done = add_days(deadline, slip(deadline));
        rows.push(row(Some(done), None));
        let step = replay(rule, &rows).unwrap().pop().unwrap();
        let next = step.next_deadline.unwrap();
        told.push((deadline, done, step));
        deadline = next;
    }
    told
}

#[test]
fn a_date_kept_for_forty_years_never_drifts_earlier() {
    let gas = rule("G1", "W1", 12);
    let mut dice = Dice(1);
    for _ in 0..25 {
        let first = dice.day();
        // Always inside the window: from its first day to the deadline.
        let kept = lived(&gas, first, |deadline| {
            let opens = window(&gas, deadline).first.unwrap();
            dice.between(days_between(deadline, opens), 0)
        });
        assert!(kept.len() >= 40);
        for (deadline, done, step) in kept {
            let next = step.next_deadline.unwrap();
            assert_eq!(step.result, "kept", "{done} for {deadline}");
            assert_eq!(
                next,
                add_months(deadline, 12),
                "the day stays, or the month's end before it"
            );
            assert!(next.day() <= first.day() && next.month() == first.month());
            // Never later than the longest span: twelve months and the two the window wins.
            assert!(next <= add_months(done, 14));
            assert!(step.reason.contains(&date_words(next)), "{}", step.reason);
        }
    }
}

#[test]
fn no_deadline_in_forty_years_lies_later_than_its_rule_allows() {
    let mut dice = Dice(2);
    for _ in 0..10 {
        let first = dice.day();
        let gas = rule("G1", "W1", 12);
        for (deadline, done, step) in lived(&gas, first, |_| dice.between(-120, 60)) {
            let next = step.next_deadline.unwrap();
            assert!(next >= add_months(done, 12) && next <= add_months(done.max(deadline), 12));
            assert!(next <= add_months(done, 14), "{done}: {next}");
        }
        for months in [1, 2, 3, 6, 12, 14, 24, 48, 60, 120] {
            let longest = i64::from(months) * 30;
            let intervals = rule("U1", "W2", months);
            for (_, done, step) in lived(&intervals, first, |_| dice.between(-longest / 2, longest))
            {
                let next = step.next_deadline.unwrap();
                assert_eq!(
                    next,
                    add_months(done, months),
                    "from the day it was done, nothing kept"
                );
                assert!(step.reason.contains(&date_words(next)), "{}", step.reason);
            }
            let reviews = rule("L1", "W6", months);
            for (_, done, step) in lived(&reviews, first, |_| dice.between(-longest / 2, longest)) {
                let next = step.next_deadline.unwrap();
                assert!(next > done && next <= add_months(done, months));
            }
        }
        for months in [1, 3, 6, 12] {
            let round = rule("L2", "W3", months);
            // A quarter of the interval, at most fourteen days: 7 of the shortest month.
            let slack = if months == 1 { 7 } else { 14 };
            let nominal = |n: usize| add_months(first, months * i32::try_from(n).unwrap());
            let count = usize::try_from(480 / months).unwrap();
            let mut rows = vec![row(None, Some(first))];
            rows.extend((0..count).map(|n| {
                row(
                    Some(add_days(nominal(n), dice.between(-slack, slack))),
                    None,
                )
            }));
            let steps = replay(&round, &rows).unwrap();
            for (n, (step, row)) in steps.iter().zip(&rows).skip(1).enumerate() {
                let next = step.next_deadline.unwrap();
                let done = row.done_on.unwrap();
                assert_eq!(
                    next,
                    nominal(n + 1),
                    "counted from the round's first date: {done}"
                );
                assert!(
                    next <= add_days(add_months(done, months), slack + 3),
                    "{done}: {next}"
                );
            }
        }
    }
}

#[test]
fn a_rule_stated_anew_leaves_what_was_met_before_it() {
    let old = DutyRule {
        as_at: NaiveDate::from_ymd_opt(2020, 1, 1).unwrap(),
        ..rule("G4", "W2", 12)
    };
    let new = rule("G4", "W2", 6);
    let day = |text: &str| text.parse::<NaiveDate>().unwrap();
    let rows: Vec<Completion> = ["2024-03-10", "2025-03-10", "2026-03-10"]
        .map(|done| row(Some(day(done)), None))
        .to_vec();
    let steps = replay_dated((&new, &[old, new.clone()]), &rows).unwrap();
    let next: Vec<NaiveDate> = steps.iter().filter_map(|s| s.next_deadline).collect();
    assert_eq!(
        next,
        [day("2025-03-10"), day("2026-03-10"), day("2026-09-10")]
    );
    assert!(steps.iter().all(|s| s.days_late == 0));
}

/// A yearly round may be met up to 14 days after its date (trade file on duties, W3: common practice, no source), and a
/// duty that is due not later than a day may not. The check of ten days after is judged by the rule of its own day.
#[test]
fn a_check_is_judged_by_the_rule_of_its_day_and_only_the_next_date_by_the_one_after() {
    let day = |text: &str| text.parse::<NaiveDate>().unwrap();
    let stated = |window: &str, months: i32, from: &str| DutyRule {
        as_at: day(from),
        ..rule("G4", window, months)
    };
    let rows = [
        row(Some(day("2025-03-10")), None),
        row(Some(day("2026-03-20")), None),
    ];
    let last = |old: &DutyRule, new: &DutyRule| {
        let steps = replay_dated((new, &[old.clone(), new.clone()]), &rows).unwrap();
        steps.last().unwrap().clone()
    };
    let round = stated("W3", 12, "2020-01-01");
    // Stated anew after the check: it was met in time, and counts on from the day it was done.
    let step = last(&round, &stated("W2", 6, "2026-06-01"));
    assert_eq!((step.result.as_str(), step.days_late), ("on_time", 0));
    assert_eq!(step.next_deadline, Some(day("2026-09-20")));
    assert!(step.reason.contains(&date_words(day("2026-06-01"))));
    assert!(step.reason.contains(&date_words(day("2026-09-20"))));
    // A monthly round allows 7 days only, and moves on from the round that was met.
    let step = last(&round, &stated("W3", 1, "2026-06-01"));
    assert_eq!((step.result.as_str(), step.days_late), ("on_time", 0));
    assert_eq!(step.next_deadline, Some(day("2026-04-10")));
    // Stated anew between date and check: by the rule of the check's day it was ten days late.
    let step = last(&round, &stated("W2", 12, "2026-03-15"));
    assert_eq!((step.result.as_str(), step.days_late), ("late", 10));
    assert_eq!(step.next_deadline, Some(day("2027-03-20")));
    // And what was late stays late when a gentler rule comes.
    let strict = stated("W2", 12, "2020-01-01");
    let step = last(&strict, &stated("W3", 12, "2026-06-01"));
    assert_eq!((step.result.as_str(), step.days_late), ("late", 10));
    assert_eq!(step.next_deadline, Some(day("2027-03-10")));
    // Early by months: met by the old rule, though the later round would have stayed open.
    let early = [
        row(Some(day("2025-03-10")), None),
        row(Some(day("2025-11-10")), None),
    ];
    let round = stated("W3", 12, "2026-06-01");
    let steps = replay_dated((&round, &[strict, round.clone()]), &early).unwrap();
    assert_eq!(steps[1].result, "done");
    assert_eq!(steps[1].next_deadline, Some(day("2026-11-10")));
}

/// The last Sunday of a month: the clocks change then, at 01:00 UTC.
fn last_sunday(year: i32, month: u32) -> NaiveDate {
    let end = add_days(
        add_months(NaiveDate::from_ymd_opt(year, month, 1).unwrap(), 1),
        -1,
    );
    (0..7)
        .map(|back| add_days(end, -back))
        .find(|day| day.weekday() == Weekday::Sun)
        .unwrap()
}

#[test]
fn an_hour_is_an_hour_over_every_change_of_the_clocks() {
    for year in 2016..2056 {
        for (month, gains) in [(3, 60), (10, -60)] {
            let sunday = last_sunday(year, month);
            for allowed in [1_i64, 4, 24, 48] {
                for before in [0, 1, 12, 23] {
                    let start =
                        LocalTime::parse(&format!("{}T23:30", add_days(sunday, -1))).unwrap();
                    let start = start.plus_minutes(-60 * before);
                    let clock = hours(&HoursQuery {
                        start_local: start,
                        hours: allowed as f64,
                        basis: Basis::Law,
                        pauses: Vec::new(),
                        finished_local: None,
                        now_local: None,
                    })
                    .unwrap();
                    let ran = start.to_utc().minutes_to(clock.deadline_utc);
                    assert_eq!(ran, allowed * 60, "{sunday}: real hours");
                    // The clocks change at 01:00 UTC: 01:00 by the wall in March, 02:00 in October.
                    let until = before * 60 + if month == 3 { 90 } else { 150 };
                    let over = allowed * 60 >= until;
                    let wall =
                        start.0 + TimeDelta::minutes(allowed * 60 + if over { gains } else { 0 });
                    assert_eq!(
                        clock.deadline_local,
                        LocalTime(wall),
                        "{sunday}: {allowed} h, {before} h before"
                    );
                }
            }
        }
    }
}
