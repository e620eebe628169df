//! Dates of duties in a list: the last check and the day the next is due give every unit its deadline, undo takes them
//! back, and what contradicts is shown. The days follow the window rules of `inspection` (their own cases are elsewhere).
use std::collections::BTreeMap;
use std::fmt::Write;

use chrono::{Datelike, Months, NaiveDate};
use store::duties::Completion;
use terms::DutyId;
use usecases::import::{self, Code, Remedy};

use super::estate::{Estate, block, on, told};

/// The deadlines of the open duties of a rule, by unit number.
fn deadlines(estate: &Estate, rule: &str) -> BTreeMap<String, Option<NaiveDate>> {
    let numbers: BTreeMap<_, _> = estate
        .units()
        .into_iter()
        .map(|u| (u.id, u.number))
        .collect();
    let duties = estate
        .world()
        .acting(&estate.seat, |tx| Ok(tx.duties_now(None)?))
        .unwrap();
    duties
        .into_iter()
        .filter(|duty| duty.rule == rule)
        .filter_map(|duty| Some((numbers.get(&duty.unit)?.clone(), duty.deadline)))
        .collect()
}

/// The standing rows of one duty's record.
fn record(estate: &Estate, number: &str, rule: &str) -> Vec<Completion> {
    let unit = estate.unit(number).id;
    estate
        .world()
        .acting(&estate.seat, |tx| {
            let ids: Vec<DutyId> = tx
                .duties_of_units(&[unit])?
                .into_iter()
                .filter(|duty| duty.rule == rule)
                .map(|duty| duty.id)
                .collect();
            Ok(tx.completions_of(&ids, false)?)
        })
        .unwrap()
}

#[test]
fn three_hundred_units_with_their_last_gas_checks_get_three_hundred_deadlines() {
    let estate = Estate::bare();
    block(estate.world(), &estate.seat, "Alder House", (30, 10));
    let mut list = "Number,Flat,Kind,Last gas check,Next service\n".to_owned();
    let mut expected: BTreeMap<String, Option<NaiveDate>> = BTreeMap::new();
    for flat in 1..=300_u32 {
        // One a day, back from 20 November 2026, five days before today.
        let day = on("2026-11-20") - chrono::TimeDelta::days(i64::from(flat - 1));
        let service = on("2027-01-01") + chrono::TimeDelta::days(i64::from(flat % 28));
        writeln!(list, "B{flat},{flat},combi,{day},{service}").unwrap();
        // A first check on record: next due twelve months after it (29 February never among these days).
        expected.insert(format!("B{flat}"), day.checked_add_months(Months::new(12)));
    }
    let id = estate.send("agent before us.csv", list.as_bytes());
    let preview = estate.view(id).preview;
    assert!(preview.ready, "{:#?}", preview.problems);
    assert_eq!((preview.counts.new, preview.doubts.dated), (300, 600));
    estate.commit(id).unwrap();
    let found = deadlines(&estate, "G1");
    assert_eq!(found.len(), 300);
    assert_eq!(found, expected);
    let serviced = deadlines(&estate, "G4");
    assert!(
        serviced
            .values()
            .all(|by| by.is_some_and(|by| by.year() == 2027 && by.month() == 1))
    );
    assert_eq!(serviced["B5"], Some(on("2027-01-06")));
    let row = &record(&estate, "B7", "G1")[0];
    assert_eq!(row.done_on, Some(on("2026-11-14")));
    assert_eq!(row.import, Some(id));
    assert_eq!(
        row.evidence,
        "Brought in from the list “agent before us.csv”, row 8; the record itself is not here"
    );
    // The same list again says what is known already.
    let again = estate.look("agent before us 2.csv", list.as_bytes());
    assert_eq!((again.counts.same, again.counts.coming()), (300, 0));

    let would = estate.view(id).undo.unwrap();
    assert_eq!((would.units, would.dates), (300, 600));
    let came: Vec<_> = estate.units().iter().map(|unit| unit.id).collect();
    let undone = import::undo(estate.world(), &estate.seat, id, "undo").unwrap();
    assert_eq!(undone, would);
    assert!(deadlines(&estate, "G1").is_empty());
    let left = estate
        .world()
        .acting(&estate.seat, |tx| Ok(tx.duty_days(&came)?));
    assert_eq!(left.unwrap(), Vec::new(), "no date of it stands");
}

