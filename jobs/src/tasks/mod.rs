//! The tasks: one file each, each calling one use case.
mod bank_holidays;
mod bring_in_list;
mod due_list;
mod keep_record;
mod lapse_offers;
mod look_for_groups;
mod mail_page;
mod make_plans;
mod morning_brief;
mod nightly_refit;
mod place_rounds;
mod read_list;

use terms::EstateId;
use usecases::import::{BRING_IN_TASK, READ_TASK};
use usecases::mailed::MAIL_TASK;
use usecases::tasks::{Claimed, seat};
use usecases::{Seat, World};

use crate::Settings;

/// Every kind of task.
pub(crate) const KINDS: &[&str] = &[
    "bank_holidays",
    BRING_IN_TASK,
    "due_list",
    "keep_record",
    "lapse_offers",
    "look_for_groups",
    MAIL_TASK,
    "make_plans",
    "morning_brief",
    "nightly_refit",
    "place_rounds",
    READ_TASK,
];

/// Why a task did not end.
#[derive(Debug, thiserror::Error)]
pub enum Trouble {
    /// It panicked.
    #[error("it broke off: {0}")]
    BrokeOff(String),
    /// It did part of its work.
    #[error("{0}")]
    Partly(String),
    /// Nobody knows this kind, or its estate is gone.
    #[error("there is no {0}")]
    Unknown(String),
    /// A mail server did not take a mail.
    #[error("{0} did not take the mail: {1}")]
    Unsent(String, String),
    /// A file could not be written.
    #[error("{0} cannot be written: {1}")]
    Unwritten(String, std::io::Error),
    /// A use case said no.
    #[error(transparent)]
    UseCase(#[from] usecases::Error),
}

/// Runs one task; answers what became of it in words.
pub(crate) fn run(world: &World, settings: &Settings, task: &Claimed) -> Result<String, Trouble> {
    match task.kind.as_str() {
        "bank_holidays" => bank_holidays::run(world, settings.bank_holidays_url.as_deref()),
        BRING_IN_TASK => bring_in_list::run(world, task),
        "due_list" => due_list::run(world, &seat_of(world, task)?),
        "keep_record" => keep_record::run(world, &seat_of(world, task)?),
        "lapse_offers" => lapse_offers::run(world, &seat_of(world, task)?),
        MAIL_TASK => mail_page::run(
            world,
            &seat_of(world, task)?,
            (settings.mail.as_ref(), task),
        ),
        "look_for_groups" => look_for_groups::run(world, &seat_of(world, task)?),
        "make_plans" => make_plans::run(world, &seat_of(world, task)?, task),
        "morning_brief" => morning_brief::run(world, &seat_of(world, task)?),
        "nightly_refit" => nightly_refit::run(world, &seat_of(world, task)?),
        "place_rounds" => place_rounds::run(world, &seat_of(world, task)?, task),
        READ_TASK => read_list::run(world, settings.reader.as_ref(), task),
        other => Err(Trouble::Unknown(format!("task called {other}"))),
    }
}

fn seat_of(world: &World, task: &Claimed) -> Result<Seat, Trouble> {
    let estate = estate_of(task)?;
    seat(world, estate)?.ok_or_else(|| Trouble::Unknown(format!("estate {estate}")))
}

fn estate_of(task: &Claimed) -> Result<EstateId, Trouble> {
    task.estate
        .map(EstateId)
        .ok_or_else(|| Trouble::Unknown("estate named".to_owned()))
}
