//! The queue of the program's own background work: claimed with SKIP LOCKED and a lease; a worker
//! that lost its lease cannot commit. Schedules enter through `ticks`, once each, from any process.
use chrono::{DateTime, TimeDelta, Utc};
use diesel::pg::PgConnection;
use diesel::prelude::*;
use diesel::sql_types::{Text, Timestamptz};
use terms::{EstateId, TaskId};

use crate::door::Door;
use crate::door_schema::{tasks, ticks};
use crate::tx::fresh_uuid;
use crate::{Db, Error, Tx};

/// Work to be queued.
#[derive(Clone, Debug)]
pub struct NewTask {
    /// For which estate; `None` for the server's own.
    pub estate: Option<EstateId>,
    /// Which task.
    pub kind: String,
    /// What it needs to know.
    pub payload: serde_json::Value,
    /// While one with this key waits, another is not queued.
    pub once_key: Option<String>,
    /// Not before.
    pub run_at: DateTime<Utc>,
}

/// A task handed to a worker.
#[derive(Clone, Debug, Queryable)]
pub struct Claimed {
    /// Its id.
    #[diesel(deserialize_as = Db<TaskId>)]
    pub id: TaskId,
    /// For which estate.
    pub estate: Option<uuid::Uuid>,
    /// Which task.
    pub kind: String,
    /// What it needs to know.
    pub payload: serde_json::Value,
    /// Which try this is, from 1.
    pub attempts: i32,
}

/// A task as a person sees it.
#[derive(Clone, Debug, Queryable)]
pub struct TaskCard {
    /// Its id.
    #[diesel(deserialize_as = Db<TaskId>)]
    pub id: TaskId,
    /// Which task.
    pub kind: String,
    /// Where it is, in words.
    pub progress: Option<String>,
    /// When it was done.
    pub done_at: Option<DateTime<Utc>>,
    /// What went wrong last.
    pub last_error: Option<String>,
    /// Tries so far.
    pub attempts: i32,
    /// When it was queued.
    pub made_at: DateTime<Utc>,
}

fn queue(conn: &mut PgConnection, task: &NewTask, at: DateTime<Utc>) -> Result<bool, Error> {
    let added = diesel::insert_into(tasks::table)
        .values((
            tasks::id.eq(fresh_uuid(at)),
            tasks::estate.eq(task.estate.map(Db)),
            tasks::kind.eq(&task.kind),
            tasks::payload.eq(&task.payload),
            tasks::once_key.eq(&task.once_key),
            tasks::run_at.eq(task.run_at),
            tasks::made_at.eq(at),
        ))
        .on_conflict_do_nothing()
        .execute(conn)?;
    Ok(added == 1)
}

impl Tx<'_> {
    /// Queues work for this estate in the same transaction.
    pub fn queue(
        &mut self,
        kind: &str,
        payload: serde_json::Value,
        once_key: Option<&str>,
    ) -> Result<bool, Error> {
        let now = self.at();
        self.queue_for(now, kind, payload, once_key)
    }

    /// The same, not to be begun before `run_at`.
    pub fn queue_for(
        &mut self,
        run_at: DateTime<Utc>,
        kind: &str,
        payload: serde_json::Value,
        once_key: Option<&str>,
    ) -> Result<bool, Error> {
        let task = NewTask {
            estate: Some(self.estate()),
            kind: kind.to_owned(),
            payload,
            once_key: once_key.map(|key| format!("{} {key}", self.estate())),
            run_at,
        };
        let at = self.at();
        queue(self.conn(), &task, at)
    }
}

