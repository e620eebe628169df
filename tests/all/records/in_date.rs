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

/// A firm's own papers: stated on the page, held against the visit's day at booking in the words used of an engineer's.
#[test]
fn a_firm_s_own_papers_are_stated_and_stop_a_booking_past_their_last_day() {
    let estate = estate();
    let agent = estate.client(AGENT);
    let page = plain(&agent.page("/papers"));
    assert!(
        page.contains("Firm A: no liability insurance is on record."),
        "{page}"
    );
    // Nothing on record stops nothing: nobody has asked yet.
    booked(&estate, "2026-12-01");
    let firm = estate.firm_a.to_string();
    let paper = |once: &'static str, until: &'static str| {
        vec![
            ("once", once),
            ("firm", firm.as_str()),
            ("what", "insurance"),
            ("number", "PL-88"),
            ("from", "2026-01-01"),
            ("until", until),
        ]
    };
    let backwards = agent.post("/papers", &paper("p-0", "2025-12-31"));
    assert_eq!(backwards.status(), 422);
    let said = backwards.text().unwrap();
    assert!(said.contains("It ends before it begins.") && said.contains("value=\"PL-88\""));
    assert_eq!(
        agent.post("/papers", &paper("p-1", "2026-12-31")).status(),
        303
    );
    assert_eq!(
        agent.post("/papers", &paper("p-1", "2026-12-31")).status(),
        303
    );
    assert_eq!(estate.count("door.firm_papers"), 1);
    let page = plain(&agent.page("/papers"));
    assert!(
        page.contains("Firm A: liability insurance, number PL-88, in date to 31 December 2026."),
        "{page}"
    );
    let job = estate.annas(JobKind::Service, estate.boiler, Vec::new());
    let on = |day: &str| Booking {
        job,
        day: day.parse::<NaiveDate>().unwrap(),
        from: NaiveTime::from_hms_opt(9, 0, 0).unwrap(),
        until: NaiveTime::from_hms_opt(11, 0, 0).unwrap(),
        engineer: Some(estate.anna),
        version: None,
    };
    let anna = estate.seat_of(ANNA);
    let late = book(estate.world(), &anna, on("2027-01-01"), &fresh());
    let Err(usecases::Error::Invalid(wrongs)) = late else {
        panic!("the insurance ended the day before: {late:?}");
    };
    assert!(
        wrongs.iter().any(|w| w.field == "day"
            && w.sentence.contains(
                "asks for liability insurance; Firm A has none in date on 1 January 2027."
            )),
        "{wrongs:?}"
    );
    book(estate.world(), &anna, on("2026-12-31"), &fresh()).unwrap();
    // The same number with a later day stands in its place; another firm's office sees and states its own only.
    assert_eq!(
        agent.post("/papers", &paper("p-2", "2027-12-31")).status(),
        303
    );
    book(estate.world(), &anna, on("2027-01-01"), &fresh()).unwrap();
    let other = estate.client(OFFICE_B);
    assert!(!plain(&other.page("/papers")).contains("PL-88"));
    assert_eq!(
        other.post("/papers", &paper("p-3", "2028-12-31")).status(),
        404
    );
}
