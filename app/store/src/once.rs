//! Idempotency: a form or sheet sent twice does its work once and gets the same answer.
use diesel::prelude::*;
use serde::Serialize;
use serde::de::DeserializeOwned;
use sha2::{Digest, Sha256};
use terms::hex;

use crate::estate_schema::idempotency;
use crate::{Db, Error, Tx};

impl Tx<'_> {
    /// Runs `work` unless `key` was seen before, in which case the kept answer is returned.
    /// Key, answer and the work's own rows are written in this same transaction; two posts at once
    /// are put in order by the key's own row.
    ///
    /// # Errors
    /// [`Error::KeyReused`] when the same key comes with another request.
    pub fn once<R: Serialize, T: Serialize + DeserializeOwned, E: From<Error>>(
        &mut self,
        key: &str,
        request: &R,
        work: impl FnOnce(&mut Self) -> Result<T, E>,
    ) -> Result<T, E> {
        let digest = digest_of(request).map_err(E::from)?;
        self.lock_key(key).map_err(E::from)?;
        if let Some((kept, answer)) = self.kept_answer(key).map_err(E::from)? {
            if kept != digest {
                return Err(E::from(Error::KeyReused));
            }
            return serde_json::from_value(answer).map_err(|e| E::from(Error::from(e)));
        }
        let answer = work(self)?;
        self.keep_answer(key, &digest, &answer).map_err(E::from)?;
        Ok(answer)
    }

    #[expect(
        clippy::disallowed_methods,
        reason = "advisory locks have no typed form in Diesel"
    )]
    fn lock_key(&mut self, key: &str) -> Result<(), Error> {
        let name = format!("once {} {key}", self.estate());
        diesel::sql_query("SELECT pg_advisory_xact_lock(hashtextextended($1, 0))")
            .bind::<diesel::sql_types::Text, _>(name)
            .execute(self.conn())?;
        Ok(())
    }

    fn kept_answer(&mut self, key: &str) -> Result<Option<(String, serde_json::Value)>, Error> {
        let estate = self.estate();
        Ok(idempotency::table
            .filter(
                idempotency::estate_id
                    .eq(Db(estate))
                    .and(idempotency::key.eq(key)),
            )
            .select((idempotency::request_digest, idempotency::answer))
            .first(self.conn())
            .optional()?)
    }

    fn keep_answer<T: Serialize>(
        &mut self,
        key: &str,
        digest: &str,
        answer: &T,
    ) -> Result<(), Error> {
        let row = (
            idempotency::estate_id.eq(Db(self.estate())),
            idempotency::key.eq(key),
            idempotency::request_digest.eq(digest),
            idempotency::answer.eq(serde_json::to_value(answer)?),
            idempotency::made_at.eq(self.at()),
        );
        diesel::insert_into(idempotency::table)
            .values(row)
            .execute(self.conn())?;
        Ok(())
    }
}

fn digest_of<R: Serialize>(request: &R) -> Result<String, Error> {
    Ok(hex(&Sha256::digest(serde_json::to_vec(request)?)))
}
