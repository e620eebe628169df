//! Promises, the audit, and planning again.
use std::collections::BTreeSet;

use planning::rounds::{PlainRounds, PlannedJob, RoundPlan, RoundPlanner, Rule, WhyNot, audit};
use terms::JobId;

use crate::estate::{day, id, input, job, plan, promised};

#[test]
fn a_promise_stays_and_the_rest_goes_round_it() {
    let fixed = promised(job(1, 5, "2026-12-01", "2026-12-31"), "2026-12-01", 600);
    let others = (2..9).map(|n| job(n, 6, "2026-12-01", "2026-12-01"));
    let input = input([fixed].into_iter().chain(others).collect());
    let plan = plan(&input);
    let kept = plan.placed.iter().find(|v| v.job == id(1)).unwrap();
    assert_eq!((kept.day, kept.start_minute), (day("2026-12-01"), 600));
    assert_eq!(plan.facts.promised, 1);
    // 08:30 to 10:00 less the way holds one visit, 11:00 plus the way to 16:30 holds four.
    assert_eq!(plan.placed.len(), 1 + 1 + 4);
}

#[test]
fn a_promise_against_the_rules_is_kept_and_told() {
    let sunday = promised(job(1, 5, "2026-12-01", "2026-12-31"), "2026-12-06", 600);
    let input = input(vec![sunday]);
    let plan = PlainRounds.plan(&input);
    let breaches = audit(&input, &plan);
    assert_eq!(breaches.len(), 1);
    assert!(breaches[0].promised && breaches[0].rule == Rule::NotWorking);
    let mut gone = input;
    gone.engineers[0].id = id(11);
    let plan = PlainRounds.plan(&gone);
    assert!(matches!(
        plan.unplaced[0].why,
        WhyNot::PromisedToNobody { .. }
    ));
}

#[test]
fn the_audit_sees_each_planted_breach() {
    let input = input(vec![
        promised(job(1, 5, "2026-12-01", "2026-12-31"), "2026-12-01", 600),
        job(2, 5, "2026-12-01", "2026-12-31"),
    ]);
    let good = plan(&input);
    let second = good.placed.iter().position(|v| v.job == id(2)).unwrap();
    let first = 1 - second;
    let found = |change: &dyn Fn(&mut RoundPlan)| {
        let mut bad = good.clone();
        change(&mut bad);
        let rules = audit(&input, &bad).into_iter().map(|b| b.rule);
        rules.collect::<Vec<Rule>>()
    };
    let has = |rule: Rule, change: &dyn Fn(&mut RoundPlan)| {
        let rules = found(change);
        assert!(rules.contains(&rule), "{rule:?} in {rules:?}");
    };
    has(Rule::JobUnknown, &|p| p.placed[second].job = id(77));
    has(Rule::JobTwice, &|p| p.placed.push(p.placed[second]));
    has(Rule::JobLost, &|p| {
        p.placed.remove(second);
    });
    has(Rule::EngineerUnknown, &|p| {
        p.placed[second].engineer = id(77);
    });
    has(Rule::WrongFirm, &|p| p.placed[second].firm = id(77));
    has(Rule::OutsideWindow, &|p| {
        p.placed[second].day = day("2027-01-04");
    });
    has(Rule::NotWorking, &|p| {
        p.placed[second].day = day("2026-12-05");
    });
    has(Rule::NotWorking, &|p| {
        p.placed[second].day = day("2026-12-25");
    });
    has(Rule::OutsideHours, &|p| p.placed[second].start_minute = 480);
    has(Rule::OutsideHours, &|p| p.placed[second].start_minute = 931);
    has(Rule::Overlap, &|p| p.placed[second].start_minute = 669);
    has(Rule::PromiseBroken, &|p| p.placed[first].start_minute = 700);
    let mut poor = input.clone();
    poor.engineers[0].qualifications.clear();
    poor.engineers[0].minutes_a_week = 100;
    poor.firms[0].minutes_a_week = 100;
    let rules: Vec<Rule> = audit(&poor, &good).into_iter().map(|b| b.rule).collect();
    assert!(rules.contains(&Rule::NotQualified));
    assert!(rules.iter().any(|r| matches!(
        r,
        Rule::FirmOver {
            minutes: 140,
            given: 100,
            ..
        }
    )));
    assert!(rules.iter().any(|r| matches!(
        r,
        Rule::EngineerOver {
            minutes: 140,
            given: 100,
            ..
        }
    )));
}

#[test]
fn a_day_off_moves_only_its_own_visits() {
    let mut jobs: Vec<PlannedJob> = (1..40)
        .map(|n| job(n, n % 3, "2026-12-01", "2027-01-31"))
        .collect();
    jobs[0] = promised(jobs[0].clone(), "2026-12-02", 600);
    let before_input = input(jobs);
    let before = plan(&before_input);
    let mut after_input = before_input.clone();
    after_input.engineers[0].away = vec![day("2026-12-03")];
    let replan = PlainRounds.replan(&after_input, &before);
    assert_eq!(audit(&after_input, &replan.plan), []);
    let on_the_day = before.placed.iter().filter(|v| v.day == day("2026-12-03"));
    let on_the_day: BTreeSet<JobId> = on_the_day.map(|v| v.job).collect();
    let moved: BTreeSet<JobId> = replan.moved.iter().map(|m| m.job).collect();
    assert!(!moved.is_empty());
    assert_eq!(moved, on_the_day);
    assert_eq!(replan.stayed as usize + moved.len(), before.placed.len());
}
