//! Notices of planned visits that are still to go out: drafted from the booking, each with the last day to send it.
use chrono::{Days, NaiveDate};
use store::jobs::{Job, Which};
use terms::{JobKind, LetterKind, Role, UsedAs};

use super::filled::Filled;
use crate::work::wall;
use crate::{Error, Seat, World};

/// Days a resident is told before a planned visit (common practice, no source).
pub const NOTICE_DAYS: u64 = 7;
/// Days before the last day to send from which a notice stands on Today.
const SHOWN_DAYS: u64 = 7;

/// A notice to send.
#[derive(Clone, Debug)]
pub struct NoticeDue {
    /// The booked job; its letter is filled in from it.
    pub job: Job,
    /// The day of the visit.
    pub visit: NaiveDate,
    /// The last day to send it: a week before the visit.
    pub by: NaiveDate,
    /// A notice went out that names another day.
    pub named: Option<NaiveDate>,
}

/// Notices whose last day comes within a week or has gone by, soonest first. A visit of which a notice went out that
/// names its day needs none; one that moved since does.
///
/// # Errors
/// [`Error::NotFound`] for anybody but the desk.
pub fn notices_due(world: &World, seat: &Seat) -> Result<Vec<NoticeDue>, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let now = world.now();
    let today = wall::day(now);
    let last = today
        .checked_add_days(Days::new(SHOWN_DAYS))
        .unwrap_or(today);
    world.acting(seat, |tx| {
        let mut found = Vec::new();
        for job in tx.jobs(&Which::Open)? {
            let Some((from, _)) = job.booked.filter(|(from, _)| *from > now) else {
                continue;
            };
            let visit = wall::day(from);
            let by = visit
                .checked_sub_days(Days::new(NOTICE_DAYS))
                .unwrap_or(visit);
            let planned = matches!(
                job.kind,
                JobKind::Check | JobKind::Service | JobKind::Replacement
            );
            let ours = planned && job.closed_at.is_none() && seat.grant().reaches(job.building);
            if !ours || by > last || tx.space(job.space)?.used_as != UsedAs::Flat {
                continue;
            }
            let sent = tx.letters_of(job.id)?.into_iter();
            let named: Vec<Option<NaiveDate>> = sent
                .filter(|letter| letter.kind == LetterKind::PlannedVisit)
                .map(|letter| {
                    let filled: Option<Filled> = serde_json::from_value(letter.body).ok();
                    filled.and_then(|f| f.day)
                })
                .collect();
            if named.contains(&Some(visit)) {
                continue;
            }
            let named = named.into_iter().flatten().next_back();
            found.push(NoticeDue {
                job,
                visit,
                by,
                named,
            });
        }
        found.sort_by_key(|n| (n.by, n.job.id));
        Ok(found)
    })
}
