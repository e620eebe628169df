//! A list that a task reads and brings in: the file until it was read, and how far the task is.
use chrono::{DateTime, Utc};
use diesel::prelude::*;
use terms::ImportId;

use crate::estate_schema::{import_files, import_progress, imports};
use crate::{Db, Error, Tx};

/// How far a task is with a list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Progress {
    /// What it does, or why it ended without having done it, in words.
    pub words: String,
    /// Rows done.
    pub done: i32,
    /// Of so many; 0 while that is not known.
    pub of_all: i32,
    /// When this was said.
    pub said_at: DateTime<Utc>,
}

impl Tx<'_> {
    /// Keeps the file of a list that is still to be read.
    pub fn keep_import_file(&mut self, id: ImportId, bytes: &[u8]) -> Result<(), Error> {
        let row = (
            import_files::estate_id.eq(Db(self.estate())),
            import_files::import_id.eq(Db(id)),
            import_files::body.eq(bytes),
        );
        diesel::insert_into(import_files::table)
            .values(row)
            .execute(self.conn())?;
        Ok(())
    }

    /// The file of a list, until it was read.
    pub fn import_file(&mut self, id: ImportId) -> Result<Option<Vec<u8>>, Error> {
        let estate = self.estate();
        let body: Option<Vec<u8>> = import_files::table
            .filter(
                import_files::estate_id
                    .eq(Db(estate))
                    .and(import_files::import_id.eq(Db(id))),
            )
            .select(import_files::body)
            .first(self.conn())
            .optional()?;
        Ok(body.filter(|body| !body.is_empty()))
    }

    /// Forgets the file of a list.
    pub fn forget_import_file(&mut self, id: ImportId) -> Result<(), Error> {
        let estate = self.estate();
        diesel::update(
            import_files::table.filter(
                import_files::estate_id
                    .eq(Db(estate))
                    .and(import_files::import_id.eq(Db(id))),
            ),
        )
        .set(import_files::body.eq(Vec::<u8>::new()))
        .execute(self.conn())?;
        Ok(())
    }

    /// Keeps the list of a file that was read: its kind, its sheet, its text, and what the sheets say against each
    /// other. It is then in preview.
    pub fn keep_import_body(
        &mut self,
        id: ImportId,
        (kind, sheet, body): (&str, &str, &str),
        findings: &serde_json::Value,
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
            imports::kind.eq(kind),
            imports::sheet.eq(sheet),
            imports::body.eq(body),
            imports::findings.eq(findings),
            imports::state.eq("preview"),
        ))
        .execute(self.conn())?;
        Ok(())
    }

    /// Says how far a task is with a list.
    pub fn say_import_progress(
        &mut self,
        id: ImportId,
        words: &str,
        (done, of_all): (i32, i32),
    ) -> Result<(), Error> {
        let (estate, at) = (self.estate(), self.at());
        let said = || {
            (
                import_progress::words.eq(words),
                import_progress::done.eq(done),
                import_progress::of_all.eq(of_all),
                import_progress::said_at.eq(at),
            )
        };
        let changed = diesel::update(
            import_progress::table.filter(
                import_progress::estate_id
                    .eq(Db(estate))
                    .and(import_progress::import_id.eq(Db(id))),
            ),
        )
        .set(said())
        .execute(self.conn())?;
        if changed == 0 {
            let row = (
                import_progress::estate_id.eq(Db(estate)),
                import_progress::import_id.eq(Db(id)),
                said(),
            );
            diesel::insert_into(import_progress::table)
                .values(row)
                .execute(self.conn())?;
        }
        Ok(())
    }

    /// How far a task is with a list; `None` for one that no task had to do with.
    pub fn import_progress(&mut self, id: ImportId) -> Result<Option<Progress>, Error> {
        let estate = self.estate();
        let row: Option<(String, i32, i32, DateTime<Utc>)> = import_progress::table
            .filter(
                import_progress::estate_id
                    .eq(Db(estate))
                    .and(import_progress::import_id.eq(Db(id))),
            )
            .select((
                import_progress::words,
                import_progress::done,
                import_progress::of_all,
                import_progress::said_at,
            ))
            .first(self.conn())
            .optional()?;
        Ok(row.map(|(words, done, of_all, said_at)| Progress {
            words,
            done,
            of_all,
            said_at,
        }))
    }
}
