//! Links in mails that answer for one firm about one job without an account. Only the SHA-256 of a secret is kept.
use chrono::{DateTime, Utc};
use diesel::prelude::*;
use terms::{AccountId, EstateId, FirmId, JobId};
use uuid::Uuid;

use super::Door;
use crate::door_schema::{estates, firms, reply_links};
use crate::tx::fresh_uuid;
use crate::{Db, Error, Tx};

/// A link as it stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReplyLink {
    /// Its id; what is written through it is written under this id.
    pub id: Uuid,
    /// Where the job is.
    pub estate: EstateId,
    /// The estate's name.
    pub estate_name: String,
    /// The only firm it answers for.
    pub firm: FirmId,
    /// The firm's name.
    pub firm_name: String,
    /// The only job it is about.
    pub job: JobId,
    /// The address it was mailed to.
    pub mailed_to: String,
    /// Its last instant.
    pub until_at: DateTime<Utc>,
    /// When it answered.
    pub used_at: Option<DateTime<Utc>>,
    /// When a later mail took its place.
    pub ended_at: Option<DateTime<Utc>>,
}

/// A link about to be mailed.
#[derive(Clone, Debug)]
pub struct NewReplyLink {
    /// SHA-256 of its secret.
    pub secret_hash: Vec<u8>,
    /// Where the job is.
    pub estate: EstateId,
    /// The firm.
    pub firm: FirmId,
    /// The job.
    pub job: JobId,
    /// The address it is mailed to.
    pub mailed_to: String,
    /// Its last instant.
    pub until_at: DateTime<Utc>,
}

impl Door<'_> {
    /// Keeps a link and ends those mailed before to the same firm about the same job.
    pub fn add_reply_link(&mut self, new: &NewReplyLink, at: DateTime<Utc>) -> Result<Uuid, Error> {
        let same = reply_links::estate
            .eq(Db(new.estate))
            .and(reply_links::job.eq(Db(new.job)))
            .and(reply_links::firm.eq(Db(new.firm)));
        let open = reply_links::used_at
            .is_null()
            .and(reply_links::ended_at.is_null());
        diesel::update(reply_links::table.filter(same.and(open)))
            .set(reply_links::ended_at.eq(Some(at)))
            .execute(self.conn())?;
        let id = fresh_uuid(at);
        let row = (
            (
                reply_links::id.eq(id),
                reply_links::secret_hash.eq(&new.secret_hash),
            ),
            (
                reply_links::estate.eq(Db(new.estate)),
                reply_links::firm.eq(Db(new.firm)),
                reply_links::job.eq(Db(new.job)),
            ),
            reply_links::mailed_to.eq(&new.mailed_to),
            (
                reply_links::made_at.eq(at),
                reply_links::until_at.eq(new.until_at),
            ),
        );
        diesel::insert_into(reply_links::table)
            .values(row)
            .execute(self.conn())?;
        Ok(id)
    }

    /// The link whose secret has this SHA-256.
    pub fn reply_link(&mut self, secret_hash: &[u8]) -> Result<Option<ReplyLink>, Error> {
        type Row = (
            (Uuid, Db<EstateId>, String),
            (Db<FirmId>, String, Db<JobId>, String),
            (DateTime<Utc>, Option<DateTime<Utc>>, Option<DateTime<Utc>>),
        );
        let row: Option<Row> = reply_links::table
            .inner_join(estates::table)
            .inner_join(firms::table)
            .filter(reply_links::secret_hash.eq(secret_hash))
            .select((
                (reply_links::id, reply_links::estate, estates::name),
                (
                    reply_links::firm,
                    firms::name,
                    reply_links::job,
                    reply_links::mailed_to,
                ),
                (
                    reply_links::until_at,
                    reply_links::used_at,
                    reply_links::ended_at,
                ),
            ))
            .first(self.conn())
            .optional()?;
        Ok(row.map(|(a, b, c)| ReplyLink {
            id: a.0,
            estate: a.1.0,
            estate_name: a.2,
            firm: b.0.0,
            firm_name: b.1,
            job: b.2.0,
            mailed_to: b.3,
            until_at: c.0,
            used_at: c.1,
            ended_at: c.2,
        }))
    }

    /// The firms behind links, for showing who wrote something.
    pub fn reply_link_firms(
        &mut self,
        ids: &[AccountId],
    ) -> Result<Vec<(AccountId, String)>, Error> {
        let ids: Vec<Uuid> = ids.iter().map(|id| id.0).collect();
        let rows: Vec<(Uuid, String)> = reply_links::table
            .inner_join(firms::table)
            .filter(reply_links::id.eq_any(ids))
            .select((reply_links::id, firms::name))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|(id, name)| (AccountId(id), name))
            .collect())
    }
}

impl Tx<'_> {
    /// Uses a link up together with what it answers; `false` when it was used, ended, or is past its last instant.
    pub fn use_reply_link(&mut self, id: Uuid) -> Result<bool, Error> {
        let at = self.at();
        let open = reply_links::used_at
            .is_null()
            .and(reply_links::ended_at.is_null())
            .and(reply_links::until_at.ge(at));
        let used = diesel::update(reply_links::table.filter(reply_links::id.eq(id).and(open)))
            .set(reply_links::used_at.eq(Some(at)))
            .execute(self.conn())?;
        Ok(used == 1)
    }
}
