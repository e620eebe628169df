//! Records as the engineer issued them. A row never changes: what was known when it was signed stands.
use chrono::{DateTime, Utc};
use diesel::prelude::*;
use terms::{AccountId, EngineerId, JobId, RecordKind, UnitId, VisitId};
use uuid::Uuid;

use crate::estate_schema::issued_records;
use crate::register::read_code;
use crate::{Db, Error, Tx};

/// A record as issued.
#[derive(Clone, Debug, PartialEq)]
pub struct IssuedRecord {
    /// Its id.
    pub id: Uuid,
    /// "J-00042/1", lasting.
    pub number: String,
    /// Which record.
    pub kind: RecordKind,
    /// The job.
    pub job: JobId,
    /// The visit it is of.
    pub visit: VisitId,
    /// The unit.
    pub unit: UnitId,
    /// What was known.
    pub body: serde_json::Value,
    /// SHA-256 of the body as text, in hexadecimal.
    pub digest: String,
    /// The digest of the rule book the sheet was judged by.
    pub rule_book: String,
    /// As typed by the engineer.
    pub signature: String,
    /// Who did the visit.
    pub engineer: Option<EngineerId>,
    /// When.
    pub issued_at: DateTime<Utc>,
    /// The account that issued it.
    pub issued_by: AccountId,
}

/// Which issued records are asked for.
#[derive(Clone, Copy, Debug)]
pub enum WhichIssued {
    /// Those of a job.
    Job(JobId),
    /// Those of a unit.
    Unit(UnitId),
}

type Row = (
    (Uuid, String, String, Db<JobId>, Db<VisitId>, Db<UnitId>),
    (serde_json::Value, String, String, String),
    (Option<Db<EngineerId>>, DateTime<Utc>, Db<AccountId>),
);

fn read(row: Row) -> Result<IssuedRecord, Error> {
    let (a, b, c) = row;
    Ok(IssuedRecord {
        id: a.0,
        number: a.1,
        kind: read_code(&a.2)?,
        job: a.3.0,
        visit: a.4.0,
        unit: a.5.0,
        body: b.0,
        digest: b.1,
        rule_book: b.2,
        signature: b.3,
        engineer: c.0.map(|e| e.0),
        issued_at: c.1,
        issued_by: c.2.0,
    })
}

impl Tx<'_> {
    /// Keeps a record as issued; `id`, `issued_at` and `issued_by` are made here.
    pub fn add_issued_record(&mut self, record: &IssuedRecord) -> Result<Uuid, Error> {
        let id: Uuid = self.fresh();
        let row = (
            (
                issued_records::estate_id.eq(Db(self.estate())),
                issued_records::id.eq(id),
                issued_records::number.eq(&record.number),
                issued_records::kind.eq(record.kind.code()),
            ),
            (
                issued_records::job_id.eq(Db(record.job)),
                issued_records::visit_id.eq(Db(record.visit)),
                issued_records::unit_id.eq(Db(record.unit)),
            ),
            (
                issued_records::body.eq(&record.body),
                issued_records::digest.eq(&record.digest),
                issued_records::rule_book.eq(&record.rule_book),
                issued_records::signature.eq(&record.signature),
            ),
            (
                issued_records::engineer_id.eq(record.engineer.map(Db)),
                issued_records::issued_at.eq(self.at()),
                issued_records::issued_by.eq(Db(self.who())),
            ),
        );
        diesel::insert_into(issued_records::table)
            .values(row)
            .execute(self.conn())?;
        Ok(id)
    }

    /// The records issued, oldest first.
    pub fn issued_records(&mut self, which: WhichIssued) -> Result<Vec<IssuedRecord>, Error> {
        let estate = self.estate();
        let mut query = issued_records::table
            .filter(issued_records::estate_id.eq(Db(estate)))
            .into_boxed();
        query = match which {
            WhichIssued::Job(id) => query.filter(issued_records::job_id.eq(Db(id))),
            WhichIssued::Unit(id) => query.filter(issued_records::unit_id.eq(Db(id))),
        };
        let rows: Vec<Row> = query
            .order((issued_records::issued_at, issued_records::id))
            .select((
                (
                    issued_records::id,
                    issued_records::number,
                    issued_records::kind,
                    issued_records::job_id,
                    issued_records::visit_id,
                    issued_records::unit_id,
                ),
                (
                    issued_records::body,
                    issued_records::digest,
                    issued_records::rule_book,
                    issued_records::signature,
                ),
                (
                    issued_records::engineer_id,
                    issued_records::issued_at,
                    issued_records::issued_by,
                ),
            ))
            .load(self.conn())?;
        rows.into_iter().map(read).collect()
    }
}
