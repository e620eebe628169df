//! Connections, and the two doors through which every query passes.
use std::time::Duration;

use chrono::{DateTime, Utc};
use diesel::pg::PgConnection;
use diesel::prelude::*;
use diesel::r2d2::{self, ConnectionManager, PooledConnection};
use diesel::sql_types::{Bool, Text};
use terms::{AccountId, EstateId};

use crate::door::Door;
use crate::{Error, Tx};

/// A bounded set of connections to one database.
#[derive(Clone)]
pub struct Pool(r2d2::Pool<ConnectionManager<PgConnection>>);

impl std::fmt::Debug for Pool {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Pool")
            .field("max", &self.0.max_size())
            .finish()
    }
}

/// For whom a transaction acts: exactly one estate and one account, at one instant.
#[derive(Clone, Copy, Debug)]
pub struct Acting {
    /// The estate whose rows are seen and written.
    pub estate: EstateId,
    /// The account that asks.
    pub who: AccountId,
    /// The instant everything in the transaction happens at.
    pub at: DateTime<Utc>,
}

/// Opens a pool of at most `max` connections.
///
/// # Errors
/// [`Error::Unreachable`] with a sentence when the server does not answer within ten seconds.
pub fn connect(url: &str, max: u32) -> Result<Pool, Error> {
    r2d2::Pool::builder()
        .max_size(max)
        .min_idle(Some(1))
        .connection_timeout(Duration::from_secs(10))
        .build(ConnectionManager::new(url))
        .map(Pool)
        .map_err(|e| Error::Unreachable(format!("The database does not answer: {e}.")))
}

impl Pool {
    pub(crate) fn connection(
        &self,
    ) -> Result<PooledConnection<ConnectionManager<PgConnection>>, Error> {
        self.0.get_timeout(Duration::from_secs(2)).map_err(|e| {
            // r2d2 tells a time-out and a lost server apart only in words; both mean "try again".
            let _shown = e.to_string();
            Error::Busy
        })
    }

    /// Runs `work` in one transaction for one estate and one account. What `work` noted is chained
    /// into the audit as the last statement; an error leaves nothing behind.
    ///
    /// # Errors
    /// Whatever `work` returns, or the store's own.
    pub fn acting<T, E: From<Error>>(
        &self,
        acting: Acting,
        work: impl FnOnce(&mut Tx<'_>) -> Result<T, E>,
    ) -> Result<T, E> {
        let mut connection = self.connection().map_err(E::from)?;
        let outcome = connection.transaction(|conn| {
            set_local(conn, &acting)?;
            let mut tx = Tx::new(conn, acting);
            let answer = work(&mut tx).map_err(Failed::Work)?;
            tx.chain_notes().map_err(|e| Failed::Work(E::from(e)))?;
            Ok(answer)
        });
        outcome.map_err(|failed| match failed {
            Failed::Work(e) => e,
            Failed::Sql(e) => E::from(Error::from(e)),
        })
    }

    /// Runs `work` in one transaction on the schema `door`.
    ///
    /// # Errors
    /// Whatever `work` returns, or the store's own.
    pub fn at_door<T, E: From<Error>>(
        &self,
        work: impl FnOnce(&mut Door<'_>) -> Result<T, E>,
    ) -> Result<T, E> {
        let mut connection = self.connection().map_err(E::from)?;
        let outcome =
            connection.transaction(|conn| work(&mut Door::new(conn)).map_err(Failed::Work));
        outcome.map_err(|failed| match failed {
            Failed::Work(e) => e,
            Failed::Sql(e) => E::from(Error::from(e)),
        })
    }
}

enum Failed<E> {
    Sql(diesel::result::Error),
    Work(E),
}

impl<E> From<diesel::result::Error> for Failed<E> {
    fn from(error: diesel::result::Error) -> Self {
        Self::Sql(error)
    }
}

diesel::define_sql_function! {
    /// PostgreSQL's `set_config(name, value, is_local)`.
    fn set_config(name: Text, value: Text, is_local: Bool) -> Text;
}

fn set_local(conn: &mut PgConnection, acting: &Acting) -> Result<(), diesel::result::Error> {
    diesel::select((
        set_config("app.estate_id", acting.estate.0.to_string(), true),
        set_config("app.account_id", acting.who.0.to_string(), true),
        set_config("statement_timeout", "60s", true),
    ))
    .execute(conn)
    .map(drop)
}
