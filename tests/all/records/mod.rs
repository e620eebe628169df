//! Records, letters, the proof of a day and papers in date: who may see them, what makes them whole, how they print.
mod authority;
mod in_date;
mod letters;
mod printed_letters;
mod printed_records;
mod proof;
mod whole;

use chrono::TimeDelta;
use terms::{BuildingId, JobId, JobKind, RecordKind, Role};
use usecases::Error;
use usecases::founding::{NewPerson, add_person};
use usecases::letterhead::{Letterhead, state_letterhead};
use usecases::visit::Sheet;

use crate::visit_sheet::{good_service, submit};
use crate::work_estate::{AGENT, ANNA, Loop, fresh};

pub const OWNER: &str = "owner@example.test";
pub const OTHER_OWNER: &str = "other-owner@example.test";
pub const OFFICE_A: &str = "office-a@example.test";
pub const OFFICE_B: &str = "office-b@example.test";

/// A service and gas check whose sheet answers everything its records ask.
pub fn whole_sheet() -> Sheet {
    good_service()
        .with("gc.1.where", "Kitchen cupboard")
        .with("gc.2.where", "Kitchen wall to outside")
        .with("gc_defects", "none")
        .with("gc_26_9", "yes")
        .with("cal.gas_rate_or_inlet", "2027-06-30")
}

/// The estate with owners and offices, and the agent's letterhead.
pub fn estate() -> Loop {
    let estate = Loop::start();
    let here = building(&estate);
    for (email, name, role, firm, buildings) in [
        (OWNER, "Olive Owner", Role::Landlord, None, Some(vec![here])),
        (
            OTHER_OWNER,
            "Otto Other",
            Role::Landlord,
            None,
            Some(Vec::new()),
        ),
        (
            OFFICE_A,
            "Office of A",
            Role::Office,
            Some(estate.firm_a),
            None,
        ),
        (
            OFFICE_B,
            "Office of B",
            Role::Office,
            Some(estate.firm_b),
            None,
        ),
    ] {
        let person = NewPerson {
            email: email.to_owned(),
            name: name.to_owned(),
            password: usecases::door::DEMO_PASSWORD.to_owned(),
            demo: true,
            estate: estate.seat.estate(),
            role,
            firm,
            buildings,
        };
        add_person(estate.world(), &person).unwrap();
    }
    estate
}

pub fn with_letterhead(estate: &Loop) {
    let form = Letterhead {
        name: "Tansy & Rook, Managing Agents".to_owned(),
        address: "2 Long Street, Alderton".to_owned(),
        telephone: "01632 960100".to_owned(),
    };
    state_letterhead(estate.world(), &estate.seat_of(AGENT), &form, &fresh()).unwrap();
}

pub fn building(estate: &Loop) -> BuildingId {
    estate
        .world()
        .acting(&estate.seat, |tx| {
            Ok::<_, Error>(tx.space(estate.flat)?.building)
        })
        .unwrap()
}

/// A service of the boiler that Anna ended with this sheet.
pub fn served(estate: &Loop, sheet: &Sheet) -> JobId {
    let duty = estate.duty(estate.boiler, "G1");
    let job = estate.annas(JobKind::Service, estate.boiler, vec![duty]);
    submit(estate, job, sheet).unwrap();
    job
}

/// The gas safety record of a job, signed by Anna; answers its number.
pub fn signed(estate: &Loop, job: JobId, kind: RecordKind) -> String {
    let anna = estate.seat_of(ANNA);
    usecases::records::issue(estate.world(), &anna, (job, kind), "Anna Arrow", &fresh()).unwrap()
}

/// Where a record stands.
pub fn at(job: JobId, kind: &str) -> String {
    format!("/records/{job}/{kind}")
}

/// Nobody opens to Anna, `days` from the beginning at this hour (UTC).
pub fn nobody_opens(estate: &Loop, job: JobId, (days, hour): (i64, i64)) {
    let midnight = "2026-11-25T00:00:00Z".parse::<chrono::DateTime<chrono::Utc>>();
    let at = midnight.unwrap() + TimeDelta::days(days) + TimeDelta::hours(hour);
    estate.app.database.clock.set(at);
    let sheet = Sheet::new()
        .with("outcome", "no_access")
        .with("left_behind", "card through the door")
        .with("access_words", "Rang and knocked.");
    submit(estate, job, &sheet).unwrap();
}

/// A page with its no-break spaces as spaces.
pub fn plain(page: &str) -> String {
    page.replace('\u{a0}', " ")
}
