//! Photos and papers on units, visits and access attempts. The bytes are kept once for each content.
use chrono::{DateTime, Utc};
use diesel::prelude::*;
use terms::{AccountId, BuildingId, JobId, UnitId};
use uuid::Uuid;

use crate::estate_schema::{access_attempts, enclosure_bodies, enclosures};
use crate::{Db, Error, Tx};

/// One photo or paper without its bytes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Enclosure {
    /// Its id.
    pub id: Uuid,
    /// "unit", "visit" or "attempt".
    pub about: String,
    /// The id of that.
    pub about_id: Uuid,
    /// The building.
    pub building: BuildingId,
    /// The unit it is about, or the unit of its job.
    pub unit: Option<UnitId>,
    /// The job of the visit or attempt.
    pub job: Option<JobId>,
    /// "photo" or "paper".
    pub sort: String,
    /// The file's name as sent.
    pub name: String,
    /// What was written to it.
    pub words: String,
    /// SHA-256 of its bytes, in hexadecimal.
    pub digest: String,
    /// Its length in bytes.
    pub bytes: i32,
    /// Width in pixels; 0 for a paper.
    pub width: i32,
    /// Height in pixels; 0 for a paper.
    pub height: i32,
    /// When it was kept.
    pub at: DateTime<Utc>,
    /// By whom.
    pub by: AccountId,
}

/// Which ones are asked for.
#[derive(Clone, Copy, Debug)]
pub enum WhichEnclosures {
    /// Those of a unit and of the jobs on it.
    Unit(UnitId),
    /// Those of a job.
    Job(JobId),
    /// One.
    One(Uuid),
}

type Row = (
    (
        Uuid,
        String,
        Uuid,
        Db<BuildingId>,
        Option<Db<UnitId>>,
        Option<Db<JobId>>,
    ),
    (String, String, String, String),
    (i32, i32, i32, DateTime<Utc>, Db<AccountId>),
);

fn read((a, b, c): Row) -> Enclosure {
    Enclosure {
        id: a.0,
        about: a.1,
        about_id: a.2,
        building: a.3.0,
        unit: a.4.map(|id| id.0),
        job: a.5.map(|id| id.0),
        sort: b.0,
        name: b.1,
        words: b.2,
        digest: b.3,
        bytes: c.0,
        width: c.1,
        height: c.2,
        at: c.3,
        by: c.4.0,
    }
}

impl Tx<'_> {
    /// Keeps a photo or paper with its bytes; `id`, `at` and `by` are made here.
    pub fn add_enclosure(&mut self, new: &Enclosure, body: &[u8]) -> Result<Uuid, Error> {
        let (estate, id) = (Db(self.estate()), self.fresh::<Uuid>());
        let bytes = (
            enclosure_bodies::estate_id.eq(estate),
            enclosure_bodies::digest.eq(&new.digest),
            enclosure_bodies::body.eq(body),
        );
        diesel::insert_into(enclosure_bodies::table)
            .values(bytes)
            .on_conflict_do_nothing()
            .execute(self.conn())?;
        let row = (
            (enclosures::estate_id.eq(estate), enclosures::id.eq(id)),
            (
                enclosures::about_kind.eq(&new.about),
                enclosures::about_id.eq(new.about_id),
                enclosures::building_id.eq(Db(new.building)),
                enclosures::unit_id.eq(new.unit.map(Db)),
                enclosures::job_id.eq(new.job.map(Db)),
            ),
            (
                enclosures::sort.eq(&new.sort),
                enclosures::name.eq(&new.name),
                enclosures::words.eq(&new.words),
                enclosures::digest.eq(&new.digest),
            ),
            (
                enclosures::bytes.eq(new.bytes),
                enclosures::width.eq(new.width),
                enclosures::height.eq(new.height),
                enclosures::recorded_at.eq(self.at()),
                enclosures::recorded_by.eq(Db(self.who())),
            ),
        );
        diesel::insert_into(enclosures::table)
            .values(row)
            .execute(self.conn())?;
        Ok(id)
    }

    /// Photos and papers that were not taken out, newest first.
    pub fn enclosures(&mut self, which: WhichEnclosures) -> Result<Vec<Enclosure>, Error> {
        let estate = self.estate();
        let mut query = enclosures::table
            .filter(
                enclosures::estate_id
                    .eq(Db(estate))
                    .and(enclosures::superseded_at.is_null()),
            )
            .into_boxed();
        query = match which {
            WhichEnclosures::Unit(id) => query.filter(enclosures::unit_id.eq(Db(id))),
            WhichEnclosures::Job(id) => query.filter(enclosures::job_id.eq(Db(id))),
            WhichEnclosures::One(id) => query.filter(enclosures::id.eq(id)),
        };
        let rows: Vec<Row> = query
            .order((enclosures::recorded_at.desc(), enclosures::id.desc()))
            .select((
                (
                    enclosures::id,
                    enclosures::about_kind,
                    enclosures::about_id,
                    enclosures::building_id,
                    enclosures::unit_id,
                    enclosures::job_id,
                ),
                (
                    enclosures::sort,
                    enclosures::name,
                    enclosures::words,
                    enclosures::digest,
                ),
                (
                    enclosures::bytes,
                    enclosures::width,
                    enclosures::height,
                    enclosures::recorded_at,
                    enclosures::recorded_by,
                ),
            ))
            .load(self.conn())?;
        Ok(rows.into_iter().map(read).collect())
    }

    /// The bytes under a digest.
    pub fn enclosure_body(&mut self, digest: &str) -> Result<Vec<u8>, Error> {
        let estate = self.estate();
        enclosure_bodies::table
            .filter(
                enclosure_bodies::estate_id
                    .eq(Db(estate))
                    .and(enclosure_bodies::digest.eq(digest)),
            )
            .select(enclosure_bodies::body)
            .first(self.conn())
            .optional()?
            .ok_or(Error::NotFound("file"))
    }

    /// Takes a photo or paper out of sight; that it was there stays on record.
    pub fn take_enclosure_out(&mut self, id: Uuid) -> Result<(), Error> {
        let (estate, at) = (self.estate(), self.at());
        diesel::update(
            enclosures::table.filter(
                enclosures::estate_id
                    .eq(Db(estate))
                    .and(enclosures::id.eq(id))
                    .and(enclosures::superseded_at.is_null()),
            ),
        )
        .set(enclosures::superseded_at.eq(at))
        .execute(self.conn())?;
        Ok(())
    }

    /// The latest attempt at access of a job: its id and when.
    pub fn last_access_attempt(
        &mut self,
        job: JobId,
    ) -> Result<Option<(Uuid, DateTime<Utc>)>, Error> {
        let estate = self.estate();
        Ok(access_attempts::table
            .filter(
                access_attempts::estate_id
                    .eq(Db(estate))
                    .and(access_attempts::job_id.eq(Db(job))),
            )
            .order((access_attempts::at.desc(), access_attempts::id.desc()))
            .select((access_attempts::id, access_attempts::at))
            .first(self.conn())
            .optional()?)
    }
}
