//! Duties of a home, a plant room or a building: opened where the data says they hold, listed under their building, met,
//! exported, proved and ended.
use terms::BuildingId;
use usecases::duties::{self, DutyAt, OpenAt};
use usecases::{Error, founding};

use super::{plain, strangers};
use crate::work_estate::{AGENT, ANNA, Loop, day, fresh};

fn building(estate: &Loop) -> BuildingId {
    estate
        .world()
        .acting(&estate.seat, |tx| {
            Ok::<_, Error>(tx.space(estate.flat)?.building)
        })
        .unwrap()
}

#[test]
fn a_buildings_own_duty_stands_under_the_building_everywhere() {
    let estate = Loop::start();
    let agent = estate.client(AGENT);
    let building = building(&estate);
    let home = format!("/duties/at/building/{building}");
    let open = |rule: &str, deadline: &str| {
        agent.post(
            &format!("{home}/open"),
            &[
                ("once", fresh().as_str()),
                ("rule", rule),
                ("deadline", deadline),
            ],
        )
    };
    let page = plain(&agent.page(&home));
    assert!(
        page.contains("B1 Update of the building's safety information") && page.contains("Q1 "),
        "{page}"
    );
    assert!(
        !page.contains("E1 Inspection and test of the fixed wiring"),
        "a home's, not the building's"
    );
    for (rule, deadline, said) in [
        ("", "2026-11-01", "Choose which duty holds here"),
        ("E1", "2026-11-01", "Choose which duty holds here"),
        ("G1", "2026-11-01", "Choose which duty holds here"),
        ("B1", "2099-11-01", "more than ten years away"),
        ("B1", "soon", "is not a date"),
    ] {
        let wrong = open(rule, deadline);
        assert_eq!(wrong.status(), 422, "{rule} {deadline}");
        let page = plain(&wrong.text().unwrap());
        assert!(
            page.contains(said) && page.contains(deadline),
            "“{said}”: {page}"
        );
    }
    // B1: the longest gap of twelve months is ours (trade file on duties); 1 November 2026 was 24 days ago.
    assert_eq!(open("B1", "2026-11-01").status(), 303);
    assert_eq!(open("B1", "").status(), 409, "once is enough");
    assert_eq!(estate.count("estate.duties WHERE unit_id IS NULL"), 1);
    let name = "update of the building's safety information";
    let list = plain(&agent.page("/duties"));
    assert!(list.contains(name) && list.contains("it is late"), "{list}");
    assert!(plain(&agent.page("/today")).to_lowercase().contains(name));
    let strip = plain(&agent.page(&format!("/duties?building={building}&duty=B1")));
    assert!(
        strip.contains("The building"),
        "the year has its row: {strip}"
    );
    let file = agent.page("/duties.csv");
    let row = file
        .lines()
        .find(|l| l.contains("safety information"))
        .unwrap();
    assert!(row.starts_with("Alder House,,,"), "{row}");
    assert!(
        row.contains("2026-11-01") && row.contains(",late,"),
        "{row}"
    );
    let letter = plain(&agent.page(&format!("/prove/building/{building}")));
    assert!(
        letter.contains("Update of the building's safety information"),
        "{letter}"
    );
}

#[test]
fn a_buildings_own_duty_is_met_by_its_record_and_ends_when_it_no_longer_holds() {
    let estate = Loop::start();
    let agent = estate.client(AGENT);
    let building = building(&estate);
    let home = format!("/duties/at/building/{building}");
    let name = "update of the building's safety information";
    let open = |deadline: &str| {
        let once = fresh();
        let fields = [
            ("once", once.as_str()),
            ("rule", "B1"),
            ("deadline", deadline),
        ];
        agent.post(&format!("{home}/open"), &fields)
    };
    assert_eq!(open("2026-11-01").status(), 303);
    let duty = estate
        .world()
        .acting(&estate.seat, |tx| {
            Ok::<_, Error>(tx.duties_of_places(building)?[0].id)
        })
        .unwrap();
    let id = duty.to_string();
    let job = agent.post(
        &format!("{home}/job"),
        &[("once", "j"), ("duty", id.as_str())],
    );
    assert_eq!(
        job.status(),
        303,
        "a job for it is opened in one of its rooms"
    );
    assert_eq!(estate.count("estate.job_duties"), 1);
    let record = |once: &str, on: &str| {
        agent.post(
            &format!("{home}/record"),
            &[
                ("once", once),
                ("duty", id.as_str()),
                ("on", on),
                ("whole", "yes"),
                ("evidence", "entry 12 of the building's file"),
            ],
        )
    };
    assert_eq!(
        record(&fresh(), "2026-11-26").status(),
        422,
        "a day to come"
    );
    assert_eq!(record("r", "2026-11-24").status(), 303);
    assert_eq!(record("r", "2026-11-24").status(), 303);
    let found = duties::place_duties(estate.world(), &estate.seat, DutyAt::Building(building));
    let found = found.unwrap();
    assert_eq!(found.duties.len(), 1);
    let line = &found.duties[0].line;
    assert_eq!(line.window.map(|w| w.deadline), Some(day("2027-11-24")));
    assert!(
        line.explained().contains("24 November 2027"),
        "{}",
        line.explained()
    );

    let end = |reason: &str| {
        let once = fresh();
        let fields = [
            ("once", once.as_str()),
            ("ends", id.as_str()),
            ("reason", reason),
        ];
        agent.post(&format!("{home}/end"), &fields)
    };
    assert_eq!(end(" ").status(), 422);
    assert_eq!(end("the building is no longer higher-risk").status(), 303);
    assert_eq!(end("again").status(), 404);
    assert!(!plain(&agent.page("/duties")).contains(name));
    assert_eq!(open("").status(), 303, "it may begin again");
}

