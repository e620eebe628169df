//! Today, from the first empty day to a busy morning; and the track record.
use chrono::{NaiveDate, TimeDelta};
use store::jobs::{JobQuote, NewOffer};
use store::visits::NewNotice;
use terms::place::{BuildingCard, SpaceCard};
use terms::unit::{FailureRecord, UnitCard};
use terms::{
    BuildingId, Country, FailureId, Fate, FirmId, FunctionLost, Pence, Role, SpaceId, UnitId,
    UsedAs,
};
use usecases::door::DEMO_PASSWORD;
use usecases::founding::{NewPerson, add_firm, add_person, found_estate};
use usecases::work::{FaultCall, log_call};
use usecases::{Seat, World, duties, forecast};
use uuid::Uuid;

use crate::support::{Client, TestApp};

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

/// Two buildings of one estate: six flats with combi boilers in Elm House, one in Oak House.
struct Block {
    app: TestApp,
    seat: Seat,
    firm: FirmId,
    buildings: [BuildingId; 2],
    flats: Vec<(SpaceId, UnitId)>,
}

impl Block {
    fn new() -> Self {
        let app = TestApp::start();
        let world = app.database.world.clone();
        let seat = found_estate(&world, "Test Estate", false).unwrap();
        let firm = add_firm(&world, seat.estate(), "Quillet Heating", 2000).unwrap();
        let (mut buildings, mut flats) = (Vec::new(), Vec::new());
        for (code, name, count) in [("EL", "Elm House", 6), ("OK", "Oak House", 1)] {
            let (building, own) = building(&world, &seat, (code, name), count);
            buildings.push(building);
            flats.extend(own);
        }
        Self {
            app,
            seat,
            firm,
            buildings: buildings.try_into().unwrap(),
            flats,
        }
    }

    fn world(&self) -> &World {
        &self.app.database.world
    }

    fn desk(&self, email: &str, role: Role, buildings: Option<Vec<BuildingId>>) -> Client {
        let person = NewPerson {
            email: email.to_owned(),
            name: "Ada Agent".to_owned(),
            password: DEMO_PASSWORD.to_owned(),
            demo: true,
            estate: self.seat.estate(),
            role,
            firm: None,
            buildings,
        };
        add_person(self.world(), &person).unwrap();
        self.app.signed_in(email)
    }

    fn fail(&self, unit: UnitId, on: &str) {
        self.world()
            .acting(&self.seat, |tx| {
                let record = FailureRecord {
                    id: FailureId(Uuid::nil()),
                    unit,
                    part: None,
                    function_lost: Some("heating".to_owned()),
                    happened_on: day(on),
                    happened_until: None,
                    found_at_service: false,
                    no_fault_found: false,
                    cost: None,
                    job: None,
                    same_as: String::new(),
                    words: String::new(),
                    recorded_at: chrono::DateTime::default(),
                };
                tx.add_failure(&record, None)?;
                forecast::renew_unit(tx, unit)
            })
            .unwrap();
    }

    fn call(&self, flat: usize, lost: FunctionLost, hours_ago: i64) -> terms::JobId {
        let call = FaultCall {
            space: self.flats[flat].0,
            function_lost: lost,
            leak: None,
            since: Some(self.world().now() - TimeDelta::hours(hours_ago)),
            unit: Some(self.flats[flat].1),
            words: String::new(),
        };
        log_call(self.world(), &self.seat, call, &format!("call {flat}"))
            .unwrap()
            .job
    }
}

fn building(
    world: &World,
    seat: &Seat,
    (code, name): (&str, &str),
    flats: i32,
) -> (BuildingId, Vec<(SpaceId, UnitId)>) {
    world
        .acting(seat, |tx| {
            let card = BuildingCard {
                id: BuildingId(Uuid::nil()),
                code: code.to_owned(),
                name: name.to_owned(),
                address: String::new(),
                country: Country::England,
                built_year: Some(1964),
                higher_risk: None,
                hardness_mg_l: Some(280.0),
                asbestos_register: "unknown".to_owned(),
                note: String::new(),
            };
            let building = tx.add_building(&card)?;
            let level = tx.add_level(building, 0, "G")?;
            let mut made = Vec::new();
            for place in 0..flats {
                let space = SpaceCard {
                    id: SpaceId(Uuid::nil()),
                    building,
                    building_name: String::new(),
                    level,
                    ordinal: 0,
                    place,
                    name: format!("Flat {}", place + 1),
                    used_as: UsedAs::Flat,
                    stair: None,
                    let_short: Some(true),
                    site: serde_json::json!({}),
                };
                let space = tx.add_space(&space, None)?;
                made.push((space, boiler(tx, space, &format!("{code}-{place}"))?));
            }
            Ok((building, made))
        })
        .unwrap()
}

