//! What the optimiser's numbers stand for in the round as people state it.
use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;
use terms::{Covers, EngineerId, JobId};

use super::model::Visit;
use crate::rounds::{Placed, PlannedEngineer, RoundInput};

/// What the optimiser's numbers stand for.
pub struct Key {
    pub(super) day0: NaiveDate,
    /// Place of each of its engineers in the input, with first and last day as that one.
    pub(super) engineers: Vec<(usize, NaiveDate, NaiveDate)>,
    /// Places in the input of what each of its jobs stands for.
    pub(super) jobs: Vec<Vec<usize>>,
    /// Space of each of its jobs.
    pub(super) spaces: Vec<usize>,
}

impl Key {
    pub fn day(&self, date: NaiveDate) -> i32 {
        (date - self.day0).num_days() as i32
    }

    pub fn date(&self, day: i32) -> NaiveDate {
        let days = chrono::Days::new(u64::try_from(day).unwrap_or(0));
        self.day0.checked_add_days(days).unwrap_or(self.day0)
    }

    /// Place in the input of an engineer of the problem.
    pub fn person(&self, engineer: usize) -> usize {
        self.engineers[engineer].0
    }

    pub(super) fn engineer_on(
        &self,
        input: &RoundInput,
        id: EngineerId,
        date: NaiveDate,
    ) -> Option<usize> {
        self.engineers.iter().position(|(place, from, until)| {
            input.engineers[*place].id == id && (*from..=*until).contains(&date)
        })
    }

    /// Jobs of the input without a visit.
    pub fn without(&self, visits: &[Visit]) -> usize {
        let there: BTreeSet<usize> = visits.iter().flat_map(|v| v.jobs.iter().copied()).collect();
        let open = (0..self.jobs.len()).filter(|j| !there.contains(j));
        let places: BTreeSet<usize> = open.flat_map(|j| self.jobs[j].iter().copied()).collect();
        places.len()
    }

    /// Placed visits as the optimiser writes them; those it does not know are left aside.
    pub fn visits(&self, input: &RoundInput, placed: &[Placed]) -> Vec<Visit> {
        let mut of_job: BTreeMap<JobId, Vec<usize>> = BTreeMap::new();
        for (j, places) in self.jobs.iter().enumerate() {
            for place in places {
                of_job.entry(input.jobs[*place].id).or_default().push(j);
            }
        }
        let minutes: BTreeMap<JobId, u32> = input.jobs.iter().map(|j| (j.id, j.minutes)).collect();
        let mut sorted: Vec<&Placed> = placed.iter().collect();
        sorted.sort_by_key(|p| (p.engineer, p.day, p.start_minute));
        // End and space of the visit written last, while another job may join it.
        let mut open: Option<(EngineerId, NaiveDate, u32, usize)> = None;
        let mut visits: Vec<Visit> = Vec::new();
        for p in sorted {
            let Some(jobs) = of_job.get(&p.job) else {
                continue;
            };
            let start = i32::try_from(p.start_minute).unwrap_or(0);
            let visit = |who: EngineerId, job: usize| {
                Some(Visit {
                    engineer: self.engineer_on(input, who, p.day)?,
                    day: self.day(p.day),
                    start,
                    jobs: vec![job],
                })
            };
            if let Some(second) = p.second {
                // One job for both, or one for each where it was promised.
                let last = jobs[jobs.len() - 1];
                visits.extend(visit(p.engineer, jobs[0]));
                visits.extend(visit(second, last));
                open = None;
                continue;
            }
            let job = jobs[0];
            let end = p.start_minute + minutes.get(&p.job).copied().unwrap_or(0);
            let here = (p.engineer, p.day, p.start_minute, self.spaces[job]);
            let fixed = input.jobs[self.jobs[job][0]].promise.is_some();
            let same = visits.last().is_some_and(|v| v.jobs.contains(&job));
            if open == Some(here) && (same || !fixed) {
                if let Some(last) = visits.last_mut().filter(|_| !same) {
                    last.jobs.push(job);
                }
                open = Some((p.engineer, p.day, end, self.spaces[job]));
                continue;
            }
            let written = visit(p.engineer, job);
            open = written
                .is_some()
                .then_some((p.engineer, p.day, end, self.spaces[job]));
            visits.extend(written);
        }
        visits
    }

    /// The optimiser's visits as the plan has them: promised ones as promised, jobs of one visit one after the other,
    /// in the order of before where they stood together then.
    pub fn placed(&self, input: &RoundInput, visits: &[Visit], before: &[Placed]) -> Vec<Placed> {
        let was: BTreeMap<JobId, u32> = before.iter().map(|p| (p.job, p.start_minute)).collect();
        let led: BTreeMap<JobId, EngineerId> = before.iter().map(|p| (p.job, p.engineer)).collect();
        let mut found: BTreeMap<JobId, Placed> = BTreeMap::new();
        for visit in visits {
            let who = &input.engineers[self.person(visit.engineer)];
            let day = self.date(visit.day);
            let mut places: Vec<usize> = visit
                .jobs
                .iter()
                .flat_map(|j| self.jobs[*j].iter().copied())
                .collect();
            places.sort_by_key(|place| {
                let job = &input.jobs[*place];
                let promised = job.promise.map_or(u32::MAX, |p| p.start_minute);
                (promised, was.get(&job.id).copied(), *place)
            });
            let mut start = u32::try_from(visit.start).unwrap_or(0);
            for place in places {
                let job = &input.jobs[place];
                let placed = match job.promise {
                    Some(promise) => promise.placed(job.id),
                    None => Placed {
                        day,
                        engineer: who.id,
                        start_minute: start,
                        firm: who.firm,
                        job: job.id,
                        second: None,
                    },
                };
                start += job.minutes;
                match found.get_mut(&job.id) {
                    Some(first) if job.promise.is_none() => {
                        pair_up(first, who, (input, &job.needs, led.get(&job.id).copied()));
                    }
                    _ => {
                        found.insert(job.id, placed);
                    }
                }
            }
        }
        let mut all: Vec<Placed> = found.into_values().collect();
        all.sort_unstable();
        all
    }
}

/// The second of two: whoever holds what is needed leads; of two who do, who led before, else the first by id.
fn pair_up(
    first: &mut Placed,
    other: &PlannedEngineer,
    (input, needs, led): (&RoundInput, &[Covers], Option<EngineerId>),
) {
    let mut two = [first.engineer, other.id];
    two.sort_by_key(|who| {
        let card = input.engineers.iter().find(|e| e.id == *who);
        let able = card.is_some_and(|e| e.covers(needs, first.day));
        (!able, led != Some(*who), *who)
    });
    (first.engineer, first.second) = (two[0], Some(two[1]));
}
