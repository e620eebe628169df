//! What a new round moved, and why each visit could not stay.
use std::collections::BTreeMap;

use chrono::NaiveDate;
use planning::rounds::{Placed, Rule, audit, week_of};
use planning::{RoundInput, RoundPlan};
use serde::{Deserialize, Serialize};
use store::jobs::Job;
use terms::{EngineerId, JobId};
use uuid::Uuid;

/// Where a visit stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Stand {
    /// The day.
    pub day: NaiveDate,
    /// Minutes from midnight.
    pub start: u32,
    /// Who comes.
    pub engineer: EngineerId,
}

/// A visit that moved.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct MoveLine {
    /// The visit.
    pub visit: Uuid,
    /// Where it was.
    pub from: Stand,
    /// Where it is; `None` = it found no day.
    pub to: Option<Stand>,
    /// Why, as the end of a sentence that begins "because".
    pub why: String,
}

fn stand(placed: &Placed) -> Stand {
    Stand {
        day: placed.day,
        start: placed.start_minute,
        engineer: placed.engineer,
    }
}

/// Visits of the round before that stand elsewhere now, by the day they stood on.
pub(super) fn lines_of(
    input: &RoundInput,
    before: &RoundPlan,
    (now, calls): (&RoundPlan, &[Job]),
) -> Vec<MoveLine> {
    let after: BTreeMap<JobId, &Placed> = now.placed.iter().map(|p| (p.job, p)).collect();
    let wanted: Vec<JobId> = input.jobs.iter().map(|j| j.id).collect();
    let why = reasons(input, before);
    before
        .placed
        .iter()
        .filter(|was| wanted.contains(&was.job))
        .filter(|was| after.get(&was.job).copied() != Some(*was))
        .map(|was| MoveLine {
            visit: was.job.0,
            from: stand(was),
            to: after.get(&was.job).map(|p| stand(p)),
            why: why
                .get(&was.job)
                .map_or_else(|| made_room(was, now, calls), |why| (*why).to_owned()),
        })
        .collect()
}

/// A visit that broke no rule made room: for an open job that stands in its engineer's week now, where there is one.
fn made_room(was: &Placed, now: &RoundPlan, calls: &[Job]) -> String {
    let mut there = now
        .placed
        .iter()
        .filter(|p| week_of(p.day) == week_of(was.day) && p.engineer == was.engineer);
    let call = there.find_map(|p| calls.iter().find(|job| job.id == p.job));
    match call {
        Some(job) => format!(
            "it made room for {}: {}, {}, which cannot wait",
            job.number, job.space_name, job.building_name
        ),
        None => "it made room for others".to_owned(),
    }
}

/// Why a visit of the round before breaks a rule of the world as it is now.
fn reasons(input: &RoundInput, before: &RoundPlan) -> BTreeMap<JobId, &'static str> {
    let mut plan = before.clone();
    let promised: Vec<Placed> = input
        .jobs
        .iter()
        .filter_map(|job| Some(job.promise?.placed(job.id)))
        .collect();
    // What was promised since stands where it was promised.
    plan.placed
        .retain(|p| !promised.iter().any(|other| other.job == p.job));
    plan.placed.extend(promised);
    plan.placed.sort();
    let mut found = BTreeMap::new();
    for breach in audit(input, &plan) {
        match (breach.job, &breach.rule) {
            (Some(job), rule) => {
                if let Some(words) = because(rule) {
                    found.entry(job).or_insert(words);
                }
            }
            (None, Rule::FirmOver { firm, week, .. }) => {
                let here = plan.placed.iter();
                for p in here.filter(|p| p.firm == *firm && week_of(p.day) == *week) {
                    found
                        .entry(p.job)
                        .or_insert("the firm’s hours of that week are full");
                }
            }
            (None, Rule::EngineerOver { engineer, week, .. }) => {
                let here = plan.placed.iter();
                for p in here.filter(|p| p.engineer == *engineer && week_of(p.day) == *week) {
                    found
                        .entry(p.job)
                        .or_insert("the engineer’s hours of that week are full");
                }
            }
            _ => {}
        }
    }
    found
}

fn because(rule: &Rule) -> Option<&'static str> {
    Some(match rule {
        Rule::NotWorking => "nobody works that day, or the engineer is away",
        Rule::OutsideWindow => "it may not be done on that day any more",
        Rule::OutsideHours => "it would not end within the firm’s hours",
        Rule::NoAccess => "nobody opens then",
        Rule::Dark => "it would not be light",
        Rule::HeatOff => "heat goes off, and that day lies in the heating season",
        Rule::NotTogether => "it takes two, and the second is not there",
        Rule::NotQualified => "the engineer holds no qualification in date for it on that day",
        Rule::Overlap => "another visit has that time now",
        Rule::WrongFirm | Rule::EngineerUnknown => {
            "that engineer gives this estate no time any more"
        }
        _ => return None,
    })
}
