//! What is said where the work is: each danger of its kind, the trend that crosses a limit before the next visit, and the
//! soft blocks that a reading or a missing photograph raises.
use std::collections::BTreeSet;

use inspection::RuleBook;
use inspection::standing::DANGERS;
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

/// Every kind of unit, in the order they are shipped.
const ALL: &[&str] = &[
    "CB", "GB", "EB", "TS", "VC", "UV", "HIU", "CP", "PB", "PX", "PS", "CT", "TMV", "HM", "IH",
    "WT", "BC", "HP",
];
const GAS: &[&str] = &["CB", "GB", "PB"];
const STORED: &[&str] = &["TS", "VC", "UV", "TMV"];

/// SAFETY §3, one row a line: every kind it must be said at, and the word nobody may miss. Where the table names a sheet, the
/// kinds are those of that sheet; where it names a step ("all electric steps", "drain-down step"), those whose work has it:
/// common practice, no source.
const ROWS: [(&str, &[&str], &str); 17] = [
    ("gas escape, explosion", GAS, "no flames, no switches"),
    ("carbon monoxide", GAS, "is not left in use"),
    ("flue in voids", GAS, "inspection hatch"),
    ("scald against legionella", STORED, "blend at the outlet"),
    ("legionella", &["CT", "PX"], "20 to 45 °C"),
    (
        "unvented explosion",
        &["UV"],
        "Hot discharge at the tundish",
    ),
    (
        "electric shock",
        &[
            "CB", "GB", "EB", "TS", "VC", "UV", "HIU", "CP", "PB", "PX", "PS", "HM", "IH", "WT",
            "BC", "HP",
        ],
        "prove dead",
    ),
    ("burns", ALL, "75 to 85 °C"),
    ("pressure release", &["HIU", "PX", "PS"], "10 bar"),
    (
        "water damage",
        &[
            "CB", "GB", "EB", "TS", "VC", "UV", "HIU", "CP", "PB", "PX", "PS", "CT", "TMV", "HM",
            "IH", "WT", "HP",
        ],
        "neighbours below",
    ),
    ("confined space", &["PB", "CT"], "second person"),
    ("working at height", &["PB", "CT"], "safe platform"),
    (
        "manual handling",
        &["CB", "GB", "EB", "TS", "VC", "UV", "HIU", "PB"],
        "Two people",
    ),
    ("refrigerant", &["HP"], "certified"),
    ("chemicals", &["WT"], "data sheet"),
    ("fire", &["EB", "PB", "IH"], "burnt terminals"),
    ("hygiene", ALL, "gloves"),
];

#[test]
fn each_danger_is_said_at_the_work_step_of_its_kind_and_only_there() {
    assert_eq!(ROWS.map(|(row, ..)| row), DANGERS.map(|danger| danger.row));
    let shipped = usecases::founding::shipped().unwrap();
    let kinds: Vec<&str> = shipped.kinds.iter().map(|k| k.code.as_str()).collect();
    assert_eq!(kinds, ALL, "no kind is left out");
    let estate = Loop::start();
    estate.anna_may(&["water", "electric", "hiu", "gas_plant"]);
    let anna = estate.client(ANNA);
    for kind in ALL {
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
        for ((row, at, words), danger) in ROWS.iter().zip(&DANGERS) {
            let owed = at.contains(kind);
            assert_eq!(page.contains(danger.words), owed, "{kind}: {row}");
            assert!(
                !owed || page.contains(words),
                "{kind}: “{words}” is not said"
            );
        }
    }
}

/// Parts whose work is neither gas, electrical nor wet by itself: what is cold and low in voltage, what stands outside the
/// unit, and what is a setting. Common practice, no source, like the classes themselves.
const OF_NO_CLASS: [(&str, &[&str]); 12] = [
    ("CB", &["sensor"]),
    ("GB", &["sensor"]),
    ("EB", &["sensor"]),
    ("TS", &["heat_source", "insul"]),
    ("HIU", &["network", "sensor"]),
    ("PS", &["charge"]),
    // An open tank holds no pressure that could be watched.
    ("CT", &["float_valve", "lid", "overflow", "body"]),
    ("TMV", &["supply", "setting"]),
    (
        "HM",
        &["battery", "comms", "temp_pair", "bypass", "misread"],
    ),
    ("WT", &["dose"]),
    ("BC", &["sensor"]),
    ("HP", &["refrigerant", "sensor", "valve"]),
];

#[test]
fn the_part_classes_are_those_of_the_parts_there_are() {
    let book = RuleBook::shipped().unwrap();
    let of = |kind: &str, part: &str| (kind.to_owned(), part.to_owned());
    let shipped: BTreeSet<(String, String)> = usecases::founding::shipped()
        .unwrap()
        .parts
        .iter()
        .map(|part| of(&part.kind, &part.code))
        .collect();
    let classed: BTreeSet<(String, String)> = book
        .part_classes()
        .iter()
        .flat_map(|row| {
            let parts = &row.parts;
            row.kinds
                .iter()
                .flat_map(move |kind| parts.iter().map(move |part| of(kind, part)))
        })
        .collect();
    let of_none: BTreeSet<(String, String)> = OF_NO_CLASS
        .iter()
        .flat_map(|(kind, parts)| parts.iter().map(|part| of(kind, part)))
        .collect();
    assert!(classed.is_disjoint(&of_none));
    let both: BTreeSet<(String, String)> = classed.union(&of_none).cloned().collect();
    assert_eq!(
        both, shipped,
        "each part is classed, or said to be of no class"
    );
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
        browser.words().contains("is 0.9 bar by 25 November 2027"),
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
