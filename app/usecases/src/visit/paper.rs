//! A visit typed in by the desk from paper, mail or a photograph: the same checks, the source kept.
use chrono::{DateTime, TimeDelta, Utc};
use inspection::clock::WorkingDays;
use serde::{Deserialize, Serialize};
use store::Tx;
use store::jobs::Job;
use store::visits::NewVisit;
use terms::{EngineerId, FirmId, JobId, JobState, Role};

use super::closing::{Closed, close};
use super::facts::{facts_of, papers_of};
use super::sheet::Sheet;
use crate::work::{Names, must_see, names_in, place, step, wall, working_days};
use crate::{Error, Seat, World};

/// Where the desk has the sheet from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PaperSource {
    /// A paper sheet.
    Paper,
    /// A photograph of a sheet.
    Photo,
    /// A mail, or the form a mail leads to.
    Mail,
    /// Told by telephone.
    Telephone,
}

impl PaperSource {
    /// As stored.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Paper => "paper",
            Self::Photo => "photo",
            Self::Mail => "mail",
            Self::Telephone => "telephone",
        }
    }

    /// As read after "from".
    pub const fn words(self) -> &'static str {
        match self {
            Self::Paper => "paper",
            Self::Photo => "a photograph of the sheet",
            Self::Mail => "mail",
            Self::Telephone => "a telephone call",
        }
    }
}

/// A visit as it came to the desk.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct PaperVisit {
    /// The job.
    pub job: JobId,
    /// Where the desk has it from.
    pub source: PaperSource,
    /// When they came.
    pub arrived_at: DateTime<Utc>,
    /// When they left; `None`: an hour later.
    pub left_at: Option<DateTime<Utc>>,
    /// The firm, when nobody had taken the job.
    pub firm: Option<FirmId>,
    /// Who attended.
    pub engineer: Option<EngineerId>,
    /// As written on the paper.
    pub sheet: Sheet,
}

/// Takes in a visit from paper.
///
/// # Errors
/// [`Error::Invalid`] with every reason why it cannot end so; nothing is changed.
pub fn paper_visit(
    world: &World,
    seat: &Seat,
    form: PaperVisit,
    once: &str,
) -> Result<Closed, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let names = names_in(world, seat.estate())?;
    let days = working_days(world)?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            paper_visit_in(tx, (world, &names, &days), seat, &form)
        })
    })
}

/// The same inside a transaction that does more with it.
pub(crate) fn paper_visit_in(
    tx: &mut Tx<'_>,
    (world, names, days): (&World, &Names, &WorkingDays),
    seat: &Seat,
    form: &PaperVisit,
) -> Result<Closed, Error> {
    let mut job = tx.hold_job(form.job)?;
    must_see(tx, seat, &job)?;
    let (now, came) = (tx.at(), form.arrived_at);
    if came > now {
        return Err(Error::field("arrived", "That is in the future."));
    }
    if came < job.opened_at - TimeDelta::days(3660) {
        return Err(Error::field(
            "arrived",
            "That is more than ten years before the job.",
        ));
    }
    who_attended(tx, &mut job, form, names)?;
    let sheet = overridden(seat, &form.sheet);
    let papers = papers_of(world, names, job.firm, job.engineer)?;
    if job.state != JobState::OnSite {
        let words = format!(
            "Attended at {}, from {}.",
            wall::words(came),
            form.source.words()
        );
        step(tx, &mut job, JobState::OnSite, &words)?;
    }
    let new = NewVisit {
        space: job.space,
        firm: job.firm,
        engineer: job.engineer,
        source: form.source.code(),
        arrived_at: came,
    };
    let id = tx.add_visit(job.id, new)?;
    let visit = tx
        .visits_of(job.id)?
        .into_iter()
        .find(|v| v.id == id)
        .ok_or(Error::NotFound("visit"))?;
    let facts = facts_of(tx, job, papers, wall::day(came))?;
    let left = form.left_at.unwrap_or(came + TimeDelta::hours(1)).min(now);
    close(tx, facts, (&visit, left), &sheet, days)
}

/// Names firm and engineer of a visit from paper: a job nobody had taken is taken by who attended.
fn who_attended(
    tx: &mut Tx<'_>,
    job: &mut Job,
    form: &PaperVisit,
    names: &Names,
) -> Result<(), Error> {
    if matches!(job.state, JobState::ToPlace | JobState::Offered) {
        let missing = || Error::field("firm", "Say which firm attended: nobody had taken the job.");
        let firm = form.firm.ok_or_else(missing)?;
        place(tx, job, (firm, form.engineer), names)?;
    }
    let Some(engineer) = form.engineer else {
        return Ok(());
    };
    if names.engineer_card(engineer).map(|e| e.firm) != job.firm {
        return Err(Error::field(
            "engineer",
            "That engineer is not of this firm.",
        ));
    }
    job.engineer = Some(engineer);
    Ok(())
}

/// A supervisor's override carries the supervisor's own name; nobody else's counts.
fn overridden(seat: &Seat, sheet: &Sheet) -> Sheet {
    let mut sheet = sheet.clone();
    if seat.role() == Role::Supervisor {
        sheet.set("override_by", seat.name());
    } else {
        sheet.set("override_reason", "");
    }
    sheet
}
