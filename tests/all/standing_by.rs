//! Who comes at night and at weekends, told on Friday where nobody does; heaters lent and back. Scenario ours.
use chrono::TimeDelta;
use terms::Role;
use usecases::founding::add_firm;

use crate::register::estate::{Estate, estate, house, sign_up};

fn friday(estate: &mut Estate) {
    // The tests begin on Wednesday 25 November 2026.
    estate.app.database.clock.advance(TimeDelta::days(2));
    // Two days unused end a session.
    estate.agent = estate.app.signed_in("agent@example.test");
}

#[test]
fn on_friday_today_says_where_nobody_comes_and_cover_closes_the_gap() {
    let mut estate = estate();
    let building = estate.draw(house("Alder House", 2));
    let firm = add_firm(
        &estate.app.database.world,
        estate.seat.estate(),
        "Beck Heating",
        2000,
    )
    .unwrap();
    assert!(
        !estate
            .agent
            .page("/today")
            .contains("nobody comes out of hours"),
        "on a Wednesday it waits"
    );
    friday(&mut estate);
    let today = estate.agent.page("/today");
    assert!(
        today.contains(
            "nobody comes out of hours on Friday night, Saturday by day and night and Sunday by day and night"
        ),
        "{today}"
    );
    let (building, firm) = (building.to_string(), firm.to_string());
    let nights = [
        ("once", "c-1"),
        ("building", building.as_str()),
        ("firm", firm.as_str()),
        ("hours", "nights"),
    ];
    assert_eq!(estate.agent.post("/cover", &nights).status(), 303);
    let today = estate.agent.page("/today");
    assert!(
        today.contains("nobody comes out of hours on Saturday and Sunday"),
        "{today}"
    );
    let turned = [
        ("once", "c-2"),
        ("building", building.as_str()),
        ("firm", firm.as_str()),
        ("hours", "weekends"),
        ("from", "2026-12-01"),
        ("until", "2026-11-30"),
    ];
    let refused = estate.agent.post("/cover", &turned);
    assert_eq!(refused.status(), 422);
    assert!(
        refused
            .text()
            .unwrap()
            .contains("It ends before it begins.")
    );
    let weekends = [
        ("once", "c-3"),
        ("building", building.as_str()),
        ("firm", firm.as_str()),
        ("hours", "weekends"),
        ("words", "Ring 01632 960 022, the fitter on duty answers"),
    ];
    assert_eq!(estate.agent.post("/cover", &weekends).status(), 303);
    assert!(
        !estate
            .agent
            .page("/today")
            .contains("nobody comes out of hours")
    );
    let page = estate.agent.page("/cover");
    assert!(page.contains("Beck Heating by night since"), "{page}");
    assert!(page.contains("01632 960 022"));
}

#[test]
fn a_heater_is_lent_inside_the_supply_and_comes_back() {
    let estate = estate();
    let building = estate.draw(house("Alder House", 2));
    let flat = estate.flat(building, "Flat 3").to_string();
    let agent = &estate.agent;
    for (once, watts) in [("h-1", "2000"), ("h-2", "1500")] {
        let new = [
            ("once", once),
            ("what", "oil-filled radiator"),
            ("watts", watts),
            ("kept_at", "the store by the gate"),
        ];
        assert_eq!(agent.post("/heaters", &new).status(), 303);
    }
    let strong = [
        ("once", "h-3"),
        ("what", "fan heater"),
        ("watts", "4000"),
        ("kept_at", "the store"),
    ];
    assert_eq!(agent.post("/heaters", &strong).status(), 422);
    let site = [("once", "s-1"), ("electric_kw_spare", "3")];
    assert_eq!(
        agent.post(&format!("/spaces/{flat}/site"), &site).status(),
        303
    );
    let page = agent.page(&format!("/heaters?space={flat}"));
    assert!(page.contains("Its supply has 3000 W to spare"), "{page}");
    let ids: Vec<String> = page
        .split("name=\"heater\"")
        .skip(1)
        .filter_map(|rest| Some(rest.split("value=\"").nth(1)?.split('"').next()?.to_owned()))
        .collect();
    let [first, second] = ids.as_slice() else {
        panic!("two heaters are at hand: {ids:?}");
    };
    let lend = |once: &str, heater: &str| {
        let form = [("once", once), ("space", flat.as_str()), ("heater", heater)];
        agent.post("/heaters/lend", &form)
    };
    assert_eq!(lend("l-1", first).status(), 303);
    let refused = lend("l-2", second);
    assert_eq!(refused.status(), 422);
    let words = refused.text().unwrap();
    assert!(
        words.contains("draw 3500 W; the supply has 3000 W to spare"),
        "{words}"
    );
    assert_eq!(lend("l-3", first).status(), 409, "somebody has it");
    let page = agent.page("/heaters");
    assert!(
        page.contains("lent to Flat 3, Alder House, since"),
        "{page}"
    );
    let back = format!("/heaters/{first}/back");
    assert_eq!(agent.post(&back, &[("once", "b-1")]).status(), 303);
    assert_eq!(agent.post(&back, &[("once", "b-1")]).status(), 303, "once");
    assert_eq!(agent.post(&back, &[("once", "b-2")]).status(), 409);
    assert!(!agent.page("/heaters").contains("lent to"));
}

#[test]
fn who_has_no_business_with_heaters_finds_no_page() {
    let estate = estate();
    estate.draw(house("Alder House", 2));
    sign_up(
        &estate.app,
        "landlord@example.test",
        &estate.seat,
        Role::Landlord,
        None,
    );
    let landlord = estate.app.signed_in("landlord@example.test");
    assert_eq!(landlord.get("/heaters").status(), 404);
    assert_eq!(landlord.get("/cover").status(), 404);
}
