//! Who may read what.
use terms::Role;
use usecases::founding::found_estate;

use super::estate::{estate, house, sign_up};

#[test]
fn another_estate_landlord_or_firm_sees_nothing() {
    let estate = estate();
    let (mine, other) = (
        estate.draw(house("Alder House", 2)),
        estate.draw(house("Osier House", 2)),
    );
    let flat = estate.flat(mine, "Flat 1");
    let unit = estate.fit(flat, "S-1");
    let app = &estate.app;
    sign_up(
        app,
        "owner@example.test",
        &estate.seat,
        Role::Landlord,
        Some(vec![other]),
    );
    sign_up(
        app,
        "fitter@example.test",
        &estate.seat,
        Role::Contractor,
        None,
    );
    let elsewhere = found_estate(&app.database.world, "Elsewhere", true).unwrap();
    sign_up(app, "rival@example.test", &elsewhere, Role::Agent, None);
    for who in [
        "owner@example.test",
        "rival@example.test",
        "fitter@example.test",
    ] {
        let client = app.signed_in(who);
        for path in [
            format!("/buildings/{mine}"),
            format!("/units/{unit}"),
            format!("/spaces/{flat}"),
        ] {
            assert_eq!(client.get(&path).status(), 404, "{who} {path}");
        }
        let found = client.page("/find?q=S-1");
        assert!(!found.contains("AH-1-1"), "{who} finds nothing of others");
        let written = client.post(&format!("/units/{unit}/correct"), &[("kind", "CB")]);
        assert_eq!(written.status(), 404, "{who}");
    }
    let owner = app.signed_in("owner@example.test");
    let list = owner.page("/buildings");
    assert!(list.contains("Osier House") && !list.contains("Alder House"));
    assert_eq!(owner.get(&format!("/buildings/{other}")).status(), 200);
    let rival = app.signed_in("rival@example.test");
    assert!(
        rival
            .page("/buildings")
            .contains("No building is known yet")
    );
}
