//! Reports with a time of their own: what a wiring inspection found, an outage of the heat network; events that were missing.
use inspection::calendar::date_words;
use terms::FunctionLost;
use usecases::duties::{self, EnterEvent, EventLine};
use usecases::outages::{self, EndForm, Retest};
use usecases::{Error, Seat, World};

use super::{plain, strangers};
use crate::outages::Network;
use crate::work_estate::{AGENT, ANNA, Loop, day, fresh};

fn lines(world: &World, seat: &Seat) -> Vec<EventLine> {
    duties::event_lines(world, seat).unwrap()
}

fn line<'a>(lines: &'a [EventLine], event: &str) -> &'a EventLine {
    let found = lines.iter().find(|l| l.duty.event == event);
    found.unwrap_or_else(|| panic!("{event} is not due: {lines:#?}"))
}

// Regulations on electrical safety (trade file on duties, E1 and section 3): remedied within 28 days starting with the day
// of the inspection or the report's shorter time, copy to the tenant within 28 days of it; danger present at once.
#[test]
fn what_a_wiring_inspection_found_opens_its_times() {
    let estate = Loop::start();
    let agent = estate.client(AGENT);
    let home = format!("/duties/at/space/{}", estate.flat);
    let open = [("once", "o"), ("rule", "E1"), ("deadline", "2026-12-01")];
    assert_eq!(agent.post(&format!("{home}/open"), &open).status(), 303);
    let duty = estate
        .world()
        .acting(&estate.seat, |tx| {
            let building = tx.space(estate.flat)?.building;
            Ok::<_, Error>(tx.duties_of_places(building)?[0].id.to_string())
        })
        .unwrap();
    let form = plain(&agent.page(&format!("{home}/record?duty={duty}")));
    assert!(form.contains("What the report found") && form.contains("Danger present"));
    let record = |once: &str, found: &str, period: &str| {
        agent.post(
            &format!("{home}/record"),
            &[
                ("once", once),
                ("duty", duty.as_str()),
                ("on", "2026-11-20"),
                ("whole", "yes"),
                ("evidence", "report 9 of 20 November"),
                ("wiring", found),
                ("period_days", period),
            ],
        )
    };
    for (found, period, said) in [
        ("sparks", "", "Choose what the report found"),
        ("danger", "40", "A report may only shorten the time"),
        ("faults", "soon", "report 9 of 20 November"),
    ] {
        let wrong = record(&fresh(), found, period);
        assert_eq!(wrong.status(), 422, "{said}");
        let page = plain(&wrong.text().unwrap());
        assert!(page.contains(said), "“{said}” is not in {page}");
    }
    assert_eq!(estate.count("estate.event_duties"), 0);
    assert_eq!(record("r1", "danger", "14").status(), 303);
    assert_eq!(record("r1", "danger", "14").status(), 303);
    let found = lines(estate.world(), &estate.seat);
    assert_eq!(found.len(), 3, "each once: {found:#?}");
    // By hand: 20 November is the first of fourteen days; 28 days after it is 18 December.
    for (event, by) in [
        ("eicr_danger_present", "2026-11-20"),
        ("eicr_remedy", "2026-12-03"),
        ("eicr_copy_to_tenant", "2026-12-18"),
    ] {
        let line = line(&found, event);
        assert_eq!(line.duty.due_on, day(by), "{event}");
        assert!(
            line.duty.sentence.contains(&date_words(day(by))),
            "{}",
            line.duty.sentence
        );
        assert!(!line.basis.is_empty() && !line.status.is_empty(), "{event}");
        assert_eq!(line.duty.space, Some(estate.flat));
    }
    assert_eq!(
        line(&found, "eicr_danger_present").status,
        "common practice, no source"
    );
    let shown = plain(&agent.page("/duties"));
    assert!(shown.contains("danger in the wiring made safe"), "{shown}");
    // Five years from the inspection (the same page); what is clean opens nothing.
    let shown = plain(&agent.page(&home));
    assert!(shown.contains("20 November 2031"), "{shown}");
    assert_eq!(
        estate
            .client(ANNA)
            .post(&format!("{home}/record"), &open)
            .status(),
        404
    );
}

