//! Lists brought in: the file as read, how its columns were matched, what the preview found, and how it ended.
//! Every fact it wrote carries its id; undoing supersedes them all ([`mod@undo`]).
mod apart;
mod built_upon;
mod duty_dates;
mod new_history;
mod new_statements;
mod new_units;
mod undo;

use chrono::{DateTime, Utc};
use diesel::prelude::*;
use terms::{AccountId, BuildingId, ImportId};

use crate::estate_schema::imports;
use crate::{Db, Error, Tx};

pub use apart::Progress;
pub use built_upon::BuiltUpon;
pub use duty_dates::DutyDay;
pub use new_history::Arrivals;
pub use undo::Undone;

/// Rows a statement: well under the 65,535 values PostgreSQL takes.
pub(crate) const BATCH: usize = 1000;

/// A list without its text.
#[derive(Clone, Debug, PartialEq)]
pub struct ImportHead {
    /// Its id.
    pub id: ImportId,
    /// The file's name as sent.
    pub name: String,
    /// SHA-256 of the file, its kind and its building, in hexadecimal.
    pub digest: String,
    /// "units", "history" or "records".
    pub kind: String,
    /// The building of rows that name none.
    pub building: Option<BuildingId>,
    /// "reading", "refused", "preview", "coming_in", "done", "undone" or "dropped".
    pub state: String,
    /// Rows under the headings.
    pub rows: i32,
    /// When it was sent.
    pub made_at: DateTime<Utc>,
    /// By whom.
    pub made_by: AccountId,
    /// When it came in.
    pub done_at: Option<DateTime<Utc>>,
    /// When it was taken back.
    pub undone_at: Option<DateTime<Utc>>,
    /// The sheet of its workbook; empty for a list in text.
    pub sheet: String,
    /// Whose list it is; may be empty.
    pub source: String,
}

/// A list with its text.
#[derive(Clone, Debug, PartialEq)]
pub struct ImportCard {
    /// What is known of it.
    pub head: ImportHead,
    /// The text as decoded.
    pub body: String,
    /// How columns are matched and problems settled, as JSON.
    pub mapping: serde_json::Value,
    /// What the preview, or the bringing in, found, as JSON.
    pub report: serde_json::Value,
    /// What the sheets of a handover say against each other, as JSON.
    pub findings: serde_json::Value,
}

/// A list about to be kept.
#[derive(Clone, Debug)]
pub struct NewImport<'a> {
    /// The file's name as sent.
    pub name: &'a str,
    /// SHA-256 of the file, its kind and its building, in hexadecimal.
    pub digest: &'a str,
    /// "units", "history" or "records".
    pub kind: &'a str,
    /// The building of rows that name none.
    pub building: Option<BuildingId>,
    /// The text as decoded, without NUL.
    pub body: &'a str,
    /// "preview", or "reading" while the file is still to be read.
    pub state: &'a str,
    /// The sheet of its workbook.
    pub sheet: &'a str,
    /// Whose list it is.
    pub source: &'a str,
}

type HeadRow = (
    (Db<ImportId>, String, String, String, Option<Db<BuildingId>>),
    (String, i32, DateTime<Utc>, Db<AccountId>),
    (Option<DateTime<Utc>>, Option<DateTime<Utc>>, String, String),
);

const HEAD: (
    (
        imports::id,
        imports::name,
        imports::digest,
        imports::kind,
        imports::building_id,
    ),
    (
        imports::state,
        imports::rows,
        imports::made_at,
        imports::made_by,
    ),
    (
        imports::done_at,
        imports::undone_at,
        imports::sheet,
        imports::source,
    ),
) = (
    (
        imports::id,
        imports::name,
        imports::digest,
        imports::kind,
        imports::building_id,
    ),
    (
        imports::state,
        imports::rows,
        imports::made_at,
        imports::made_by,
    ),
    (
        imports::done_at,
        imports::undone_at,
        imports::sheet,
        imports::source,
    ),
);

fn read_head((a, b, c): HeadRow) -> ImportHead {
    ImportHead {
        id: a.0.0,
        name: a.1,
        digest: a.2,
        kind: a.3,
        building: a.4.map(|b| b.0),
        state: b.0,
        rows: b.1,
        made_at: b.2,
        made_by: b.3.0,
        done_at: c.0,
        undone_at: c.1,
        sheet: c.2,
        source: c.3,
    }
}

