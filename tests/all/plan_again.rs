//! Rounds that go on: each time a duty falls due, the rest of today when somebody falls ill, the rules held against what stands,
//! the year in pages, the ways between buildings. Estates invented; 25 November 2026 is today.
use terms::place::BuildingCard;
use terms::{BuildingId, Country, EngineerId, FirmId, JobId, JobKind, Role};
use usecases::plan::{self, PlannedVisit, RoundWish};
use usecases::{Error, work};
use uuid::Uuid;

use crate::duties::{Estate, day};
use crate::plan_demands::{crew, faultless, place, visits};
use crate::plan_estate::{due_together, person};
use crate::support::TestApp;

fn plain(page: String) -> String {
    page.replace('\u{a0}', " ")
}

/// Plant-room water is sampled every three months (the shipped rule H5, a calendar round, a fortnight either way). By hand: 20
/// January, April, July and October 2027 lie within the round; the next does not.
#[test]
fn a_duty_of_three_months_has_a_visit_each_time_it_falls_due() {
    let app = TestApp::start();
    let estate = Estate::over(&app.database.world, "Test Estate");
    person(&estate, "agent@test", Role::Agent, None);
    let flat = estate.flat(Some(true));
    let unit = estate.unit("PB", "EL-001", flat, None);
    for (rule, deadline) in [
        ("G5", "2027-08-20"),
        ("P3", "2027-08-20"),
        ("H5", "2027-01-20"),
    ] {
        estate.start(unit, rule, deadline);
    }
    crew(&estate, 1);
    place(&estate, "p1");
    faultless(&estate);
    let sampled = || -> Vec<PlannedVisit> {
        let mut found = visits(&estate);
        found.retain(|v| v.parts.iter().any(|p| p.rule.code == "H5"));
        found.sort_by_key(|v| v.row.nth);
        found
    };
    let all = sampled();
    let told: Vec<(i32, String)> = all
        .iter()
        .map(|v| (v.row.nth, v.row.deadline.to_string()))
        .collect();
    let by_hand = ["2027-02-03", "2027-05-04", "2027-08-03", "2027-11-03"];
    let by_hand: Vec<(i32, String)> = (1..).zip(by_hand.map(str::to_owned)).collect();
    assert_eq!(told, by_hand);
    for visit in &all {
        let on = visit.row.on_day.expect("it has a day");
        assert!((visit.row.window_first..=visit.row.deadline).contains(&on));
        assert_eq!(visit.late, None);
    }
    assert!(
        plan::place_visits(estate.world(), &estate.seat, "p2")
            .unwrap()
            .unchanged
    );
    // What follows is shown, moved and counted like any visit, and offered once the one before is made.
    let (next, second) = (&all[0], &all[1]);
    assert!(matches!(
        plan::offer_visit(estate.world(), &estate.seat, second.visit, "o1"),
        Err(Error::Conflict(_))
    ));
    let on = second.row.on_day.unwrap();
    let who = second.row.engineer.unwrap();
    let offered = plan::offer_day(estate.world(), &estate.seat, (on, who), "o2").unwrap();
    assert_eq!(offered, 0);
    let agent = app.signed_in("agent@test");
    let page = plain(agent.page(&format!("/rounds?from={on}")));
    assert!(page.contains("It follows the visit before it."), "{page}");
    let offer = |visit: Uuid| format!("/rounds/{visit}/offer");
    assert!(!page.contains(&offer(second.visit)), "{page}");
    assert!(plain(agent.page("/rounds")).contains(&offer(next.visit)));
    let refused = agent.post(&offer(second.visit), &[("once", "o3")]);
    assert_eq!(refused.status(), 409);
    // The next one becomes a job; those after it stay where they are.
    plan::offer_visit(estate.world(), &estate.seat, next.visit, "o4").unwrap();
    place(&estate, "p3");
    faultless(&estate);
    let stands = |visits: &[PlannedVisit]| -> Vec<(i32, Uuid, Option<chrono::NaiveDate>)> {
        let later = visits.iter().filter(|v| v.row.nth > 1);
        later.map(|v| (v.row.nth, v.visit, v.row.on_day)).collect()
    };
    assert_eq!(stands(&sampled()), stands(&all));
}

struct Day {
    app: TestApp,
    estate: Estate,
    firm: FirmId,
    people: Vec<EngineerId>,
}

/// Two engineers of one firm.
fn a_day() -> Day {
    let app = TestApp::start();
    let estate = Estate::over(&app.database.world, "Test Estate");
    person(&estate, "agent@test", Role::Agent, None);
    let (firm, people) = crew(&estate, 2);
    Day {
        app,
        estate,
        firm,
        people,
    }
}

impl Day {
    fn repair(&self, once: &str) -> JobId {
        let repair = work::OpenJob {
            kind: JobKind::Repair,
            space: self.estate.flat(Some(true)),
            unit: None,
            words: "no heating".to_owned(),
            due_on: None,
            duties: Vec::new(),
            minutes: Some(60),
        };
        work::open_job(self.estate.world(), &self.estate.seat, repair, once).unwrap()
    }

