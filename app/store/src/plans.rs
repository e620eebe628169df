//! Programmes as they were made, and the one adopted.
use chrono::{DateTime, NaiveDate, Utc};
use diesel::prelude::*;
use serde_json::Value;
use terms::{AccountId, BuildingId, JobId, UnitId};
use uuid::Uuid;

use crate::estate_schema::{plan_adoptions, plan_jobs, plans};
use crate::{Db, Error, Tx};

/// A plan as it was made.
#[derive(Clone, Debug, PartialEq)]
pub struct KeptPlan {
    /// Its id.
    pub id: Uuid,
    /// The building.
    pub building: BuildingId,
    /// A what-if's name; `None` for the plan as stated.
    pub name: Option<String>,
    /// What was asked otherwise than stated.
    pub ask: Value,
    /// When it was made.
    pub made_at: DateTime<Utc>,
    /// By whom.
    pub made_by: AccountId,
    /// What it was made from.
    pub asked: Value,
    /// What it came to.
    pub answer: Value,
}

/// Which plan was adopted, and why.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Adoption {
    /// The plan.
    pub plan: Uuid,
    /// The reason.
    pub why: String,
    /// The day.
    pub on: NaiveDate,
    /// By whom.
    pub by: AccountId,
}

type PlanRow = (
    Uuid,
    Db<BuildingId>,
    Option<String>,
    Value,
    DateTime<Utc>,
    Db<AccountId>,
    Value,
    Value,
);

fn read_plan(row: PlanRow) -> KeptPlan {
    KeptPlan {
        id: row.0,
        building: row.1.0,
        name: row.2,
        ask: row.3,
        made_at: row.4,
        made_by: row.5.0,
        asked: row.6,
        answer: row.7,
    }
}

