//! Each of the twelve hard blocks (SAFETY §4) through each of the six ways in: refused in its own words, the sheet left as it
//! was typed, the job where it was. And the ways round a visit: a gas check closed on any paper, a job left isolated that
//! is stood down, one that is folded into an outage.
mod cases;

use terms::place::{BuildingCard, SpaceCard};
use terms::{
    BuildingId, Country, FunctionLost, JobId, JobKind, JobState, LevelId, Role, SpaceId, UnitId,
    UsedAs,
};
use usecases::Error;
use usecases::door::DEMO_PASSWORD;
use usecases::founding::{NewPerson, add_person};
use usecases::outages::{self, JoinForm};
use usecases::visit::{self, PaperSource, PaperVisit, Sheet};
use usecases::work::{self, FaultCall, LeakKind};

use cases::{cases, repair};

use crate::every_way_in::{WAYS, asked, of_use_case};
use crate::visit_sheet::submit;
use crate::work_estate::{AGENT, Loop, fresh, unit_card};

/// What a block is tried on.
struct Places {
    estate: Loop,
    /// A mixing valve in Flat 14.
    valve: UnitId,
    /// Gas plant of the tower's plant room.
    plant: UnitId,
    /// An electric boiler in the tower, of which nobody said whether it is higher-risk.
    tower: UnitId,
    /// A combi in a flat of which nobody knows how it is let.
    unknown: UnitId,
    /// That flat.
    flat: SpaceId,
}

fn places() -> Places {
    let estate = Loop::start();
    let world = estate.world();
    let home = estate.flat;
    let (valve, plant, tower, unknown, flat) = world
        .acting(&estate.seat, |tx| {
            let old = tx.space(home)?;
            let another = SpaceCard {
                place: 2,
                name: "Flat 16".to_owned(),
                let_short: None,
                ..old.clone()
            };
            let flat = tx.add_space(&another, None)?;
            let building = tx.add_building(&BuildingCard {
                id: BuildingId(uuid::Uuid::nil()),
                code: "TW".to_owned(),
                name: "The Tower".to_owned(),
                address: "2 Alder Way".to_owned(),
                country: Country::England,
                built_year: Some(2005),
                higher_risk: None,
                hardness_mg_l: None,
                asbestos_register: "clear".to_owned(),
                note: String::new(),
            })?;
            let level = tx.add_level(building, 0, "0")?;
            let space = |name: &str, used_as, place| SpaceCard {
                building,
                level: LevelId(level.0),
                name: name.to_owned(),
                used_as,
                place,
                ..old.clone()
            };
            let room = tx.add_space(&space("Plant room", UsedAs::Plant, 0), None)?;
            let high = tx.add_space(&space("Flat 1", UsedAs::Flat, 1), None)?;
            let mut units = Vec::new();
            for (number, kind, at) in [
                ("AH-14-2", "TMV", home),
                ("TW-P-1", "PB", room),
                ("TW-1-1", "EB", high),
                ("AH-16-1", "CB", flat),
            ] {
                let id = tx.add_unit(&unit_card(number, kind, at), None)?;
                let card = tx.unit(id)?;
                usecases::duties::ensure_for_unit(tx, &card)?;
                units.push(id);
            }
            Ok::<_, Error>((units[0], units[1], units[2], units[3], flat))
        })
        .unwrap();
    estate.anna_may(&["water", "electric", "hiu"]);
    Places {
        estate,
        valve,
        plant,
        tower,
        unknown,
        flat,
    }
}

/// A job about a lost function, as a call opens it.
fn lost(estate: &Loop, job: JobId, function: FunctionLost) -> JobId {
    estate.app.database.as_owner(&format!(
        "SELECT set_config('app.estate_id', '{}', false); UPDATE estate.jobs SET function_lost = '{}' WHERE id = '{job}'",
        estate.seat.estate(),
        function.code()
    ));
    job
}

fn nothing_ended(estate: &Loop) {
    for none in [
        "estate.visits WHERE left_at IS NOT NULL OR outcome IS NOT NULL",
        "estate.sheets WHERE closes",
        "estate.duty_completions WHERE job_id IS NOT NULL",
        "door.reply_links WHERE used_at IS NOT NULL",
    ] {
        assert_eq!(estate.count(none), 0, "{none}");
    }
}

