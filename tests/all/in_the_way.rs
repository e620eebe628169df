//! Something is in the way on the road: who is told, what moves, and what the desk sees of it.
use chrono::{NaiveDate, NaiveTime};
use terms::{JobId, JobKind, JobState};
use usecases::work::{self, Booking};

use crate::support::{Browser, Line, Width};
use crate::work_estate::{AGENT, ANNA, ARNO, BELLA, Loop, fresh};

/// A job of Anna's, booked for today from an hour until the next.
fn booked(estate: &Loop, unit: terms::UnitId, hour: u32) -> JobId {
    let job = estate.annas(JobKind::Survey, unit, Vec::new());
    let time = |hour| NaiveTime::from_hms_opt(hour, 0, 0).unwrap();
    let slot = Booking {
        job,
        day: NaiveDate::from_ymd_opt(2026, 11, 25).unwrap(),
        from: time(hour),
        until: time(hour + 1),
        engineer: None,
        version: None,
    };
    work::book(estate.world(), &estate.seat_of(ANNA), slot, &fresh()).unwrap();
    job
}

fn from(estate: &Loop, job: JobId) -> String {
    let (from, _) = estate.job(job).booked.expect("a slot");
    from.format("%H:%M").to_string()
}

#[test]
fn being_late_moves_the_further_visits_of_today_and_asks_for_everybody_to_be_told() {
    let estate = Loop::start();
    let first = booked(&estate, estate.boiler, 9);
    let second = booked(&estate, estate.cylinder, 11);
    let anna = estate.client(ANNA);
    let path = format!("/sheet/{first}/in-the-way");
    assert!(anna.page(&path).contains("Something is in the way"));
    let late = format!("{path}/late");
    assert_eq!(anna.post(&late, &[("minutes", "soon")]).status(), 422);
    assert_eq!(anna.post(&late, &[("minutes", "900")]).status(), 422);
    let once = fresh();
    let asked = [("once", once.as_str()), ("minutes", "40")];
    assert_eq!(anna.post(&late, &asked).status(), 303);
    assert_eq!(
        anna.post(&late, &asked).status(),
        303,
        "sent twice, moved once"
    );
    assert_eq!(
        (from(&estate, first), from(&estate, second)),
        ("09:40".to_owned(), "11:40".to_owned())
    );
    assert_eq!(estate.count("estate.tellings WHERE whom = 'resident'"), 2);
    assert_eq!(estate.count("estate.tellings WHERE whom = 'office'"), 1);
    let agent = estate.client(AGENT);
    let today = agent.page("/today");
    for said in [
        "To be told",
        "Peregrine Quill, 01632 960014",
        "now from 09:40 to 10:40",
        "2 visits of today moved",
    ] {
        assert!(today.contains(said), "“{said}” is not on Today");
    }
    let waiting = work::to_tell(estate.world(), &estate.seat_of(AGENT)).unwrap();
    let address = format!("/today/told/{}", waiting[0].telling.id);
    assert_eq!(agent.post(&address, &[]).status(), 303);
    assert_eq!(agent.post(&address, &[]).status(), 404, "it waits no more");
    assert_eq!(estate.count("estate.tellings WHERE told_at IS NULL"), 2);
    let bella = estate.client(BELLA);
    assert_eq!(bella.get(&path).status(), 404);
    assert_eq!(bella.post(&late, &[("minutes", "40")]).status(), 404);
}

#[test]
fn the_rest_of_the_day_goes_back_and_what_is_needed_reaches_the_office() {
    let estate = Loop::start();
    let first = booked(&estate, estate.boiler, 9);
    let second = booked(&estate, estate.cylinder, 11);
    let anna = estate.client(ANNA);
    let path = format!("/sheet/{first}/in-the-way");
    let needed = format!("{path}/needed");
    assert_eq!(
        anna.post(&needed, &[("needed", "second_person")]).status(),
        422
    );
    let asked = [
        ("needed", "second_person"),
        ("needed_words", "the cylinder is heavy"),
    ];
    assert_eq!(anna.post(&needed, &asked).status(), 303);
    let wrong = [
        ("needed", "wrong_part"),
        ("needed_words", "left-hand valve"),
    ];
    assert_eq!(anna.post(&needed, &wrong).status(), 303);
    let today = estate.client(AGENT).page("/today");
    assert!(today.contains("A second person is needed: the cylinder is heavy."));
    assert!(today.contains("The part that was brought is wrong: left-hand valve."));
    let back = format!("{path}/hand-back");
    assert_eq!(anna.post(&back, &[("back_reason", " ")]).status(), 422);
    assert_eq!(
        anna.post(&back, &[("back_reason", "the van broke down")])
            .status(),
        303
    );
    for job in [first, second] {
        let stands = estate.job(job);
        assert_eq!(
            (stands.state, stands.firm, stands.engineer, stands.booked),
            (JobState::ToPlace, None, None, None)
        );
    }
    assert_eq!(estate.count("estate.tellings WHERE whom = 'resident'"), 2);
}

