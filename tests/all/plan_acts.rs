//! What people do with the rounds by form: move and pin a visit, state hours, propose another day. Bad input is answered at
//! its field with what was typed.
use terms::{Covers, Role};
use usecases::plan;

use crate::duties::Estate;
use crate::plan::engineer;
use crate::plan_estate::{Old, due_together, person};
use crate::support::{Client, TestApp};
use crate::work_estate::{AGENT, ANNA, BELLA, Loop, fresh};

/// Logs a call for a flat and offers it; the job's id.
fn offered(agent: &Client, flat: &str, firm: &str) -> String {
    let answer = post(
        agent,
        "/calls/new",
        &[
            ("space", flat),
            ("lost", "hot_water"),
            ("words", "lukewarm"),
        ],
    );
    assert_eq!(answer.status(), 303);
    let to = crate::support::server::location(&answer);
    let job = to.rsplit_once('/').unwrap().1.to_owned();
    let offer = [("firm", firm), ("hours", "48")];
    let answer = post(agent, &format!("/jobs/{job}/offer"), &offer);
    assert_eq!(answer.status(), 303);
    job
}

fn plain(page: String) -> String {
    page.replace('\u{a0}', " ")
}

fn post(client: &Client, path: &str, fields: &[(&str, &str)]) -> reqwest::blocking::Response {
    let once = fresh();
    let mut all = vec![("once", once.as_str())];
    all.extend_from_slice(fields);
    client.post(path, &all)
}

#[test]
fn a_visit_is_moved_and_pinned_by_form_and_bad_input_is_answered_at_its_field() {
    let app = TestApp::start();
    let estate = Estate::over(&app.database.world, "Test Estate");
    person(&estate, "agent@test", Role::Agent, None);
    due_together(&estate, 4, "2027-02-20");
    engineer(
        &estate,
        "Copper & Sons",
        1200,
        &[Covers::Gas, Covers::Water],
    );
    let agent = app.signed_in("agent@test");
    assert_eq!(post(&agent, "/rounds/place", &[]).status(), 303);
    let read = || plan::rounds(estate.world(), &estate.seat).unwrap();
    let visit = read().visits[0].visit;
    let of = || {
        read()
            .visits
            .into_iter()
            .find(|v| v.visit == visit)
            .unwrap()
    };
    let to = format!("/rounds/{visit}/move");
    for (day, start, said) in [
        ("soon", "", "is not a date"),
        ("", "", "Say which day."),
        // A Sunday.
        ("2027-02-14", "", "a Saturday, Sunday, bank holiday"),
        ("2027-06-01", "", "Its days run from"),
        ("2027-02-10", "05:00", "within the firm’s hours"),
    ] {
        let answer = post(&agent, &to, &[("day", day), ("start", start)]);
        assert_eq!(answer.status(), 422, "{day} {start}");
        let page = plain(answer.text().unwrap());
        assert!(page.contains(said), "“{said}” is not in {page}");
        if !day.is_empty() {
            assert!(
                page.contains(&format!("value=\"{day}\"")),
                "what was typed stays"
            );
        }
    }
    // Wednesday 10 February 2027.
    let answer = post(&agent, &to, &[("day", "2027-02-10"), ("start", "13:00")]);
    assert_eq!(answer.status(), 303);
    let now = of();
    assert_eq!(now.row.on_day.unwrap().to_string(), "2027-02-10");
    assert_eq!((now.row.start_minute, now.row.pinned), (Some(780), false));
    let pin = format!("/rounds/{visit}/pin");
    assert_eq!(post(&agent, &pin, &[("pinned", "yes")]).status(), 303);
    assert!(of().row.pinned);
    assert_eq!(post(&agent, "/rounds/afresh", &[]).status(), 303);
    assert_eq!(
        of().row.on_day.unwrap().to_string(),
        "2027-02-10",
        "a pinned visit stays"
    );
    assert_eq!(post(&agent, &pin, &[("pinned", "no")]).status(), 303);
    assert!(!of().row.pinned);
    let other = Estate::over(&app.database.world, "Other Estate");
    person(&other, "other@test", Role::Agent, None);
    let stranger = app.signed_in("other@test");
    assert_eq!(post(&stranger, &pin, &[("pinned", "yes")]).status(), 404);
    assert_eq!(post(&stranger, &to, &[("day", "2027-02-04")]).status(), 404);
}

