//! What somebody has to be told because a visit did not go as planned.
use chrono::{DateTime, Utc};
use diesel::prelude::*;
use terms::{AccountId, JobId};
use uuid::Uuid;

use crate::estate_schema::tellings;
use crate::{Db, Error, Tx};

/// One thing to tell, to whoever lives there or to the office.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Telling {
    /// Its id.
    pub id: Uuid,
    /// About which job.
    pub job: JobId,
    /// "resident" or "office".
    pub whom: String,
    /// What is to be said.
    pub words: String,
    /// Since when it waits.
    pub queued_at: DateTime<Utc>,
    /// Who asked for it.
    pub queued_by: AccountId,
}

impl Tx<'_> {
    /// Queues something to tell.
    pub fn add_telling(&mut self, job: JobId, whom: &str, words: &str) -> Result<(), Error> {
        let id: Uuid = self.fresh();
        let row = (
            (
                tellings::estate_id.eq(Db(self.estate())),
                tellings::id.eq(id),
            ),
            (
                tellings::job_id.eq(Db(job)),
                tellings::whom.eq(whom),
                tellings::words.eq(words),
            ),
            (
                tellings::queued_at.eq(self.at()),
                tellings::queued_by.eq(Db(self.who())),
            ),
        );
        diesel::insert_into(tellings::table)
            .values(row)
            .execute(self.conn())?;
        Ok(())
    }

    /// What waits to be told, oldest first.
    pub fn tellings(&mut self) -> Result<Vec<Telling>, Error> {
        let estate = self.estate();
        type Row = (
            (Uuid, Db<JobId>, String),
            (String, DateTime<Utc>, Db<AccountId>),
        );
        let rows: Vec<Row> = tellings::table
            .filter(
                tellings::estate_id
                    .eq(Db(estate))
                    .and(tellings::told_at.is_null()),
            )
            .order((tellings::queued_at, tellings::id))
            .select((
                (tellings::id, tellings::job_id, tellings::whom),
                (tellings::words, tellings::queued_at, tellings::queued_by),
            ))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|(a, b)| Telling {
                id: a.0,
                job: a.1.0,
                whom: a.2,
                words: b.0,
                queued_at: b.1,
                queued_by: b.2.0,
            })
            .collect())
    }

    /// Marks a thing as told; `false` when somebody had told it already.
    pub fn tell_telling(&mut self, id: Uuid) -> Result<bool, Error> {
        let (estate, at, who) = (self.estate(), self.at(), self.who());
        let waiting = tellings::estate_id
            .eq(Db(estate))
            .and(tellings::id.eq(id))
            .and(tellings::told_at.is_null());
        let told = diesel::update(tellings::table.filter(waiting))
            .set((
                tellings::told_at.eq(Some(at)),
                tellings::told_by.eq(Some(Db(who))),
            ))
            .execute(self.conn())?;
        Ok(told == 1)
    }
}
