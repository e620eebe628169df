//! The program's own background work: the cron table, the runner, one file a task.
//!
//! Any number of processes share one queue: a schedule enters its tick once a day whoever is first, a task is claimed
//! with a lease, and a worker that lost its lease cannot end the task. Every task may run twice without harm.
mod cron_table;
mod mail_server;
mod reader;
mod runner;
mod tasks;
mod typesetter;

use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use terms::EstateId;
use usecases::World;

pub use cron_table::{SCHEDULES, Schedule, last_due};
pub use mail_server::{MailServer, Secrecy, Secret};
pub use reader::{ListReader, MEMORY_KIB, TIME};
pub use runner::{LEASE, back_off, work_off};
pub use tasks::Trouble;
pub use typesetter::PaperProcess;

/// What tasks need to know from outside.
#[derive(Clone, Debug, Default)]
pub struct Settings {
    /// Where bank holidays are read, as open government JSON; `None`: the shipped table alone.
    pub bank_holidays_url: Option<String>,
    /// This worker's name in leases; unlike that of every other worker.
    pub worker: String,
    /// Where mails are written; `None`: those that are asked for wait.
    pub mail: Option<Mail>,
    /// What reads the lists that are sent; `None`: this process does.
    pub reader: Option<ListReader>,
}

/// How mails leave: as files in a folder, one `.eml` a mail, which stay as the record; and to a mail server, if one is
/// set. Without one, whoever runs the program hands the files on.
#[derive(Clone, Debug)]
pub struct Mail {
    /// The folder; made when the first mail is written.
    pub outbox: PathBuf,
    /// Where the pages are reached by whom a mail goes to, without a slash at its end: "https://heat.example".
    pub pages: String,
    /// The address mails come from.
    pub from: String,
    /// Who takes them on from here.
    pub server: Option<MailServer>,
}

/// How long to rest between looks at the queue.
const REST: Duration = Duration::from_secs(1);
/// How long it takes at most to notice that one should stop.
const STEP: Duration = Duration::from_millis(100);

/// Enters ticks and runs tasks until `stop` is set. A database that does not answer is waited for.
pub fn run(world: World, settings: Settings, stop: Arc<AtomicBool>) {
    let act = |task: &usecases::tasks::Claimed| tasks::run(&world, &settings, task);
    while !stop.load(Ordering::SeqCst) {
        if let Err(error) = cron_table::enter_ticks(&world) {
            tracing::warn!(%error, "the clock's ticks could not be entered");
        }
        work_off(&world, &settings.worker, LEASE, &stop, &act);
        let mut rested = Duration::ZERO;
        while rested < REST && !stop.load(Ordering::SeqCst) {
            std::thread::sleep(STEP);
            rested += STEP;
        }
    }
}

/// Enters ticks, then runs every task that is due; answers how many were begun.
pub fn run_once(world: &World, settings: &Settings) -> usize {
    if let Err(error) = cron_table::enter_ticks(world) {
        tracing::warn!(%error, "the clock's ticks could not be entered");
    }
    run_queue(world, settings)
}

/// Runs every task that is due, without entering ticks; answers how many were begun.
pub fn run_queue(world: &World, settings: &Settings) -> usize {
    let act = |task: &usecases::tasks::Claimed| tasks::run(world, settings, task);
    work_off(
        world,
        &settings.worker,
        LEASE,
        &AtomicBool::new(false),
        &act,
    )
}

/// Queues a task now; `false` when one of the kind is already waiting for this estate.
///
/// # Errors
/// No such kind of task; the store's own.
pub fn enqueue(
    world: &World,
    estate: impl Into<Option<EstateId>>,
    kind: &str,
) -> Result<bool, usecases::Error> {
    if !tasks::KINDS.contains(&kind) {
        return Err(usecases::Error::NotFound("kind of task"));
    }
    usecases::tasks::queue(world, estate.into(), kind)
}

/// Enters the ticks that are due; answers how many this process was first to enter.
///
/// # Errors
/// The store's own.
pub fn enter_ticks(world: &World) -> Result<usize, usecases::Error> {
    cron_table::enter_ticks(world)
}
