//! The bag through its page: packed by the engineer, kept, met with what happened.
use chrono::TimeDelta;
use store::jobs::Which;
use store::units::Which as Units;
use terms::{EngineerId, Fate, FunctionLost, JobState};
use usecases::work::{FaultCall, log_call};
use usecases::{Error, Seat, World};

use crate::support::TestApp;

/// The value of a hidden field.
fn hidden(page: &str, name: &str) -> String {
    let mark = format!("name=\"{name}\" value=\"");
    let (_, after) = page.split_once(&mark).unwrap();
    after.split('"').next().unwrap_or_default().to_owned()
}

#[test]
fn an_engineer_packs_a_bag_within_a_price() {
    let app = TestApp::demo();
    let engineer = app.signed_in("engineer@demo.example");
    assert!(engineer.page("/my-day").contains("href=\"/bag\""));
    let page = engineer.page("/bag");
    assert!(page.contains("What to carry this week") && page.contains("Pack the bag"));
    let (estate, whose, week) = (
        hidden(&page, "estate"),
        hidden(&page, "engineer"),
        hidden(&page, "week_on"),
    );
    let pack = |once: &str, purse: &str, hundred: &str| {
        let fields = [
            ("once", once),
            ("estate", estate.as_str()),
            ("engineer", whose.as_str()),
            ("week_on", week.as_str()),
            ("purse", purse),
            ("of_hundred", hundred),
        ];
        engineer.post("/bag", &fields)
    };
    // What cannot be is told at its field, with what was typed.
    let wrong = pack("b0", "much", "5");
    assert_eq!(wrong.status(), 422);
    assert!(wrong.text().unwrap().contains("“much” is not an amount"));
    assert_eq!(pack("b1", "400", "5").status(), 303);
    assert_eq!(pack("b1", "400", "5").status(), 303, "the same key twice");
    let packed = engineer.page("/bag").replace('\u{a0}', " ");
    assert!(packed.contains("finished first time"), "{packed}");
    // Nothing fits into an empty purse.
    assert_eq!(pack("b2", "0", "5").status(), 303);
    let empty = engineer.page("/bag");
    assert!(empty.contains("+0.0") && !empty.contains("to carry</small>"));
    // Somebody else's bag is not there; the desk has none of its own.
    let other = [
        ("once", "b3"),
        ("estate", estate.as_str()),
        ("engineer", "00000000-0000-0000-0000-000000000001"),
    ];
    assert_eq!(engineer.post("/bag", &other).status(), 404);
    assert_eq!(
        app.signed_in("agent@demo.example").get("/bag").status(),
        404
    );
}

#[test]
fn the_firms_office_packs_for_each_of_its_engineers() {
    let app = TestApp::demo();
    let world = &app.database.world;
    let office = app.signed_in("office@demo.example");
    let page = office.page("/bag");
    assert!(
        page.contains("/bag?engineer="),
        "there is more than one engineer"
    );
    let record = usecases::bag::record(world, &{
        let (estate, name, _) = usecases::founding::open_estates(world).unwrap().remove(0);
        Seat::program(estate, &name)
    });
    assert_eq!(record.unwrap().visits, 0, "no week of a bag is over");
}

/// Two faults more in the engineer's week, at homes of Sorrel House: taken and booked for the day after tomorrow.
fn two_more_faults_are_booked(world: &World, seat: &Seat, engineer: &str) {
    let engineer = EngineerId(engineer.parse().unwrap());
    let (firm, flats) = world
        .acting(seat, |tx| {
            let mine = tx.jobs(&Which::Open)?;
            let mine = mine.into_iter().find(|j| j.engineer == Some(engineer));
            let firm = mine.and_then(|j| j.firm).expect("his firm");
            let units = tx.units(Units::All)?;
            let boilers = units.into_iter().filter(|u| {
                u.kind == "CB" && ["Flat 2", "Flat 5"].contains(&u.space_name.as_str())
            });
            let flats: Vec<_> = boilers
                .filter(|u| u.fate == Fate::InService)
                .map(|u| (u.space, u.id))
                .collect();
            Ok::<_, Error>((firm, flats))
        })
        .unwrap();
    assert_eq!(flats.len(), 2);
    let from = world.now() + TimeDelta::days(2);
    for (n, (space, unit)) in flats.into_iter().enumerate() {
        let form = FaultCall {
            space,
            function_lost: [FunctionLost::Heating, FunctionLost::HotWater][n],
            leak: None,
            since: None,
            unit: Some(unit),
            words: String::new(),
        };
        let job = log_call(world, seat, form, &format!("call {n}"))
            .unwrap()
            .job;
        world
            .acting(seat, |tx| {
                let mut card = tx.hold_job(job)?;
                (card.firm, card.engineer) = (Some(firm), Some(engineer));
                card.state = JobState::Booked;
                let begins = from + TimeDelta::hours(2 * n as i64);
                card.booked = Some((begins, begins + TimeDelta::hours(1)));
                tx.save_job(&card)?;
                tx.add_job_event(job, JobState::Booked, None, "booked")?;
                Ok::<_, Error>(())
            })
            .unwrap();
    }
}

