//! Looking at a whole database from outside any estate: how many rows each table holds, in one snapshot.
//! Dumps and restores use it under a role that row-level security leaves alone; and the export of one estate, inside
//! that estate's own transaction.
use std::collections::BTreeMap;

use diesel::connection::SimpleConnection;
use diesel::pg::{PgConnection, PgRowByRowLoadingMode};
use diesel::prelude::*;
use diesel::sql_types::{BigInt, Bool, Integer, Text};

use crate::{Error, Tx};

/// Rows by table, named `schema.table` as a dump names them.
pub type Counts = BTreeMap<String, u64>;

#[derive(QueryableByName)]
struct Table {
    #[diesel(sql_type = Text)]
    name: String,
}

#[derive(QueryableByName)]
struct KeyedTable {
    #[diesel(sql_type = Text)]
    name: String,
    #[diesel(sql_type = Text)]
    key: String,
}

#[derive(QueryableByName)]
struct Line {
    #[diesel(sql_type = Text)]
    line: String,
}

#[derive(QueryableByName)]
struct Rows {
    #[diesel(sql_type = BigInt)]
    rows: i64,
}

#[derive(QueryableByName)]
struct Snapshot {
    #[diesel(sql_type = Text)]
    id: String,
}

#[derive(QueryableByName)]
struct Sight {
    #[diesel(sql_type = Bool)]
    whole: bool,
}

#[derive(QueryableByName)]
struct Version {
    #[diesel(sql_type = Integer)]
    number: i32,
}

/// Counts every table in one snapshot and, while that snapshot lives, hands its id and the counts to `work`.
///
/// # Errors
/// [`Error::UnsafeRole`] when row-level security would hide rows from this role: a dump under it would be
/// empty and call itself a success. Otherwise the store's own.
pub fn counted<T>(url: &str, work: impl FnOnce(&str, &Counts) -> T) -> Result<T, Error> {
    let mut conn = open(url)?;
    refuse_short_sight(&mut conn)?;
    conn.build_transaction()
        .repeatable_read()
        .read_only()
        .run(|conn| {
            let counts = counts(conn)?;
            let snapshot = snapshot(conn)?;
            Ok(work(&snapshot, &counts))
        })
}

/// Hands every row of the acting estate to `take`, as the table's name and the row as one line of JSON, table by table
/// and in the order of their keys. What the estate holds, whole: no other estate's rows, no accounts, no passwords.
///
/// # Errors
/// The store's own, or whatever `take` answers.
#[expect(
    clippy::disallowed_methods,
    reason = "table names come from the catalogue at run time"
)]
pub fn every_row<E: From<Error>>(
    tx: &mut Tx<'_>,
    mut take: impl FnMut(&str, &str) -> Result<(), E>,
) -> Result<(), E> {
    let from_sql = |error: diesel::result::Error| E::from(Error::from(error));
    // The key in order is what the primary key's definition says: "PRIMARY KEY (estate_id, id)".
    let tables: Vec<KeyedTable> = diesel::sql_query(
        "SELECT format('%I.%I', n.nspname, c.relname) AS name, \
         coalesce((SELECT substring(pg_get_constraintdef(k.oid) FROM '\\((.*)\\)') FROM pg_constraint k \
         WHERE k.conrelid = c.oid AND k.contype = 'p'), 'estate_id') AS key \
         FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace \
         JOIN pg_attribute a ON a.attrelid = c.oid AND a.attname = 'estate_id' \
         WHERE c.relkind = 'r' AND n.nspname = 'estate' ORDER BY 1",
    )
    .load(tx.conn())
    .map_err(from_sql)?;
    let estate = tx.estate();
    for table in tables {
        // Row-level security shows this estate alone; the condition says so once more.
        let rows = diesel::sql_query(format!(
            "SELECT row_to_json(t)::text AS line FROM {} t WHERE estate_id = $1 ORDER BY {}",
            table.name, table.key
        ))
        .bind::<diesel::sql_types::Uuid, _>(estate.0)
        .load_iter::<Line, PgRowByRowLoadingMode>(tx.conn())
        .map_err(from_sql)?;
        for row in rows {
            take(&table.name, &row.map_err(from_sql)?.line)?;
        }
    }
    Ok(())
}

/// The server's major version.
///
/// # Errors
/// [`Error::Unreachable`] when it does not answer.
#[expect(
    clippy::disallowed_methods,
    reason = "reads a setting, which has no typed form"
)]
pub fn major_version(url: &str) -> Result<u32, Error> {
    let version: Version =
        diesel::sql_query("SELECT current_setting('server_version_num')::int AS number")
            .get_result(&mut open(url)?)?;
    Ok(u32::try_from(version.number / 10_000).unwrap_or_default())
}

fn open(url: &str) -> Result<PgConnection, Error> {
    PgConnection::establish(url)
        .map_err(|e| Error::Unreachable(format!("The database does not answer: {e}.")))
}

#[expect(
    clippy::disallowed_methods,
    reason = "reads the catalogue, which has no typed form"
)]
fn refuse_short_sight(conn: &mut PgConnection) -> Result<(), Error> {
    let sight: Sight = diesel::sql_query(
        "SELECT rolsuper OR rolbypassrls AS whole FROM pg_roles WHERE rolname = current_user",
    )
    .get_result(conn)?;
    if sight.whole {
        return Ok(());
    }
    Err(Error::UnsafeRole(
        "Row-level security hides rows from this database role, so its dump would be empty: name a role with BYPASSRLS in RISERWARD_BACKUP_URL.".to_owned(),
    ))
}

#[expect(
    clippy::disallowed_methods,
    reason = "table names come from the catalogue at run time"
)]
fn counts(conn: &mut PgConnection) -> Result<Counts, Error> {
    conn.batch_execute("SET LOCAL row_security = off")?;
    let tables: Vec<Table> = diesel::sql_query(
        "SELECT format('%I.%I', n.nspname, c.relname) AS name FROM pg_class c \
         JOIN pg_namespace n ON n.oid = c.relnamespace \
         WHERE c.relkind = 'r' AND n.nspname NOT LIKE 'pg\\_%' AND n.nspname <> 'information_schema' ORDER BY 1",
    )
    .load(conn)?;
    let mut counts = Counts::new();
    for table in tables {
        // The name was quoted by the server's own format('%I').
        let rows: Rows = diesel::sql_query(format!("SELECT count(*) AS rows FROM {}", table.name))
            .get_result(conn)?;
        counts.insert(table.name, u64::try_from(rows.rows).unwrap_or_default());
    }
    Ok(counts)
}

#[expect(clippy::disallowed_methods, reason = "a snapshot has no typed form")]
fn snapshot(conn: &mut PgConnection) -> Result<String, Error> {
    let snapshot: Snapshot =
        diesel::sql_query("SELECT pg_export_snapshot() AS id").get_result(conn)?;
    Ok(snapshot.id)
}
