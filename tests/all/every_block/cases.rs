//! One case at least for each hard block.
use terms::{FunctionLost, JobId, JobKind};
use usecases::visit::Sheet;

use super::{Places, lost};
use crate::every_way_in::WORDS;
use crate::visit_sheet::good_service;

/// A block, what it is tried on, and the words it refuses in.
pub(super) struct Case {
    pub(super) block: u8,
    pub(super) job: fn(&Places) -> JobId,
    pub(super) sheet: Sheet,
    pub(super) words: &'static str,
}

fn gas_service(at: &Places) -> JobId {
    let estate = &at.estate;
    estate.annas(
        JobKind::Service,
        estate.boiler,
        vec![estate.duty(estate.boiler, "G1")],
    )
}

pub(super) fn repair(at: &Places) -> JobId {
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
pub(super) fn cases() -> Vec<Case> {
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
        // Like for like: the readings on the sheet are those of the one that went.
        case(
            5,
            |at| {
                at.estate
                    .annas(JobKind::Replacement, at.estate.cylinder, Vec::new())
            },
            done()
                .with("r.tundish", "dry")
                .with("r.cutout_proved", "yes")
                .with("route_seen", "yes")
                .with("new.kind", "UV")
                .with("new.serial", "N-2")
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
