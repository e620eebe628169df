//! Migrations, the grants after them, and the refusal of roles that could step over the walls.
use diesel::pg::PgConnection;
use diesel::prelude::*;
use diesel::sql_types::Bool;
use diesel_migrations::{EmbeddedMigrations, MigrationHarness, embed_migrations};

use crate::{Error, Pool};

const MIGRATIONS: EmbeddedMigrations = embed_migrations!("../../migrations");
const GRANTS: &str = include_str!("../../../migrations/grants.sql");

/// Brings the schema up to date as its owner, then grants the program's role what it needs.
///
/// # Errors
/// A sentence on what could not be applied.
pub fn migrate(owner_url: &str) -> Result<usize, Error> {
    let mut conn = owner(owner_url)?;
    let ran = conn
        .run_pending_migrations(MIGRATIONS)
        .map_err(|e| Error::Migration(e.to_string()))?
        .len();
    diesel::connection::SimpleConnection::batch_execute(&mut conn, GRANTS)?;
    Ok(ran)
}

/// Takes every migration back, newest first. For tests of `down.sql`.
///
/// # Errors
/// A sentence on what could not be undone.
pub fn revert_all(owner_url: &str) -> Result<usize, Error> {
    let mut conn = owner(owner_url)?;
    conn.revert_all_migrations(MIGRATIONS)
        .map(|reverted| reverted.len())
        .map_err(|e| Error::Migration(e.to_string()))
}

fn owner(url: &str) -> Result<PgConnection, Error> {
    PgConnection::establish(url)
        .map_err(|e| Error::Unreachable(format!("The database does not answer: {e}.")))
}

#[derive(QueryableByName)]
struct Role {
    #[diesel(sql_type = Bool)]
    superuser: bool,
    #[diesel(sql_type = Bool)]
    bypasses: bool,
    #[diesel(sql_type = Bool)]
    owns: bool,
}

/// Refuses a role that row-level security would not hold: superuser, BYPASSRLS, or an owner of our tables.
///
/// # Errors
/// [`Error::UnsafeRole`] with a sentence saying what to do.
#[expect(
    clippy::disallowed_methods,
    reason = "reads the catalogue, which has no typed form"
)]
pub fn refuse_unsafe_role(pool: &Pool) -> Result<(), Error> {
    let mut conn = pool.connection()?;
    let role: Role = diesel::sql_query(
        "SELECT r.rolsuper AS superuser, r.rolbypassrls AS bypasses, EXISTS (SELECT 1 FROM pg_class c \
         JOIN pg_namespace n ON n.oid = c.relnamespace WHERE n.nspname IN ('estate', 'door') AND \
         pg_has_role(current_user, c.relowner, 'MEMBER')) AS owns FROM pg_roles r WHERE r.rolname = current_user",
    )
    .get_result(&mut *conn)?;
    let why = match role {
        Role {
            superuser: true, ..
        } => "is a superuser",
        Role { bypasses: true, .. } => "bypasses row-level security",
        Role { owns: true, .. } => "owns the tables",
        _ => return Ok(()),
    };
    Err(Error::UnsafeRole(format!(
        "This database role {why}, so one estate could see another. Connect as riserward_app instead."
    )))
}
