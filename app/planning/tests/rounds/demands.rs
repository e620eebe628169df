//! What jobs ask of their day: two people, one visit in a flat, heat off, light, access, a firm's own hours; and the
//! audit that sees each of them broken. Data invented by us.
use planning::rounds::optimal::{OptimalRounds, RoundProof};
use planning::rounds::{
    PlainRounds, RoundInput, RoundPlan, RoundPlanner, Rule, Stop, Way, WhyNot, audit, firm_weeks,
    fullest,
};
use terms::people::Covers;

use crate::estate::{after, day, engineer, id, input, job};
use crate::optimal::looks;

/// By both planners, each without a breach.
fn both(input: &RoundInput) -> [RoundPlan; 2] {
    let allowance = looks(200);
    let optimal = OptimalRounds {
        allowance: &allowance,
        seed: 1,
    };
    let plans = [PlainRounds.plan(input), optimal.plan(input)];
    for plan in &plans {
        assert_eq!(audit(input, plan), [], "{plan:?}");
    }
    plans
}

fn rules(input: &RoundInput, plan: &RoundPlan) -> Vec<Rule> {
    audit(input, plan).into_iter().map(|b| b.rule).collect()
}

#[test]
fn two_of_one_firm_come_together_and_one_of_them_is_qualified() {
    let mut input = input(vec![job(1, 5, "2026-12-01", "2026-12-31")]);
    input.jobs[0].demands.pair = true;
    assert_eq!(PlainRounds.plan(&input).unplaced[0].why, WhyNot::NoPair);
    input.engineers.push(engineer(11, 1, &[Covers::Water]));
    for plan in both(&input) {
        let placed = plan.placed[0];
        assert_eq!((placed.engineer, placed.second), (id(10), Some(id(11))));
        assert_eq!(plan.facts.attendances, 2);
        let mut alone = plan.clone();
        alone.placed[0].second = None;
        assert_eq!(rules(&input, &alone), [Rule::NotTogether]);
        let mut twice = plan.clone();
        twice.placed[0].second = Some(id(10));
        assert!(rules(&input, &twice).contains(&Rule::NotTogether));
    }
    // The second has another visit at that hour: the pair goes round it.
    input.jobs.push(crate::estate::promised(
        job(2, 5, "2026-12-01", "2026-12-01"),
        "2026-12-01",
        540,
    ));
    input.jobs[0].deadline = day("2026-12-01");
    for plan in both(&input) {
        let placed = plan.placed.iter().find(|p| p.job == id(1)).unwrap();
        assert_eq!(placed.second, Some(id(11)));
        assert!(placed.start_minute >= 610, "{placed:?}");
    }
}

#[test]
fn two_units_in_one_flat_are_one_visit_under_one_way() {
    let mut jobs = vec![
        job(1, 5, "2026-12-01", "2026-12-31"),
        job(2, 5, "2026-12-10", "2027-01-31"),
    ];
    for one in &mut jobs {
        one.demands.space = Some(id(70));
    }
    let mut input = input(jobs);
    // 60 + 60 minutes and one way of 10: the week has just that.
    input.firms[0].minutes_a_week = 130;
    for plan in both(&input) {
        let [a, b] = [plan.placed[0], plan.placed[1]];
        assert_eq!((a.day, a.engineer), (b.day, b.engineer));
        assert_eq!(a.start_minute + 60, b.start_minute);
    }
    input.jobs[1].demands.space = Some(id(71));
    let plan = &both(&input)[0];
    assert_ne!(
        plan.placed[0].day, plan.placed[1].day,
        "two flats take two ways"
    );
}

#[test]
fn heat_goes_off_outside_the_season_only() {
    let mut input = input(vec![job(1, 5, "2026-12-01", "2027-05-31")]);
    input.heating_seasons = vec![(day("2026-10-01"), day("2027-03-31"))];
    input.jobs[0].demands.heat_off = true;
    for plan in both(&input) {
        assert!(plan.placed[0].day > day("2027-03-31"));
        let mut cold = plan.clone();
        cold.placed[0].day = day("2027-03-30");
        assert_eq!(rules(&input, &cold), [Rule::HeatOff]);
    }
    input.jobs[0].deadline = day("2027-03-31");
    assert_eq!(
        PlainRounds.plan(&input).unplaced[0].why,
        WhyNot::HeatingSeason
    );
}