#[test]
fn dates_come_to_units_on_the_register_and_go_again() {
    let estate = Estate::new();
    estate.bring_in(
        "units.csv",
        "Number,Flat,Kind\nB1,1,combi\nB2,2,combi\nB3,3,HIU\n",
    );
    assert_eq!(deadlines(&estate, "G1")["B1"], None);
    // The second list comes a minute later: what a list opened is told by the step it was opened in.
    estate.database.clock.advance(chrono::TimeDelta::minutes(1));
    let list = "Number,Flat,Kind,Last gas check,Gas check due,Last service,Duty,Last done,Due by\n\
        B1,1,combi,2026-02-12,2027-03-15,,E1,2024-06-01,\n\
        B2,2,combi,,2026-11-30,2026-07-14,,,\n\
        B3,3,HIU,,,2026-01-20,,,\n";
    let id = estate.send("dates.csv", list.as_bytes());
    let preview = estate.view(id).preview;
    assert!(preview.ready, "{:#?}", preview.problems);
    assert_eq!((preview.counts.changed, preview.counts.new), (3, 0));
    assert_eq!(preview.changes.len(), 6, "{:#?}", preview.changes);
    estate.commit(id).unwrap();
    // Done on 12 February inside the window of 15 March, so 15 March stays (DUTIES §3, worked dates).
    assert_eq!(deadlines(&estate, "G1")["B1"], Some(on("2027-03-15")));
    assert_eq!(deadlines(&estate, "G1")["B2"], Some(on("2026-11-30")));
    assert_eq!(deadlines(&estate, "G4")["B2"], Some(on("2027-07-14")));
    assert_eq!(deadlines(&estate, "N5")["B3"], Some(on("2027-01-20")));
    // Fixed wiring: five years from the last inspection; the duty is opened by the list.
    assert_eq!(deadlines(&estate, "E1")["B1"], Some(on("2029-06-01")));

    let undone = import::undo(estate.world(), &estate.seat, id, "undo").unwrap();
    assert_eq!((undone.units, undone.restored, undone.dates), (0, 0, 6));
    assert_eq!(deadlines(&estate, "G1")["B1"], None);
    assert_eq!(deadlines(&estate, "N5")["B3"], None);
    assert!(
        deadlines(&estate, "E1").is_empty(),
        "what only the list had opened ends"
    );
}

#[test]
fn what_the_register_holds_later_stands_and_contradictions_are_told_by_row_and_column() {
    let estate = Estate::new();
    estate.bring_in(
        "units.csv",
        "Number,Flat,Kind,Fitted,Last gas check\nB1,1,combi,2015-05-05,2026-09-01\nB2,2,combi,,\nB3,3,EB,,\nB4,4,combi,,\n",
    );
    let before = deadlines(&estate, "G1");
    let list = "Number,Flat,Kind,Last gas check,Gas check due,Duty,Due by\n\
        B1,1,combi,2025-09-10,,,\n\
        B2,2,combi,Mar 2026,,,\n\
        B3,3,EB,2026-03-01,,,\n\
        B4,4,combi,2026-04-01,2027-08-01,Wall paint,2027-01-01\n";
    let id = estate.send("other.csv", list.as_bytes());
    let preview = estate.view(id).preview;
    assert_eq!(
        told(&preview),
        [
            (2, "Last gas check", "contradicts_record", "2025-09-10"),
            (3, "Last gas check", "date_unreadable", "Mar 2026"),
            (4, "Last gas check", "contradicts_record", "2026-03-01"),
            (5, "Gas check due", "contradicts_record", "2027-08-01"),
            (5, "Duty", "kind_unknown", "Wall paint"),
        ]
    );
    assert!(preview.problems[0].sentence.contains("1 September 2026"));
    assert_eq!(preview.counts.held, 4);
    assert!(estate.commit(id).is_err(), "nothing comes in by a guess");
    assert_eq!(deadlines(&estate, "G1"), before);
    // The register's date stands where the cell is taken as empty; the day of the check alone gives the next.
    estate.settle(
        id,
        Code::ContradictsRecord,
        "Gas check due",
        Some(Remedy::TakeAsEmpty),
    );
    estate.settle(
        id,
        Code::ContradictsRecord,
        "Last gas check",
        Some(Remedy::TakeAsEmpty),
    );
    estate.settle(
        id,
        Code::DateUnreadable,
        "Last gas check",
        Some(Remedy::LeaveOut),
    );
    estate.settle(id, Code::KindUnknown, "Duty", Some(Remedy::TakeAsEmpty));
    estate.commit(id).unwrap();
    let after = deadlines(&estate, "G1");
    assert_eq!((after["B1"], after["B2"]), (Some(on("2027-09-01")), None));
    assert_eq!(after["B4"], Some(on("2027-04-01")));
}

