//! Sentences about jobs, for the desk and for the road.
use chrono::{DateTime, Utc};
use terms::{JobKind, JobState};
use usecases::work::{Job, JobLine};
pub(crate) use wording::sentences::lost_words;
use wording::sentences::{dates, list, number_word, spans};
use wording::{Link, Row, Urgency};

use crate::when;

/// "Flat 14, Alder House"
pub(crate) fn place(job: &Job) -> String {
    format!("{}, {}", job.space_name, job.building_name)
}

/// "no heating since Wednesday 25 November, 01:20", "service of the combi gas boiler AH-22-1"
pub(crate) fn what(job: &Job, unit: Option<&(String, String)>) -> String {
    let unit = unit.map(|(number, kind)| format!("{kind} {number}"));
    match (job.function_lost, job.kind) {
        (Some(lost), _) => lost_words(lost).to_owned(),
        (None, kind) => match unit {
            Some(unit) => format!("{} of the {unit}", noun(kind)),
            None => noun(kind).to_owned(),
        },
    }
}

fn noun(kind: JobKind) -> &'static str {
    match kind {
        JobKind::Check => "check",
        JobKind::Repair => "repair",
        JobKind::Replacement => "replacement",
        JobKind::Service => "service",
        JobKind::Survey => "survey",
    }
}

/// "Monday 30 November, 09:15 to 11:15"
pub(crate) fn slot(job: &Job) -> Option<String> {
    let (from, until) = job.booked?;
    Some(format!(
        "{} to {}",
        dates::appointment(when::local(from)),
        when::local(until).format("%H:%M")
    ))
}

/// How a job stands, in a sentence with its people.
pub(crate) fn standing(line: &JobLine) -> String {
    let job = &line.job;
    let whom = match (&line.engineer, &line.firm) {
        (Some(engineer), Some(firm)) => format!("{engineer} of {firm}"),
        (None, Some(firm)) => firm.clone(),
        _ => "nobody".to_owned(),
    };
    match job.state {
        JobState::ToPlace => "Nobody has it yet.".to_owned(),
        JobState::Offered if line.offered_to.is_empty() => {
            "The offer ran out and nobody took it.".to_owned()
        }
        JobState::Offered => format!("On offer to {}.", list(&line.offered_to)),
        JobState::Taken => format!("{whom} took it; no day is named yet."),
        JobState::Booked => match slot(job) {
            Some(slot) => format!("{whom} is booked for {slot}."),
            None => format!("{whom} is booked."),
        },
        JobState::OnSite => format!("{whom} is there."),
        JobState::WaitingForDecision => {
            format!("{whom} gave a quote; it waits for a decision.")
        }
        JobState::WaitingForPart => format!("A part is on its way; {whom} returns with it."),
        JobState::MadeSafe => format!("Made safe; {whom} has to return."),
        JobState::NoAccess => match line.attempts {
            0 | 1 => format!("Nobody opened to {whom}."),
            2 => format!("Nobody opened to {whom}, twice now."),
            times => format!(
                "Nobody opened to {whom}, {} times now.",
                number_word(times as u64)
            ),
        },
        JobState::LeftIsolated => "Left isolated, not to be used.".to_owned(),
        JobState::Done => format!("{whom} finished it; papers and invoice are to be agreed."),
        JobState::Agreed => "Agreed.".to_owned(),
        JobState::StoodDown => "Stood down.".to_owned(),
    }
}

/// A row of the desk's list.
pub(crate) fn desk_row(line: &JobLine, now: DateTime<Utc>) -> Row {
    let job = &line.job;
    let since = now - job.opened_at;
    let reported = match job.function_lost {
        Some(_) => format!(", reported {} ago", spans::duration(since)),
        None => String::new(),
    };
    let need = if line.same_day {
        " The resident needs heat the same day."
    } else {
        ""
    };
    let what = what(job, line.unit.as_ref());
    let sentence = format!(": {what}{reported}. {}{need}", standing(line));
    let row = Row::about(
        format!("job-{}", job.id),
        Link::new(place(job), format!("/jobs/{}", job.id)),
        sentence,
    )
    .urgency(urgency(job, now));
    match job.due_at.filter(|_| !job.state.is_closed()) {
        Some(due) => row.figure(due_words(job, now, due), job.number.clone()),
        None => row.figure(job.number.clone(), job.kind.words()),
    }
}

/// A call's clock runs in hours; what a duty or an advice asks for is met on a day.
pub(crate) fn due_words(job: &Job, now: DateTime<Utc>, due: DateTime<Utc>) -> String {
    if job.function_lost.is_some() {
        spans::clock(now, due)
    } else {
        spans::due(when::local_day(now), when::local_day(due))
    }
}

fn urgency(job: &Job, now: DateTime<Utc>) -> Urgency {
    if job.state == JobState::LeftIsolated {
        return Urgency::Late;
    }
    match job.due_at {
        Some(due) if now > due && !job.state.is_closed() => Urgency::Late,
        Some(due) if due - now < chrono::TimeDelta::hours(6) && !job.state.is_closed() => {
            Urgency::Soon
        }
        _ => Urgency::Plain,
    }
}
