//! How units and spaces stand now: open jobs, forecasts in force, next deadlines. Read only; the tables
//! are written by the files named after them.
use chrono::{DateTime, NaiveDate, Utc};
use diesel::prelude::*;
use terms::{BuildingId, DutyId, FirmId, ForecastId, JobId, JobKind, JobState, SpaceId, UnitId};
use uuid::Uuid;

use crate::estate_schema::{duties, duty_completions, forecasts, jobs, units};
use crate::register::read_code;
use crate::{Db, Error, Tx};

/// A job as far as the register shows it.
#[derive(Clone, Debug, PartialEq)]
pub struct JobNow {
    /// Its id.
    pub id: JobId,
    /// Its number.
    pub number: String,
    /// What sort of work.
    pub kind: JobKind,
    /// Where.
    pub space: SpaceId,
    /// On what, when known.
    pub unit: Option<UnitId>,
    /// Code of the function lost.
    pub function_lost: Option<String>,
    /// In words.
    pub words: String,
    /// Where it stands.
    pub state: JobState,
    /// Since when.
    pub opened_at: DateTime<Utc>,
    /// The firm that has it.
    pub firm: Option<FirmId>,
    /// The visit, when booked.
    pub booked_from: Option<DateTime<Utc>>,
    /// When it ended.
    pub closed_at: Option<DateTime<Utc>>,
}

/// The forecast of a unit in force.
#[derive(Clone, Debug, PartialEq)]
pub struct ForecastNow {
    /// Its id.
    pub id: ForecastId,
    /// The unit.
    pub unit: UnitId,
    /// The day it speaks from.
    pub made_on: NaiveDate,
    /// Chance of a failure within twelve months: estimate, low and high end of the 80 % interval.
    pub year: (f64, f64, f64),
    /// Expected number of failures within twelve months.
    pub expected_12m: f64,
    /// Chance of a failure in the season: estimate, low, high.
    pub season: (f64, f64, f64),
    /// First and last day of that season.
    pub season_days: (NaiveDate, NaiveDate),
    /// What else was worked out, as the forecast room wrote it.
    pub body: serde_json::Value,
}

/// A duty of a unit with its present deadline.
#[derive(Clone, Debug, PartialEq)]
pub struct DutyNow {
    /// Its id.
    pub id: DutyId,
    /// "G1"
    pub rule: String,
    /// The unit.
    pub unit: UnitId,
    /// The deadline; `None` until evidence comes.
    pub deadline: Option<NaiveDate>,
    /// When it was last done; `None` when never on record.
    pub done_on: Option<NaiveDate>,
}