#[test]
fn checks_and_services_of_a_history_meet_their_duties() {
    let estate = Estate::new();
    estate.bring_in("units.csv", "Number,Flat,Kind\nB1,1,combi\nB2,2,combi\n");
    estate.database.clock.advance(chrono::TimeDelta::minutes(1));
    let history = "Unit no,Date,What,Duty,Words\n\
        B1,2024-03-10,gas safety check,,first\n\
        B1,2025-02-20,check,,second\n\
        B1,2026-01-30,service,,yearly\n\
        B1,Mar 2026,service,,no day\n\
        B2,2026-05-06,inspection,,of something\n\
        B2,2025-08-01,,E1,wiring\n";
    let id = estate.send("history.csv", history.as_bytes());
    let preview = estate.view(id).preview;
    assert!(preview.ready, "{:#?}", preview.problems);
    assert_eq!((preview.doubts.dated, preview.doubts.undated), (4, 1));
    estate.commit(id).unwrap();
    // First check 10 March 2024, next by 10 March 2025; met on 20 February inside its two months: the day stays.
    let g1 = deadlines(&estate, "G1");
    assert_eq!((g1["B1"], g1["B2"]), (Some(on("2026-03-10")), None));
    assert_eq!(deadlines(&estate, "G4")["B1"], Some(on("2027-01-30")));
    assert_eq!(deadlines(&estate, "E1")["B2"], Some(on("2030-08-01")));
    // An older check is kept and moves nothing; one so near a known one is shown beside it.
    estate.database.clock.advance(chrono::TimeDelta::minutes(1));
    let more = "Unit no,Date,What,Words\n\
        B1,2023-03-01,gas check,older\n\
        B1,2025-02-24,gas check,near\n";
    let later = estate.send("more.csv", more.as_bytes());
    let preview = estate.view(later).preview;
    assert_eq!(
        told(&preview),
        [(3, "What", "contradicts_record", "gas check")]
    );
    assert_eq!(preview.beside.len(), 1);
    assert_eq!(preview.doubts.overtaken, 1);
    estate.settle(
        later,
        Code::ContradictsRecord,
        "What",
        Some(Remedy::LeaveOut),
    );
    estate.commit(later).unwrap();
    assert_eq!(deadlines(&estate, "G1")["B1"], Some(on("2026-03-10")));
    import::undo(estate.world(), &estate.seat, later, "l").unwrap();
    let undone = import::undo(estate.world(), &estate.seat, id, "h").unwrap();
    assert_eq!(undone.dates, 4);
    assert_eq!(deadlines(&estate, "G1")["B1"], None);
    assert_eq!(deadlines(&estate, "G4")["B1"], None);
    assert!(deadlines(&estate, "E1").is_empty());
}