#[test]
fn every_hard_block_refuses_through_every_way_in() {
    let at = places();
    let cases = cases();
    let tried: std::collections::BTreeSet<u8> = cases.iter().map(|case| case.block).collect();
    assert_eq!(tried, (1..=12).collect(), "SAFETY §4 lists twelve");
    for (name, send) in WAYS {
        for case in &cases {
            let job = (case.job)(&at);
            let said = send(&at.estate, job, &asked(&case.sheet));
            let which = format!("block {} by {name}", case.block);
            assert!(said.refused, "{which}: {}", said.words);
            assert!(
                said.words.contains(case.words),
                "{which}: “{}” is not said",
                case.words
            );
            let state = at.estate.job(job).state;
            assert!(
                matches!(state, JobState::Taken | JobState::OnSite),
                "{which}: {state}"
            );
        }
    }
    nothing_ended(&at.estate);
}

/// SAFETY §4: never for items 1–3, 5, 6 and 7; the others end with a supervisor's reason.
#[test]
fn a_supervisor_overrides_what_may_be_and_nothing_else() {
    let at = places();
    let una = NewPerson {
        email: "una@example.test".to_owned(),
        name: "Una Upright".to_owned(),
        password: DEMO_PASSWORD.to_owned(),
        demo: true,
        estate: at.estate.seat.estate(),
        role: Role::Supervisor,
        firm: None,
        buildings: None,
    };
    add_person(at.estate.world(), &una).unwrap();
    let una = at.estate.seat_of("una@example.test");
    for case in cases() {
        let job = (case.job)(&at);
        let form = PaperVisit {
            job,
            source: PaperSource::Paper,
            arrived_at: "2026-11-25T07:00:00Z".parse().unwrap(),
            left_at: None,
            firm: None,
            engineer: Some(at.estate.anna),
            sheet: case
                .sheet
                .clone()
                .with("override_reason", "I answer for it."),
        };
        let answer = visit::paper_visit(at.estate.world(), &una, form, &fresh());
        if matches!(case.block, 1 | 2 | 3 | 5 | 6 | 7) {
            let said = of_use_case(answer);
            assert!(
                said.refused && said.words.contains(case.words),
                "{}: {}",
                case.block,
                said.words
            );
        } else {
            let closed = answer.unwrap_or_else(|e| panic!("block {}: {e:?}", case.block));
            assert_eq!(closed.state, JobState::Done, "block {}", case.block);
        }
    }
}

/// SAFETY §4, item 12: where a combustion appliance stands once the work is done.
#[test]
fn the_unit_that_comes_decides_whether_a_co_alarm_is_owed() {
    let at = places();
    let owed = |unit: UnitId, sheet: &Sheet| {
        let job = at.estate.annas(JobKind::Replacement, unit, Vec::new());
        let anna = at.estate.seat_of(crate::work_estate::ANNA);
        let view = visit::open_sheet(at.estate.world(), &anna, job).unwrap();
        let judged = visit::assess(&view.facts, sheet).unwrap();
        judged.completion.hard_blocks.contains(&12)
    };
    let by = |kind: &str| Sheet::new().with("outcome", "done").with("new.kind", kind);
    // An electric boiler in a flat, replaced by one that burns gas.
    assert!(owed(at.tower, &by("CB")));
    assert!(!owed(at.tower, &by("CB").with("new.co_alarm_works", "yes")));
    assert!(!owed(at.tower, &by("CB").with("co_job_date", "2026-12-01")));
    assert!(!owed(at.tower, &by("EB")));
    // A combi, replaced by its like and by one without gas.
    let boiler = at.estate.boiler;
    assert!(owed(boiler, &by("CB")));
    assert!(!owed(boiler, &by("CB").with("r.co_alarm_works", "yes")));
    assert!(!owed(boiler, &by("EB").with("r.co_alarm_works", "no")));
}