impl Tx<'_> {
    /// Keeps a list; nothing of it is in the register yet.
    pub fn add_import(&mut self, new: &NewImport<'_>) -> Result<ImportId, Error> {
        let id: ImportId = self.fresh();
        let row = (
            (
                imports::estate_id.eq(Db(self.estate())),
                imports::id.eq(Db(id)),
            ),
            (imports::name.eq(new.name), imports::digest.eq(new.digest)),
            (
                imports::kind.eq(new.kind),
                imports::building_id.eq(new.building.map(Db)),
            ),
            (
                imports::body.eq(new.body),
                imports::mapping.eq(serde_json::json!({})),
            ),
            (imports::state.eq(new.state), imports::rows.eq(0)),
            (imports::sheet.eq(new.sheet), imports::source.eq(new.source)),
            (
                imports::made_at.eq(self.at()),
                imports::made_by.eq(Db(self.who())),
            ),
        );
        diesel::insert_into(imports::table)
            .values(row)
            .execute(self.conn())?;
        Ok(id)
    }

    /// One list with its text, held against others until the transaction ends.
    pub fn import_held(&mut self, id: ImportId) -> Result<ImportCard, Error> {
        let estate = self.estate();
        let _held: Db<ImportId> = imports::table
            .filter(
                imports::estate_id
                    .eq(Db(estate))
                    .and(imports::id.eq(Db(id))),
            )
            .select(imports::id)
            .for_update()
            .first(self.conn())
            .optional()?
            .ok_or(Error::NotFound("list"))?;
        self.import(id)
    }

    /// One list with its text.
    pub fn import(&mut self, id: ImportId) -> Result<ImportCard, Error> {
        let estate = self.estate();
        let (head, body, mapping, report, findings): (HeadRow, String, _, _, _) = imports::table
            .filter(
                imports::estate_id
                    .eq(Db(estate))
                    .and(imports::id.eq(Db(id))),
            )
            .select((
                HEAD,
                imports::body,
                imports::mapping,
                imports::report,
                imports::findings,
            ))
            .first(self.conn())
            .optional()?
            .ok_or(Error::NotFound("list"))?;
        Ok(ImportCard {
            head: read_head(head),
            body,
            mapping,
            report,
            findings,
        })
    }

    /// The latest lists, newest first.
    pub fn imports(&mut self, most: i64) -> Result<Vec<ImportHead>, Error> {
        let estate = self.estate();
        let rows: Vec<HeadRow> = imports::table
            .filter(imports::estate_id.eq(Db(estate)))
            .order((imports::made_at.desc(), imports::id.desc()))
            .limit(most)
            .select(HEAD)
            .load(self.conn())?;
        Ok(rows.into_iter().map(read_head).collect())
    }

    /// The lists of this very content, newest first.
    pub fn imports_of_digest(&mut self, digest: &str) -> Result<Vec<ImportHead>, Error> {
        let estate = self.estate();
        let rows: Vec<HeadRow> = imports::table
            .filter(
                imports::estate_id
                    .eq(Db(estate))
                    .and(imports::digest.eq(digest)),
            )
            .order((imports::made_at.desc(), imports::id.desc()))
            .select(HEAD)
            .load(self.conn())?;
        Ok(rows.into_iter().map(read_head).collect())
    }

    /// Keeps how columns are matched and what the preview found.
    pub fn keep_preview(
        &mut self,
        id: ImportId,
        (mapping, report): (&serde_json::Value, &serde_json::Value),
        rows: i32,
    ) -> Result<(), Error> {
        let estate = self.estate();
        diesel::update(
            imports::table.filter(
                imports::estate_id
                    .eq(Db(estate))
                    .and(imports::id.eq(Db(id))),
            ),
        )
        .set((
            imports::mapping.eq(mapping),
            imports::report.eq(report),
            imports::rows.eq(rows),
        ))
        .execute(self.conn())?;
        Ok(())
    }

    /// Puts a list into another state; "done" and "undone" keep when.
    pub fn set_import_state(&mut self, id: ImportId, state: &str) -> Result<(), Error> {
        let (estate, at) = (self.estate(), self.at());
        let which = imports::table.filter(
            imports::estate_id
                .eq(Db(estate))
                .and(imports::id.eq(Db(id))),
        );
        match state {
            "done" => diesel::update(which)
                .set((imports::state.eq(state), imports::done_at.eq(at)))
                .execute(self.conn())?,
            "undone" => diesel::update(which)
                .set((imports::state.eq(state), imports::undone_at.eq(at)))
                .execute(self.conn())?,
            _ => diesel::update(which)
                .set(imports::state.eq(state))
                .execute(self.conn())?,
        };
        Ok(())
    }
}