fn boiler(tx: &mut store::Tx<'_>, space: SpaceId, number: &str) -> Result<UnitId, usecases::Error> {
    let card = UnitCard {
        id: UnitId(Uuid::nil()),
        number: number.to_owned(),
        kind: "CB".to_owned(),
        serial: String::new(),
        installed: Some((day("2012-05-01"), day("2012-05-01"))),
        rated_kw: None,
        litres: None,
        filter_fitted: Some(false),
        reducer_fitted: Some(false),
        warranty_until: None,
        fate: Fate::InService,
        fate_on: None,
        note: String::new(),
        space,
        space_name: String::new(),
        building: BuildingId(Uuid::nil()),
        building_name: String::new(),
        placed_from: Some(day("2012-05-01")),
        watched_from: day("2017-01-01"),
        hardness_mg_l: None,
    };
    let id = tx.add_unit(&card, None)?;
    let card = tx.unit(id)?;
    duties::ensure_for_unit(tx, &card)?;
    Ok(id)
}

fn plain(page: &str) -> String {
    page.replace('\u{a0}', " ")
}

/// Text of the page without its tags, so that a sentence can be looked for whole.
fn text(page: &str) -> String {
    let mut out = String::new();
    let mut inside = false;
    for letter in plain(page).chars() {
        match letter {
            '<' => inside = true,
            '>' => inside = false,
            _ if !inside => out.push(letter),
            _ => {}
        }
    }
    out
}

#[test]
fn on_the_first_day_it_says_what_to_do_first() {
    let app = TestApp::start();
    let seat = found_estate(&app.database.world, "New Estate", false).unwrap();
    let person = NewPerson {
        email: "agent@example.test".to_owned(),
        name: "Ada Agent".to_owned(),
        password: DEMO_PASSWORD.to_owned(),
        demo: true,
        estate: seat.estate(),
        role: Role::Agent,
        firm: None,
        buildings: None,
    };
    add_person(&app.database.world, &person).unwrap();
    let agent = app.signed_in("agent@example.test");
    let page = agent.page("/today");
    assert!(page.contains("Nothing is known yet, so nothing is late"));
    assert!(page.contains("href=\"/import\"") && page.contains("href=\"/buildings/new\""));
    assert!(!page.contains("Likely next"));
    let record = agent.page("/track-record");
    assert!(record.contains("No forecast of ours is a year old yet"));
}

#[test]
fn a_quiet_morning_says_so() {
    let block = Block::new();
    let agent = block.desk("agent@example.test", Role::Agent, None);
    let page = text(&agent.page("/today"));
    assert!(page.contains("Nobody is without heat, nothing is unsafe and nothing is late"));
    assert!(page.contains("No quote and no advice waits for you."));
    assert!(page.contains("No unit whose kind has a record stands out as likely to fail."));
    // No gas check of the seven boilers has ever been on record.
    assert!(page.contains("no evidence of any date"), "{page}");
    assert!(page.contains("Elm House: nothing is wrong there now; no check due in 60 days."));
}

