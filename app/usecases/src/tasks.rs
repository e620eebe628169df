//! The program's own background work as the runner asks for it: ticks of the clock, claims, endings.
use chrono::{DateTime, TimeDelta, Utc};
use serde_json::json;
use terms::{EstateId, TaskId};

use crate::{Error, Seat, World};

pub use store::tasks::{Claimed, NewTask, TaskCard};

/// For whom a schedule queues its task.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum For {
    /// One task an estate.
    EachEstate,
    /// One for the whole server.
    Server,
}

/// Enters the tick of `schedule` that fell due on `due` and queues `kind` with it; `false` when another process was
/// first. Tick and tasks are written together, so a tick is never without its tasks.
pub fn enter_tick(
    world: &World,
    (schedule, due): (&str, &str),
    kind: &str,
    whom: For,
) -> Result<bool, Error> {
    let at = world.now();
    world.pool.at_door(|door| {
        if !door.tick(schedule, due, at)? {
            return Ok(false);
        }
        let estates: Vec<Option<EstateId>> = match whom {
            For::EachEstate => door.estates()?.into_iter().map(|e| Some(e.0)).collect(),
            For::Server => vec![None],
        };
        for estate in estates {
            door.queue(&new_task(estate, kind, at), at)?;
        }
        Ok(true)
    })
}

/// Queues `kind` now; `false` when one is already waiting.
pub fn queue(world: &World, estate: Option<EstateId>, kind: &str) -> Result<bool, Error> {
    let at = world.now();
    world
        .pool
        .at_door(|door| door.queue(&new_task(estate, kind, at), at))
        .map_err(Error::from)
}

fn new_task(estate: Option<EstateId>, kind: &str, at: DateTime<Utc>) -> NewTask {
    let whose = estate.map_or_else(|| "server".to_owned(), |e| e.to_string());
    NewTask {
        estate,
        kind: kind.to_owned(),
        payload: json!({}),
        once_key: Some(format!("{whose} waiting")),
        run_at: at,
    }
}

/// Claims the oldest task that is due, for `lease`.
pub fn claim(world: &World, worker: &str, lease: TimeDelta) -> Result<Option<Claimed>, Error> {
    let at = world.now();
    world
        .pool
        .at_door(|door| door.claim(worker, at, lease))
        .map_err(Error::from)
}

/// Holds a claimed task for another `lease`.
///
/// # Errors
/// [`Error::Conflict`] when the lease went to another worker.
pub fn renew(world: &World, task: TaskId, worker: &str, lease: TimeDelta) -> Result<(), Error> {
    let until = world.now() + lease;
    world
        .pool
        .at_door(|door| door.renew_lease(task, worker, until))
        .map_err(Error::from)
}

/// Says where a long task is, in words a person reads, and holds it for another `lease`.
pub fn tell(world: &World, task: TaskId, words: &str, lease: TimeDelta) -> Result<(), Error> {
    let until = world.now() + lease;
    world
        .pool
        .at_door(|door| door.progress(task, words, until))
        .map_err(Error::from)
}

/// Marks a claimed task done, with what became of it in words.
///
/// # Errors
/// [`Error::Conflict`] when the lease went to another worker.
pub fn finish(world: &World, task: TaskId, worker: &str, words: &str) -> Result<(), Error> {
    let at = world.now();
    world.pool.at_door(|door| {
        door.finish(task, worker, at)?;
        Ok(door.say_of_task(task, words)?)
    })
}

/// Puts a claimed task back, to be tried again after `wait`.
pub fn put_back(
    world: &World,
    task: TaskId,
    worker: &str,
    why: &str,
    wait: TimeDelta,
) -> Result<(), Error> {
    let at = world.now() + wait;
    world
        .pool
        .at_door(|door| door.put_back(task, worker, why, at))
        .map_err(Error::from)
}

/// The program's own seat in an estate; `None` when there is no such estate.
pub fn seat(world: &World, estate: EstateId) -> Result<Option<Seat>, Error> {
    let estates = world.pool.at_door::<_, Error>(|door| Ok(door.estates()?))?;
    Ok(estates
        .into_iter()
        .find(|(id, _, _)| *id == estate)
        .map(|(id, name, _)| Seat::program(id, &name)))
}

/// The latest tasks of the seat's estate, newest first.
pub fn recent(world: &World, seat: &Seat, limit: i64) -> Result<Vec<TaskCard>, Error> {
    world
        .pool
        .at_door(|door| door.recent_tasks(seat.estate(), limit))
        .map_err(Error::from)
}
