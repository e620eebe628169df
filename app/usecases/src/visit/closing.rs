//! Ending a visit: the sheet is judged once more, refused with its reasons, or kept with everything that follows.
use std::collections::BTreeMap;

use chrono::{DateTime, Utc};
use inspection::clock::WorkingDays;
use serde::{Deserialize, Serialize};
use store::Tx;
use store::visits::Visit;
use terms::{JobId, JobKind, JobState, QuoteId, Role};

use super::arriving::{begin, draft_of, write_sheet};
use super::assess::{Assessment, assess};
use super::blocks::may_clear;
use super::facts::{Facts, facts_of, papers_of};
use super::money::{QuoteSum, quote_of};
use super::recording::record;
use super::sheet::Sheet;
use super::unsafe_flow::{follow_up, missing};
use crate::work::{
    Home, due_by_finish, is_council_secure, must_reach_job, names_in, no_later, report_of, step,
    wall, working_days,
};
use crate::{Error, FieldError, Seat, World};

/// What became of a sheet.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Closed {
    /// Where the job stands now.
    pub state: JobState,
    /// The quote it carried.
    pub quote: Option<QuoteId>,
    /// How many readings were kept.
    pub readings: usize,
}

/// Ends the visit with the draft and what was typed last.
///
/// # Errors
/// [`Error::Invalid`] with every reason why it cannot end so; nothing is changed, the draft stays.
pub fn submit_sheet(
    world: &World,
    seat: &Seat,
    (job, typed): (JobId, BTreeMap<String, String>),
    once: &str,
) -> Result<Closed, Error> {
    seat.must_be(&[Role::Contractor])?;
    let names = names_in(world, seat.estate())?;
    let papers = papers_of(world, &names, Some(seat.firm()?), seat.engineer())?;
    let days = working_days(world)?;
    world.acting(seat, |tx| {
        tx.once(once, &(job, &typed), |tx| {
            let mut job = tx.hold_job(job)?;
            must_reach_job(tx, seat, &job)?;
            let visit = begin(tx, seat, &mut job)?;
            let mut sheet = draft_of(tx, visit.id)?;
            sheet.lay_over(&typed)?;
            let facts = facts_of(tx, job, papers, wall::day(visit.arrived_at))?;
            let left_at = tx.at();
            close(tx, facts, (&visit, left_at), &sheet, &days)
        })
    })
}

/// Judges, refuses or keeps. The job's row is held and the job is on site.
pub(super) fn close(
    tx: &mut Tx<'_>,
    facts: Facts,
    (visit, left_at): (&Visit, DateTime<Utc>),
    sheet: &Sheet,
    days: &WorkingDays,
) -> Result<Closed, Error> {
    let assessment = assess(&facts, sheet)?;
    let mut wrongs = assessment.wrongs.clone();
    let outcome = sheet.outcome();
    let quote = quote_of(sheet, facts.day, &mut wrongs);
    let has_quote = quote.is_some() || tx.quote_of_job(facts.job.id)?.is_some();
    wrongs.extend(refusals(&facts, sheet, &assessment, has_quote));
    Error::unless_empty(wrongs)?;
    let outcome = outcome.ok_or_else(|| Error::field("outcome", "Say how you leave it."))?;
    write_sheet(tx, (visit.id, facts.job.id), sheet, true)?;
    tx.end_visit(visit.id, left_at, outcome.code())?;
    let readings = record(tx, &facts, (visit, outcome), sheet, &assessment)?;
    let quote = match quote {
        Some(sum) => Some(keep_quote(tx, &facts, sheet, sum)?),
        None => None,
    };
    let mut job = facts.job.clone();
    if let Some(cost) = terms::Pence::parse_pounds(sheet.get("cost")) {
        job.cost = Some(cost);
    }
    if let (false, Some(lost)) = (outcome == JobState::Done, job.function_lost) {
        let report = report_of(lost);
        let home = Home {
            same_day: false,
            council_secure: is_council_secure(tx, job.space, job.opened_at)?,
        };
        let due = due_by_finish(days, facts.building.country, report, job.opened_at, home)?;
        if due.at.is_some() && job.source == "call" {
            job.due_at = no_later(tx, days, &job, due.at)?.0;
        }
    }
    if !matches!(outcome, JobState::Done) {
        job.booked = None;
    }
    step(tx, &mut job, outcome, &ending_words(sheet, outcome))?;
    follow_up(tx, &facts, sheet, days)?;
    Ok(Closed {
        state: outcome,
        quote,
        readings,
    })
}

fn ending_words(sheet: &Sheet, outcome: JobState) -> String {
    let said: Vec<&str> = ["work", "next_words", "access_words"]
        .iter()
        .map(|key| sheet.get(key))
        .filter(|text| !text.is_empty())
        .collect();
    if said.is_empty() {
        format!("Left {outcome}.")
    } else {
        said.join(" ")
    }
}

