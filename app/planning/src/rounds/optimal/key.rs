//! What the optimiser's numbers stand for in the round as people state it.
use std::collections::BTreeMap;

use chrono::NaiveDate;
use terms::{EngineerId, JobId};

use super::model::Visit;
use crate::rounds::{Placed, RoundInput};

/// What the optimiser's numbers stand for.
pub struct Key {
    pub(super) day0: NaiveDate,
    /// Place of each of its engineers in the input, with first and last day as that one.
    pub(super) engineers: Vec<(usize, NaiveDate, NaiveDate)>,
    /// Place of each of its jobs in the input.
    pub(super) jobs: Vec<usize>,
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

    /// Place in the input of a job of the problem.
    pub fn job(&self, job: usize) -> usize {
        self.jobs[job]
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

    /// Placed visits as the optimiser writes them; those it does not know are left aside.
    pub fn visits(&self, input: &RoundInput, placed: &[Placed]) -> Vec<Visit> {
        let places: BTreeMap<JobId, usize> = self
            .jobs
            .iter()
            .enumerate()
            .map(|(j, place)| (input.jobs[*place].id, j))
            .collect();
        let written = placed.iter().filter_map(|p| {
            Some(Visit {
                engineer: self.engineer_on(input, p.engineer, p.day)?,
                day: self.day(p.day),
                start: i32::try_from(p.start_minute).ok()?,
                jobs: vec![*places.get(&p.job)?],
            })
        });
        written.collect()
    }
}
