//! Worked clocks of the trade file on duties, section 3, and real hours across the clock changes.
#![expect(
    clippy::expect_used,
    reason = "a helper of a test stops at what cannot be"
)]

use chrono::NaiveDate;
use inspection::RuleBook;
use inspection::clock::{
    AwaabKind, Basis, ClockState, Deadline, Flag, HoursQuery, LocalTime, Notice, Pause,
    ResponseQuery, Section20Query, ThresholdQuery, WorkingDays, awaab, hours, response,
    right_to_repair, section20, section20_threshold,
};

fn day(text: &str) -> NaiveDate {
    text.parse().expect("a date")
}

fn at(text: &str) -> LocalTime {
    LocalTime::parse(text).expect("a wall time")
}

fn book() -> &'static RuleBook {
    RuleBook::shipped().expect("the shipped book")
}

// Published summaries: reported Friday 19 December 2025, bank holidays on 25, 26 December, 1 January.
#[test]
fn hazard_clocks() {
    let england = WorkingDays::england();
    let aware = at("2025-12-19T10:00");
    let clock = awaab(
        &england,
        AwaabKind::Significant,
        "damp_and_mould",
        aware,
        None,
    );
    assert_eq!(clock.investigate_by, Some(Deadline::On(day("2026-01-07"))));
    assert_eq!(clock.summary_by, Some(day("2026-01-12")));
    assert_eq!(clock.safety_work_by, Some(day("2026-01-14")));
}

// Law text read: SI 1994/133; 1 working day from 1 November to 30 April, else 3.
#[test]
fn right_to_repair_by_season() {
    let england = WorkingDays::england();
    for (on, due) in [("2025-11-14", "2025-11-17"), ("2026-06-10", "2026-06-15")] {
        let clock = right_to_repair(
            book(),
            &england,
            "england",
            "heating_or_hot_water_loss",
            day(on),
        );
        assert_eq!(clock.expect("listed").due, Some(day(due)), "{on}");
    }
    let other = right_to_repair(
        book(),
        &england,
        "scotland",
        "heating_or_hot_water_loss",
        day("2026-06-10"),
    );
    assert_eq!(other.expect("answered").due, None);
}

// Published page: notice received 2 March 2026 ends 31 March; the tribunal's case of 2011 was one
// day short.
#[test]
fn thirty_days_begin_with_the_day_of_service() {
    let notice = |received: &str, stated: Option<&str>| Notice {
        received_on: Some(day(received)),
        posted_on: None,
        post_working_days: 2,
        stated_end: stated.map(day),
    };
    let ask = |intention| {
        let query = Section20Query {
            intention: Some(intention),
            estimates: None,
            contract_on: None,
            lowest_or_nominated: false,
        };
        section20(&WorkingDays::england(), &query)
    };
    assert_eq!(
        ask(notice("2026-03-02", None)).intention_ends,
        Some(day("2026-03-31"))
    );
    let short = ask(notice("2011-03-18", Some("2011-04-15")));
    assert_eq!(
        (short.intention_short_by_days, short.flags),
        (1, vec![Flag::IntentionShort])
    );
}

// DUTIES section 3: twelve equal flats, over £3,000; largest share 11.5 %, over £2,173.91.
#[test]
fn a_penny_decides_the_consultation() {
    let ask = |pence, shares: &[(i64, i64)]| {
        let query = ThresholdQuery {
            cost_ex_vat_pence: pence,
            vat_percent: 0.0,
            shares: shares.to_vec(),
            threshold_pence: 25_000,
        };
        section20_threshold(&query).map(|t| t.consult)
    };
    assert_eq!(ask(300_000, &[(1, 12); 12]), Ok(false));
    assert_eq!(ask(300_001, &[(1, 12); 12]), Ok(true));
    assert_eq!(ask(217_391, &[(115, 1000), (85, 1000)]), Ok(false));
    assert_eq!(ask(217_392, &[(115, 1000), (85, 1000)]), Ok(true));
    for odd in [vec![], vec![(1, 0)], vec![(-1, 12)], vec![(i64::MAX, 1)]] {
        assert!(ask(300_000, &odd).is_err(), "{odd:?}");
    }
}

fn twenty_four(start: &str, basis: Basis) -> HoursQuery {
    HoursQuery {
        start_local: at(start),
        hours: 24.0,
        basis,
        pauses: Vec::new(),
        finished_local: None,
        now_local: None,
    }
}

// Own computation: hours are real hours, so a wall clock moves with the season.
#[test]
fn hours_are_real_hours() {
    for (start, due) in [
        ("2026-03-28T20:00", "2026-03-29T21:00"),
        ("2026-10-24T20:00", "2026-10-25T19:00"),
        ("2026-01-16T15:30", "2026-01-17T15:30"),
    ] {
        let clock = hours(&twenty_four(start, Basis::Law)).expect("hours");
        assert_eq!(clock.deadline_local, at(due), "{start}");
    }
    let odd = HoursQuery {
        hours: f64::NAN,
        ..twenty_four("2026-01-16T15:30", Basis::Law)
    };
    assert!(hours(&odd).is_err());
}

// DUTIES section 5: failed access does not stop a clock; in a contract a resident's wish does.
#[test]
fn only_named_pauses_stop_only_a_contract() {
    let ask = |basis, reason: &str| {
        let mut query = twenty_four("2026-01-16T15:30", basis);
        query.pauses = vec![Pause {
            from: at("2026-01-16T18:00"),
            to: at("2026-01-17T08:00"),
            reason: reason.to_owned(),
        }];
        query.now_local = Some(at("2026-01-17T16:00"));
        hours(&query).expect("hours")
    };
    assert_eq!(
        ask(Basis::Contract, "no_access").state,
        Some(ClockState::Late)
    );
    assert_eq!(
        ask(Basis::Law, "resident_asked_later").state,
        Some(ClockState::Late)
    );
    let paused = ask(Basis::Contract, "resident_asked_later");
    assert_eq!(
        (paused.state, paused.paused_minutes),
        (Some(ClockState::Running), 840)
    );
}

// DUTIES section 4 (common practice, no source; the cap is law text read).
#[test]
fn response_times_with_and_without_the_law() {
    let ask = |report: &str, when: &str, vulnerable, council| {
        let query = ResponseQuery {
            country: "england".to_owned(),
            report: report.to_owned(),
            reported_local: at(when),
            vulnerable,
            council_secure_tenant: council,
        };
        response(book(), &WorkingDays::england(), &query).expect("listed")
    };
    let winter = ask("no_heat_or_hot_water", "2026-01-16T15:30", false, false);
    assert_eq!(winter.attend_by, Some(Deadline::At(at("2026-01-17T15:30"))));
    assert_eq!(
        winter.sentence(),
        "Attend by 15:30 on 17 January 2026; finish by 21 January 2026."
    );
    let sooner = ask("no_heat_or_hot_water", "2026-01-16T15:30", true, true);
    assert_eq!(sooner.attend_by, Some(Deadline::At(at("2026-01-16T19:30"))));
    assert_eq!(sooner.finish_by, Some(Deadline::On(day("2026-01-19"))));
    assert!(sooner.right_to_repair_cap);
    let gas = ask("gas_smell_or_co", "2026-01-16T15:30", false, false);
    assert!(
        gas.sentence()
            .starts_with("First: ring the gas emergency service")
    );
}