#[test]
fn light_access_and_weekdays_bind() {
    let mut input = input(vec![job(1, 5, "2026-12-01", "2026-12-31")]);
    input.daylight = (0..60)
        .map(|n| (after(day("2026-11-30"), n), (540, 660)))
        .collect();
    input.jobs[0].demands.daylight = true;
    input.jobs[0].demands.weekdays = vec![2];
    input.jobs[0].demands.slots = vec![(570, 640), (700, 900)];
    for plan in both(&input) {
        // Wednesday 2 December; 60 minutes inside 09:30 to 10:40, while it is light.
        let placed = plan.placed[0];
        assert!((570..=580).contains(&placed.start_minute), "{placed:?}");
        assert_eq!(placed.day, day("2026-12-02"));
        let moved = |change: &dyn Fn(&mut RoundPlan)| {
            let mut bad = plan.clone();
            change(&mut bad);
            rules(&input, &bad)
        };
        assert_eq!(moved(&|p| p.placed[0].start_minute = 700), [Rule::Dark]);
        assert_eq!(moved(&|p| p.placed[0].start_minute = 590), [Rule::NoAccess]);
        assert_eq!(
            moved(&|p| p.placed[0].day = day("2026-12-03")),
            [Rule::NoAccess]
        );
    }
    input.jobs[0].demands.slots = vec![(570, 620)];
    assert_eq!(PlainRounds.plan(&input).unplaced[0].why, WhyNot::NoAccess);
}

#[test]
fn a_firm_has_its_own_days_and_hours_and_somebody_a_short_day() {
    let mut input = input(vec![job(1, 5, "2026-12-01", "2026-12-06")]);
    // Saturday morning alone; the bank holidays still bind.
    input.firms[0].week = Some([None, None, None, None, None, Some((480, 600)), None]);
    for plan in both(&input) {
        assert_eq!(plan.placed[0].day, day("2026-12-05"));
        assert!((480..=540).contains(&plan.placed[0].start_minute));
        let mut weekday = plan.clone();
        weekday.placed[0].day = day("2026-12-04");
        assert_eq!(rules(&input, &weekday), [Rule::NotWorking]);
        let mut late = plan.clone();
        late.placed[0].start_minute = 541;
        assert_eq!(rules(&input, &late), [Rule::OutsideHours]);
    }
    input.engineers[0].short = vec![(day("2026-12-05"), 500, 570)];
    for plan in both(&input) {
        assert!((500..=510).contains(&plan.placed[0].start_minute));
    }
    input.bank_holidays.insert(day("2026-12-05"));
    assert!(matches!(
        PlainRounds.plan(&input).unplaced[0].why,
        WhyNot::NoWorkingDay { .. }
    ));
}

#[test]
fn a_pair_and_a_flat_stay_where_they_stood() {
    let mut jobs: Vec<_> = (0..6u128)
        .map(|n| job(n + 1, 5, "2026-12-01", "2027-02-26"))
        .collect();
    for one in &mut jobs[..3] {
        one.demands.space = Some(id(70));
    }
    jobs[5].demands.pair = true;
    let mut input = input(jobs);
    input.engineers.push(engineer(11, 1, &[Covers::Gas]));
    let [_, before] = both(&input);
    let allowance = looks(200);
    let optimal = OptimalRounds {
        allowance: &allowance,
        seed: 1,
    };
    let (same, fewest) = optimal.mend(&input, &before);
    assert!(same.moved.is_empty() && fewest, "{:?}", same.moved);
    let pair = before.placed.iter().find(|p| p.second.is_some()).unwrap();
    let mut changed = input.clone();
    changed.engineers[1].away.push(pair.day);
    let allowance = looks(400);
    let optimal = OptimalRounds {
        allowance: &allowance,
        seed: 1,
    };
    let (mended, _) = optimal.mend(&changed, &before);
    assert_eq!(audit(&changed, &mended.plan), []);
    assert!(mended.moved.iter().any(|m| m.job == pair.job));
}

