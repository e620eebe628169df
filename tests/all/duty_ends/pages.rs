//! The same on the desk's pages.
use terms::Role;
use usecases::duties;
use usecases::founding::{self, NewPerson};

use super::tank;
use crate::duties::{Estate, day};
use crate::support::TestApp;

#[test]
fn the_desk_does_all_of_it_on_its_pages() {
    let app = TestApp::start();
    let estate = Estate::over(&app.database.world, "Test Estate");
    for (email, role) in [("agent@ends", Role::Agent), ("owner@ends", Role::Landlord)] {
        let person = NewPerson {
            email: format!("{email}.test"),
            name: "Somebody".to_owned(),
            password: usecases::door::DEMO_PASSWORD.to_owned(),
            demo: true,
            estate: estate.seat.estate(),
            role,
            firm: None,
            buildings: None,
        };
        founding::add_person(estate.world(), &person).unwrap();
    }
    let (agent, owner) = (
        app.signed_in("agent@ends.test"),
        app.signed_in("owner@ends.test"),
    );
    let flat = estate.flat(Some(true));
    let old = estate.unit("GB", "EL-001", flat, None);
    estate.start(old, "G1", "2027-07-20");
    let new = estate.unit("CB", "EL-002", flat, Some("2026-06-01"));
    let page = agent.page("/duties").replace('\u{a0}', " ");
    assert!(
        page.contains("It can line up once with 20 July 2027"),
        "{page}"
    );
    assert!(page.contains("Line it up with 20 July"));
    assert!(
        !owner.page("/duties").contains("line up"),
        "it is the desk's to say"
    );
    let duty = estate.proved(new, "G1").card.id.to_string();
    let at = format!("/duties/{new}/line-up");
    assert_eq!(
        owner.post(&at, &[("once", "x"), ("duty", &duty)]).status(),
        404
    );
    assert_eq!(
        agent.post(&at, &[("once", "l1"), ("duty", &duty)]).status(),
        303
    );
    assert_eq!(
        agent.post(&at, &[("once", "l2"), ("duty", &duty)]).status(),
        409
    );
    assert_eq!(estate.deadline(new, "G1"), Some(day("2027-07-20")));
    let proof = agent.page(&format!("/duties/{new}")).replace('\u{a0}', " ");
    assert!(proof.contains("moved once to line up with the flat") && !proof.contains("Line it up"));

    let events = |fields: &[(&str, &str)]| agent.post("/duties/events", fields);
    let building = estate.building.to_string();
    let space = flat.to_string();
    let form = |on: &'static str, once: &'static str| {
        vec![
            ("once", once),
            ("building", building.as_str()),
            ("space", space.as_str()),
            ("happening", "tenancy_begins"),
            ("on", on),
            ("words", "keys on Friday"),
        ]
    };
    let wrong = events(&form("soon", "e1"));
    assert_eq!(wrong.status(), 422);
    let kept = wrong.text().unwrap();
    assert!(kept.contains("is not a date") && kept.contains("keys on Friday"));
    assert_eq!(events(&form("2026-12-04", "e2")).status(), 303);
    let list = agent.page("/duties/events").replace('\u{a0}', " ");
    assert!(
        list.contains("alarms tested by Friday 4 December 2026."),
        "{list}"
    );
    let id = duties::event_lines(estate.world(), &estate.seat).unwrap()[0]
        .duty
        .id;
    let at = format!("/duties/events/{id}/done");
    assert_eq!(owner.get(&format!("/duties/events/{id}")).status(), 404);
    assert_eq!(
        agent
            .post(
                &at,
                &[("once", "d1"), ("on", "2026-11-25"), ("evidence", "")]
            )
            .status(),
        422
    );
    let done = [
        ("once", "d2"),
        ("on", "2026-11-25"),
        ("evidence", "handed over"),
    ];
    assert_eq!(agent.post(&at, &done).status(), 303);
    assert_eq!(agent.get("/duties/events/nonsense").status(), 404);

    let valve = estate.unit("TMV", "EL-003", flat, Some("2026-11-02"));
    let page = agent.page(&format!("/duties/{valve}"));
    assert!(page.contains("It serves somebody in care"));
    assert_eq!(
        agent
            .post(&format!("/duties/{valve}/care"), &[("once", "v1")])
            .status(),
        303
    );
    let page = agent
        .page(&format!("/duties/{valve}"))
        .replace('\u{a0}', " ");
    assert!(
        page.contains("Enter a test") && page.contains("28 December 2026"),
        "eight weeks on"
    );
    let duty = estate.proved(valve, "V1").card.id.to_string();
    let test = |moved: &str, once: &str| {
        agent.post(
            &format!("/duties/{valve}/test"),
            &[
                ("once", once),
                ("duty", &duty),
                ("on", "2026-11-25"),
                ("moved_k", moved),
                ("evidence", "r 1"),
            ],
        )
    };
    assert_eq!(test("a bit", "m1").status(), 422);
    assert_eq!(test("−0,5", "m2").status(), 303);
    let tank = tank(&estate, "EL-T1");
    let duty = estate.proved(tank, "L1").card.id.to_string();
    let review = agent.post(
        &format!("/duties/{tank}/review"),
        &[
            ("once", "r1"),
            ("duty", &duty),
            ("on", "2026-11-24"),
            ("words", "a new tank lid"),
        ],
    );
    assert_eq!(review.status(), 303);
    assert_eq!(
        agent
            .get(&format!("/duties/{tank}/test?duty={duty}"))
            .status(),
        404,
        "no valve"
    );
}