/// Every reason why the sheet cannot end as asked.
fn refusals(
    facts: &Facts,
    sheet: &Sheet,
    assessment: &Assessment,
    has_quote: bool,
) -> Vec<FieldError> {
    let mut wrongs = Vec::new();
    let Some(outcome) = sheet.outcome() else {
        wrongs.push(FieldError::at("outcome", "Say how you leave it."));
        return wrongs;
    };
    let unsafe_class = sheet.get("unsafe");
    if matches!(unsafe_class, "ID" | "AR") && !sheet.has("unsafe_words") {
        wrongs.push(FieldError::at(
            "unsafe_words",
            "Say what you found unsafe, as on the warning notice.",
        ));
    }
    wrongs.extend(missing(facts, sheet));
    for notice in &facts.notices {
        if sheet.yes(&format!("clear.{}", notice.id)) && !may_clear(facts, sheet) {
            wrongs.push(FieldError::at(
                format!("clear.{}", notice.id),
                "Only an engineer on the gas safety register, in date today, clears an unsafe situation.",
            ));
        }
    }
    let must: Vec<&str> = assessment
        .completion
        .must_do
        .iter()
        .map(|m| m.words())
        .collect();
    if outcome != JobState::NoAccess || assessment.completion.hard_blocks.contains(&1) {
        if !assessment.open_ends.contains(&outcome) {
            wrongs.extend(closed_end(outcome, assessment, &must));
        }
        if outcome != JobState::NoAccess
            && assessment.stops().next().is_some()
            && unsafe_class.is_empty()
        {
            wrongs.push(FieldError::at(
                "unsafe",
                "A reading says stop. Say how you class it: immediately dangerous, at risk, or not unsafe after all and why.",
            ));
        }
    }
    if unsafe_class == "none" && assessment.stops().next().is_some() && !sheet.has("unsafe_words") {
        wrongs.push(FieldError::at(
            "unsafe_words",
            "Say why it is not unsafe although a reading says stop.",
        ));
    }
    if outcome == JobState::WaitingForDecision && !has_quote {
        wrongs.push(FieldError::at(
            "q.1.net",
            "A decision needs a quote: give at least one line.",
        ));
    }
    if outcome == JobState::WaitingForDecision && facts.unit.is_none() {
        wrongs.push(FieldError::at(
            "outcome",
            "The job names no unit, so there is nothing to decide upon: tell the office which one it is.",
        ));
    }
    wrongs.extend(unknown_parts(facts, sheet));
    wrongs
}

fn closed_end(outcome: JobState, assessment: &Assessment, must: &[&str]) -> Vec<FieldError> {
    let reasons: Vec<String> = if !must.is_empty() {
        must.iter().map(|m| (*m).to_owned()).collect()
    } else if outcome == JobState::Done {
        assessment.in_the_way.clone()
    } else {
        vec![
            "An unsafe situation is open on this unit: it can only be left isolated until a registered engineer clears it."
                .to_owned(),
        ]
    };
    reasons
        .into_iter()
        .map(|reason| FieldError::at("outcome", reason))
        .collect()
}

fn unknown_parts(facts: &Facts, sheet: &Sheet) -> Vec<FieldError> {
    let known = |code: &str| facts.parts.iter().any(|p| p.code == code);
    let mut wrongs = Vec::new();
    for key in ["fitted", "cause", "q_part"] {
        let code = sheet.get(key);
        if !(code.is_empty() || known(code) || (key == "cause" && code == "none_found")) {
            wrongs.push(FieldError::at(
                key,
                format!("“{code}” is not a part of this kind."),
            ));
        }
    }
    if sheet.has("cost") && terms::Pence::parse_pounds(sheet.get("cost")).is_none_or(|p| p.0 < 0) {
        wrongs.push(FieldError::at(
            "cost",
            format!("“{}” is not an amount such as 318.00.", sheet.get("cost")),
        ));
    }
    wrongs
}

fn keep_quote(
    tx: &mut Tx<'_>,
    facts: &Facts,
    sheet: &Sheet,
    sum: QuoteSum,
) -> Result<QuoteId, Error> {
    let (Some(unit), Some(firm), Some(until)) = (facts.job.unit, facts.job.firm, sum.valid_until)
    else {
        return Err(Error::field(
            "outcome",
            "A quote needs the unit and the firm: tell the office which they are.",
        ));
    };
    let part = [sheet.get("q_part"), sheet.get("cause")]
        .into_iter()
        .find(|code| facts.parts.iter().any(|p| p.code == *code))
        .map(str::to_owned);
    let id = crate::advice::quote(
        tx,
        crate::advice::NewQuote {
            job: facts.job.id,
            unit,
            firm,
            part,
            lines: sum
                .lines
                .into_iter()
                .map(|line| (line.what, line.net, line.vat_percent))
                .collect(),
            valid_until: until,
            words: sheet.get("q_words").to_owned(),
        },
    )?;
    crate::advice::advise(tx, unit, Some(facts.job.id), Some(id))?;
    Ok(id)
}

/// Whether a job's end is recorded as a service or check done, rather than a failure put right.
pub(super) fn is_planned(kind: JobKind) -> bool {
    !matches!(kind, JobKind::Repair)
}