impl Tx<'_> {
    /// The open jobs of a building, or of the whole estate, oldest first.
    pub fn open_jobs_now(&mut self, of: Option<BuildingId>) -> Result<Vec<JobNow>, Error> {
        let estate = self.estate();
        let mut query = jobs::table
            .filter(
                jobs::estate_id
                    .eq(Db(estate))
                    .and(jobs::closed_at.is_null()),
            )
            .into_boxed();
        if let Some(building) = of {
            query = query.filter(jobs::building_id.eq(Db(building)));
        }
        let rows: Vec<JobRow> = query
            .order((jobs::opened_at, jobs::id))
            .select(job_columns())
            .load(self.conn())?;
        rows.into_iter().map(read_job).collect()
    }

    /// Every job of a unit, newest first.
    pub fn jobs_of_unit_now(&mut self, unit: UnitId) -> Result<Vec<JobNow>, Error> {
        let estate = self.estate();
        let rows: Vec<JobRow> = jobs::table
            .filter(
                jobs::estate_id
                    .eq(Db(estate))
                    .and(jobs::unit_id.eq(Some(Db(unit)))),
            )
            .order((jobs::opened_at.desc(), jobs::id))
            .select(job_columns())
            .load(self.conn())?;
        rows.into_iter().map(read_job).collect()
    }

    /// Spaces and units a firm has, or had, a job for.
    pub fn reach_of_firm(&mut self, firm: FirmId) -> Result<Vec<(SpaceId, Option<UnitId>)>, Error> {
        let estate = self.estate();
        let rows: Vec<(Db<SpaceId>, Option<Db<UnitId>>)> = jobs::table
            .filter(
                jobs::estate_id
                    .eq(Db(estate))
                    .and(jobs::firm_id.eq(Some(Db(firm)))),
            )
            .distinct()
            .select((jobs::space_id, jobs::unit_id))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|(space, unit)| (space.0, unit.map(|u| u.0)))
            .collect())
    }

    /// The forecasts in force of these units.
    pub fn forecasts_now(&mut self, of: &[UnitId]) -> Result<Vec<ForecastNow>, Error> {
        let estate = self.estate();
        let mut found = Vec::new();
        for chunk in of.chunks(5000) {
            let ids: Vec<Uuid> = chunk.iter().map(|u| u.0).collect();
            let rows: Vec<ForecastRow> = forecasts::table
                .filter(
                    forecasts::estate_id
                        .eq(Db(estate))
                        .and(forecasts::unit_id.eq_any(ids))
                        .and(forecasts::superseded_at.is_null()),
                )
                .order((forecasts::unit_id, forecasts::made_at))
                .select((
                    (forecasts::id, forecasts::unit_id, forecasts::made_on),
                    (
                        forecasts::chance_12m,
                        forecasts::chance_12m_low,
                        forecasts::chance_12m_high,
                        forecasts::expected_12m,
                    ),
                    (
                        forecasts::chance_season,
                        forecasts::chance_season_low,
                        forecasts::chance_season_high,
                    ),
                    (forecasts::season_from, forecasts::season_until),
                    forecasts::body,
                ))
                .load(self.conn())?;
            found.extend(
                rows.into_iter()
                    .map(|(a, year, season, days, body)| ForecastNow {
                        id: a.0.0,
                        unit: a.1.0,
                        made_on: a.2,
                        year: (year.0, year.1, year.2),
                        expected_12m: year.3,
                        season,
                        season_days: days,
                        body,
                    }),
            );
        }
        Ok(found)
    }

    /// The running duties of the units of a building, or of the whole estate, with their deadlines.
    pub fn duties_now(&mut self, of: Option<BuildingId>) -> Result<Vec<DutyNow>, Error> {
        let estate = self.estate();
        let mut query = duties::table
            .left_join(
                duty_completions::table.on(duty_completions::estate_id
                    .eq(duties::estate_id)
                    .and(duty_completions::duty_id.eq(duties::id))
                    .and(duty_completions::superseded_at.is_null())),
            )
            .inner_join(
                units::table.on(units::estate_id
                    .eq(duties::estate_id)
                    .and(duties::unit_id.eq(units::id.nullable()))),
            )
            .filter(
                duties::estate_id
                    .eq(Db(estate))
                    .and(duties::ended_on.is_null()),
            )
            .into_boxed();
        if let Some(building) = of {
            query = query.filter(duties::building_id.eq(Db(building)));
        }
        let rows: Vec<DutyRow> = query
            .order((
                duties::rule_code,
                duties::id,
                duty_completions::happened_on.asc().nulls_first(),
                duty_completions::done_on.asc().nulls_first(),
                duty_completions::check_complete,
                duty_completions::id,
            ))
            .select((
                duties::id,
                duties::rule_code,
                units::id,
                duty_completions::next_deadline.nullable(),
                duty_completions::done_on.nullable(),
            ))
            .load(self.conn())?;
        let mut found: Vec<DutyNow> = Vec::new();
        for (id, rule, unit, deadline, done_on) in rows {
            // Completions come oldest first: each says the deadline anew.
            match found.last_mut() {
                Some(last) if last.id == id.0 => {
                    last.deadline = deadline;
                    last.done_on = done_on.or(last.done_on);
                }
                _ => found.push(DutyNow {
                    id: id.0,
                    rule,
                    unit: unit.0,
                    deadline,
                    done_on,
                }),
            }
        }
        Ok(found)
    }
}

type DutyRow = (
    Db<DutyId>,
    String,
    Db<UnitId>,
    Option<NaiveDate>,
    Option<NaiveDate>,
);

type ForecastRow = (
    (Db<ForecastId>, Db<UnitId>, NaiveDate),
    (f64, f64, f64, f64),
    (f64, f64, f64),
    (NaiveDate, NaiveDate),
    serde_json::Value,
);

type JobRow = (
    (Db<JobId>, String, String, Db<SpaceId>, Option<Db<UnitId>>),
    (Option<String>, String, String, DateTime<Utc>),
    (
        Option<Db<FirmId>>,
        Option<DateTime<Utc>>,
        Option<DateTime<Utc>>,
    ),
);

type JobColumns = (
    (
        jobs::id,
        jobs::number,
        jobs::kind,
        jobs::space_id,
        jobs::unit_id,
    ),
    (
        jobs::function_lost,
        jobs::words,
        jobs::state,
        jobs::opened_at,
    ),
    (jobs::firm_id, jobs::booked_from, jobs::closed_at),
);

const fn job_columns() -> JobColumns {
    (
        (
            jobs::id,
            jobs::number,
            jobs::kind,
            jobs::space_id,
            jobs::unit_id,
        ),
        (
            jobs::function_lost,
            jobs::words,
            jobs::state,
            jobs::opened_at,
        ),
        (jobs::firm_id, jobs::booked_from, jobs::closed_at),
    )
}

fn read_job((a, b, c): JobRow) -> Result<JobNow, Error> {
    Ok(JobNow {
        id: a.0.0,
        number: a.1,
        kind: read_code(&a.2)?,
        space: a.3.0,
        unit: a.4.map(|u| u.0),
        function_lost: b.0,
        words: b.1,
        state: read_code(&b.2)?,
        opened_at: b.3,
        firm: c.0.map(|f| f.0),
        booked_from: c.1,
        closed_at: c.2,
    })
}
