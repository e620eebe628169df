//! Hazards somebody was told of, and what was done about each: facts, stated anew as more is known.
use chrono::{DateTime, NaiveDate, Utc};
use diesel::prelude::*;
use terms::{JobId, SpaceId};
use uuid::Uuid;

use crate::estate_schema::hazards;
use crate::{Db, Error, Tx};

/// A hazard of one home.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hazard {
    /// The job that answers it.
    pub job: JobId,
    /// The home.
    pub space: SpaceId,
    /// "emergency" or "significant".
    pub kind: String,
    /// "damp_and_mould" or "other".
    pub hazard: String,
    /// When the landlord became aware.
    pub aware_at: DateTime<Utc>,
    /// What was said of it.
    pub words: String,
    /// The day the investigation ended.
    pub investigated_on: Option<NaiveDate>,
    /// The day the written summary was given.
    pub summary_on: Option<NaiveDate>,
    /// The day it was made safe.
    pub safety_on: Option<NaiveDate>,
    /// The day further works began.
    pub begun_on: Option<NaiveDate>,
    /// Why it was no hazard after all; empty while it stands.
    pub withdrawn: String,
}

type Row = (
    (Db<JobId>, Db<SpaceId>, String, String),
    (DateTime<Utc>, String, String),
    (
        Option<NaiveDate>,
        Option<NaiveDate>,
        Option<NaiveDate>,
        Option<NaiveDate>,
    ),
);

fn read((a, b, c): Row) -> Hazard {
    Hazard {
        job: a.0.0,
        space: a.1.0,
        kind: a.2,
        hazard: a.3,
        aware_at: b.0,
        words: b.1,
        withdrawn: b.2,
        investigated_on: c.0,
        summary_on: c.1,
        safety_on: c.2,
        begun_on: c.3,
    }
}

impl Tx<'_> {
    /// States what is known of a job's hazard of one home; what was known before stays readable.
    pub fn state_hazard(&mut self, hazard: &Hazard) -> Result<(), Error> {
        let (estate, at) = (self.estate(), self.at());
        diesel::update(
            hazards::table.filter(
                hazards::estate_id
                    .eq(Db(estate))
                    .and(hazards::job_id.eq(Db(hazard.job)))
                    .and(hazards::space_id.eq(Db(hazard.space)))
                    .and(hazards::superseded_at.is_null()),
            ),
        )
        .set(hazards::superseded_at.eq(at))
        .execute(self.conn())?;
        let id: Uuid = self.fresh();
        let row = (
            (
                hazards::estate_id.eq(Db(estate)),
                hazards::id.eq(id),
                hazards::job_id.eq(Db(hazard.job)),
                hazards::space_id.eq(Db(hazard.space)),
            ),
            (
                hazards::kind.eq(&hazard.kind),
                hazards::hazard.eq(&hazard.hazard),
                hazards::aware_at.eq(hazard.aware_at),
                hazards::words.eq(&hazard.words),
            ),
            (
                hazards::investigated_on.eq(hazard.investigated_on),
                hazards::summary_on.eq(hazard.summary_on),
                hazards::safety_on.eq(hazard.safety_on),
                hazards::begun_on.eq(hazard.begun_on),
                hazards::withdrawn.eq(&hazard.withdrawn),
            ),
            (
                hazards::happened_on.eq(self.today()),
                hazards::recorded_at.eq(at),
                hazards::recorded_by.eq(Db(self.who())),
            ),
        );
        diesel::insert_into(hazards::table)
            .values(row)
            .execute(self.conn())?;
        Ok(())
    }

    /// The hazards a job answers, or every one of the estate; the oldest first, those taken back left out.
    pub fn hazards_of(&mut self, job: Option<JobId>) -> Result<Vec<Hazard>, Error> {
        let estate = self.estate();
        let mut query = hazards::table
            .filter(
                hazards::estate_id
                    .eq(Db(estate))
                    .and(hazards::withdrawn.eq(""))
                    .and(hazards::superseded_at.is_null()),
            )
            .into_boxed();
        if let Some(job) = job {
            query = query.filter(hazards::job_id.eq(Db(job)));
        }
        let rows: Vec<Row> = query
            .order((hazards::aware_at, hazards::id))
            .select((
                (
                    hazards::job_id,
                    hazards::space_id,
                    hazards::kind,
                    hazards::hazard,
                ),
                (hazards::aware_at, hazards::words, hazards::withdrawn),
                (
                    hazards::investigated_on,
                    hazards::summary_on,
                    hazards::safety_on,
                    hazards::begun_on,
                ),
            ))
            .load(self.conn())?;
        Ok(rows.into_iter().map(read).collect())
    }
}
