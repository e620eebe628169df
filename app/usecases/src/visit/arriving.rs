//! Beginning a visit, and keeping what is typed step by step.
use std::collections::BTreeMap;

use chrono::Utc;
use inspection::RuleBook;
use store::Tx;
use store::jobs::Job;
use store::visits::{NewVisit, SheetRow, Visit};
use terms::{JobId, JobState, Role, VisitId};

use super::assess::{Assessment, assess};
use super::facts::{Facts, SheetView, facts_of, papers_of};
use super::phone::differences;
use super::sheet::Sheet;
use crate::work::{JobView, job_view, must_reach_job, names_in, step, wall};
use crate::{Error, Seat, World};

/// Arrives at a job: the visit begins. Arriving again finds the visit begun.
///
/// # Errors
/// [`Error::Conflict`] when the job cannot be worked on as it stands.
pub fn arrive(world: &World, seat: &Seat, job: JobId, once: &str) -> Result<VisitId, Error> {
    seat.must_be(&[Role::Contractor])?;
    world.acting(seat, |tx| {
        tx.once(once, &job, |tx| {
            let mut job = tx.hold_job(job)?;
            must_reach_job(tx, seat, &job)?;
            Ok(begin(tx, seat, &mut job)?.id)
        })
    })
}

/// The open visit of a job whose row is held, begun if there is none.
pub(super) fn begin(tx: &mut Tx<'_>, seat: &Seat, job: &mut Job) -> Result<Visit, Error> {
    if let Some(open) = open_visit(tx, job)? {
        return Ok(open);
    }
    if seat.engineer().is_some() && job.engineer != seat.engineer() {
        job.engineer = seat.engineer();
    }
    if job.state != JobState::OnSite {
        step(tx, job, JobState::OnSite, "Arrived.")?;
    }
    let new = NewVisit {
        space: job.space,
        firm: job.firm,
        engineer: job.engineer,
        source: "phone",
        arrived_at: tx.at(),
    };
    let id = tx.add_visit(job.id, new)?;
    tx.note(
        "arrived",
        &format!("job {}", job.id),
        &serde_json::json!({ "number": job.number, "visit": id }),
    );
    open_visit(tx, job)?.ok_or_else(|| Error::Internal(format!("visit {id} is not there")))
}

pub(super) fn open_visit(tx: &mut Tx<'_>, job: &Job) -> Result<Option<Visit>, Error> {
    let visits = tx.visits_of(job.id)?;
    Ok(visits.into_iter().rfind(|v| v.left_at.is_none()))
}

/// As typed so far in a visit.
pub(super) fn draft_of(tx: &mut Tx<'_>, visit: VisitId) -> Result<Sheet, Error> {
    match tx.last_sheet(visit)? {
        Some(row) => {
            serde_json::from_value(row.body).map_err(|e| Error::Internal(format!("sheet: {e}")))
        }
        None => Ok(Sheet::new()),
    }
}

/// Keeps what was typed at one step, laid over what was typed before. Each step is a row of its own.
///
/// # Errors
/// [`Error::Invalid`] at a reading that cannot be; [`Error::Conflict`] when the visit has ended.
pub fn keep_draft(
    world: &World,
    seat: &Seat,
    (job, typed): (JobId, BTreeMap<String, String>),
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&[Role::Contractor])?;
    let names = names_in(world, seat.estate())?;
    let firm = seat.firm()?;
    let papers = papers_of(world, &names, Some(firm), seat.engineer())?;
    world.acting(seat, |tx| {
        tx.once(once, &(job, &typed), |tx| {
            let job = tx.hold_job(job)?;
            must_reach_job(tx, seat, &job)?;
            let visit = open_visit(tx, &job)?.ok_or_else(|| ended(&job))?;
            let mut sheet = draft_of(tx, visit.id)?;
            sheet.lay_over(&typed)?;
            let id = job.id;
            let facts = facts_of(tx, job, papers, wall::day(visit.arrived_at))?;
            let assessment = assess(&facts, &sheet)?;
            note_differences(tx, (&facts, &typed), &mut sheet, &assessment)?;
            let fresh: Vec<_> = assessment
                .wrongs
                .into_iter()
                .filter(|w| typed.contains_key(&w.field))
                .collect();
            Error::unless_empty(fresh)?;
            write_sheet(tx, (visit.id, id), &sheet, false)
        })
    })
}

