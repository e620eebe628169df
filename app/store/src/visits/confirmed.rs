//! Which parts were the cause in finished jobs, and what had been looked for in them.
use diesel::dsl::exists;
use diesel::prelude::*;
use terms::{BuildingId, JobId};

use crate::estate_schema::{
    failure_facts, failures, jobs, observations, readings, unit_facts, visit_jobs,
};
use crate::{Db, Error, Tx};

/// A finished job whose cause was confirmed by a reading after the work.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Confirmed {
    /// The job.
    pub job: JobId,
    /// The part; `none_found` when no fault was found.
    pub part: String,
}

impl Tx<'_> {
    /// The causes of finished jobs on units of `kind` in a building, each confirmed by a reading after the work.
    pub fn confirmed_causes(
        &mut self,
        kind: &str,
        building: BuildingId,
    ) -> Result<Vec<Confirmed>, Error> {
        let estate = self.estate();
        let after_reading = exists(
            visit_jobs::table
                .inner_join(
                    readings::table.on(readings::estate_id
                        .eq(visit_jobs::estate_id)
                        .and(readings::visit_id.eq(visit_jobs::visit_id.nullable()))),
                )
                .filter(
                    visit_jobs::estate_id
                        .eq(Db(estate))
                        .and(visit_jobs::job_id.eq(jobs::id))
                        .and(readings::stage.eq("after"))
                        .and(readings::superseded_at.is_null()),
                ),
        );
        let rows: Vec<(Db<JobId>, Option<String>, bool)> = failure_facts::table
            .inner_join(
                jobs::table.on(jobs::estate_id
                    .eq(failure_facts::estate_id)
                    .and(jobs::id.nullable().eq(failure_facts::job_id))),
            )
            .inner_join(
                failures::table.on(failures::estate_id
                    .eq(failure_facts::estate_id)
                    .and(failures::id.eq(failure_facts::failure_id))),
            )
            .inner_join(
                unit_facts::table.on(unit_facts::estate_id
                    .eq(failures::estate_id)
                    .and(unit_facts::unit_id.eq(failures::unit_id))
                    .and(unit_facts::superseded_at.is_null())),
            )
            .filter(
                failure_facts::estate_id
                    .eq(Db(estate))
                    .and(failure_facts::superseded_at.is_null())
                    .and(unit_facts::kind_code.eq(kind))
                    .and(jobs::building_id.eq(Db(building)))
                    .and(jobs::state.eq_any(["done", "agreed"])),
            )
            .filter(after_reading)
            .order((jobs::id, failure_facts::id))
            .select((
                jobs::id,
                failure_facts::part_code,
                failure_facts::no_fault_found,
            ))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .filter_map(|(job, part, none)| {
                let part = if none {
                    Some("none_found".to_owned())
                } else {
                    part
                };
                Some(Confirmed {
                    job: job.0,
                    part: part?,
                })
            })
            .collect())
    }

    /// What was looked for in these jobs, and whether it was there.
    pub fn observations_of(
        &mut self,
        wanted: &[JobId],
    ) -> Result<Vec<(JobId, String, bool)>, Error> {
        let ids: Vec<Db<JobId>> = wanted.iter().copied().map(Db).collect();
        let rows: Vec<(Db<JobId>, String, bool)> = observations::table
            .filter(
                observations::estate_id
                    .eq(Db(self.estate()))
                    .and(observations::job_id.eq_any(ids))
                    .and(observations::superseded_at.is_null()),
            )
            .order((observations::job_id, observations::id))
            .select((observations::job_id, observations::code, observations::seen))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|(job, code, seen)| (job.0, code, seen))
            .collect())
    }
}
