//! What is found by a few letters, and what is not.
use usecases::register::{self, ResidentForm};

use super::estate::{estate, house};

#[test]
fn flats_and_serials_are_found_and_residents_are_not() {
    let estate = estate();
    let building = estate.draw(house("Alder House", 5));
    let flat = estate.flat(building, "Flat 1");
    estate.fit(flat, "K9X4-2211");
    let world = &estate.app.database.world;
    let resident = ResidentForm {
        name: "Quillon Marrow".to_owned(),
        phone: "0000 000000".to_owned(),
        from_on: "2020-01-01".parse().unwrap(),
    };
    register::add_resident(world, &estate.seat, flat, resident, "res-1").unwrap();
    let agent = &estate.agent;
    let found = agent.page("/find?q=flat+1+alder");
    let first = found
        .find(">Flat 1, Alder House<")
        .expect("the flat itself");
    let later = found
        .find(">Flat 10, Alder House<")
        .expect("and those that begin so");
    assert!(first < later, "whole words first");
    assert!(
        agent.page("/find?q=k9x4").contains("AH-1-1"),
        "a serial by its beginning"
    );
    assert!(agent.page("/find?q=AH-1-1").contains("K9X4-2211"));
    assert!(agent.page("/find?q=alder").contains("a building"));
    for name in ["Quillon", "marrow", "0000"] {
        let page = agent.page(&format!("/find?q={name}"));
        assert!(page.contains("Nothing bears"), "{name}: {page}");
    }
    assert!(
        agent
            .page(&format!("/spaces/{flat}"))
            .contains("Quillon Marrow")
    );
    assert!(agent.page("/find?q=").contains("What do you look for?"));
}