impl Door<'_> {
    /// Queues work; `false` when one with the same key is waiting.
    pub fn queue(&mut self, task: &NewTask, at: DateTime<Utc>) -> Result<bool, Error> {
        queue(self.conn(), task, at)
    }

    /// Enters a tick of a schedule; `false` when another process was first.
    pub fn tick(&mut self, schedule: &str, due: &str, at: DateTime<Utc>) -> Result<bool, Error> {
        let added = diesel::insert_into(ticks::table)
            .values((
                ticks::schedule.eq(schedule),
                ticks::due.eq(due),
                ticks::at.eq(at),
            ))
            .on_conflict_do_nothing()
            .execute(self.conn())?;
        Ok(added == 1)
    }

    /// Claims the oldest task that is due and not leased, for `lease`.
    #[expect(
        clippy::disallowed_methods,
        reason = "UPDATE … WHERE id = (SELECT … SKIP LOCKED) has no typed form"
    )]
    pub fn claim(
        &mut self,
        worker: &str,
        at: DateTime<Utc>,
        lease: TimeDelta,
    ) -> Result<Option<Claimed>, Error> {
        #[derive(QueryableByName)]
        struct Found {
            #[diesel(sql_type = diesel::sql_types::Uuid)]
            id: uuid::Uuid,
        }
        let found: Option<Found> = diesel::sql_query(
            "UPDATE door.tasks SET leased_until = $1, leased_by = $2, attempts = attempts + 1 \
             WHERE id = (SELECT id FROM door.tasks WHERE done_at IS NULL AND run_at <= $3 \
             AND (leased_until IS NULL OR leased_until < $3) ORDER BY run_at \
             FOR UPDATE SKIP LOCKED LIMIT 1) RETURNING id",
        )
        .bind::<Timestamptz, _>(at + lease)
        .bind::<Text, _>(worker)
        .bind::<Timestamptz, _>(at)
        .get_result(self.conn())
        .optional()?;
        let Some(found) = found else { return Ok(None) };
        Ok(tasks::table
            .find(found.id)
            .select((
                tasks::id,
                tasks::estate,
                tasks::kind,
                tasks::payload,
                tasks::attempts,
            ))
            .first::<Claimed>(self.conn())
            .optional()?)
    }

    /// Marks a task done, if this worker still holds it.
    ///
    /// # Errors
    /// [`Error::Conflict`] when the lease went to another worker.
    pub fn finish(&mut self, id: TaskId, worker: &str, at: DateTime<Utc>) -> Result<(), Error> {
        let done = diesel::update(
            tasks::table.filter(
                tasks::id
                    .eq(Db(id))
                    .and(tasks::leased_by.eq(worker))
                    .and(tasks::done_at.is_null()),
            ),
        )
        .set((
            tasks::done_at.eq(at),
            tasks::leased_until.eq(None::<DateTime<Utc>>),
        ))
        .execute(self.conn())?;
        if done == 1 {
            Ok(())
        } else {
            Err(Error::Conflict("the lease is lost".to_owned()))
        }
    }

    /// Puts a task back for `run_at` with what went wrong.
    pub fn put_back(
        &mut self,
        id: TaskId,
        worker: &str,
        why: &str,
        run_at: DateTime<Utc>,
    ) -> Result<(), Error> {
        diesel::update(tasks::table.filter(tasks::id.eq(Db(id)).and(tasks::leased_by.eq(worker))))
            .set((
                tasks::last_error.eq(why),
                tasks::run_at.eq(run_at),
                tasks::leased_until.eq(None::<DateTime<Utc>>),
            ))
            .execute(self.conn())?;
        Ok(())
    }

    /// Renews the lease of a task this worker still holds.
    ///
    /// # Errors
    /// [`Error::Conflict`] when the lease went to another worker.
    pub fn renew_lease(
        &mut self,
        id: TaskId,
        worker: &str,
        until: DateTime<Utc>,
    ) -> Result<(), Error> {
        let held = tasks::id
            .eq(Db(id))
            .and(tasks::leased_by.eq(worker))
            .and(tasks::done_at.is_null());
        let renewed = diesel::update(tasks::table.filter(held))
            .set(tasks::leased_until.eq(until))
            .execute(self.conn())?;
        if renewed == 1 {
            Ok(())
        } else {
            Err(Error::Conflict("the lease is lost".to_owned()))
        }
    }

    /// Says of a task what became of it.
    pub fn say_of_task(&mut self, id: TaskId, words: &str) -> Result<(), Error> {
        diesel::update(tasks::table.filter(tasks::id.eq(Db(id))))
            .set(tasks::progress.eq(words))
            .execute(self.conn())?;
        Ok(())
    }

    /// Says where a long task is, and renews its lease.
    pub fn progress(
        &mut self,
        id: TaskId,
        words: &str,
        leased_until: DateTime<Utc>,
    ) -> Result<(), Error> {
        diesel::update(tasks::table.filter(tasks::id.eq(Db(id)).and(tasks::done_at.is_null())))
            .set((
                tasks::progress.eq(words),
                tasks::leased_until.eq(leased_until),
            ))
            .execute(self.conn())?;
        Ok(())
    }

    /// The latest tasks of an estate, newest first.
    pub fn recent_tasks(&mut self, estate: EstateId, limit: i64) -> Result<Vec<TaskCard>, Error> {
        Ok(tasks::table
            .filter(tasks::estate.eq(Db(estate)))
            .order(tasks::made_at.desc())
            .limit(limit)
            .select((
                tasks::id,
                tasks::kind,
                tasks::progress,
                tasks::done_at,
                tasks::last_error,
                tasks::attempts,
                tasks::made_at,
            ))
            .load(self.conn())?)
    }
}