#[test]
fn a_long_placing_is_stopped_and_keeps_what_it_found() {
    let app = TestApp::start();
    let estate = Estate::over(&app.database.world, "Test Estate");
    person(&estate, "agent@test", Role::Agent, None);
    for n in 0..6_u32 {
        let flat = estate.flat(Some(true));
        let unit = estate.unit("CB", &format!("EL-{n:03}"), flat, None);
        estate.start(unit, "G1", "2027-02-20");
    }
    engineer(
        &estate,
        "Copper & Sons",
        1200,
        &[Covers::Gas, Covers::Water],
    );
    estate
        .world()
        .acting(&estate.seat, |tx| Ok(tx.set("round_at_once_visits", "1")?))
        .unwrap();
    let agent = app.signed_in("agent@test");
    assert_eq!(
        post(&agent, "/rounds/stop", &[]).status(),
        409,
        "nothing is under way"
    );
    assert_eq!(post(&agent, "/rounds/afresh", &[]).status(), 303);
    assert!(
        agent
            .page("/rounds")
            .contains("Stop now, keep what is found")
    );
    assert_eq!(post(&agent, "/rounds/stop", &[]).status(), 303);
    let settings = jobs::Settings {
        bank_holidays_url: None,
        worker: "w1".to_owned(),
        mail: None,
        reader: None,
    };
    assert_eq!(jobs::run_queue(estate.world(), &settings), 1);
    let found = plan::rounds(estate.world(), &estate.seat).unwrap();
    assert!(found.stopped);
    assert!(
        found.visits.iter().all(|v| v.row.on_day.is_some()),
        "what was found is kept"
    );
    assert!(
        plan::round_breaches(estate.world(), &estate.seat)
            .unwrap()
            .is_empty()
    );
    assert!(
        agent
            .page("/rounds")
            .contains("The search was stopped before its time")
    );
    // The next placing is not that one.
    assert_eq!(post(&agent, "/rounds/afresh", &[]).status(), 303);
    assert_eq!(jobs::run_queue(estate.world(), &settings), 1);
    let under_way = plan::rounds(estate.world(), &estate.seat)
        .unwrap()
        .under_way;
    assert_eq!(under_way, None);
}

#[test]
fn a_firms_hours_are_stated_by_form_and_taken_back() {
    let app = TestApp::start();
    let estate = Estate::over(&app.database.world, "Test Estate");
    person(&estate, "agent@test", Role::Agent, None);
    let flat = estate.flat(Some(true));
    let unit = estate.unit("CB", "EL-001", flat, None);
    estate.start(unit, "G1", "2027-02-20");
    engineer(
        &estate,
        "Copper & Sons",
        1200,
        &[Covers::Gas, Covers::Water],
    );
    let agent = app.signed_in("agent@test");
    let firm = plan::rounds(estate.world(), &estate.seat)
        .unwrap()
        .names
        .firms[0]
        .id
        .to_string();
    let fields = |days: &'static [(&'static str, &'static str)], until: &'static str| {
        let mut all = vec![
            ("hours_firm", firm.as_str()),
            ("hours_from", "08:00"),
            ("hours_until", until),
            ("why", "their own week"),
        ];
        all.extend_from_slice(days);
        all
    };
    let wrong = post(&agent, "/rounds/hours", &fields(&[], "12:00"));
    assert_eq!(wrong.status(), 422);
    let page = wrong.text().unwrap();
    assert!(page.contains("Tick at least one day") && page.contains("their own week"));
    let wrong = post(
        &agent,
        "/rounds/hours",
        &fields(&[("hours_days", "1")], "late"),
    );
    assert_eq!(wrong.status(), 422);
    let right = post(
        &agent,
        "/rounds/hours",
        &fields(&[("hours_days", "1"), ("hours_days", "5")], "12:00"),
    );
    assert_eq!(right.status(), 303);
    let page = plain(agent.page("/rounds"));
    let said = "Copper &#38; Sons works on Tuesday and Saturday, 08:00 to 12:00";
    assert!(page.contains(said), "“{said}” is not in {page}");
    let ask = plan::rounds(estate.world(), &estate.seat).unwrap().asks[0]
        .ask
        .id;
    assert_eq!(
        post(&agent, &format!("/rounds/asks/{ask}/back"), &[]).status(),
        303
    );
    assert!(!plain(agent.page("/rounds")).contains(said));
}

