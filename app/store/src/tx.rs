//! One transaction acting for one estate and one account; the queries are in the files beside this.
use std::sync::{Mutex, PoisonError};

use chrono::{DateTime, NaiveDate, Utc};
use diesel::pg::PgConnection;
use terms::{AccountId, EstateId};
use uuid::{ContextV7, Timestamp, Uuid};

use crate::Acting;
use crate::audit::Note;

/// An open transaction. Queries are methods on it, one file a table family.
pub struct Tx<'a> {
    conn: &'a mut PgConnection,
    acting: Acting,
    pub(crate) notes: Vec<Note>,
}

impl std::fmt::Debug for Tx<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Tx")
            .field("acting", &self.acting)
            .finish_non_exhaustive()
    }
}

impl<'a> Tx<'a> {
    pub(crate) fn new(conn: &'a mut PgConnection, acting: Acting) -> Self {
        Self {
            conn,
            acting,
            notes: Vec::new(),
        }
    }

    pub(crate) fn conn(&mut self) -> &mut PgConnection {
        self.conn
    }

    /// The estate it acts for.
    pub fn estate(&self) -> EstateId {
        self.acting.estate
    }

    /// The account it acts for.
    pub fn who(&self) -> AccountId {
        self.acting.who
    }

    /// The instant everything in it happens at.
    pub fn at(&self) -> DateTime<Utc> {
        self.acting.at
    }

    /// The day of [`Tx::at`] in UTC.
    pub fn today(&self) -> NaiveDate {
        self.acting.at.date_naive()
    }

    /// A fresh, time-ordered id.
    pub fn fresh<T: From<Uuid>>(&self) -> T {
        T::from(fresh_uuid(self.acting.at))
    }
}

/// A version 7 UUID of the instant `at`. Those of one millisecond follow each other in the order they were
/// made in this process, so that rows of one instant keep their order.
pub(crate) fn fresh_uuid(at: DateTime<Utc>) -> Uuid {
    static ORDER: Mutex<Option<ContextV7>> = Mutex::new(None);
    let seconds = u64::try_from(at.timestamp()).unwrap_or(0);
    let mut order = ORDER.lock().unwrap_or_else(PoisonError::into_inner);
    let context = order.get_or_insert_with(ContextV7::new);
    Uuid::new_v7(Timestamp::from_unix(
        &*context,
        seconds,
        at.timestamp_subsec_nanos(),
    ))
}
