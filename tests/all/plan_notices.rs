//! Notices of booked visits: on Today until they are sent, and again when the visit moves.
use terms::{Covers, JobId, LetterKind, Role, SentHow};
use usecases::{letters, plan, work};

use crate::duties::{Estate, day};
use crate::plan::engineer;
use crate::plan_estate::{Old, person};
use crate::support::TestApp;

fn plain(page: String) -> String {
    page.replace('\u{a0}', " ")
}

/// Offers the first visit of a fresh round, and writes down that its firm took it.
fn taken(estate: &Estate) -> JobId {
    let who = engineer(estate, "Copper & Sons", 1200, &[Covers::Gas, Covers::Water]);
    let (world, seat) = (estate.world(), &estate.seat);
    plan::place_visits(world, seat, "p1").unwrap();
    let round = plan::rounds(world, seat).unwrap();
    let job = plan::offer_visit(world, seat, round.visits[0].visit, "o1").unwrap();
    let take = work::PlaceForm {
        job,
        firm: round.names.firms[0].id,
        engineer: Some(who),
        version: None,
    };
    work::place_with(world, seat, take, "t1").unwrap();
    job
}

#[test]
fn a_notice_of_a_booked_visit_stands_on_today_until_it_is_sent_and_again_when_the_visit_moves() {
    let app = TestApp::start();
    let estate = Estate::over(&app.database.world, "Test Estate");
    person(&estate, "agent@test", Role::Agent, None);
    let flat = estate.flat(Some(true));
    let unit = estate.unit("CB", "EL-001", flat, None);
    for rule in ["G1", "G4", "H1"] {
        estate.start(unit, rule, "2027-02-20");
    }
    let job = taken(&estate);
    let (world, seat) = (estate.world(), &estate.seat);
    let book = |on: &str, once: &str| {
        let booking = work::Booking {
            job,
            day: day(on),
            from: "10:00:00".parse().unwrap(),
            until: "11:30:00".parse().unwrap(),
            engineer: None,
            version: None,
        };
        work::book(world, seat, booking, once).unwrap();
    };
    book("2027-01-20", "b1");
    let go = |date: &str| {
        app.database
            .clock
            .set(format!("{date}T09:00:00Z").parse().unwrap());
    };
    let due = || letters::notices_due(world, seat).unwrap();
    // A week before the visit is 13 January, and a week before that it comes to mind.
    for (date, stands) in [
        ("2026-11-25", false),
        ("2027-01-05", false),
        ("2027-01-06", true),
        ("2027-01-14", true),
    ] {
        go(date);
        assert_eq!(due().len(), usize::from(stands), "{date}");
    }
    assert_eq!(due()[0].by, day("2027-01-13"));
    go("2027-01-13");
    let page = || plain(app.signed_in("agent@test").page("/today"));
    let said = "notice to send by 13 January 2027 of the visit on";
    assert!(page().contains(said), "“{said}” is not in {}", page());
    let drafted = letters::letter(world, seat, (job, LetterKind::PlannedVisit), None).unwrap();
    assert_eq!(
        drafted.filled.day,
        Some(day("2027-01-20")),
        "it is filled in from the booking"
    );
    let sending = letters::Sending {
        job,
        kind: LetterKind::PlannedVisit,
        how: SentHow::Post,
        reference: String::new(),
        sent_at: world.now(),
        filled: drafted.filled,
    };
    letters::send(world, seat, sending, "s1").unwrap();
    assert!(due().is_empty());
    assert!(!page().contains("notice to send by"));
    book("2027-01-21", "b2");
    let again = due();
    assert_eq!((again.len(), again[0].named), (1, Some(day("2027-01-20"))));
}

/// A replacement booked into a flat takes its day as much as a service does: its notice is drafted too, without what stands on
/// the job for whoever orders it.
#[test]
fn a_notice_of_a_booked_replacement_stands_on_today_too() {
    let app = TestApp::start();
    let old = Old::of(Estate::over(&app.database.world, "Test Estate"), 6);
    old.person("agent@test", Role::Agent);
    old.money(7_000, 500, "m");
    let card = old.planned("p").plan.unwrap();
    let mut replaced = card.made.proven.programme.years.iter();
    let unit = replaced
        .find_map(|line| line.replacements.first())
        .expect("a replacement")
        .unit;
    let (world, seat) = (old.world(), &old.estate.seat);
    plan::adopt_plan(world, seat, (card.id, "so agreed".to_owned()), "a1").unwrap();
    let job = plan::open_planned_job(world, seat, (card.id, unit), "o1").unwrap();
    let (firm, people) = crate::plan_demands::crew(&old.estate, 1);
    let placing = work::PlaceForm {
        job,
        firm,
        engineer: Some(people[0]),
        version: None,
    };
    work::place_with(world, seat, placing, "p1").unwrap();
    let booking = work::Booking {
        job,
        day: day("2027-05-20"),
        from: "09:00:00".parse().unwrap(),
        until: "16:00:00".parse().unwrap(),
        engineer: Some(people[0]),
        version: None,
    };
    work::book(world, seat, booking, "b1").unwrap();
    let due = |date: &str| {
        let at = format!("{date}T09:00:00Z").parse().unwrap();
        app.database.clock.set(at);
        letters::notices_due(world, seat).unwrap()
    };
    assert!(due("2027-05-05").is_empty());
    let found = due("2027-05-06");
    assert_eq!(found.len(), 1);
    assert_eq!((found[0].job.id, found[0].by), (job, day("2027-05-13")));
    let page = plain(app.signed_in("agent@test").page("/today"));
    let said = "notice to send by 13 May 2027 of the visit on";
    assert!(page.contains(said), "“{said}” is not in {page}");
    let drafted = letters::letter(world, seat, (job, LetterKind::PlannedVisit), None).unwrap();
    assert_eq!(drafted.filled.day, Some(day("2027-05-20")));
    let why = &drafted.filled.why;
    assert!(why.starts_with("replacement of the "), "{why}");
    assert!(!why.contains("adopted plan"), "{why}");
}
