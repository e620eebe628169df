//! What is said where the work is: each danger of its kind, the trend that crosses a limit before the next visit, and the
//! soft blocks that a reading or a missing photograph raises.
use inspection::standing::{DANGERS, dangers_of};
use terms::unit::Reading;
use terms::{FunctionLost, JobKind, JobState};
use usecases::Error;
use usecases::visit::{self, Sheet};

use crate::support::browser::{Browser, Width};
use crate::visit_sheet::{good_service, refused, says, submit};
use crate::work_estate::{ANNA, Loop, fresh, unit_card};

fn plain(text: &str) -> String {
    text.replace('\u{a0}', " ").replace("&#39;", "'")
}

/// SAFETY §3, one row a line: at which kind it must be said, and the word nobody may miss.
const ROWS: [(&str, &str, &str); 17] = [
    ("gas escape, explosion", "CB", "no flames, no switches"),
    ("carbon monoxide", "GB", "is not left in use"),
    ("flue in voids", "CB", "inspection hatch"),
    ("scald against legionella", "VC", "blend at the outlet"),
    ("legionella", "CT", "20 to 45 °C"),
    ("unvented explosion", "UV", "Hot discharge at the tundish"),
    ("electric shock", "IH", "prove dead"),
    ("burns", "PX", "75 to 85 °C"),
    ("pressure release", "HIU", "10 bar"),
    ("water damage", "HIU", "neighbours below"),
    ("confined space", "CT", "second person"),
    ("working at height", "PB", "safe platform"),
    ("manual handling", "UV", "Two people"),
    ("refrigerant", "HP", "certified"),
    ("chemicals", "WT", "data sheet"),
    ("fire", "EB", "burnt terminals"),
    ("hygiene", "HM", "gloves"),
];

#[test]
fn each_danger_is_said_at_the_work_step_of_its_kind_and_only_there() {
    assert_eq!(ROWS.map(|(row, ..)| row), DANGERS.map(|danger| danger.row));
    let estate = Loop::start();
    estate.anna_may(&["water", "electric", "hiu", "gas_plant"]);
    let anna = estate.client(ANNA);
    let mut kinds: Vec<&str> = ROWS.iter().map(|(_, kind, _)| *kind).collect();
    kinds.sort_unstable();
    kinds.dedup();
    for kind in kinds {
        let number = format!("AH-14-{kind}");
        let unit = estate
            .world()
            .acting(&estate.seat, |tx| {
                Ok::<_, Error>(tx.add_unit(&unit_card(&number, kind, estate.flat), None)?)
            })
            .unwrap();
        let job = estate.annas(JobKind::Repair, unit, Vec::new());
        assert_eq!(
            anna.post(&format!("/sheet/{job}/arrive"), &[]).status(),
            303
        );
        let page = plain(&anna.page(&format!("/sheet/{job}/work")));
        for (_, _, words) in ROWS.iter().filter(|(_, at, _)| *at == kind) {
            assert!(page.contains(words), "{kind}: “{words}” is not said");
        }
        let said: Vec<&str> = dangers_of(kind).map(|danger| danger.row).collect();
        for danger in &DANGERS {
            let stands = page.contains(danger.words);
            assert_eq!(stands, said.contains(&danger.row), "{kind}: {}", danger.row);
        }
    }
}

/// A cold pressure of 1.40 bar a year ago.
fn last_year(estate: &Loop) {
    estate
        .world()
        .acting(&estate.seat, |tx| {
            let reading = Reading {
                unit: estate.boiler,
                code: "cold_bar".to_owned(),
                value: Some(1.4),
                words: String::new(),
                measured_in: "bar".to_owned(),
                place: String::new(),
                conditions: String::new(),
                stage: "before".to_owned(),
                instrument: String::new(),
                calibrated_until: None,
                taken_at: "2025-11-25T09:00:00Z".parse().unwrap(),
            };
            tx.add_reading(&reading, None, None)?;
            Ok::<_, Error>(())
        })
        .unwrap();
}

/// Trend rule iv (READINGS, trend rules: common practice, no source): 1.40 bar a year ago, 1.15 today, so 0.90 a year on,
/// under the 1.0 of row A11. The next visit is a year on because this one does what is due.
#[test]
fn a_limit_that_will_be_crossed_before_the_next_visit_is_said_at_this_one() {
    let estate = Loop::start();
    last_year(&estate);
    let duty = estate.duty(estate.boiler, "G1");
    let job = estate.annas(JobKind::Service, estate.boiler, vec![duty]);
    let anna = estate.client(ANNA);
    assert_eq!(
        anna.post(&format!("/sheet/{job}/arrive"), &[]).status(),
        303
    );
    let view = visit::open_sheet(estate.world(), &estate.seat_of(ANNA), job).unwrap();
    assert_eq!(view.facts.next_due, Some("2027-11-25".parse().unwrap()));
    let browser = Browser::open(&estate.app.address, "trend", Width::Phone);
    browser.come_in_as("Anna Arrow");
    browser.go(&format!("/sheet/{job}/reading/cold_bar"));
    browser.type_in("r.cold_bar", "1.15");
    browser.until("the phone says it at once", || {
        browser.words().contains("do it at this visit")
    });
    assert!(
        browser.words().contains("0.9 bar by 2027-11-25"),
        "{}",
        browser.words()
    );
    browser.shot("ahead");
    let kept = anna.post(
        &format!("/sheet/{job}/reading/cold_bar"),
        &[("once", fresh().as_str()), ("r.cold_bar", "1.15")],
    );
    assert_eq!(kept.status(), 303);
    let said = plain(&anna.page(&format!("/sheet/{job}/finding?after=cold_bar")));
    assert!(
        said.contains("At this pace 0.9 bar by 25 November 2027: do it at this visit."),
        "{said}"
    );
    // Steady, nothing is said.
    let steady = Sheet::new().with("r.cold_bar", "1.38");
    let judged = visit::assess(&view.facts, &steady).unwrap();
    assert!(
        judged.found.iter().all(|f| f.code != "TREND"),
        "{:?}",
        judged.found
    );
}