/// A row a duty: which duty, last done, due by.
#[test]
fn a_list_of_duties_gives_each_its_day() {
    let estate = Estate::new();
    estate.bring_in("units.csv", "Number,Flat,Kind\nB1,1,combi\nB2,2,combi\n");
    let list = "Unit no,Duty,Last done,Due by\n\
        B1,Gas safety check,2026-02-12,2027-03-15\n\
        B1,G4,2026-03-02,\n\
        B1,E1,2024-06-01,2030-01-01\n\
        B2,N5,2026-06-01,\n";
    let id = estate.send("duties.csv", list.as_bytes());
    let preview = estate.view(id).preview;
    assert_eq!(
        told(&preview),
        [
            (4, "Due by", "contradicts_record", "2030-01-01"),
            (5, "Duty", "contradicts_record", "N5"),
        ]
    );
    estate.settle(
        id,
        Code::ContradictsRecord,
        "Due by",
        Some(Remedy::TakeAsEmpty),
    );
    estate.settle(id, Code::ContradictsRecord, "Duty", Some(Remedy::LeaveOut));
    estate.commit(id).unwrap();
    assert_eq!(deadlines(&estate, "G1")["B1"], Some(on("2027-03-15")));
    assert_eq!(deadlines(&estate, "G4")["B1"], Some(on("2027-03-02")));
    assert_eq!(deadlines(&estate, "E1")["B1"], Some(on("2029-06-01")));
}

/// A check that the desk recorded stands on units a list brought: they cannot leave from under it.
#[test]
fn units_cannot_leave_from_under_a_check_recorded_since() {
    let estate = Estate::new();
    let list = "Number,Flat,Kind,Last gas check\nB1,1,combi,2025-12-01\n";
    let id = estate.send("units.csv", list.as_bytes());
    estate.commit(id).unwrap();
    let unit = estate.unit("B1").id;
    let done = usecases::duties::Done {
        on: on("2026-11-24"),
        check_complete: true,
        job: None,
        evidence: "record 12".to_owned(),
    };
    estate
        .world()
        .acting(&estate.seat, |tx| {
            usecases::duties::complete(tx, unit, "G1", &done)
        })
        .unwrap();
    assert_eq!(deadlines(&estate, "G1")["B1"], Some(on("2027-12-01")));
    let refused = import::undo(estate.world(), &estate.seat, id, "u");
    assert!(
        matches!(&refused, Err(usecases::Error::Conflict(s)) if s.contains("B1 (a check")),
        "{refused:?}"
    );
    assert_eq!(deadlines(&estate, "G1")["B1"], Some(on("2027-12-01")));
}

/// What is on record is asked of the units a list speaks of alone; however a row names its unit, it is asked of that one.
#[test]
fn a_history_is_held_against_the_record_of_the_units_it_speaks_of() {
    let estate = Estate::new();
    estate.bring_in(
        "units.csv",
        "Number,Flat,Kind,Serial,Last gas check\n\
         B1,1,combi,S-1,2026-02-12\nB2,2,combi,S-2,2026-02-13\nB3,3,combi,S-3,2026-02-14\n",
    );
    // Each a year before the check on record, by number, by serial and by place: none of them moves its deadline.
    let list = "Number,Serial,Flat,Date,What\nb 1,,,2025-02-12,check\n,s2,,2025-02-13,check\n,,Flat 03,2025-02-14,check\n";
    let preview = estate.look("history.csv", list.as_bytes());
    assert!(preview.ready, "{:#?}", preview.problems);
    assert_eq!(
        (
            preview.counts.new,
            preview.doubts.overtaken,
            preview.doubts.dated
        ),
        (3, 3, 0)
    );
    let one = estate.unit("B2").id;
    let days = estate
        .world()
        .acting(&estate.seat, |tx| Ok(tx.duty_days(&[one])?))
        .unwrap();
    assert!(days.iter().all(|day| day.unit == one), "{days:?}");
    assert!(days.iter().any(|day| day.done_on == Some(on("2026-02-13"))));
}
