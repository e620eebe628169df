//! Each of the twelve hard blocks (SAFETY §4) through each of the six ways in: refused in its own words, the sheet left as it
//! was typed, the job where it was. And the ways round a visit: a gas check closed on any paper, a job left isolated that
//! is stood down, one that is folded into an outage.
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

use crate::every_way_in::{WAYS, WORDS, asked, of_use_case};
use crate::visit_sheet::{good_service, submit};
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

struct Case {
    block: u8,
    job: fn(&Places) -> JobId,
    sheet: Sheet,
    words: &'static str,
}

fn gas_service(at: &Places) -> JobId {
    let estate = &at.estate;
    estate.annas(
        JobKind::Service,
        estate.boiler,
        vec![estate.duty(estate.boiler, "G1")],
    )
}

fn repair(at: &Places) -> JobId {
    at.estate
        .annas(JobKind::Repair, at.estate.boiler, Vec::new())
}

fn case(block: u8, job: fn(&Places) -> JobId, sheet: Sheet, words: &'static str) -> Case {
    Case {
        block,
        job,
        sheet,
        words,
    }
}

/// One case at least for each block; a block of which a sign may be missing has one for that too.
fn cases() -> Vec<Case> {
    let good = || good_service().with("work", WORDS);
    let done = || {
        Sheet::new()
            .with("outcome", "done")
            .with("told", "yes")
            .with("asbestos", "read_none")
            .with("label_matches", "yes")
            .with("work", WORDS)
            .with("soft.before_reading_missing", "Nothing to measure.")
    };
    vec![
        case(
            1,
            gas_service,
            good()
                .with("unsafe", "ID")
                .with("unsafe_words", "It spills."),
            "Isolate it",
        ),
        // A domestic registration does not cover the plant room: hers for plant ended after she took the job.
        case(
            2,
            |at| {
                at.estate.anna_may(&["gas_plant"]);
                let job = at.estate.annas(JobKind::Repair, at.plant, Vec::new());
                at.estate.anna_may_no_longer("gas_plant");
                job
            },
            done().with("gas_work", "yes").with("fire_opened", "no"),
            "registration number",
        ),
        case(
            3,
            gas_service,
            good().with("r.working_mbar", ""),
            "working pressure or gas rate",
        ),
        case(
            4,
            gas_service,
            good().with("gc.2.result", ""),
            "every appliance and flue",
        ),
        case(
            5,
            |at| {
                at.estate
                    .annas(JobKind::Service, at.estate.cylinder, Vec::new())
            },
            done()
                .with("r.tundish", "hot")
                .with("route_seen", "yes")
                .with("r.cutout_proved", "yes"),
            "relief route must be seen",
        ),
        // Replaced BY an unvented cylinder: the unit that came counts.
        case(
            5,
            |at| at.estate.annas(JobKind::Replacement, at.tower, Vec::new()),
            done()
                .with("fire_opened", "no")
                .with("new.kind", "UV")
                .with("new.serial", "N-1")
                .with("soft.photo_missing", "Sent by mail."),
            "relief route must be seen",
        ),
        case(
            6,
            |at| at.estate.annas(JobKind::Repair, at.valve, Vec::new()),
            done().with("outlet", "basin").with("r.mix_c", "46"),
            "over its maximum",
        ),
        case(
            7,
            repair,
            done().with("elec", "yes"),
            "isolated and proved dead",
        ),
        // A wet part fitted, "wet" not answered.
        case(
            8,
            repair,
            done()
                .with("fitted", "relief_valve")
                .with("old_part", "R-1"),
            "was not watched",
        ),
        // A call about a leak, nothing answered.
        case(
            8,
            |at| lost(&at.estate, repair(at), FunctionLost::Leak),
            done().with("works_after", "yes"),
            "was not watched",
        ),
        case(
            9,
            |at| lost(&at.estate, repair(at), FunctionLost::HotWater),
            done().with("works_after", "no"),
            "has not been tested again",
        ),
        case(
            10,
            repair,
            done().with("asbestos", ""),
            "asbestos step is not answered",
        ),
        // Nobody said whether the building is higher-risk, nor whether fire-stopping was opened.
        case(
            11,
            |at| at.estate.annas(JobKind::Repair, at.tower, Vec::new()),
            done(),
            "whether fire-stopping was opened",
        ),
        // Nobody knows how the flat is let.
        case(
            12,
            |at| {
                at.estate.annas(
                    JobKind::Service,
                    at.unknown,
                    vec![at.estate.duty(at.unknown, "G1")],
                )
            },
            good().with("r.co_alarm_works", "no"),
            "CO alarm is required",
        ),
    ]
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
