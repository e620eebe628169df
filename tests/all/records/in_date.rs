//! Papers in date: what runs out first, the visits it would stop, and a firm sees its own only.
use chrono::{NaiveDate, NaiveTime};
use terms::{JobKind, Qualification};
use usecases::founding::{NewEngineer, add_engineer};
use usecases::work::{Booking, book};

use super::{OFFICE_A, OFFICE_B, estate, plain};
use crate::work_estate::{AGENT, ANNA, Loop, fresh};

fn booked(estate: &Loop, day: &str) {
    let job = estate.annas(JobKind::Service, estate.boiler, Vec::new());
    let form = Booking {
        job,
        day: day.parse::<NaiveDate>().unwrap(),
        from: NaiveTime::from_hms_opt(9, 0, 0).unwrap(),
        until: NaiveTime::from_hms_opt(11, 0, 0).unwrap(),
        engineer: Some(estate.anna),
        version: None,
    };
    book(estate.world(), &estate.seat_of(ANNA), form, &fresh()).unwrap();
}

#[test]
fn what_runs_out_before_a_booked_visit_comes_first_and_names_it() {
    let estate = estate();
    booked(&estate, "2027-03-01");
    let page = plain(&estate.client(AGENT).page("/papers"));
    assert!(
        page.contains("No booked visit is stopped by one."),
        "{page}"
    );
    // Lars's gas paper ended yesterday: it is pressing, though nothing is booked to him.
    assert!(
        page.contains("Lars Lapsed, Firm A: gas work, number 200417, ran out on 24 November 2026.")
    );

    // Struck off early and the analyser sent away: as when the register or the house says so after the booking.
    estate.app.database.as_owner(&format!(
        "UPDATE door.qualifications SET until_on = '2027-02-28' WHERE covers = 'gas' AND engineer = '{}'; \
         UPDATE door.instruments SET calibrated_until = '2027-02-27' WHERE engineer = '{}'",
        estate.anna, estate.anna
    ));
    for (who, desk) in [(AGENT, true), (OFFICE_A, false)] {
        let page = plain(&estate.client(who).page("/papers"));
        let first = page.split("id=\"rest\"").next().unwrap();
        for said in [
            "Anna Arrow, Firm A: gas work, number 200417, in date to 28 February 2027.",
            "Anna Arrow, Firm A: calibration of Analyser FG-3, in date to 27 February 2027.",
            "It would stop J-00001 in Flat 14, Alder House on Monday 1 March, 09:00.",
        ] {
            assert!(
                first.contains(said),
                "{who}: “{said}” does not stand first: {page}"
            );
        }
        assert!(page.contains("One booked visit would be stopped"), "{page}");
        assert_eq!(
            page.contains("Bella Birch"),
            desk,
            "{who}: another firm's papers"
        );
    }
    let other = plain(&estate.client(OFFICE_B).page("/papers"));
    assert!(other.contains("Bella Birch") && !other.contains("Anna Arrow"));
    assert!(!other.contains("J-00001"), "another firm's visit");
}

#[test]
fn a_renewed_paper_stands_for_the_old_one_and_a_missing_one_is_named() {
    let estate = estate();
    let day = |text: &str| text.parse::<NaiveDate>().unwrap();
    let paper = |number: &str, from: &str, until: &str| Qualification {
        covers: terms::Covers::Gas,
        number: number.to_owned(),
        from_on: day(from),
        until_on: day(until),
    };
    add_engineer(
        estate.world(),
        &NewEngineer {
            firm: estate.firm_a,
            name: "Rhona Renewed".to_owned(),
            account: None,
            qualifications: vec![
                paper("300001", "2020-01-01", "2026-12-01"),
                paper("300001", "2026-12-02", "2031-12-01"),
            ],
            instruments: Vec::new(),
        },
    )
    .unwrap();
    booked(&estate, "2027-03-01");
    estate.app.database.as_owner(&format!(
        "DELETE FROM door.qualifications WHERE covers = 'gas' AND engineer = '{}'",
        estate.anna
    ));
    let page = plain(&estate.client(AGENT).page("/papers"));
    assert!(
        page.contains(
            "Rhona Renewed, Firm A: gas work, number 300001, in date to 1 December 2031."
        )
    );
    assert!(
        !page.contains("1 December 2026"),
        "the renewed one says it all"
    );
    assert!(
        page.contains("asks for gas work, and no such paper of Anna Arrow, Firm A, is on record."),
        "{page}"
    );
}
