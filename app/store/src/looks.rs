//! What was looked for among groups of units, week by week: kept as found, never changed.
use chrono::{DateTime, NaiveDate, Utc};
use diesel::prelude::*;
use serde_json::Value;
use uuid::Uuid;

use crate::estate_schema::looks;
use crate::{Db, Error, Tx};

/// A look as kept.
#[derive(Clone, Debug, PartialEq)]
pub struct KeptLook {
    /// Monday of its week.
    pub week: NaiveDate,
    /// When it was made.
    pub made_at: DateTime<Utc>,
    /// SHA-256 of what it looked at.
    pub digest: String,
    /// What it found, as JSON.
    pub body: Value,
}

impl Tx<'_> {
    /// Keeps the look of a week; the first one stands, and `false` says that there was one.
    pub fn add_look(&mut self, week: NaiveDate, digest: &str, body: &Value) -> Result<bool, Error> {
        let id: Uuid = self.fresh();
        let values = (
            (looks::estate_id.eq(Db(self.estate())), looks::id.eq(id)),
            (looks::week_on.eq(week), looks::made_at.eq(self.at())),
            (looks::digest.eq(digest), looks::body.eq(body)),
        );
        let added = diesel::insert_into(looks::table)
            .values(values)
            .on_conflict_do_nothing()
            .execute(self.conn())?;
        Ok(added == 1)
    }

    /// The last looks, newest first.
    pub fn last_looks(&mut self, most: i64) -> Result<Vec<KeptLook>, Error> {
        let estate = self.estate();
        let rows: Vec<(NaiveDate, DateTime<Utc>, String, Value)> = looks::table
            .filter(looks::estate_id.eq(Db(estate)))
            .order(looks::week_on.desc())
            .limit(most)
            .select((looks::week_on, looks::made_at, looks::digest, looks::body))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|(week, made_at, digest, body)| KeptLook {
                week,
                made_at,
                digest,
                body,
            })
            .collect())
    }
}
