//! Visits with their sheets, findings, notices and attempts at access.
mod confirmed;
mod notices;
mod seen;
mod sheets;

use chrono::{DateTime, Utc};
use diesel::prelude::*;
use terms::{AccountId, EngineerId, FirmId, JobId, SpaceId, VisitId};

use crate::estate_schema::{visit_jobs, visits};
use crate::{Db, Error, Tx};

pub use confirmed::Confirmed;
pub use notices::{AccessAttempt, NewNotice, Notice};
pub use seen::{FindingRow, Seen};
pub use sheets::SheetRow;

/// One attendance.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Visit {
    /// Its id.
    pub id: VisitId,
    /// Where.
    pub space: SpaceId,
    /// The firm.
    pub firm: Option<FirmId>,
    /// Who attended.
    pub engineer: Option<EngineerId>,
    /// "phone", "paper", "photo", "mail", "telephone" or "import".
    pub source: String,
    /// When they came.
    pub arrived_at: DateTime<Utc>,
    /// When they left.
    pub left_at: Option<DateTime<Utc>>,
    /// Who wrote it down.
    pub made_by: AccountId,
    /// How it ended: a job state's code.
    pub outcome: Option<String>,
}

/// A visit about to begin.
#[derive(Clone, Copy, Debug)]
pub struct NewVisit {
    /// Where.
    pub space: SpaceId,
    /// The firm.
    pub firm: Option<FirmId>,
    /// Who attends.
    pub engineer: Option<EngineerId>,
    /// "phone", "paper", "photo", "mail", "telephone" or "import".
    pub source: &'static str,
    /// When they came.
    pub arrived_at: DateTime<Utc>,
}

impl Tx<'_> {
    /// Opens a visit for one job.
    pub fn add_visit(&mut self, job: JobId, new: NewVisit) -> Result<VisitId, Error> {
        let id: VisitId = self.fresh();
        let estate = self.estate();
        let row = (
            (visits::estate_id.eq(Db(estate)), visits::id.eq(Db(id))),
            (
                visits::space_id.eq(Db(new.space)),
                visits::firm_id.eq(new.firm.map(Db)),
                visits::engineer_id.eq(new.engineer.map(Db)),
            ),
            (
                visits::source.eq(new.source),
                visits::arrived_at.eq(new.arrived_at),
                visits::made_by.eq(Db(self.who())),
            ),
        );
        diesel::insert_into(visits::table)
            .values(row)
            .execute(self.conn())?;
        let row = (
            visit_jobs::estate_id.eq(Db(estate)),
            visit_jobs::visit_id.eq(Db(id)),
            visit_jobs::job_id.eq(Db(job)),
        );
        diesel::insert_into(visit_jobs::table)
            .values(row)
            .execute(self.conn())?;
        Ok(id)
    }

    /// Says when a visit ended and how.
    pub fn end_visit(
        &mut self,
        id: VisitId,
        left_at: DateTime<Utc>,
        outcome: &str,
    ) -> Result<(), Error> {
        let estate = self.estate();
        diesel::update(
            visits::table.filter(visits::estate_id.eq(Db(estate)).and(visits::id.eq(Db(id)))),
        )
        .set((
            visits::left_at.eq(Some(left_at)),
            visits::outcome.eq(Some(outcome)),
        ))
        .execute(self.conn())?;
        Ok(())
    }

    /// The visits of a job, oldest first.
    pub fn visits_of(&mut self, job: JobId) -> Result<Vec<Visit>, Error> {
        let estate = self.estate();
        type Row = (
            (
                Db<VisitId>,
                Db<SpaceId>,
                Option<Db<FirmId>>,
                Option<Db<EngineerId>>,
            ),
            (
                String,
                DateTime<Utc>,
                Option<DateTime<Utc>>,
                Db<AccountId>,
                Option<String>,
            ),
        );
        let rows: Vec<Row> = visit_jobs::table
            .inner_join(
                visits::table.on(visits::estate_id
                    .eq(visit_jobs::estate_id)
                    .and(visits::id.eq(visit_jobs::visit_id))),
            )
            .filter(
                visit_jobs::estate_id
                    .eq(Db(estate))
                    .and(visit_jobs::job_id.eq(Db(job))),
            )
            .order((visits::arrived_at, visits::id))
            .select((
                (
                    visits::id,
                    visits::space_id,
                    visits::firm_id,
                    visits::engineer_id,
                ),
                (
                    visits::source,
                    visits::arrived_at,
                    visits::left_at,
                    visits::made_by,
                    visits::outcome,
                ),
            ))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|(a, b)| Visit {
                id: a.0.0,
                space: a.1.0,
                firm: a.2.map(|f| f.0),
                engineer: a.3.map(|e| e.0),
                source: b.0,
                arrived_at: b.1,
                left_at: b.2,
                made_by: b.3.0,
                outcome: b.4,
            })
            .collect())
    }
}
