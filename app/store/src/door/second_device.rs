//! The device a person has beside the password.
use chrono::{DateTime, Utc};
use diesel::pg::PgConnection;
use diesel::prelude::*;
use terms::AccountId;

use super::Door;
use crate::door_schema::second_devices;
use crate::{Db, Error, Tx};

/// A device as it stands.
#[derive(Clone)]
pub struct SecondDevice {
    /// What it and we both know.
    pub secret: Vec<u8>,
    /// When its first digits came back right; `None` before.
    pub set_at: Option<DateTime<Utc>>,
    /// The half minute whose digits were used last.
    pub last_step: i64,
}

impl std::fmt::Debug for SecondDevice {
    /// Without the secret: it must not reach a log.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("SecondDevice")
            .field("set_at", &self.set_at)
            .field("last_step", &self.last_step)
            .finish_non_exhaustive()
    }
}

impl Door<'_> {
    /// The device of an account, if it began one.
    pub fn second_device(&mut self, account: AccountId) -> Result<Option<SecondDevice>, Error> {
        let row: Option<(Vec<u8>, Option<DateTime<Utc>>, i64)> = second_devices::table
            .find(Db(account))
            .select((
                second_devices::secret,
                second_devices::set_at,
                second_devices::last_step,
            ))
            .first(self.conn())
            .optional()?;
        Ok(row.map(|(secret, set_at, last_step)| SecondDevice {
            secret,
            set_at,
            last_step,
        }))
    }

    /// Begins a device; one that was begun and never set gives way, one that is set stays. Whether it was kept.
    pub fn begin_second_device(
        &mut self,
        account: AccountId,
        secret: &[u8],
        at: DateTime<Utc>,
    ) -> Result<bool, Error> {
        let row = (
            second_devices::account.eq(Db(account)),
            second_devices::secret.eq(secret),
            second_devices::made_at.eq(at),
        );
        let begun = second_devices::table
            .find(Db(account))
            .filter(second_devices::set_at.is_null());
        diesel::delete(begun).execute(self.conn())?;
        let kept = diesel::insert_into(second_devices::table)
            .values(row)
            .on_conflict_do_nothing()
            .execute(self.conn())?;
        Ok(kept == 1)
    }

    /// Sets the device that was begun with this secret, its first digits used; `false` when there is none, it is set already
    /// or was begun anew.
    pub fn set_second_device(
        &mut self,
        account: AccountId,
        (secret, step): (&[u8], i64),
        at: DateTime<Utc>,
    ) -> Result<bool, Error> {
        let begun = second_devices::table
            .find(Db(account))
            .filter(second_devices::secret.eq(secret))
            .filter(second_devices::set_at.is_null());
        let set = diesel::update(begun)
            .set((
                second_devices::set_at.eq(Some(at)),
                second_devices::last_step.eq(step),
            ))
            .execute(self.conn())?;
        Ok(set == 1)
    }

    /// Takes the device of an account off; whether there was one.
    pub fn forget_second_device(&mut self, account: AccountId) -> Result<bool, Error> {
        let gone = diesel::delete(second_devices::table.find(Db(account))).execute(self.conn())?;
        Ok(gone == 1)
    }

    /// Uses up the digits of a half minute; `false` when those or later ones were used before.
    pub fn use_second_device(&mut self, account: AccountId, step: i64) -> Result<bool, Error> {
        used(self.conn(), account, step)
    }
}

impl Tx<'_> {
    /// Uses up the digits of a half minute together with what they confirm; `false` when those or later ones were used
    /// before.
    pub fn use_second_device(&mut self, account: AccountId, step: i64) -> Result<bool, Error> {
        used(self.conn(), account, step)
    }
}

fn used(conn: &mut PgConnection, account: AccountId, step: i64) -> Result<bool, Error> {
    let fresh = second_devices::table
        .find(Db(account))
        .filter(second_devices::set_at.is_not_null())
        .filter(second_devices::last_step.lt(step));
    let used = diesel::update(fresh)
        .set(second_devices::last_step.eq(step))
        .execute(conn)?;
    Ok(used == 1)
}
