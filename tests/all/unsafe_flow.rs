//! An unsafe finding from the sheet to the desk: isolate, notice, tell, heat, and the job that puts it right.
use terms::{FunctionLost, JobId, JobKind, JobState};
use usecases::visit::{self, PaperSource, PaperVisit, Sheet};
use usecases::work::Job;

use crate::support::pdf::{holds, text_of};
use crate::support::{Browser, Width};
use crate::visit_sheet::{good_service, refused, says, submit};
use crate::work_estate::{AGENT, Loop, fresh};

/// A service that ends isolated, with everything the flow asks for.
fn isolated() -> Sheet {
    [
        ("unsafe", "ID"),
        ("unsafe_words", "Flue products spill into the room."),
        ("unsafe_notice", "0901"),
        ("unsafe_isolated", "yes"),
        ("told_resident", "07:05"),
        ("told_agent", "07:10"),
        ("told_landlord", "07:12"),
        ("heat", "lent"),
        ("heat_what", "Two oil-filled heaters"),
        ("heat_at", "07:20"),
        ("outcome", "left_isolated"),
    ]
    .into_iter()
    .fold(good_service(), |sheet, (key, value)| sheet.with(key, value))
}

fn service(estate: &Loop) -> JobId {
    let duty = estate.duty(estate.boiler, "G1");
    estate.annas(JobKind::Service, estate.boiler, vec![duty])
}

fn repairs(estate: &Loop) -> Vec<Job> {
    let open = estate
        .world()
        .acting(&estate.seat, |tx| Ok(tx.jobs(&store::jobs::Which::Open)?))
        .unwrap();
    open.into_iter().filter(|j| j.source == "unsafe").collect()
}

#[test]
fn what_is_missing_is_refused_with_its_own_sentence() {
    let estate = Loop::start();
    let job = service(&estate);
    for (key, sentence) in [
        ("unsafe_words", "Say what you found unsafe"),
        ("unsafe_notice", "number of the warning notice"),
        ("told_resident", "at what time the resident was told"),
        ("told_agent", "at what time the managing agent was told"),
        ("told_landlord", "at what time the landlord was told"),
        ("heat", "what heat was lent or offered"),
        ("heat_what", "which heaters"),
        ("heat_at", "at what time heat was lent"),
    ] {
        let wrongs = refused(submit(&estate, job, &isolated().with(key, "")));
        assert!(says(&wrongs, sentence), "{key}: {wrongs:?}");
        assert!(wrongs.iter().any(|w| w.field == key), "{key}: {wrongs:?}");
    }
    let odd = refused(submit(
        &estate,
        job,
        &isolated().with("told_agent", "at noon"),
    ));
    assert!(says(&odd, "is not a time"), "{odd:?}");
    let refused_entry = isolated()
        .with("unsafe_isolated", "no")
        .with("unsafe_refused", "yes");
    let wrongs = refused(submit(&estate, job, &refused_entry));
    assert!(says(&wrongs, "gas emergency service"), "{wrongs:?}");
    assert_eq!(estate.count("estate.notices"), 0);
    assert!(repairs(&estate).is_empty());
    assert_eq!(estate.job(job).state, JobState::Taken);
}

#[test]
fn a_follow_up_is_opened_with_the_unsafe_state_as_its_reason_and_the_clock_runs() {
    let estate = Loop::start();
    let job = service(&estate);
    submit(&estate, job, &isolated()).unwrap();
    let found = estate.job(job);
    assert_eq!(found.state, JobState::LeftIsolated);
    let follow = repairs(&estate);
    assert_eq!(follow.len(), 1);
    let follow = &follow[0];
    assert_eq!(
        (follow.kind, follow.unit, follow.function_lost),
        (
            JobKind::Repair,
            Some(estate.boiler),
            Some(FunctionLost::HeatingAndHotWater)
        )
    );
    for said in [
        "Flue products spill",
        "immediately dangerous",
        "0901",
        &found.number,
    ] {
        assert!(follow.words.contains(said), "{}", follow.words);
    }
    let due = follow.due_at.expect("a clock");
    assert!(due > estate.world().now(), "it starts with the isolation");
    assert!(!follow.due_why.is_empty(), "and says by which rule");
    let today = estate.client(AGENT).page("/today");
    let job_of_it = format!("/jobs/{}", follow.id);
    for said in ["unsafe or isolated", "0901", job_of_it.as_str()] {
        assert!(today.contains(said), "“{said}” is not on Today");
    }
}

