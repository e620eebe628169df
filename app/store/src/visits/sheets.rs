//! Job sheets as written: every step of a draft is a row, and the closing sheet is one more.
use chrono::{DateTime, Utc};
use diesel::prelude::*;
use terms::{AccountId, JobId, VisitId};
use uuid::Uuid;

use crate::estate_schema::sheets;
use crate::{Db, Error, Tx};

/// A sheet as written.
#[derive(Clone, Debug, PartialEq)]
pub struct SheetRow {
    /// The visit.
    pub visit: VisitId,
    /// The job.
    pub job: JobId,
    /// As typed.
    pub body: serde_json::Value,
    /// The digest of the rule book it was judged by.
    pub rule_book: String,
    /// When it was written.
    pub written_at: DateTime<Utc>,
    /// When it came in.
    pub received_at: DateTime<Utc>,
    /// Who wrote it.
    pub written_by: AccountId,
    /// Whether it ended the visit, or is a draft.
    pub closes: bool,
}

impl Tx<'_> {
    /// Adds a sheet, draft or closing; `received_at` and `written_by` are the transaction's.
    pub fn add_sheet(&mut self, sheet: &SheetRow) -> Result<(), Error> {
        let id: Uuid = self.fresh();
        let row = (
            (sheets::estate_id.eq(Db(self.estate())), sheets::id.eq(id)),
            (
                sheets::visit_id.eq(Db(sheet.visit)),
                sheets::job_id.eq(Db(sheet.job)),
            ),
            (
                sheets::body.eq(&sheet.body),
                sheets::rule_book.eq(&sheet.rule_book),
            ),
            (
                sheets::written_at.eq(sheet.written_at),
                sheets::received_at.eq(self.at()),
                sheets::written_by.eq(Db(self.who())),
            ),
            sheets::closes.eq(sheet.closes),
        );
        diesel::insert_into(sheets::table)
            .values(row)
            .execute(self.conn())?;
        Ok(())
    }

    /// The latest sheet of a visit, draft or closing.
    pub fn last_sheet(&mut self, visit: VisitId) -> Result<Option<SheetRow>, Error> {
        let estate = self.estate();
        type Row = (
            (Db<VisitId>, Db<JobId>, serde_json::Value, String),
            (DateTime<Utc>, DateTime<Utc>, Db<AccountId>, bool),
        );
        let row: Option<Row> = sheets::table
            .filter(
                sheets::estate_id
                    .eq(Db(estate))
                    .and(sheets::visit_id.eq(Db(visit))),
            )
            .order((
                sheets::closes.desc(),
                sheets::written_at.desc(),
                sheets::id.desc(),
            ))
            .select((
                (
                    sheets::visit_id,
                    sheets::job_id,
                    sheets::body,
                    sheets::rule_book,
                ),
                (
                    sheets::written_at,
                    sheets::received_at,
                    sheets::written_by,
                    sheets::closes,
                ),
            ))
            .first(self.conn())
            .optional()?;
        Ok(row.map(|(a, b)| SheetRow {
            visit: a.0.0,
            job: a.1.0,
            body: a.2,
            rule_book: a.3,
            written_at: b.0,
            received_at: b.1,
            written_by: b.2.0,
            closes: b.3,
        }))
    }
}
