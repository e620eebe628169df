//! What is not known of a building, who finds it out, and the first report to its landlord.
use terms::Role;

use crate::register::estate::{boiler, estate, house, sign_up};

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

/// The trade's first report names four things: what is unsafe, due in 60 days, past its planning age, unknown.
#[test]
fn the_first_report_names_what_is_unsafe_due_past_its_age_and_unknown() {
    let estate = estate();
    let world = estate.app.database.world.clone();
    let building = estate.draw(house("Alder House", 2));
    let fit = |flat: &str, serial: &str, year: Option<i32>| {
        let first = |year: i32| chrono::NaiveDate::from_ymd_opt(year, 3, 1).unwrap();
        let form = usecases::register::NewUnit {
            space: estate.flat(building, flat),
            facts: usecases::register::UnitFacts {
                installed: year.map(|year| (first(year), first(year))),
                ..boiler(serial)
            },
            placed_from: None,
            watched_from: None,
        };
        usecases::register::add_unit(&world, &estate.seat, form, serial).unwrap()
    };
    let address = format!("/buildings/{building}/first-report");
    let plain = |page: String| {
        let page = page.replace("<span class=\"unbroken\">", "");
        page.replace("</span>", "").replace('\u{a0}', " ")
    };
    let page = plain(estate.agent.page(&address));
    for said in [
        "Nothing there is unsafe or isolated on record.",
        "Nothing with a date is due in 60 days, and nothing is late.",
        "No unit whose year is known is past the age at which half of its kind have been replaced.",
    ] {
        assert!(page.contains(said), "{said} is not in {page}");
    }
    let (young, old) = (
        fit("Flat 1", "Y-1", Some(2024)),
        fit("Flat 2", "O-1", Some(1998)),
    );
    let unknown = fit("Flat 3", "U-1", None);
    let fit_between = |flat: &str, serial: &str, (first, last): (&str, &str)| {
        let form = usecases::register::NewUnit {
            space: estate.flat(building, flat),
            facts: usecases::register::UnitFacts {
                installed: Some((first.parse().unwrap(), last.parse().unwrap())),
                ..boiler(serial)
            },
            placed_from: None,
            watched_from: None,
        };
        usecases::register::add_unit(&world, &estate.seat, form, serial).unwrap()
    };
    let (that_year, some_year) = (
        fit_between("Flat 4", "Y-98", ("1998-01-01", "1998-12-31")),
        fit_between("Flat 5", "Y-96", ("1996-01-01", "2001-12-31")),
    );
    let day = |text: &str| text.parse().unwrap();
    let job = usecases::work::OpenJob {
        kind: terms::JobKind::Repair,
        space: estate.flat(building, "Flat 2"),
        unit: Some(old),
        words: "smell of fumes".to_owned(),
        due_on: None,
        duties: Vec::new(),
        minutes: None,
    };
    let job = usecases::work::open_job(&world, &estate.seat, job, "job").unwrap();
    world
        .acting(&estate.seat, |tx| {
            // Today is 25 November 2026: the 60th day after it is 24 January 2027.
            usecases::duties::state_deadline(tx, young, "G1", day("2027-01-24"), "old list")?;
            usecases::duties::state_deadline(tx, old, "G1", day("2026-11-22"), "old list")?;
            usecases::duties::state_deadline(tx, unknown, "G1", day("2027-01-25"), "old list")?;
            let notice = store::visits::NewNotice {
                unit: old,
                job,
                class: "AR".to_owned(),
                number: "W-77".to_owned(),
                isolated: true,
                permission_refused: false,
                words: "Flue joint open in the void.".to_owned(),
            };
            tx.add_notice(&notice)?;
            Ok(())
        })
        .unwrap();
    let page = plain(estate.agent.page(&address));
    let number = |unit| {
        world
            .acting(&estate.seat, |tx| Ok(tx.unit(unit)?.number))
            .unwrap()
    };
    for said in [
        format!(
            "{}, Flat 2: at risk, isolated, since 25 November 2026. Flue joint open in the void.",
            number(old)
        ),
        format!(
            "{}, Flat 2 by 22 November 2026, late; {}, Flat 1 by 24 January 2027.",
            number(old),
            number(young)
        ),
        // One way for all: on 25 November 2026 the years since the last and the first day it can have been fitted.
        format!("{}, Flat 2 (28 years)", number(old)),
        format!("{}, Flat 4 (27 or 28 years)", number(that_year)),
        format!("{}, Flat 5 (24 to 30 years)", number(some_year)),
        "A planning age, for a budget: nothing is advised on age alone.".to_owned(),
        "When these were fitted is not known to a year.".to_owned(),
    ] {
        assert!(page.contains(&said), "{said} is not in {page}");
    }
    let due = page.split("What is due in 60 days").nth(1).unwrap();
    let due = due.split("What is past its planning age").next().unwrap();
    assert!(!due.contains("Flat 3"), "the 61st day is not named: {due}");
    let aged = page.split("What is past its planning age").nth(1).unwrap();
    let aged = aged.split("What is not known").next().unwrap();
    assert!(
        !aged.contains("Flat 1") && !aged.contains("Flat 3"),
        "{aged}"
    );
}