/// Plant in a plant room has a category of its own (the trade's duty table, G5): its notice names that paper and no other.
#[test]
fn the_notice_names_the_registration_of_its_kind_of_unit() {
    let estate = Loop::start();
    estate.app.database.as_owner(&format!(
        "INSERT INTO door.qualifications VALUES \
         (gen_random_uuid(), '{}', 'gas_plant', '300518', '2020-01-01', '2028-01-01')",
        estate.anna
    ));
    let plant = estate
        .world()
        .acting(&estate.seat, |tx| {
            let card = crate::work_estate::unit_card("AH-P-1", "PB", estate.flat);
            Ok::<_, usecases::Error>(tx.add_unit(&card, None)?)
        })
        .unwrap();
    let left = |job| {
        submit(&estate, job, &isolated()).unwrap();
        let seat = &estate.seat;
        let papers = usecases::records::notices_of_job(estate.world(), seat, job).unwrap();
        papers[0].registration.clone()
    };
    assert_eq!(
        left(estate.annas(JobKind::Repair, plant, Vec::new())),
        "300518"
    );
    assert_eq!(
        left(estate.annas(JobKind::Repair, estate.boiler, Vec::new())),
        "200417"
    );
    // A paper for gas is none for an unvented cylinder.
    let job = estate.annas(JobKind::Repair, estate.cylinder, Vec::new());
    estate.anna_may_no_longer("unvented");
    assert_eq!(left(job), "");
}

/// Thirty days for the certificate (the trade's duty table, G7; from memory), 14 for the report of a dangerous fitting
/// (RIDDOR 2013, from memory): what was due before today is past when its paper comes in, unless it was dangerous.
#[test]
fn an_old_paper_starts_no_clock_that_has_run_out_but_that_of_a_danger() {
    let estate = Loop::start();
    let typed_in = |kind, came: &str, sheet: Sheet| {
        let form = PaperVisit {
            job: estate.annas(kind, standing(&estate), Vec::new()),
            source: PaperSource::Paper,
            arrived_at: format!("{came}T09:00:00Z").parse().unwrap(),
            left_at: None,
            firm: None,
            engineer: Some(estate.anna),
            sheet,
        };
        visit::paper_visit(estate.world(), &estate.seat, form, &fresh()).unwrap();
    };
    let new = |serial: &str| {
        good_service()
            .with("new.kind", "CB")
            .with("new.serial", serial)
            .with("soft.photo_missing", "Sent by mail.")
            .with("old_fate", "written_off")
    };
    let certificates = "estate.event_duty_facts WHERE task LIKE 'Certificate%'";
    typed_in(JobKind::Replacement, "2026-10-25", new("N-1"));
    assert_eq!(estate.count(certificates), 0, "due the day before");
    typed_in(JobKind::Replacement, "2026-10-26", new("N-2"));
    assert_eq!(estate.count(certificates), 1, "due today");
    typed_in(JobKind::Repair, "2026-11-01", isolated());
    let reported = "estate.event_duty_facts WHERE due_on = '2026-11-15'";
    assert_eq!(estate.count(reported), 1, "a danger, however late");
}

/// The unit that stands in the flat now.
fn standing(estate: &Loop) -> terms::UnitId {
    let units = estate
        .world()
        .acting(&estate.seat, |tx| {
            Ok::<_, usecases::Error>(tx.units(store::units::Which::Space(estate.flat))?)
        })
        .unwrap();
    let stands = |u: &&terms::unit::UnitCard| u.fate == terms::Fate::InService;
    units.iter().find(stands).expect("one stands there").id
}

#[test]
fn the_notice_is_printed_with_who_was_told_and_what_heat_there_is() {
    let estate = Loop::start();
    let job = service(&estate);
    submit(&estate, job, &isolated()).unwrap();
    let address = format!("/records/{job}/notice");
    for width in [Width::Desk, Width::Phone] {
        let browser = Browser::open(&estate.app.address, "unsafe", width);
        browser.come_in_as("Ada Agent");
        browser.go(&format!("/jobs/{job}"));
        browser.press("See the warning notice");
        browser.arrives(&address);
        browser.shot("warning-notice");
        if let Width::Desk = width {
            let text = text_of(&browser.print("warning-notice"));
            holds(
                &text,
                &[
                    "0901",
                    "immediately dangerous",
                    "Flue products spill into the room.",
                    "1 Alder Way",
                    "Anna Arrow",
                    "200417",
                    "The resident",
                    "07:05",
                    "The managing agent",
                    "07:10",
                    "The landlord",
                    "07:12",
                    "Two oil-filled heaters",
                    "07:20",
                ],
            );
        }
    }
    let other = estate.open(JobKind::Survey, estate.boiler, Vec::new());
    let none = estate
        .client(AGENT)
        .get(&format!("/records/{other}/notice"));
    assert_eq!(none.status(), 404);
}
