//! The bag through its page: packed by the engineer, kept, met with what happened.
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
        usecases::Seat::program(estate, &name)
    });
    assert_eq!(record.unwrap().visits, 0, "no week of a bag is over");
}

/// A week later: a fault finished at the first visit counts as said and happened, one that took two visits as said only, and
/// the track record says so in a sentence.
#[test]
fn a_bag_is_met_with_what_happened_once_its_week_is_over() {
    use chrono::TimeDelta;
    use terms::JobState;
    use usecases::Error;
    let app = TestApp::demo();
    let world = &app.database.world;
    let (estate, name, _) = usecases::founding::open_estates(world).unwrap().remove(0);
    let seat = usecases::Seat::program(estate, &name);
    let engineer = app.signed_in("engineer@demo.example");
    let page = engineer.page("/bag");
    let week = hidden(&page, "week_on");
    let fields = [
        ("once", "w1".to_owned()),
        ("estate", hidden(&page, "estate")),
        ("engineer", hidden(&page, "engineer")),
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
    let (first, chance) = *booked.first().expect("a fault visit is booked in the week");
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
    let mut said = chance;
    if let Some((second, other)) = booked.get(1) {
        attend(*second, 2);
        said += other;
    }
    let told = || usecases::bag::record(world, &seat).unwrap();
    assert_eq!(told().visits, 0, "its week is not over");
    app.database.clock.advance(TimeDelta::days(14));
    let record = told();
    assert_eq!((record.bags, record.visits), (1, booked.len().min(2)));
    assert_eq!(record.happened, 1, "two visits are not one");
    assert!((record.said - said).abs() < 1e-12 && record.luck.0 <= record.luck.1);
    let page = app.signed_in("agent@demo.example").page("/track-record");
    let page = page.replace('\u{a0}', " ");
    assert!(
        page.contains("would be finished first time; one was, ")
            || page.contains("would be finished first time; 1 was, "),
        "{page}"
    );
}