#[test]
fn a_colleague_of_the_firm_takes_over_and_nobody_else_can() {
    let estate = Loop::start();
    let job = booked(&estate, estate.boiler, 9);
    let anna = estate.client(ANNA);
    let path = format!("/sheet/{job}/in-the-way/colleague");
    let id_of = |email| estate.seat_of(email).engineer().unwrap().to_string();
    let bella = id_of(BELLA);
    assert_eq!(
        anna.post(&path, &[("engineer", bella.as_str())]).status(),
        422
    );
    let arno = id_of(ARNO);
    assert_eq!(
        anna.post(&path, &[("engineer", arno.as_str())]).status(),
        303
    );
    let stands = estate.job(job);
    assert_eq!(stands.engineer.unwrap().to_string(), arno);
    assert_eq!(stands.state, JobState::Booked, "it stands as it stood");
    let page = estate.client(AGENT).page(&format!("/jobs/{job}"));
    assert!(page.contains("Arno Alder takes over from Anna Arrow."));
}

#[test]
fn on_the_phone_it_is_one_screen() {
    let estate = Loop::start();
    let job = booked(&estate, estate.boiler, 9);
    let browser = Browser::open(&estate.app.address, "in-the-way", Width::Phone);
    browser.come_in_as("Anna Arrow");
    browser.go(&format!("/sheet/{job}"));
    browser.press("Something is in the way");
    browser.arrives("/in-the-way");
    browser.shot("in-the-way");
    browser.type_in("minutes", "25");
    browser.press("Tell them");
    browser.arrives("/my-day");
    assert!(browser.words().contains("The office tells the residents."));
    assert_eq!(from(&estate, job), "09:25");
}

/// Where there is no signal what is said is kept on the phone, in order, and reaches the office from whatever page is
/// open when there is.
#[test]
fn without_signal_it_is_kept_on_the_phone_and_told_as_soon_as_there_is() {
    let estate = Loop::start();
    let first = booked(&estate, estate.boiler, 9);
    let second = booked(&estate, estate.cylinder, 11);
    let browser = Browser::open(&estate.app.address, "in-the-way-no-signal", Width::Phone);
    browser.come_in_as("Anna Arrow");
    browser.go(&format!("/sheet/{first}"));
    browser.press("I am at the unit");
    browser.arrives("/readings");
    browser.press("Something is in the way");
    browser.arrives("/in-the-way");
    browser.signal(false);
    browser.type_in("minutes", "25");
    browser.press("Tell them");
    browser.until("the first is kept", || {
        browser
            .words()
            .contains("No signal: what you said is kept on this phone.")
    });
    browser.choose("needed", "wrong_part");
    browser.type_in("needed_words", "left-hand valve");
    browser.press("Ask the office");
    browser.until("both are kept", || {
        browser
            .words()
            .contains("No signal: 2 things you said are kept on this phone.")
    });
    browser.shot("kept");
    assert_eq!(
        from(&estate, second),
        "11:00",
        "the office knows nothing yet"
    );
    assert_eq!(estate.count("estate.tellings"), 0);
    browser.signal(true);
    browser.until("the office has it", || {
        browser
            .words()
            .contains("The office has what you said was in the way.")
    });
    assert_eq!(from(&estate, second), "11:25");
    assert_eq!(estate.count("estate.tellings WHERE whom = 'resident'"), 1);
    let wrong = "estate.tellings WHERE words LIKE '%brought is wrong: left-hand valve.'";
    assert_eq!(estate.count(wrong), 1, "once");
    // With signal it goes as any form does, and what cannot be is told at its field.
    browser.type_in("minutes", "900");
    browser.press("Tell them");
    browser.until("it is refused", || {
        browser.words().contains("Between 5 minutes and 8 hours")
            || browser
                .words()
                .contains("is not a number between 5 and 480")
    });
}

/// In a basement the page is asked for only once there is no signal: it lies on the phone with the sheet's other pages.
#[test]
fn the_page_itself_is_there_without_signal() {
    let estate = Loop::start();
    let first = booked(&estate, estate.boiler, 9);
    let second = booked(&estate, estate.cylinder, 11);
    let anna = estate.seat_of(ANNA);
    usecases::visit::arrive(estate.world(), &anna, first, &fresh()).unwrap();
    let line = Line::to(&estate.app.address);
    let browser = Browser::open(&line.address, "in-the-way-basement", Width::Phone);
    browser.come_in_as("Anna Arrow");
    browser.go(&format!("/sheet/{first}/work"));
    browser.until("the sheet's pages are kept", || {
        browser.has("html[data-kept]")
    });
    line.cut();
    browser.press("Something is in the way");
    browser.arrives("/in-the-way");
    browser.type_in("minutes", "30");
    browser.press("Tell them");
    browser.until("it is kept", || {
        browser
            .words()
            .contains("No signal: what you said is kept on this phone.")
    });
    assert_eq!(from(&estate, second), "11:00");
    line.mend();
    browser.until("the office has it", || from(&estate, second) == "11:30");
}
