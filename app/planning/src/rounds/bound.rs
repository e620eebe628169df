//! What a plan comes to, and the fewest attendances any plan for the same jobs could have.
//!
//! For each building no plan can do with fewer than (a) its minutes over the longest day, rounded up,
//! nor (b) the largest number of its windows of which no two share a day: each of those needs a day of
//! its own. The larger of the two, summed over buildings, is a valid bound.
use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;
use terms::{BuildingId, JobId};

use super::{Placed, PlannedJob, RoundFacts, RoundInput};

pub(super) fn facts(input: &RoundInput, placed: &[Placed]) -> RoundFacts {
    let jobs: BTreeMap<JobId, &PlannedJob> = input.jobs.iter().map(|job| (job.id, job)).collect();
    let mut there = BTreeSet::new();
    let mut days = BTreeSet::new();
    let mut buildings: BTreeMap<BuildingId, (u32, Vec<(NaiveDate, NaiveDate)>)> = BTreeMap::new();
    let mut minutes = 0u32;
    for visit in placed {
        let Some(job) = jobs.get(&visit.job) else {
            continue;
        };
        for who in [Some(visit.engineer), visit.second].into_iter().flatten() {
            there.insert((who, visit.day, job.building));
            days.insert((who, visit.day));
        }
        minutes = minutes.saturating_add(job.minutes);
        let (work, windows) = buildings.entry(job.building).or_default();
        *work = work.saturating_add(job.minutes);
        windows.push(match job.promise {
            Some(promise) => (promise.day, promise.day),
            None => (job.first_day(), job.deadline),
        });
    }
    let longest = input.longest_day().max(1);
    let at_least = buildings
        .into_values()
        .map(|(work, windows)| work.div_ceil(longest).max(apart(windows)))
        .sum();
    RoundFacts {
        minutes,
        attendances: there.len() as u32,
        attendances_at_least: at_least,
        engineer_days: days.len() as u32,
        ..RoundFacts::default()
    }
}

/// The largest number of windows of which no two overlap: by last day, each that starts after the one
/// taken before.
fn apart(mut windows: Vec<(NaiveDate, NaiveDate)>) -> u32 {
    windows.sort_by_key(|(_, last)| *last);
    let mut until: Option<NaiveDate> = None;
    let mut count = 0;
    for (first, last) in windows {
        if until.is_none_or(|day| first > day) {
            count += 1;
            until = Some(last);
        }
    }
    count
}