/// A week later: a fault finished at the first visit counts as said and happened, one that took two visits as said only, and
/// the track record says so in a sentence.
#[test]
fn a_bag_is_met_with_what_happened_once_its_week_is_over() {
    let app = TestApp::demo();
    let world = &app.database.world;
    let (estate, name, _) = usecases::founding::open_estates(world).unwrap().remove(0);
    let seat = Seat::program(estate, &name);
    let engineer = app.signed_in("engineer@demo.example");
    let page = engineer.page("/bag");
    let (week, whose) = (hidden(&page, "week_on"), hidden(&page, "engineer"));
    two_more_faults_are_booked(world, &seat, &whose);
    let fields = [
        ("once", "w1".to_owned()),
        ("estate", hidden(&page, "estate")),
        ("engineer", whose),
        ("week_on", week.clone()),
        ("purse", "400".to_owned()),
        ("of_hundred", "5".to_owned()),
    ];
    let fields: Vec<(&str, &str)> = fields.iter().map(|(k, v)| (*k, v.as_str())).collect();
    assert_eq!(engineer.post("/bag", &fields).status(), 303);
    let monday: chrono::NaiveDate = week.parse().unwrap();
    let booked = world
        .acting(&seat, |tx| {
            let row = tx.bags_between(monday, monday)?.remove(0);
            let answer: usecases::bag::BagAnswer = serde_json::from_value(row.answer).unwrap();
            Ok::<_, Error>(answer.jobs)
        })
        .unwrap();
    // Those nobody was at yet; a visit made before the bag was packed counts as it went.
    let seen = |job| {
        let at = world
            .acting(&seat, |tx| Ok::<_, Error>(tx.job_events(job)?))
            .unwrap();
        at.iter().filter(|e| e.state == JobState::OnSite).count()
    };
    let (made, ahead): (Vec<_>, Vec<_>) =
        booked.iter().copied().partition(|(job, _)| seen(*job) > 0);
    assert!(ahead.len() >= 3, "{booked:?}");
    let [(first, once), (second, twice), (third, never)] = [ahead[0], ahead[1], ahead[2]];
    // Chances that differ, and none certain: a sum over the wrong visits would be seen.
    for chance in [once, twice, never] {
        assert!(0.0 < chance && chance < 1.0, "{ahead:?}");
    }
    let attend = |job, times: usize| {
        world
            .acting(&seat, |tx| {
                let mut card = tx.hold_job(job)?;
                for _ in 0..times {
                    tx.add_job_event(job, JobState::OnSite, None, "on site")?;
                }
                card.state = JobState::Done;
                tx.save_job(&card)?;
                tx.add_job_event(job, JobState::Done, None, "done")?;
                Ok::<_, Error>(())
            })
            .unwrap();
    };
    attend(first, 1);
    attend(second, 2);
    assert_eq!(seen(third), 0, "nobody comes to the third");
    let said = once + twice + made.iter().map(|(_, chance)| chance).sum::<f64>();
    let told = || usecases::bag::record(world, &seat).unwrap();
    assert_eq!(told().visits, 0, "its week is not over");
    app.database.clock.advance(TimeDelta::days(14));
    let record = told();
    assert_eq!((record.bags, record.visits), (1, 2 + made.len()));
    assert_eq!(record.happened, 1, "two visits are not one");
    assert!((record.said - said).abs() < 1e-12 && record.luck.0 <= record.luck.1);
    let page = app.signed_in("agent@demo.example").page("/track-record");
    let page = page.replace('\u{a0}', " ");
    assert!(
        page.contains("would be finished first time; one was, "),
        "{page}"
    );
}