/// Writes down where the phone, by its copy of the rules, said something else of the readings just typed.
fn note_differences(
    tx: &mut Tx<'_>,
    (facts, typed): (&Facts, &BTreeMap<String, String>),
    sheet: &mut Sheet,
    assessment: &Assessment,
) -> Result<(), Error> {
    let found = differences(facts, sheet, assessment)?;
    let said_now = typed.keys().filter_map(|key| key.strip_prefix("p."));
    for reading in said_now {
        let differs = found.iter().find(|(code, ..)| code == reading);
        let stands = differs.map_or("", |(.., stands)| stands.as_str());
        sheet.set(format!("d.{reading}"), stands);
        if let Some((_, said, stands)) = differs {
            tx.note(
                "phone judged otherwise",
                &format!("job {}", facts.job.id),
                &serde_json::json!({ "reading": reading, "phone": said, "here": stands }),
            );
        }
    }
    Ok(())
}

fn ended(job: &Job) -> Error {
    Error::Conflict(format!(
        "No visit to {} is open; it is {}. Nothing was changed.",
        job.number, job.state
    ))
}

pub(super) fn write_sheet(
    tx: &mut Tx<'_>,
    (visit, job): (VisitId, JobId),
    sheet: &Sheet,
    closes: bool,
) -> Result<(), Error> {
    let book = RuleBook::shipped().map_err(|e| Error::Internal(e.to_string()))?;
    let body = serde_json::to_value(sheet).map_err(|e| Error::Internal(e.to_string()))?;
    let at: chrono::DateTime<Utc> = tx.at();
    // Two steps in one instant still have an order: the later one is written a microsecond later.
    let before = tx.last_sheet(visit)?.map(|row| row.written_at);
    let written_at = before.map_or(at, |last| at.max(last + chrono::TimeDelta::microseconds(1)));
    tx.add_sheet(&SheetRow {
        visit,
        job,
        body,
        rule_book: book.digest().to_owned(),
        written_at,
        received_at: at,
        written_by: tx.who(),
        closes,
    })?;
    if closes {
        tx.note(
            "sheet closed",
            &format!("job {job}"),
            &serde_json::json!({ "visit": visit, "rule_book": book.digest() }),
        );
    }
    Ok(())
}

/// The sheet of a job with everything its pages show; before arriving it is empty. The desk sees it with
/// the papers of the engineer who has the job.
pub fn open_sheet(world: &World, seat: &Seat, job: JobId) -> Result<SheetView, Error> {
    seat.must_be(&[Role::Contractor, Role::Agent, Role::Supervisor])?;
    let view = job_view(world, seat, job)?;
    sheet_of(world, seat, view)
}

/// The sheet behind a job as a seat sees it; the caller has looked at what the seat may do.
pub(crate) fn sheet_of(world: &World, seat: &Seat, view: JobView) -> Result<SheetView, Error> {
    let job = view.job.id;
    let engineer = seat.engineer().or(view.job.engineer);
    let papers = papers_of(world, &view.names, view.job.firm, engineer)?;
    world.acting(seat, |tx| {
        let card = tx.job(job)?;
        must_reach_job(tx, seat, &card)?;
        let open = open_visit(tx, &card)?;
        let sheet = match &open {
            Some(visit) => draft_of(tx, visit.id)?,
            None => Sheet::new(),
        };
        let at = open.as_ref().map_or_else(|| tx.at(), |v| v.arrived_at);
        let facts = facts_of(tx, card, papers, wall::day(at))?;
        let assessment = assess(&facts, &sheet)?;
        Ok(SheetView {
            job: view,
            facts,
            visit: open,
            sheet,
            assessment,
        })
    })
}
