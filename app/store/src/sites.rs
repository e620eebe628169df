//! What was stated of a space over time: what options ask of it, with the day and who said so.
use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, Utc};
use diesel::prelude::*;
use terms::{AccountId, SpaceId};
use uuid::Uuid;

use crate::estate_schema::space_facts;
use crate::imports::BATCH;
use crate::{Db, Error, Tx};

/// What stood of a site from one statement until the next.
#[derive(Clone, Debug, PartialEq)]
pub struct SiteRow {
    /// The site, whole.
    pub site: serde_json::Value,
    /// The day as of which it was so.
    pub on: NaiveDate,
    /// When it was written down.
    pub recorded_at: DateTime<Utc>,
    /// By whom.
    pub recorded_by: AccountId,
}

impl Tx<'_> {
    /// Everything ever stated of a space's site, in the order it was written down.
    pub fn site_over_time(&mut self, space: SpaceId) -> Result<Vec<SiteRow>, Error> {
        type Row = (serde_json::Value, NaiveDate, DateTime<Utc>, Db<AccountId>);
        let estate = self.estate();
        let rows: Vec<Row> = space_facts::table
            .filter(
                space_facts::estate_id
                    .eq(Db(estate))
                    .and(space_facts::space_id.eq(Db(space))),
            )
            .order((
                space_facts::recorded_at,
                // Of two statements of one transaction the one that still stands is the later.
                space_facts::superseded_at.asc().nulls_last(),
                space_facts::id,
            ))
            .select((
                space_facts::site,
                space_facts::happened_on,
                space_facts::recorded_at,
                space_facts::recorded_by,
            ))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|(site, on, recorded_at, recorded_by)| SiteRow {
                site,
                on,
                recorded_at,
                recorded_by: recorded_by.0,
            })
            .collect())
    }

    /// What was stated of one fact of sites, in the order it was written down as known at `known_at`, each with the day as of
    /// which it was so: of every space of which it was ever stated, or of those named.
    pub fn site_fact_over_time(
        &mut self,
        key: &str,
        of: Option<&[SpaceId]>,
        known_at: DateTime<Utc>,
    ) -> Result<BTreeMap<SpaceId, Vec<(NaiveDate, serde_json::Value)>>, Error> {
        let estate = self.estate();
        let mut stated = space_facts::table
            .filter(
                space_facts::estate_id
                    .eq(Db(estate))
                    .and(space_facts::recorded_at.le(known_at))
                    .and(space_facts::site.has_key(key)),
            )
            .into_boxed();
        if let Some(of) = of {
            let ids: Vec<Uuid> = of.iter().map(|s| s.0).collect();
            stated = stated.filter(space_facts::space_id.eq_any(ids));
        }
        let spaces: Vec<Uuid> = stated
            .select(space_facts::space_id)
            .distinct()
            .load(self.conn())?;
        let mut found: BTreeMap<SpaceId, Vec<(NaiveDate, serde_json::Value)>> = BTreeMap::new();
        for batch in spaces.chunks(BATCH) {
            let rows: Vec<(Db<SpaceId>, serde_json::Value, NaiveDate)> = space_facts::table
                .filter(
                    space_facts::estate_id
                        .eq(Db(estate))
                        .and(space_facts::recorded_at.le(known_at))
                        .and(space_facts::space_id.eq_any(batch)),
                )
                .order((
                    space_facts::recorded_at,
                    // Of two statements of one transaction the one that still stands is the later.
                    space_facts::superseded_at.asc().nulls_last(),
                    space_facts::id,
                ))
                .select((
                    space_facts::space_id,
                    space_facts::site,
                    space_facts::happened_on,
                ))
                .load(self.conn())?;
            for (space, site, on) in rows {
                let said = site.get(key).cloned().unwrap_or_default();
                found.entry(space.0).or_default().push((on, said));
            }
        }
        Ok(found)
    }
}