    /// A repair booked for today with the first of them.
    fn booked(&self, (from, until): (&str, &str), once: &str) -> JobId {
        let job = self.repair(&format!("{once} job"));
        let (world, seat) = (self.estate.world(), &self.estate.seat);
        let taken = work::PlaceForm {
            job,
            firm: self.firm,
            engineer: Some(self.people[0]),
            version: None,
        };
        work::place_with(world, seat, taken, &format!("{once} place")).unwrap();
        let booking = work::Booking {
            job,
            day: day("2026-11-25"),
            from: from.parse().unwrap(),
            until: until.parse().unwrap(),
            engineer: Some(self.people[0]),
            version: None,
        };
        work::book(world, seat, booking, &format!("{once} book")).unwrap();
        job
    }
}

/// At nine somebody is ill: the visit that began at half past eight is left, who could come to the one at two is said, and a new
/// fault has its time today with the other.
#[test]
fn the_rest_of_today_is_placed_when_somebody_falls_ill() {
    let of = a_day();
    let estate = &of.estate;
    let begun = of.booked(("08:30:00", "09:30:00"), "b1");
    let later = of.booked(("14:00:00", "15:00:00"), "b2");
    of.app
        .database
        .clock
        .set("2026-11-25T09:00:00Z".parse().unwrap());
    let fault = of.repair("f1");
    let agent = of.app.signed_in("agent@test");
    let who = of.people[0].to_string();
    let fields = [
        ("once", "a1"),
        ("away_engineer", who.as_str()),
        ("away_from", "2026-11-25"),
        ("why", "not well"),
    ];
    assert_eq!(agent.post("/rounds/away", &fields).status(), 303);
    let read = || plan::rounds(estate.world(), &estate.seat).unwrap();
    let found = read();
    let asked: Vec<JobId> = found.stand_ins.iter().map(|(job, _)| job.id).collect();
    assert_eq!(asked, [later], "{begun} has begun");
    let free = found.stand_ins[0].1.place.expect("the other is free then");
    assert_eq!(
        (free.day, free.start, free.engineer),
        (day("2026-11-25"), 14 * 60, of.people[1])
    );
    let stand = |fault: JobId| {
        let found = read();
        let mut calls = found.calls.iter();
        let call = calls
            .find(|(job, _)| job.id == fault)
            .expect("a call")
            .1
            .clone();
        call.place.expect("it has a time")
    };
    let today = stand(fault);
    assert_eq!(
        (today.day, today.engineer),
        (day("2026-11-25"), of.people[1])
    );
    // Half an hour from now at the soonest, and not while the other is at the promised visit.
    assert!(today.start >= 9 * 60 + 30, "{}", today.start);
    assert!(today.start + 60 <= 14 * 60 || today.start >= 15 * 60);
    let page = plain(agent.page("/rounds"));
    for said in [
        "is promised for Wednesday 25 November",
        "Fitter 1 of Copper &#38; Sons could come at that time, 14:00.",
        "Place them again with the rest of today",
    ] {
        assert!(page.contains(said), "“{said}” is not in {page}");
    }
    // Placed again, what was proposed for today stays there; from tomorrow on it would have moved.
    place(estate, "p2");
    assert_eq!(stand(fault), today);
    assert_eq!(agent.post("/rounds/today", &[("once", "t1")]).status(), 303);
    assert_eq!(stand(fault), today);
    // After the last hour nothing of today can be planned any more.
    of.app
        .database
        .clock
        .set("2026-11-25T16:20:00Z".parse().unwrap());
    let agent = of.app.signed_in("agent@test");
    assert_eq!(agent.post("/rounds/today", &[("once", "t2")]).status(), 303);
    assert!(stand(fault).day > day("2026-11-25"));
}

/// What nobody asks for today is placed from tomorrow on.
#[test]
fn without_being_asked_nothing_is_placed_today() {
    let of = a_day();
    let fault = of.repair("f1");
    place(&of.estate, "p1");
    let found = plan::rounds(of.estate.world(), &of.estate.seat).unwrap();
    let call = found.calls.iter().find(|(job, _)| job.id == fault);
    let stand = call.expect("a call").1.place.expect("a time");
    assert_eq!(stand.day, day("2026-11-26"));
}

#[test]
fn the_page_says_which_rules_the_standing_round_breaks() {
    let of = a_day();
    let estate = &of.estate;
    due_together(estate, 3, "2027-02-20");
    place(estate, "p1");
    let agent = of.app.signed_in("agent@test");
    let none = "Held against every rule afresh, it breaks none.";
    assert!(plain(agent.page("/rounds")).contains(none));
    let first = visits(estate).remove(0);
    let on = first.row.on_day.unwrap();
    let away = RoundWish::Away {
        engineer: first.row.engineer.unwrap(),
        from: on,
        until: on,
        why: "a course".to_owned(),
    };
    plan::ask_of_rounds(estate.world(), &estate.seat, away, "a1").unwrap();
    let page = plain(agent.page("/rounds"));
    assert!(!page.contains(none));
    let broken = format!("id=\"breaks-{}\"", first.visit);
    assert!(page.contains(&broken), "{page}");
    assert!(
        page.contains("nobody works that day, or the engineer is away"),
        "{page}"
    );
    assert_eq!(agent.post("/rounds/place", &[("once", "p2")]).status(), 303);
    let page = plain(agent.page("/rounds"));
    assert!(page.contains(none) && !page.contains(&broken), "{page}");
}

