//! What the desk keeps: the list of outlets, and the rounds it takes for somebody who walked.
use terms::OutletPlace;
use usecases::water::{self, Step};

use crate::support::server::location;
use crate::water::estate::{AGENT, SITE, Water, plain, post};

#[test]
fn outlets_are_added_put_in_order_and_taken_off() {
    let water = Water::start();
    let agent = water.client(AGENT);
    let at = format!("{}/outlets", water.address());
    let add = |name: &str, place: &str, once: &str| {
        agent.post(&at, &[("once", once), ("name", name), ("place", place)])
    };
    let wrong = add("", "hot_sentinel", "o1");
    assert_eq!(wrong.status(), 422);
    assert!(wrong.text().unwrap().contains("Say which tap it is"));
    let wrong = add("Second store", "store_return", "o2");
    assert_eq!(wrong.status(), 422);
    let page = wrong.text().unwrap();
    assert!(page.contains("Say which store it is at.") && page.contains("value=\"Second store\""));
    let twice = add("Hall sink, hot", "hot_sentinel", "o3");
    assert_eq!(twice.status(), 422, "it is on the round already");
    assert_eq!(add("Roof tap", "cold_sentinel", "o4").status(), 303);
    assert_eq!(
        add("Roof tap", "cold_sentinel", "o4").status(),
        303,
        "sent twice"
    );
    let names = || -> Vec<String> {
        water::outlets_view(water.world(), &water.seat, water.building)
            .unwrap()
            .on_round
            .into_iter()
            .map(|o| o.name)
            .collect()
    };
    assert_eq!(names().len(), 6);
    let change = |n: usize, act: &str, once: &str| {
        agent.post(
            &format!("{at}/{}/{act}", water.outlets[n]),
            &[("once", once)],
        )
    };
    assert_eq!(change(2, "up", "m1").status(), 303);
    assert_eq!(
        change(2, "up", "m1").status(),
        303,
        "a repeated press moves it once"
    );
    assert_eq!(names()[1], "Hall sink, hot");
    assert_eq!(change(0, "up", "m2").status(), 303, "at the end it stays");
    assert_eq!(names()[0], "Pipe leaving the store");
    assert_eq!(change(4, "end", "e1").status(), 303);
    assert_eq!(change(4, "end", "e2").status(), 409, "it is off already");
    assert!(!names().contains(&"Yard tap".to_owned()));
    let page = plain(&agent.page(&at));
    assert!(page.contains("Yard tap") && page.contains("Its temperatures are kept."));
    assert_eq!(change(2, "sideways", "m3").status(), 404);
    let stranger = uuid::Uuid::new_v4();
    assert_eq!(
        agent
            .post(&format!("{at}/{stranger}/up"), &[("once", "s1")])
            .status(),
        404
    );
    let moved = water::move_outlet(
        water.world(),
        &water.seat,
        (water.outlets[0], Step::Down),
        "m4",
    );
    assert_eq!(moved.unwrap(), water.building);
}

#[test]
fn the_log_names_every_gap() {
    let water = Water::start();
    let (site, agent) = (water.client(SITE), water.client(AGENT));
    water.outlet("Loft tap", OutletPlace::ColdSentinel, false);
    let mut fields = water.fields(["62", "49", "54", "14", "12"], "r1");
    fields.retain(|(name, _)| *name != format!("s.{}", water.outlets[3]));
    let loft = water::outlets_view(water.world(), &water.seat, water.building)
        .unwrap()
        .on_round
        .pop()
        .unwrap()
        .id;
    fields.push((format!("n.{loft}"), "no ladder".to_owned()));
    let kept = post(&site, &water.address(), &fields);
    assert_eq!(kept.status(), 303, "{}", location(&kept));
    let log = plain(&agent.page(&format!("{}/log?months=3", water.address())));
    for gap in [
        "October 2026: no round is on record.",
        "25 November 2026, Pipe coming back: what was done about it is not on record.",
        "25 November 2026, Hall sink, cold: how long the water ran is not on record.",
        "25 November 2026, Loft tap: the temperature is not on record.",
    ] {
        assert!(log.contains(gap), "“{gap}” is not named: {log}");
    }
    // Five years, a legal floor: by hand 25 November 2031.
    assert!(log.contains("25 November 2031"));
    // A month without a round is named by the page; the record's own gaps are those of its rows.
    let whole = water::water_log(water.world(), &water.seat, water.building, 3).unwrap();
    assert_eq!(
        whole.gaps.len(),
        4,
        "the loft tap lacks its seconds too: {:?}",
        whole.gaps
    );
}

#[test]
fn a_round_typed_in_by_the_desk_is_the_desks_and_of_its_day() {
    let water = Water::start();
    let agent = water.client(AGENT);
    let mut fields = water.fields(["62", "52", "54", "14", "12"], "r1");
    fields.push(("on".to_owned(), "2026-11-20".to_owned()));
    assert_eq!(post(&agent, &water.address(), &fields).status(), 303);
    let log = water::water_log(water.world(), &water.seat, water.building, 1).unwrap();
    let row = &log.months[0].rows[0];
    assert_eq!(
        (row.temperature.on.to_string(), row.by.as_str()),
        ("2026-11-20".to_owned(), "Ada Agent")
    );
    let mut fields = water.fields(["62", "52", "54", "14", "12"], "r2");
    fields.push(("on".to_owned(), "2026-11-26".to_owned()));
    let early = post(&agent, &water.address(), &fields);
    assert_eq!(early.status(), 422);
    assert!(early.text().unwrap().contains("That day has not come yet."));
}
