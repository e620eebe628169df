//! One error enum for the room; `usecases` turns it into what a person may read.

/// Why the store could not answer.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// No connection became free in time; trying again may help.
    #[error("the database is busy")]
    Busy,
    /// Somebody else changed or claimed the row first.
    #[error("conflict: {0}")]
    Conflict(String),
    /// Anything PostgreSQL said.
    #[error("database: {0}")]
    Database(#[source] diesel::result::Error),
    /// A migration could not be applied or undone.
    #[error("migration: {0}")]
    Migration(String),
    /// No such row in this estate.
    #[error("no such {0}")]
    NotFound(&'static str),
    /// The same key came with another request.
    #[error("this form was already sent with other contents")]
    KeyReused,
    /// The server cannot be reached, or is too old.
    #[error("{0}")]
    Unreachable(String),
    /// The role could step over row-level security.
    #[error("{0}")]
    UnsafeRole(String),
    /// A stored value is not of the shape this program writes.
    #[error("stored value: {0}")]
    Unreadable(String),
}

impl From<diesel::result::Error> for Error {
    fn from(error: diesel::result::Error) -> Self {
        use diesel::result::{DatabaseErrorKind, Error as Sql};
        match error {
            Sql::NotFound => Self::NotFound("row"),
            Sql::DatabaseError(DatabaseErrorKind::UniqueViolation, info) => {
                Self::Conflict(info.constraint_name().unwrap_or("already there").to_owned())
            }
            Sql::DatabaseError(DatabaseErrorKind::RestrictViolation, info) => {
                Self::Conflict(info.message().to_owned())
            }
            other => Self::Database(other),
        }
    }
}

impl From<serde_json::Error> for Error {
    fn from(error: serde_json::Error) -> Self {
        Self::Unreadable(error.to_string())
    }
}