impl Tx<'_> {
    /// Keeps a plan; the one of the same name (or the one as stated) is superseded.
    pub fn keep_plan(
        &mut self,
        building: BuildingId,
        name: Option<&str>,
        (ask, asked, answer): (&Value, &Value, &Value),
    ) -> Result<Uuid, Error> {
        let (estate, at) = (self.estate(), self.at());
        diesel::update(
            plans::table.filter(
                plans::estate_id
                    .eq(Db(estate))
                    .and(plans::building_id.eq(Db(building)))
                    .and(plans::name.is_not_distinct_from(name))
                    .and(plans::superseded_at.is_null()),
            ),
        )
        .set(plans::superseded_at.eq(at))
        .execute(self.conn())?;
        let id: Uuid = self.fresh();
        diesel::insert_into(plans::table)
            .values((
                (plans::estate_id.eq(Db(estate)), plans::id.eq(id)),
                (plans::building_id.eq(Db(building)), plans::name.eq(name)),
                (plans::made_at.eq(at), plans::made_by.eq(Db(self.who()))),
                (
                    plans::ask.eq(ask),
                    plans::asked.eq(asked),
                    plans::answer.eq(answer),
                ),
            ))
            .execute(self.conn())?;
        Ok(id)
    }

    /// The plans that stand in a building: the one as stated first, then what-ifs, oldest first.
    pub fn plans(&mut self, building: BuildingId) -> Result<Vec<KeptPlan>, Error> {
        let estate = self.estate();
        let rows: Vec<PlanRow> = plans::table
            .filter(
                plans::estate_id
                    .eq(Db(estate))
                    .and(plans::building_id.eq(Db(building)))
                    .and(plans::superseded_at.is_null()),
            )
            .order((plans::name.is_not_null(), plans::made_at, plans::id))
            .select((
                plans::id,
                plans::building_id,
                plans::name,
                plans::ask,
                plans::made_at,
                plans::made_by,
                plans::asked,
                plans::answer,
            ))
            .load(self.conn())?;
        Ok(rows.into_iter().map(read_plan).collect())
    }

    /// One plan, also one that was superseded since: an adopted one stays readable.
    pub fn plan(&mut self, id: Uuid) -> Result<KeptPlan, Error> {
        let estate = self.estate();
        plans::table
            .filter(plans::estate_id.eq(Db(estate)).and(plans::id.eq(id)))
            .select((
                plans::id,
                plans::building_id,
                plans::name,
                plans::ask,
                plans::made_at,
                plans::made_by,
                plans::asked,
                plans::answer,
            ))
            .first(self.conn())
            .optional()?
            .map(read_plan)
            .ok_or(Error::NotFound("plan"))
    }

    /// Takes a what-if off the page; how many rows that were.
    pub fn put_plan_away(&mut self, id: Uuid) -> Result<usize, Error> {
        let (estate, at) = (self.estate(), self.at());
        Ok(diesel::update(
            plans::table.filter(
                plans::estate_id
                    .eq(Db(estate))
                    .and(plans::id.eq(id))
                    .and(plans::superseded_at.is_null()),
            ),
        )
        .set(plans::superseded_at.eq(at))
        .execute(self.conn())?)
    }

    /// Adopts a plan for its building; the former adoption stays readable.
    pub fn adopt_plan(&mut self, building: BuildingId, plan: Uuid, why: &str) -> Result<(), Error> {
        let (estate, at) = (self.estate(), self.at());
        diesel::update(
            plan_adoptions::table.filter(
                plan_adoptions::estate_id
                    .eq(Db(estate))
                    .and(plan_adoptions::building_id.eq(Db(building)))
                    .and(plan_adoptions::superseded_at.is_null()),
            ),
        )
        .set(plan_adoptions::superseded_at.eq(at))
        .execute(self.conn())?;
        let id: Uuid = self.fresh();
        diesel::insert_into(plan_adoptions::table)
            .values((
                (
                    plan_adoptions::estate_id.eq(Db(estate)),
                    plan_adoptions::id.eq(id),
                ),
                plan_adoptions::building_id.eq(Db(building)),
                plan_adoptions::plan_id.eq(plan),
                plan_adoptions::why.eq(why),
                plan_adoptions::happened_on.eq(self.today()),
                plan_adoptions::recorded_at.eq(at),
                plan_adoptions::recorded_by.eq(Db(self.who())),
            ))
            .execute(self.conn())?;
        Ok(())
    }

    /// The plan adopted for a building.
    pub fn adoption(&mut self, building: BuildingId) -> Result<Option<Adoption>, Error> {
        let estate = self.estate();
        let row: Option<(Uuid, String, NaiveDate, Db<AccountId>)> = plan_adoptions::table
            .filter(
                plan_adoptions::estate_id
                    .eq(Db(estate))
                    .and(plan_adoptions::building_id.eq(Db(building)))
                    .and(plan_adoptions::superseded_at.is_null()),
            )
            .order((
                plan_adoptions::recorded_at.desc(),
                plan_adoptions::id.desc(),
            ))
            .select((
                plan_adoptions::plan_id,
                plan_adoptions::why,
                plan_adoptions::happened_on,
                plan_adoptions::recorded_by,
            ))
            .first(self.conn())
            .optional()?;
        Ok(row.map(|(plan, why, on, by)| Adoption {
            plan,
            why,
            on,
            by: by.0,
        }))
    }

    /// Says which job a unit of a plan was turned into.
    ///
    /// # Errors
    /// A conflict when it has one already.
    pub fn tie_plan_job(&mut self, plan: Uuid, unit: UnitId, job: JobId) -> Result<(), Error> {
        let estate = self.estate();
        diesel::insert_into(plan_jobs::table)
            .values((
                plan_jobs::estate_id.eq(Db(estate)),
                plan_jobs::plan_id.eq(plan),
                plan_jobs::unit_id.eq(Db(unit)),
                plan_jobs::job_id.eq(Db(job)),
                plan_jobs::opened_at.eq(self.at()),
            ))
            .execute(self.conn())?;
        Ok(())
    }

    /// Every job a unit of any plan was turned into.
    pub fn jobs_of_plans(&mut self) -> Result<Vec<JobId>, Error> {
        let estate = self.estate();
        let rows: Vec<Db<JobId>> = plan_jobs::table
            .filter(plan_jobs::estate_id.eq(Db(estate)))
            .order(plan_jobs::job_id)
            .select(plan_jobs::job_id)
            .load(self.conn())?;
        Ok(rows.into_iter().map(|job| job.0).collect())
    }

    /// The jobs units of a plan were turned into.
    pub fn plan_jobs(&mut self, plan: Uuid) -> Result<Vec<(UnitId, JobId)>, Error> {
        let estate = self.estate();
        let rows: Vec<(Db<UnitId>, Db<JobId>)> = plan_jobs::table
            .filter(
                plan_jobs::estate_id
                    .eq(Db(estate))
                    .and(plan_jobs::plan_id.eq(plan)),
            )
            .order(plan_jobs::unit_id)
            .select((plan_jobs::unit_id, plan_jobs::job_id))
            .load(self.conn())?;
        Ok(rows.into_iter().map(|(u, j)| (u.0, j.0)).collect())
    }
}