/// Six visits of 70 minutes with their way fill three weeks of 140: the seventh has no room. Every search is given as many
/// looks at the clock, so the same question has the same answer.
#[test]
fn a_day_more_buys_what_a_plan_with_that_day_costs_less() {
    let proven = |input: &RoundInput| {
        let allowance = looks(2_000);
        let optimal = OptimalRounds {
            allowance: &allowance,
            seed: 1,
        };
        let (plan, proof) = optimal.prove(input, &mut |_| ());
        (plan, proof.unwrap())
    };
    let more_time = |input: &RoundInput, plan: &RoundPlan, proof: &RoundProof| {
        let allowance = looks(2_000);
        let optimal = OptimalRounds {
            allowance: &allowance,
            seed: 1,
        };
        optimal.more_time(input, (plan, proof))
    };
    let jobs: Vec<_> = (0..7u128)
        .map(|n| job(n + 1, 5, "2026-12-07", "2026-12-24"))
        .collect();
    let mut input = input(jobs);
    input.firms[0].minutes_a_week = 140;
    let (plan, proof) = proven(&input);
    assert_eq!(plan.unplaced.len(), 1);
    let more = more_time(&input, &plan, &proof).expect("a week is full");
    assert_eq!((more.placed_more, more.day.minutes), (1, 480));
    let mut richer = input.clone();
    richer.extra = vec![more.day];
    let (with, cheaper) = proven(&richer);
    assert_eq!(audit(&richer, &with), []);
    assert!(with.unplaced.is_empty());
    assert_eq!(more.saves, proof.ours.cost - cheaper.ours.cost);
    assert!(
        !audit(&input, &with).is_empty(),
        "without that day its week is over"
    );
    // Where no week is full there is nothing to buy.
    input.firms[0].minutes_a_week = 2_000;
    let (plan, proof) = proven(&input);
    assert_eq!(more_time(&input, &plan, &proof), None);
}

/// By hand: 60 and 30 minutes back to back in one flat have one way of ten; 40 minutes for two are 100 with both ways. The
/// first firm's week is fuller in minutes, the second's in the share it gives.
#[test]
fn a_firms_week_holds_visits_and_ways_of_everybody_and_the_fullest_is_by_share() {
    let stop = |who: u128, firm: u128, start: u32, minutes: u32, space: u128| Stop {
        day: day("2026-12-02"),
        firm: id(firm),
        engineer: id(who),
        second: None,
        start,
        minutes,
        space: Some(id(space)),
    };
    let two = Stop {
        second: Some(id(11)),
        ..stop(10, 1, 700, 40, 2)
    };
    let next_week = Stop {
        day: day("2026-12-07"),
        ..stop(10, 1, 540, 190, 3)
    };
    let stops = [
        stop(10, 1, 540, 60, 1),
        stop(10, 1, 600, 30, 1),
        two,
        stop(12, 2, 540, 90, 3),
        next_week,
    ];
    let given = |firm, _| if firm == id(2) { 100 } else { 1_000 };
    let weeks = firm_weeks(&stops, 10, &given);
    let told: Vec<_> = weeks.iter().map(|w| (w.week, w.firm, w.minutes)).collect();
    assert_eq!(
        told,
        [
            (day("2026-11-30"), id(1), 200),
            (day("2026-11-30"), id(2), 100),
            (day("2026-12-07"), id(1), 200),
        ]
    );
    let most = fullest(&weeks).unwrap();
    assert_eq!(
        (most.firm, most.minutes, most.is_full()),
        (id(2), 100, true)
    );
    // Of two alike the earlier.
    let first = fullest(&[weeks[0], weeks[2]]).unwrap();
    assert_eq!(first.week, day("2026-11-30"));
    assert_eq!(fullest(&[]), None);
}

/// One engineer, one day, a job of an hour in each of two buildings: where the way takes 90 minutes the second begins 150 after
/// the first at the soonest, and the audit sees it begin sooner; a stated way of 15 lets it begin after 75. By hand.
#[test]
fn a_way_of_its_own_between_two_buildings_is_kept() {
    let mut input = input(vec![
        job(1, 5, "2026-12-01", "2026-12-01"),
        job(2, 6, "2026-12-01", "2026-12-01"),
    ]);
    let apart = |plan: &RoundPlan| -> u32 {
        let start = |n: u128| {
            let mut placed = plan.placed.iter();
            placed.find(|p| p.job == id(n)).unwrap().start_minute
        };
        start(1).abs_diff(start(2))
    };
    let close = both(&input).map(|plan| apart(&plan));
    assert!(close.iter().all(|apart| *apart >= 90), "{close:?}");
    for (minutes, least) in [(90, 150), (15, 75)] {
        input.ways = vec![Way {
            between: (id(5), id(6)),
            minutes,
        }];
        for plan in both(&input) {
            assert!(apart(&plan) >= least, "{minutes}: {plan:?}");
            let mut sooner = plan.clone();
            let first = plan.placed.iter().map(|p| p.start_minute).min().unwrap();
            for placed in sooner.placed.iter_mut().filter(|p| p.start_minute > first) {
                placed.start_minute = first + least - 1;
            }
            assert_eq!(rules(&input, &sooner), [Rule::Overlap]);
        }
    }
    // Ninety minutes do not fit between two hours of a day of three: one of them finds no room.
    input.ways[0].minutes = 90;
    input.engineers[0].short = vec![(day("2026-12-01"), 540, 720)];
    for plan in both(&input) {
        assert_eq!((plan.placed.len(), plan.unplaced.len()), (1, 1));
    }
}