#[test]
fn a_gas_check_is_not_closed_on_any_paper() {
    let at = places();
    let duty = at.estate.duty(at.estate.boiler, "G1").to_string();
    let to = format!("/duties/{}/record", at.estate.boiler);
    let agent = at.estate.client(AGENT);
    let bare = [
        ("duty", duty.as_str()),
        ("on", "2026-11-24"),
        ("whole", "yes"),
        ("evidence", "the engineer rang"),
    ];
    let part = [
        ("registration", "200417"),
        ("gi.1.what", "combi gas boiler"),
        ("gi.1.result", "safe to use"),
    ];
    let refused = |more: &[(&str, &str)], words: &[&str]| {
        let fields = [&bare[..], more].concat();
        let answer = agent.post(&to, &fields);
        assert_eq!(answer.status(), 422);
        let page = answer.text().unwrap();
        for said in words {
            assert!(page.contains(said), "“{said}” is not said");
        }
        for (_, typed) in fields.iter().skip(1) {
            assert!(page.contains(typed), "“{typed}” was typed");
        }
    };
    refused(
        &[],
        &[
            "registration number as the record shows it",
            "List every appliance and flue",
        ],
    );
    refused(&part, &["List every appliance and flue"]);
    assert_eq!(
        at.estate
            .count("estate.duty_completions WHERE done_on IS NOT NULL"),
        0
    );
    let whole = [
        &bare[..],
        &part[..],
        &[
            ("gi.2.what", "its flue"),
            ("gi.2.result", "seen over its length"),
        ],
    ]
    .concat();
    assert_eq!(agent.post(&to, &whole).status(), 303);
    let kept = "estate.duty_completions WHERE evidence LIKE '%registration 200417%its flue: seen over its length'";
    assert_eq!(at.estate.count(kept), 1);
    // The check starts the clock of its record: 28 days (regulation 36(6), published page).
    let raised = "estate.event_duty_facts WHERE due_on = '2026-12-22' AND done_on IS NULL";
    assert_eq!(at.estate.count(raised), 1);
}

/// A repair of the boiler that ended at risk and isolated.
fn isolated(at: &Places, job: JobId) {
    let sheet = Sheet::new()
        .with("unsafe", "AR")
        .with("unsafe_words", "Flue support missing in the void.")
        .with("unsafe_notice", "0417")
        .with("unsafe_isolated", "yes")
        .with("told_resident", "07:10")
        .with("told_agent", "07:15")
        .with("told_landlord", "07:20")
        .with("heat", "lent")
        .with("heat_what", "Two heaters")
        .with("heat_at", "07:30")
        .with("outcome", "left_isolated");
    submit(&at.estate, job, &sheet).unwrap();
    assert_eq!(at.estate.job(job).state, JobState::LeftIsolated);
}

#[test]
fn what_was_left_isolated_is_not_stood_down_without_a_job_that_puts_it_right() {
    let at = places();
    let job = repair(&at);
    isolated(&at, job);
    let agent = at.estate.client(AGENT);
    let stand_down = |job: JobId| {
        agent.post(
            &format!("/jobs/{job}/stand-down"),
            &[
                ("once", fresh().as_str()),
                ("reason", "The flat is empty now."),
            ],
        )
    };
    let refused = stand_down(job);
    assert_eq!(refused.status(), 422);
    let page = refused.text().unwrap();
    assert!(
        page.contains("no other open job would put it right"),
        "{page}"
    );
    assert!(
        page.contains("The flat is empty now."),
        "what was typed stays"
    );
    assert_eq!(at.estate.job(job).state, JobState::LeftIsolated);
    let other = at
        .estate
        .open(JobKind::Replacement, at.estate.boiler, Vec::new());
    assert_eq!(stand_down(job).status(), 303);
    assert_eq!(at.estate.job(job).state, JobState::StoodDown);
    // Now that one is the last: it stays.
    assert_eq!(stand_down(other).status(), 422);
    assert_ne!(at.estate.job(other).state, JobState::StoodDown);
}

#[test]
fn what_was_left_isolated_stays_open_when_its_call_joins_an_outage() {
    let at = places();
    let world = at.estate.world();
    let call = |space| {
        let form = FaultCall {
            space,
            function_lost: FunctionLost::HotWater,
            leak: None::<LeakKind>,
            since: None,
            unit: None,
            words: "lukewarm".to_owned(),
        };
        work::log_call(world, &at.estate.seat, form, &fresh()).unwrap()
    };
    let (one, two) = (call(at.estate.flat), call(at.flat));
    at.estate.offer(one.job, at.estate.firm_a);
    let anna = at.estate.seat_of(crate::work_estate::ANNA);
    work::take(world, &anna, one.job, None, &fresh()).unwrap();
    isolated(&at, one.job);
    let form = JoinForm {
        building: at.estate.job(one.job).building,
        branch: None,
        lost: FunctionLost::HotWater,
        cause: String::new(),
        calls: vec![one.call, two.call],
    };
    outages::join(world, &at.estate.seat, form, &fresh()).unwrap();
    assert_eq!(at.estate.job(one.job).state, JobState::LeftIsolated);
    assert_eq!(at.estate.job(two.job).state, JobState::StoodDown);
}