#[test]
fn water_below_its_limit_is_closed_only_with_a_reason_unless_it_was_the_job() {
    let estate = Loop::start();
    let duty = estate.duty(estate.boiler, "G1");
    let job = estate.annas(JobKind::Service, estate.boiler, vec![duty]);
    // 26 K of rise at 12 l/min: low (READINGS row A1; given by the trade).
    let cool = good_service()
        .with("r.hot_c", "36")
        .with("r.flow_lpm", "12");
    let wrongs = refused(submit(&estate, job, &cool));
    assert!(says(&wrongs, "water is below its limit"), "{wrongs:?}");
    let reasoned = cool.with(
        "soft.water_below_limit",
        "Reported to the office, a quote follows.",
    );
    submit(&estate, job, &reasoned).unwrap();
    assert_eq!(estate.job(job).state, JobState::Done);
    // Where hot water was the job, it is the job's own finding.
    let repair = estate.annas(JobKind::Repair, estate.boiler, Vec::new());
    let view = visit::open_sheet(estate.world(), &estate.seat_of(ANNA), repair).unwrap();
    let sheet = Sheet::new()
        .with("r.hot_c", "36")
        .with("r.cold_c", "10")
        .with("r.flow_lpm", "12");
    let soft = |lost| {
        let mut facts = view.facts.clone();
        facts.job.function_lost = lost;
        visit::assess(&facts, &sheet)
            .unwrap()
            .completion
            .soft_blocks
    };
    assert!(soft(Some(FunctionLost::Noise)).contains(&"water_below_limit".to_owned()));
    assert!(!soft(Some(FunctionLost::HotWater)).contains(&"water_below_limit".to_owned()));
}

#[test]
fn a_photograph_that_is_owed_and_missing_wants_a_reason() {
    let estate = Loop::start();
    let job = estate.annas(JobKind::Replacement, estate.boiler, Vec::new());
    let sheet = good_service()
        .with("new.kind", "CB")
        .with("new.serial", "N-78")
        .with("old_fate", "written_off");
    let wrongs = refused(submit(&estate, job, &sheet));
    assert!(says(&wrongs, "A photograph is missing"), "{wrongs:?}");
    let view = visit::open_sheet(estate.world(), &estate.seat_of(ANNA), job).unwrap();
    let soft = |photographed: bool| {
        let mut facts = view.facts.clone();
        facts.photographed = photographed;
        visit::assess(&facts, &sheet)
            .unwrap()
            .completion
            .soft_blocks
    };
    assert!(soft(false).contains(&"photo_missing".to_owned()));
    assert!(!soft(true).contains(&"photo_missing".to_owned()));
    submit(
        &estate,
        job,
        &sheet
            .clone()
            .with("soft.photo_missing", "The camera is broken."),
    )
    .unwrap();
    assert_eq!(estate.job(job).state, JobState::Done);
    // The replacement starts the installer's clock: 30 days (the trade's duty table, G7; from memory).
    let raised = "estate.event_duty_facts WHERE due_on = '2026-12-25' AND task LIKE 'Certificate%'";
    assert_eq!(estate.count(raised), 1);
}

/// SAFETY §4, block 11 and the soft blocks: a photograph that is kept counts whatever was ticked; a tick with none kept
/// passes the block and wants a reason.
#[test]
fn a_photograph_of_fire_stopping_counts_when_it_is_kept() {
    let estate = Loop::start();
    let job = estate.annas(JobKind::Repair, estate.boiler, Vec::new());
    let view = visit::open_sheet(estate.world(), &estate.seat_of(ANNA), job).unwrap();
    let judged = |photographed: bool, ticked: &str| {
        let mut facts = view.facts.clone();
        facts.building.higher_risk = None;
        facts.photographed = photographed;
        let sheet = good_service()
            .with("fire_opened", "yes")
            .with("fire_good", "yes")
            .with("fire_photo", ticked);
        let completion = visit::assess(&facts, &sheet).unwrap().completion;
        (
            completion.hard_blocks.contains(&11),
            completion.soft_blocks.contains(&"photo_missing".to_owned()),
        )
    };
    assert_eq!(judged(false, "no"), (true, true));
    assert_eq!(judged(false, "yes"), (false, true), "a tick alone");
    assert_eq!(judged(true, "no"), (false, false), "it is kept");
    assert_eq!(judged(true, "yes"), (false, false));
}