#[test]
fn an_outage_of_the_network_has_its_own_day_and_ends_with_the_outage() {
    let network = Network::new();
    let (riser, homes) = network.riser("Riser 2");
    let calls: Vec<_> = homes[..2]
        .iter()
        .map(|(space, _)| network.call(*space, FunctionLost::HotWater).call)
        .collect();
    let id = network.join(Some(riser), calls, "j").unwrap();
    let agent = &network.estate.agent;
    let page_of = format!("/outages/{id}");
    assert!(plain(&agent.page(&page_of)).contains("say that it is the heat network’s"));
    let say = |once: &str| agent.post(&format!("{page_of}/network"), &[("once", once)]);
    assert_eq!(say("n1").status(), 303);
    assert_eq!(say("n1").status(), 303);
    assert_eq!(say("n2").status(), 409, "it stands already");
    let seat = &network.estate.seat;
    let found = lines(network.world(), seat);
    let report = line(&found, "heat_network_outage");
    // 24 hours from 07:40 on 25 November 2026: the trade's norm (trade file on duties, section 4).
    assert_eq!(report.duty.due_on, day("2026-11-26"));
    assert!(
        report.duty.sentence.contains("07:40 on 26 November 2026"),
        "{}",
        report.duty.sentence
    );
    assert_eq!(report.basis, "landlord's own times, starting values");
    let page = plain(&agent.page(&page_of));
    assert!(
        page.contains("Unplanned outage of the heat network"),
        "{page}"
    );
    assert!(!page.contains("say that it is the heat network’s"));
    assert!(plain(&agent.page("/today")).contains("heat network running again"));
    network.later(60);
    let end = EndForm {
        outage: id,
        until: None,
        cause: "pump failed".to_owned(),
        tested: homes[..2]
            .iter()
            .map(|(space, _)| Retest {
                space: *space,
                works: Some(true),
                found: "51 °C at the tap".to_owned(),
            })
            .collect(),
        sample: String::new(),
    };
    outages::end_outage(network.world(), seat, end, "e").unwrap();
    let found = lines(network.world(), seat);
    let report = line(&found, "heat_network_outage");
    assert_eq!(report.duty.done_on, Some(day("2026-11-25")));
    assert!(report.duty.evidence.contains("pump failed"));
    assert_eq!(say("n3").status(), 409, "it is over");
    let nowhere = uuid::Uuid::new_v4();
    let none = agent.post(&format!("/outages/{nowhere}/network"), &[("once", "x")]);
    assert_eq!(none.status(), 404);
    let stranger =
        usecases::founding::found_estate(network.world(), "Other Estate", false).unwrap();
    let theirs = duties::network_is_out(network.world(), &stranger, id, "s");
    assert!(
        matches!(theirs, Err(Error::NotFound(_))),
        "another estate's"
    );
}

#[test]
fn a_faulty_alarm_and_disturbed_fire_stopping_have_their_day() {
    let estate = Loop::start();
    let building = estate
        .world()
        .acting(&estate.seat, |tx| {
            Ok::<_, Error>(tx.space(estate.flat)?.building)
        })
        .unwrap();
    let enter = |happening: &str, space, once: &str| {
        let form = EnterEvent {
            happening: happening.to_owned(),
            building,
            space,
            on: day("2026-11-24"),
            period_days: None,
            words: String::new(),
        };
        duties::enter_event(estate.world(), &estate.seat, form, once)
    };
    enter("alarm_faulty", Some(estate.flat), "a").unwrap();
    enter("fire_stopping_disturbed", Some(estate.flat), "f").unwrap();
    let found = lines(estate.world(), &estate.seat);
    // SI 2015/1693 sets no days; one is ours. Fire-stopping is made good with the work: common practice, no source.
    assert_eq!(
        line(&found, "alarm_put_right").duty.due_on,
        day("2026-11-25")
    );
    assert_eq!(
        line(&found, "fire_stopping_made_good").duty.due_on,
        day("2026-11-24")
    );
    let nowhere = enter("alarm_faulty", None, "n");
    assert!(matches!(nowhere, Err(Error::Invalid(_))));
    let theirs = strangers(&estate).flat(None);
    let foreign = enter("alarm_faulty", Some(theirs), "t");
    assert!(matches!(
        foreign,
        Err(Error::NotFound(_) | Error::Invalid(_))
    ));
    assert_eq!(lines(estate.world(), &estate.seat).len(), 2);
}