#[test]
fn a_busy_morning_is_told_in_sentences_longest_first() {
    let block = Block::new();
    let agent = block.desk("agent@example.test", Role::Agent, None);
    for (n, (_, unit)) in block.flats.iter().enumerate().take(6) {
        for year in 0..3 {
            block.fail(*unit, &format!("202{}-0{}-11", 3 + year, n + 1));
        }
    }
    block.fail(block.flats[2].1, "2026-10-20");
    block.fail(block.flats[2].1, "2026-06-20");
    let job = block.call(0, FunctionLost::Heating, 7);
    block.call(1, FunctionLost::HeatingAndHotWater, 26);
    block.call(3, FunctionLost::Noise, 5);
    block
        .world()
        .acting(&block.seat, |tx| {
            duties::state_deadline(tx, block.flats[4].1, "G1", day("2026-11-22"), "old list")?;
            duties::state_deadline(tx, block.flats[5].1, "G1", day("2026-12-03"), "old list")?;
            duties::state_deadline(tx, block.flats[3].1, "G1", day("2027-01-15"), "old list")?;
            tx.add_notice(&NewNotice {
                unit: block.flats[5].1,
                job,
                class: "AR".to_owned(),
                number: "0417".to_owned(),
                isolated: true,
                permission_refused: false,
                words: "flue".to_owned(),
            })?;
            let at = tx.at();
            tx.add_offer(NewOffer {
                job,
                firm: block.firm,
                until_at: at + TimeDelta::hours(4),
                proposed: None,
            })?;
            tx.add_job_quote(&JobQuote {
                job,
                unit: block.flats[0].1,
                firm: block.firm,
                part: Some("dhw_plate".to_owned()),
                total: Pence(61_200),
                vat: Pence(10_200),
                valid_until: day("2026-12-04"),
                words: String::new(),
                lines: Vec::new(),
            })?;
            Ok(())
        })
        .unwrap();
    forecast::refit(block.world(), &block.seat).unwrap();
    let page = agent.page("/today");
    let said = text(&page);
    for sentence in [
        "Two homes have no heat or hot water and one unit is unsafe or isolated",
        "Flat 2, Elm House has had no heating or hot water for 26 h.",
        "Flat 1, Elm House has had no heating for 7 h.",
        "Combi gas boiler in flat 6, Elm House is isolated, do not use, since Wednesday 25 November. The engineer classed it at risk. Notice 0417 was left.",
        "Flat 5, Elm House is 3 days past its",
        "late by 3 d",
        "Flat 6, Elm House needs its",
        "by Thursday 3 December. The unit is isolated, so it waits for a decision.",
        "One more is due within 60 days.",
        "Quillet Heating quotes £612.00 for “hot-water plate",
        "That is over your authority of £500.00. No advice has weighed it yet.",
        "Combi gas boiler in flat 3, Elm House",
        "before April (",
        " among its 6 combi gas boilers ",
        "Elm House: two homes without heat or hot water and one unit unsafe or isolated; one check late and one due in 14 days.",
    ] {
        assert!(said.contains(sentence), "“{sentence}” in {said}");
    }
    assert!(
        !said.contains("Flat 4, Elm House has had"),
        "a noise is not a home without heat"
    );
    let place = |words: &str| said.find(words).unwrap();
    assert!(place("Flat 2, Elm House has had") < place("Flat 1, Elm House has had"));
    assert!(!said.contains("NaN") && !said.contains("not known"));
    let likely = page.matches("id=\"likely-").count();
    assert!((1..=5).contains(&likely), "{likely}");
    // Every figure can be asked why, in every list but the sums.
    assert!(page.matches("Why this?").count() >= 8);
    // The brief says the same.
    let today = usecases::today::today(block.world(), &block.seat, day("2026-11-25")).unwrap();
    let brief = wording::sentences::today::brief(&today, &|at| at.naive_utc());
    assert!(plain(&brief).contains("Flat 2, Elm House has had no heating or hot water for 26 h."));
}

#[test]
fn a_desk_sees_the_buildings_it_is_granted_and_nobody_else_sees_today() {
    let block = Block::new();
    block.call(0, FunctionLost::Heating, 7);
    block.call(6, FunctionLost::HotWater, 3);
    let oak = vec![block.buildings[1]];
    let oaks = block.desk("oak@example.test", Role::Agent, Some(oak));
    let page = text(&oaks.page("/today"));
    assert!(page.contains("Oak House has had no hot water") && !page.contains("Elm House"));
    let landlord = block.desk("landlord@example.test", Role::Landlord, None);
    assert_eq!(landlord.get("/today").status(), 404);
    assert_eq!(landlord.get("/track-record").status(), 200);
    assert_eq!(block.app.visitor().get("/today").status(), 303);
    // The out-of-hours desk takes calls; money is not shown to it.
    let night = block.desk("night@example.test", Role::OutOfHours, None);
    assert!(text(&night.page("/today")).contains("Flat 1, Elm House has had no heating"));
}

#[test]
fn the_forecasts_can_be_asked_for_again_once() {
    let block = Block::new();
    let agent = block.desk("agent@example.test", Role::Agent, None);
    for _ in 0..2 {
        let answer = agent.post("/forecasts/again", &[("once", "one press")]);
        assert_eq!(answer.status(), 303);
    }
    assert!(agent.page("/today").contains("being reckoned again"));
    let tasks = usecases::tasks::recent(block.world(), &block.seat, 10).unwrap();
    assert_eq!(tasks.len(), 1);
}
