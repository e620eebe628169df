//! Rounds that come every week, or every so many days: over forty years a kept date never drifts earlier and a deadline is
//! never later than the longest span. The rules: trade file on duties, section 1.
use inspection::calendar::{add_days, date_words, days_between};
use terms::trade::DutyRule;
use usecases::duties::dates::{first_after, one_before, replay, window};
use usecases::duties::{self, DutyAt};
use usecases::founding;

use super::plain;
use crate::support::dated::{Dice, row};
use crate::work_estate::{AGENT, Loop, day, fresh};

/// The shipped rule of the weekly flushing, with another window and other days.
fn every(window_rule: &str, days: i32) -> DutyRule {
    let shipped = founding::shipped().unwrap();
    let flushing = shipped
        .duties
        .into_iter()
        .find(|d| d.code == "L10")
        .unwrap();
    DutyRule {
        window_rule: window_rule.to_owned(),
        days: Some(days),
        ..flushing
    }
}

/// HSG 274 part 2, table 2.1, from memory: little-used outlets are flushed every week.
#[test]
fn the_flushing_of_little_used_outlets_is_weekly() {
    let rule = every("W3", 7);
    let shipped = founding::shipped().unwrap();
    let stands = shipped.duties.iter().find(|d| d.code == "L10").unwrap();
    assert_eq!(stands.days, Some(7));
    assert_eq!(first_after(&rule, day("2026-11-25")), day("2026-12-02"));
    assert_eq!(one_before(&rule, day("2026-12-02")), day("2026-11-25"));
    // A quarter of seven days, whole days down: one either side.
    let window = window(&rule, day("2026-12-02"));
    assert_eq!(window.first, Some(day("2026-12-01")));
    assert_eq!(window.last, day("2026-12-03"));
}

#[test]
fn a_weekly_date_kept_for_forty_years_never_drifts_earlier() {
    let mut dice = Dice(7);
    for days in [1, 2, 7, 10, 14] {
        let rule = every("W3", days);
        let n = i64::from(days);
        let first = add_days(day("2015-01-01"), dice.between(0, 3_650));
        let rounds = 14_610 / n / if days < 7 { 10 } else { 1 };
        let mut rows = vec![row(None, Some(first))];
        for k in 0..rounds {
            let slip = dice.between(-(n / 4), n / 4);
            rows.push(row(Some(add_days(first, n * k + slip)), None));
        }
        let steps = replay(&rule, &rows).unwrap();
        assert_eq!(steps.len(), rows.len());
        for (k, (step, row)) in (0_i64..).zip(steps.iter().zip(&rows).skip(1)) {
            let next = step.next_deadline.unwrap();
            let done = row.done_on.unwrap();
            assert_eq!(step.result, "on_time", "{done}: {}", step.reason);
            assert_eq!(next, add_days(first, n * (k + 1)), "the day stays");
            assert!(days_between(done, next) <= n + n / 4, "the longest span");
            assert!(step.reason.contains(&date_words(next)), "{}", step.reason);
        }
    }
}

#[test]
fn no_deadline_counted_in_days_is_later_than_its_span_whatever_is_done() {
    let mut dice = Dice(11);
    for window_rule in ["W2", "W3", "W6"] {
        for days in [1, 7, 14, 45] {
            let rule = every(window_rule, days);
            let n = i64::from(days);
            let first = add_days(day("2016-06-30"), dice.between(0, 400));
            let mut rows = vec![row(None, Some(first))];
            let (mut deadline, mut before) = (first, add_days(first, -n));
            for _ in 0..120 {
                let done = add_days(deadline, dice.between(-n, 3 * n)).max(before);
                rows.push(row(Some(done), None));
                let step = replay(&rule, &rows).unwrap().pop().unwrap();
                let next = step.next_deadline.unwrap();
                let longest = match window_rule {
                    "W3" => n + n / 4,
                    _ => n,
                };
                assert!(
                    days_between(done, next) <= longest,
                    "{window_rule} of {n} days, done {done}, next {next}"
                );
                if window_rule == "W3" {
                    assert!(next >= deadline, "a round never goes back");
                } else {
                    assert_eq!(next, add_days(done, n), "counted from the day it was done");
                }
                (deadline, before) = (next, done);
            }
        }
    }
}

#[test]
fn the_desk_states_a_rule_in_weeks_and_open_dates_follow() {
    let estate = Loop::start();
    let agent = estate.client(AGENT);
    let building = estate
        .world()
        .acting(&estate.seat, |tx| {
            Ok::<_, usecases::Error>(tx.space(estate.flat)?.building)
        })
        .unwrap();
    let home = format!("/duties/at/building/{building}");
    let open = [("once", "o"), ("rule", "L9"), ("deadline", "2026-11-23")];
    assert_eq!(agent.post(&format!("{home}/open"), &open).status(), 303);
    let page = plain(&agent.page("/duties/rules/L10"));
    assert!(
        page.contains("A round every 1 week on fixed dates"),
        "{page}"
    );
    let lines = duties::rule_lines(estate.world(), &estate.seat).unwrap();
    let read = lines.iter().find(|l| l.rule.code == "L9").unwrap().read();
    let state = |number: &str, unit: &str| {
        agent.post(
            "/duties/rules/L9",
            &[
                ("once", fresh().as_str()),
                ("read", read.as_str()),
                ("window_rule", "W3"),
                ("months", number),
                ("unit", unit),
                ("basis", "contract"),
                ("status", "written scheme, read"),
                ("evidence", "log"),
                ("as_at", "2026-11-20"),
                ("note", "the written scheme asks for it"),
            ],
        )
    };
    for (number, unit, said) in [
        ("0", "weeks", "Give whole weeks"),
        ("600", "weeks", "Give whole weeks"),
        ("many", "days", "Give whole days"),
        ("200", "months", "Give whole months"),
    ] {
        let wrong = state(number, unit);
        assert_eq!(wrong.status(), 422, "{number} {unit}");
        assert!(plain(&wrong.text().unwrap()).contains(said), "“{said}”");
    }
    assert_eq!(state("2", "weeks").status(), 303);
    let page = plain(&agent.page("/duties/rules/L9"));
    assert!(page.contains("every 2 weeks"), "{page}");
    let found = duties::place_duties(estate.world(), &estate.seat, DutyAt::Building(building));
    let duty = found.unwrap().duties[0].card.id.to_string();
    let record = [
        ("once", "r"),
        ("duty", duty.as_str()),
        ("on", "2026-11-24"),
        ("whole", "yes"),
        ("evidence", "log"),
    ];
    assert_eq!(agent.post(&format!("{home}/record"), &record).status(), 303);
    let found = duties::place_duties(estate.world(), &estate.seat, DutyAt::Building(building));
    // The round of 23 November kept with a day's slip: two weeks later is 7 December.
    let line = &found.unwrap().duties[0].line;
    assert_eq!(line.window.map(|w| w.deadline), Some(day("2026-12-07")));
}
