//! What is not known of a building, who finds it out, and the first report to its landlord.
use terms::Role;

use crate::register::estate::{estate, house, sign_up};

#[test]
fn gaps_are_read_from_the_register_named_and_closed() {
    let estate = estate();
    let form = usecases::register::DrawBuilding {
        built_year: None,
        hardness_mg_l: None,
        ..house("Alder House", 2)
    };
    let building = estate.draw(form);
    let agent = &estate.agent;
    let address = format!("/buildings/{building}/gaps");
    let page = agent.page(&address);
    for said in [
        "Whether an asbestos register exists is not known.",
        "The hardness of its water is not known.",
        "What heats these homes is not known.",
        "Flat 1, Flat 2, Flat 3, Flat 4, Flat 5, Flat 6 and two more",
        "Who comes at night and at weekends is not stated for every day.",
        "Nobody is named to find it out.",
    ] {
        assert!(page.contains(said), "{said} is not in {page}");
    }
    let nobody = [("once", "g-1"), ("gap", "hardness"), ("by", "2026-12-10")];
    let refused = agent.post(&address, &nobody);
    assert_eq!(refused.status(), 422);
    assert!(refused.text().unwrap().contains("Say who finds it out."));
    let past = [
        ("once", "g-2"),
        ("gap", "hardness"),
        ("who", "the caretaker"),
        ("by", "2026-11-01"),
    ];
    assert_eq!(agent.post(&address, &past).status(), 422);
    let named = [
        ("once", "g-3"),
        ("gap", "hardness"),
        ("who", "the caretaker"),
        ("by", "2026-12-10"),
    ];
    assert_eq!(agent.post(&address, &named).status(), 303);
    let page = agent.page(&address);
    assert!(page.contains("The caretaker finds out by 10"), "{page}");
    let invented = [
        ("once", "g-4"),
        ("gap", "colour"),
        ("who", "the caretaker"),
        ("by", "2026-12-10"),
    ];
    assert_eq!(agent.post(&address, &invented).status(), 404);
    let facts = [
        ("once", "f-1"),
        ("built", "1964"),
        ("hardness", "286"),
        ("asbestos", "clear"),
        ("height", "no"),
    ];
    let kept = agent.post(&format!("/buildings/{building}/facts"), &facts);
    assert_eq!(kept.status(), 303);
    let page = agent.page(&address);
    for gone in [
        "hardness of its water",
        "asbestos register exists",
        "When it was built",
    ] {
        assert!(!page.contains(gone), "{gone} is still in {page}");
    }
}

#[test]
fn the_landlord_reads_the_first_report_and_no_other_building_s() {
    let estate = estate();
    let building = estate.draw(house("Alder House", 2));
    let other = estate.draw(house("Birch House", 2));
    let flat = estate.flat(building, "Flat 2");
    estate.fit(flat, "X-1");
    sign_up(
        &estate.app,
        "landlord@example.test",
        &estate.seat,
        Role::Landlord,
        Some(vec![building]),
    );
    let landlord = estate.app.signed_in("landlord@example.test");
    let page = landlord.page(&format!("/buildings/{building}/first-report"));
    for said in [
        "Alder House, eight homes:",
        "On record there: 1",
        "What is not known",
        "Flat 1, Flat 3, Flat 4",
    ] {
        assert!(page.contains(said), "{said} is not in {page}");
    }
    assert!(
        !page.contains("Write it down"),
        "nothing to press for a landlord"
    );
    let theirs = landlord.get(&format!("/buildings/{other}/first-report"));
    assert_eq!(theirs.status(), 404);
    let form = [
        ("once", "g"),
        ("gap", "papers"),
        ("who", "x"),
        ("by", "2026-12-10"),
    ];
    let refused = landlord.post(&format!("/buildings/{building}/gaps"), &form);
    assert_eq!(refused.status(), 404, "the desk names who finds out");
}
