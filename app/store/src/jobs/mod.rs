//! Jobs with their events, offers and quotes.
mod events;
mod offers;
mod quotes;
mod reading;

use chrono::{DateTime, Utc};
use diesel::prelude::*;
use terms::{
    AccountId, BuildingId, DutyId, EngineerId, FirmId, FunctionLost, JobId, JobKind, JobState,
    Pence, SpaceId, UnitId,
};

use crate::estate_schema::{job_duties, jobs};
use crate::{Db, Error, Tx};

pub use events::JobEvent;
pub use offers::{NewOffer, Offer};
pub use quotes::{JobQuote, QuoteLine};
pub use reading::Which;

/// A job as it stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Job {
    /// Its id.
    pub id: JobId,
    /// "J-00042", lasting.
    pub number: String,
    /// What sort of work.
    pub kind: JobKind,
    /// The building.
    pub building: BuildingId,
    /// The building's name.
    pub building_name: String,
    /// The space.
    pub space: SpaceId,
    /// The space's name.
    pub space_name: String,
    /// The unit, when known.
    pub unit: Option<UnitId>,
    /// What was reported lost.
    pub function_lost: Option<FunctionLost>,
    /// In words.
    pub words: String,
    /// "call", "duty", "agent", "advice", "unsafe" or "import".
    pub source: String,
    /// Qualification codes it asks for, parted by spaces.
    pub covers: String,
    /// How long it takes.
    pub minutes: i32,
    /// When somebody has to be there, or to be done.
    pub due_at: Option<DateTime<Utc>>,
    /// The rule behind it.
    pub due_why: String,
    /// Where it stands.
    pub state: JobState,
    /// Since when.
    pub state_at: DateTime<Utc>,
    /// Counts changes; a form that read another one is refused.
    pub version: i32,
    /// Who took it.
    pub firm: Option<FirmId>,
    /// Who of them attends.
    pub engineer: Option<EngineerId>,
    /// The slot.
    pub booked: Option<(DateTime<Utc>, DateTime<Utc>)>,
    /// When it was opened.
    pub opened_at: DateTime<Utc>,
    /// By whom.
    pub opened_by: AccountId,
    /// When it was finished or stood down.
    pub closed_at: Option<DateTime<Utc>>,
    /// What it cost, including VAT.
    pub cost: Option<Pence>,
}

/// A job about to be opened.
#[derive(Clone, Debug)]
pub struct NewJob {
    /// What sort of work.
    pub kind: JobKind,
    /// The building.
    pub building: BuildingId,
    /// The space.
    pub space: SpaceId,
    /// The unit, when known.
    pub unit: Option<UnitId>,
    /// What was reported lost.
    pub function_lost: Option<FunctionLost>,
    /// In words.
    pub words: String,
    /// "call", "duty", "agent", "advice", "unsafe" or "import".
    pub source: &'static str,
    /// Qualification codes, parted by spaces.
    pub covers: String,
    /// How long it takes.
    pub minutes: i32,
    /// The clock.
    pub due_at: Option<DateTime<Utc>>,
    /// The rule behind the clock.
    pub due_why: String,
    /// Duties it fulfils.
    pub duties: Vec<DutyId>,
}

impl Tx<'_> {
    /// Opens a job under the estate's next number.
    pub fn add_job(&mut self, new: &NewJob) -> Result<(JobId, String), Error> {
        let number = self.next_job_number()?;
        let id: JobId = self.fresh();
        let (estate, at, who) = (self.estate(), self.at(), self.who());
        let row = (
            (jobs::estate_id.eq(Db(estate)), jobs::id.eq(Db(id))),
            (jobs::number.eq(&number), jobs::kind.eq(new.kind.code())),
            (
                jobs::building_id.eq(Db(new.building)),
                jobs::space_id.eq(Db(new.space)),
                jobs::unit_id.eq(new.unit.map(Db)),
            ),
            (
                jobs::function_lost.eq(new.function_lost.map(FunctionLost::code)),
                jobs::words.eq(&new.words),
                jobs::source.eq(new.source),
            ),
            (jobs::covers.eq(&new.covers), jobs::minutes.eq(new.minutes)),
            (jobs::due_at.eq(new.due_at), jobs::due_why.eq(&new.due_why)),
            (
                jobs::state.eq(JobState::ToPlace.code()),
                jobs::state_at.eq(at),
            ),
            (jobs::opened_at.eq(at), jobs::opened_by.eq(Db(who))),
        );
        diesel::insert_into(jobs::table)
            .values(row)
            .execute(self.conn())?;
        for duty in &new.duties {
            let row = (
                job_duties::estate_id.eq(Db(estate)),
                job_duties::job_id.eq(Db(id)),
                job_duties::duty_id.eq(Db(*duty)),
            );
            diesel::insert_into(job_duties::table)
                .values(row)
                .on_conflict_do_nothing()
                .execute(self.conn())?;
        }
        self.add_job_event(id, JobState::ToPlace, None, &new.words)?;
        self.index_words("job", id.0, &number)?;
        Ok((id, number))
    }

    /// "J-00042": one more than the greatest given, under the estate's own lock.
    #[expect(
        clippy::disallowed_methods,
        reason = "advisory locks have no typed form in Diesel"
    )]
    fn next_job_number(&mut self) -> Result<String, Error> {
        let name = format!("job numbers {}", self.estate());
        diesel::sql_query("SELECT pg_advisory_xact_lock(hashtextextended($1, 0))")
            .bind::<diesel::sql_types::Text, _>(name)
            .execute(self.conn())?;
        let estate = self.estate();
        let last: Option<String> = jobs::table
            .filter(jobs::estate_id.eq(Db(estate)))
            .order((char_length(jobs::number).desc(), jobs::number.desc()))
            .select(jobs::number)
            .first(self.conn())
            .optional()?;
        let last: u64 = match last.as_deref() {
            None => 0,
            Some(text) => text
                .strip_prefix("J-")
                .and_then(|digits| digits.parse().ok())
                .ok_or_else(|| Error::Unreadable(format!("job number {text}")))?,
        };
        Ok(format!("J-{:05}", last + 1))
    }

    /// Writes where a job stands now, as decided by the caller who holds its row.
    pub fn save_job(&mut self, job: &Job) -> Result<(), Error> {
        let (estate, at) = (self.estate(), self.at());
        let changed = diesel::update(
            jobs::table.filter(
                jobs::estate_id
                    .eq(Db(estate))
                    .and(jobs::id.eq(Db(job.id)))
                    .and(jobs::version.eq(job.version)),
            ),
        )
        .set((
            (jobs::state.eq(job.state.code()), jobs::state_at.eq(at)),
            jobs::version.eq(job.version + 1),
            (
                jobs::firm_id.eq(job.firm.map(Db)),
                jobs::engineer_id.eq(job.engineer.map(Db)),
            ),
            (
                jobs::booked_from.eq(job.booked.map(|b| b.0)),
                jobs::booked_until.eq(job.booked.map(|b| b.1)),
            ),
            (jobs::due_at.eq(job.due_at), jobs::due_why.eq(&job.due_why)),
            (
                jobs::closed_at.eq(job.closed_at),
                jobs::cost_pence.eq(job.cost.map(|c| c.0)),
            ),
            jobs::unit_id.eq(job.unit.map(Db)),
        ))
        .execute(self.conn())?;
        if changed == 1 {
            Ok(())
        } else {
            Err(Error::Conflict(format!("{} was changed", job.number)))
        }
    }
}

diesel::define_sql_function! {
    /// Characters of a text.
    fn char_length(text: diesel::sql_types::Text) -> diesel::sql_types::Integer;
}