#[test]
fn a_firm_proposes_another_day_and_the_desks_forms_begin_with_it() {
    let estate = Loop::start();
    let (agent, anna, bella) = (
        estate.client(AGENT),
        estate.client(ANNA),
        estate.client(BELLA),
    );
    let firm = estate.firm_a.to_string();
    let job = offered(&agent, &estate.flat.to_string(), &firm);
    assert!(anna.page("/on-offer").contains("or propose another day"));
    let path = format!("/on-offer/{job}/propose");
    for (day, until, said) in [
        (
            "",
            "11:00",
            "A day is named with its beginning and its end.",
        ),
        ("2027-01-12", "08:00", "wrong"),
        ("2020-01-12", "11:00", "over already"),
    ] {
        let fields = [
            ("about", job.as_str()),
            ("day", day),
            ("from", "09:00"),
            ("until", until),
            ("words", "a van short"),
        ];
        let answer = post(&anna, &path, &fields);
        assert_eq!(answer.status(), 422, "{day} {until}");
        let page = answer.text().unwrap();
        assert!(
            page.contains(said) && page.contains("a van short"),
            "“{said}” is not in {page}"
        );
    }
    let fields = [
        ("day", "2027-01-12"),
        ("from", "09:00"),
        ("until", "11:00"),
        ("words", "a van short"),
    ];
    let stranger = post(&bella, &path, &fields);
    assert_ne!(stranger.status(), 303, "it was not offered to that firm");
    assert_eq!(post(&anna, &path, &fields).status(), 303);
    assert!(!anna.page("/on-offer").contains(&job));
    let page = plain(agent.page(&format!("/jobs/{job}")));
    assert!(
        page.contains("could come from 09:00 on 12 January 2027 to 11:00: a van short"),
        "{page}"
    );
    assert!(
        page.contains(&format!("value=\"{firm}\" selected")),
        "the firm is chosen"
    );
    let placed = post(
        &agent,
        &format!("/jobs/{job}/place"),
        &[("firm", &firm), ("engineer", "")],
    );
    assert_eq!(placed.status(), 303);
    let page = agent.page(&format!("/jobs/{job}"));
    for value in ["2027-01-12", "09:00", "11:00"] {
        assert!(
            page.contains(&format!("value=\"{value}\"")),
            "{value} is not in {page}"
        );
    }
}

#[test]
fn a_year_is_forbidden_and_units_are_bound_by_form_and_bad_input_is_answered_at_its_field() {
    let app = TestApp::start();
    let old = Old::of(Estate::over(&app.database.world, "Test Estate"), 3);
    old.person("agent@test", Role::Agent);
    let agent = app.signed_in("agent@test");
    let to = format!("/programme/{}/tie", old.building());
    let ids: Vec<String> = old.units.iter().map(ToString::to_string).collect();
    let tie = |kind: &str, with: &str, year: &str, why: &str| {
        let fields = [
            ("kind", kind),
            ("units", ids[0].as_str()),
            ("with", with),
            ("tie_year", year),
            ("why", why),
        ];
        post(&agent, &to, &fields)
    };
    for (kind, with, year, why, said) in [
        ("forbid", "", "1999", "lift out", "lift out"),
        (
            "forbid",
            "",
            "2030",
            "",
            "Say why, for whoever reads the plan next year.",
        ),
        (
            "together",
            "",
            "",
            "one pump",
            "Choose two units or more that go together.",
        ),
        ("sometimes", "", "", "one pump", "Choose what to tie."),
    ] {
        let answer = tie(kind, with, year, why);
        assert_eq!(answer.status(), 422, "{kind} {year}");
        let page = answer.text().unwrap();
        assert!(
            page.contains(said) && page.contains("why-wrong"),
            "“{said}” is not in {page}"
        );
        assert!(page.contains(&format!("<option value=\"{}\" selected>", ids[0])));
    }
    assert_eq!(tie("forbid", "", "2030", "the lift is out").status(), 303);
    assert_eq!(
        tie("together", &ids[1], "", "one pump feeds both").status(),
        303
    );
    let page = plain(agent.page("/programme"));
    for said in [
        "is kept out of 2030: the lift is out",
        "go together, or none of them: one pump feeds both",
    ] {
        assert!(page.contains(said), "“{said}” is not in {page}");
    }
}