#[test]
fn a_home_has_its_wiring_once_whichever_way_it_was_opened() {
    let estate = Loop::start();
    let (world, seat) = (estate.world(), &estate.seat);
    let open = |at: DutyAt, rule: &str, once: &str| {
        let form = OpenAt {
            at,
            rule: rule.to_owned(),
            deadline: None,
        };
        duties::open_at(world, seat, &form, once)
    };
    let home = DutyAt::Space(estate.flat);
    let id = open(home, "E1", "o1").unwrap();
    assert_eq!(open(home, "E1", "o1").unwrap(), id, "once is once");
    assert!(matches!(open(home, "E1", "o2"), Err(Error::Conflict(_))));
    let agent = estate.client(AGENT);
    let on_unit = agent.post(
        &format!("/duties/{}/open", estate.boiler),
        &[("once", "u"), ("rule", "E1"), ("deadline", "")],
    );
    assert_eq!(on_unit.status(), 409, "the home has it already");
    // The other home has it on its unit first.
    let space = super::other_flat(&estate);
    let first = agent.post(
        &format!("/duties/{}/open", estate.cylinder),
        &[("once", "c"), ("rule", "E1"), ("deadline", "")],
    );
    assert_eq!(first.status(), 303);
    let second = open(DutyAt::Space(space), "E1", "o3");
    let Err(Error::Conflict(words)) = second else {
        panic!("{second:?}");
    };
    assert!(words.contains("AH-15-1"), "{words}");
    for rule in ["T1", "T2", "T3", "G6"] {
        open(home, rule, rule).unwrap();
    }
    assert!(open(home, "B1", "b").is_err(), "a building's own");
    assert!(open(DutyAt::Unit(estate.boiler), "E1", "x").is_err());
    // What the clock of the program does at night leaves them as they are.
    duties::refresh(world, seat).unwrap();
    let open_ones = "estate.duties WHERE unit_id IS NULL AND ended_on IS NULL";
    assert_eq!(estate.count(open_ones), 5);
}

#[test]
fn what_belongs_to_another_estate_is_not_there() {
    let estate = Loop::start();
    let agent = estate.client(AGENT);
    let other = strangers(&estate);
    let (theirs, flat) = (other.building, other.flat(None));
    for to in [
        format!("/duties/at/building/{theirs}"),
        format!("/duties/at/space/{flat}"),
        "/duties/at/unit/1".to_owned(),
        "/duties/at/building/none".to_owned(),
    ] {
        assert_eq!(agent.get(&to).status(), 404, "{to}");
        let open = [("once", "x"), ("rule", "B1"), ("deadline", "")];
        assert_eq!(
            agent.post(&format!("{to}/open"), &open).status(),
            404,
            "{to}"
        );
    }
    let ours = format!("/duties/at/building/{}", building(&estate));
    assert_eq!(estate.client(ANNA).get(&ours).status(), 404);
    let form = OpenAt {
        at: DutyAt::Building(theirs),
        rule: "B1".to_owned(),
        deadline: None,
    };
    let duty = duties::open_at(other.world(), &other.seat, &form, "o").unwrap();
    let closed = duties::close_at(estate.world(), &estate.seat, (duty, "not ours"), "c");
    assert!(matches!(closed, Err(Error::NotFound(_))));
}

#[test]
fn every_row_of_the_table_of_duties_is_held() {
    let shipped = founding::shipped().unwrap();
    let held = founding::holds_on().unwrap();
    // Trade file on duties, section 2; G2, G3 and G7 are events, S1 and S2 clocks, T and B2 beside them.
    for code in ["G6", "N6", "Q1", "T1", "T2", "T3", "L10", "B1", "E1"] {
        let rule = shipped.duties.iter().find(|d| d.code == code).expect(code);
        assert!(rule.kinds.is_empty(), "{code} is opened where it holds");
        assert!(!held[code].is_empty(), "{code} says where");
    }
    for rule in shipped.duties.iter().filter(|d| d.kinds.is_empty()) {
        assert!(
            !held[&rule.code].is_empty(),
            "{} says where it holds",
            rule.code
        );
    }
}