#[test]
fn the_year_is_drawn_in_pages() {
    let of = a_day();
    due_together(&of.estate, 45, "2027-02-20");
    place(&of.estate, "p1");
    assert_eq!(visits(&of.estate).len(), 45);
    let agent = of.app.signed_in("agent@test");
    let first = plain(agent.page("/rounds"));
    assert!(first.contains("visits 1 to 40 of 45"), "{first}");
    assert!(first.contains("visits=2#the-year"), "{first}");
    let second = plain(agent.page("/rounds?visits=2"));
    assert!(second.contains("visits 41 to 45 of 45"), "{second}");
    assert!(second.contains("The 40 visits before"), "{second}");
    // A page there is not: the last there is.
    assert!(plain(agent.page("/rounds?visits=9")).contains("visits 41 to 45 of 45"));
}

#[test]
fn the_ways_are_said_stated_and_taken_back() {
    let of = a_day();
    let estate = &of.estate;
    let agent = of.app.signed_in("agent@test");
    assert!(
        !agent.page("/rounds").contains("id=\"ways\""),
        "one building has no way"
    );
    let card = BuildingCard {
        id: BuildingId(Uuid::nil()),
        code: "OA".to_owned(),
        name: "Oak House".to_owned(),
        address: String::new(),
        country: Country::England,
        built_year: None,
        higher_risk: None,
        hardness_mg_l: None,
        asbestos_register: "unknown".to_owned(),
        note: String::new(),
    };
    let oak = estate
        .world()
        .acting(&estate.seat, |tx| Ok::<_, Error>(tx.add_building(&card)?))
        .unwrap();
    let (elm, oak) = (estate.building.to_string(), oak.to_string());
    let assumed = "from one building to another 30 minutes (common practice, no source)";
    let page = plain(agent.page("/rounds"));
    assert!(page.contains(assumed), "“{assumed}” is not in {page}");
    let state = |from: &str, to: &str, minutes: &str, once: &str| {
        let fields = [
            ("once", once),
            ("way_from", from),
            ("way_to", to),
            ("way_minutes", minutes),
        ];
        agent.post("/rounds/ways", &fields)
    };
    for (from, to, minutes, said) in [
        (
            elm.as_str(),
            oak.as_str(),
            "5",
            "From 10 to 240 minutes, please",
        ),
        (elm.as_str(), "", "40", "Choose both buildings, or neither"),
        (
            elm.as_str(),
            elm.as_str(),
            "40",
            "Choose two different buildings.",
        ),
        (elm.as_str(), oak.as_str(), "", "Say how many minutes."),
        (elm.as_str(), oak.as_str(), "far", "is not a number"),
    ] {
        let refused = state(from, to, minutes, "w0");
        assert_eq!(refused.status(), 422, "{said}");
        let page = plain(refused.text().unwrap());
        assert!(page.contains(said), "“{said}” is not in {page}");
        assert!(page.contains(&format!("<option value=\"{from}\" selected>")));
    }
    let ways = || plan::rounds(estate.world(), &estate.seat).unwrap().ways;
    assert!(ways().stated.is_empty());
    assert_eq!(state(&elm, &oak, "50", "w1").status(), 303);
    let stated = ways().stated;
    assert_eq!(stated.len(), 1);
    assert_eq!((stated[0].stated, stated[0].planned), (50, 50));
    assert!(plain(agent.page("/rounds")).contains("it takes 50 minutes."));
    // Stated the other way round it is the same way, and the last word stands.
    assert_eq!(state(&oak, &elm, "45", "w2").status(), 303);
    let stated = ways().stated;
    assert_eq!((stated.len(), stated[0].stated), (1, 45));
    assert_eq!(state("", "", "20", "w3").status(), 303);
    assert_eq!((ways().usual, ways().usual_stated), (20, true));
    let back = [
        ("once", "w4"),
        ("way_from", oak.as_str()),
        ("way_to", elm.as_str()),
    ];
    assert_eq!(agent.post("/rounds/ways/back", &back).status(), 303);
    assert!(ways().stated.is_empty());
    assert_eq!(
        agent.post("/rounds/ways/back", &[("once", "w5")]).status(),
        303
    );
    assert_eq!((ways().usual, ways().usual_stated), (30, false));
    // Another estate's buildings are not there.
    let other = Estate::over(&of.app.database.world, "Other Estate");
    person(&other, "other@test", Role::Agent, None);
    let stranger = of.app.signed_in("other@test");
    let fields = [
        ("once", "w6"),
        ("way_from", elm.as_str()),
        ("way_to", oak.as_str()),
        ("way_minutes", "40"),
    ];
    assert_eq!(stranger.post("/rounds/ways", &fields).status(), 404);
}
