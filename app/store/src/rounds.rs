//! Rounds: planned visits as they were placed; placing anew supersedes the round before.
use chrono::{DateTime, NaiveDate, Utc};
use diesel::prelude::*;
use serde_json::Value;
use terms::{AccountId, BuildingId, DutyId, EngineerId, FirmId, JobId, RoundId, SpaceId, UnitId};
use uuid::Uuid;

use crate::estate_schema::{round_visits, rounds};
use crate::{Db, Error, Tx};

/// Visits written with one statement.
const BATCH: usize = 1000;

/// A round without its visits.
#[derive(Clone, Debug, PartialEq)]
pub struct RoundCard {
    /// Its id.
    pub id: RoundId,
    /// When it was placed.
    pub made_at: DateTime<Utc>,
    /// By whom.
    pub made_by: AccountId,
    /// First day planned.
    pub from_on: NaiveDate,
    /// Last day planned.
    pub until_on: NaiveDate,
    /// What it comes to, as facts.
    pub report: Value,
}

/// One duty's part in a planned visit; the parts of one attendance share `visit`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RoundVisit {
    /// The attendance.
    pub visit: Uuid,
    /// The duty it meets.
    pub duty: DutyId,
    /// The unit.
    pub unit: Option<UnitId>,
    /// Where.
    pub space: Option<SpaceId>,
    /// In which building.
    pub building: BuildingId,
    /// Of which firm.
    pub firm: Option<FirmId>,
    /// Who comes.
    pub engineer: Option<EngineerId>,
    /// Who comes with them.
    pub second: Option<EngineerId>,
    /// The day; `None` while it has none.
    pub on_day: Option<NaiveDate>,
    /// Minutes from midnight, of this duty's own part.
    pub start_minute: Option<i32>,
    /// Minutes this duty takes.
    pub minutes: i32,
    /// First day it was planned for.
    pub window_first: NaiveDate,
    /// Last day it was planned for.
    pub deadline: NaiveDate,
    /// Why it found no day.
    pub unplaced_why: Option<String>,
    /// The job it was turned into.
    pub job: Option<JobId>,
    /// Stays where a person put it.
    pub pinned: bool,
    /// Which time within the round it meets the duty, from 1: the first is its next date.
    pub nth: i32,
}

/// A new place for an attendance.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NewPlace {
    /// The day.
    pub on_day: NaiveDate,
    /// Minutes from midnight of its first part.
    pub start_minute: i32,
    /// Of which firm.
    pub firm: FirmId,
    /// Who comes.
    pub engineer: EngineerId,
    /// Who comes with them.
    pub second: Option<EngineerId>,
    /// Stays there.
    pub pinned: bool,
}

type VisitRow = (
    (Uuid, Db<DutyId>, Option<Db<UnitId>>, Option<Db<SpaceId>>),
    (
        Db<BuildingId>,
        Option<Db<FirmId>>,
        Option<Db<EngineerId>>,
        Option<NaiveDate>,
    ),
    (Option<i32>, i32, Option<NaiveDate>, NaiveDate),
    (
        Option<String>,
        Option<Db<JobId>>,
        bool,
        Option<Db<EngineerId>>,
        i32,
    ),
);

fn read_visit((a, b, c, d): VisitRow) -> RoundVisit {
    RoundVisit {
        visit: a.0,
        duty: a.1.0,
        unit: a.2.map(|u| u.0),
        space: a.3.map(|s| s.0),
        building: b.0.0,
        firm: b.1.map(|f| f.0),
        engineer: b.2.map(|e| e.0),
        on_day: b.3,
        start_minute: c.0,
        minutes: c.1,
        window_first: c.2.unwrap_or(c.3),
        deadline: c.3,
        unplaced_why: d.0,
        job: d.1.map(|j| j.0),
        pinned: d.2,
        second: d.3.map(|e| e.0),
        nth: d.4,
    }
}

impl Tx<'_> {
    /// Keeps a new round with its visits; the round before is superseded.
    pub fn keep_round(
        &mut self,
        (from_on, until_on): (NaiveDate, NaiveDate),
        report: &Value,
        visits: &[RoundVisit],
    ) -> Result<RoundId, Error> {
        let (estate, at) = (self.estate(), self.at());
        diesel::update(
            rounds::table.filter(
                rounds::estate_id
                    .eq(Db(estate))
                    .and(rounds::superseded_at.is_null()),
            ),
        )
        .set(rounds::superseded_at.eq(at))
        .execute(self.conn())?;
        let id: RoundId = self.fresh();
        diesel::insert_into(rounds::table)
            .values((
                (rounds::estate_id.eq(Db(estate)), rounds::id.eq(Db(id))),
                (rounds::made_at.eq(at), rounds::made_by.eq(Db(self.who()))),
                (rounds::from_on.eq(from_on), rounds::until_on.eq(until_on)),
                rounds::report.eq(report),
            ))
            .execute(self.conn())?;
        for some in visits.chunks(BATCH) {
            self.write_round_visits(id, some)?;
        }
        Ok(id)
    }

    fn write_round_visits(&mut self, round: RoundId, visits: &[RoundVisit]) -> Result<(), Error> {
        let estate = self.estate();
        let rows: Vec<_> = visits
            .iter()
            .map(|visit| {
                (
                    (
                        round_visits::estate_id.eq(Db(estate)),
                        round_visits::id.eq(self.fresh::<Uuid>()),
                        round_visits::round_id.eq(Db(round)),
                        round_visits::visit_id.eq(visit.visit),
                        round_visits::duty_id.eq(Db(visit.duty)),
                    ),
                    (
                        round_visits::unit_id.eq(visit.unit.map(Db)),
                        round_visits::space_id.eq(visit.space.map(Db)),
                        round_visits::building_id.eq(Db(visit.building)),
                        round_visits::firm_id.eq(visit.firm.map(Db)),
                        round_visits::engineer_id.eq(visit.engineer.map(Db)),
                    ),
                    (
                        round_visits::on_day.eq(visit.on_day),
                        round_visits::start_minute.eq(visit.start_minute),
                        round_visits::minutes.eq(visit.minutes),
                        round_visits::window_first.eq(Some(visit.window_first)),
                        round_visits::deadline.eq(visit.deadline),
                    ),
                    (
                        round_visits::unplaced_why.eq(visit.unplaced_why.clone()),
                        round_visits::job_id.eq(visit.job.map(Db)),
                        round_visits::pinned.eq(visit.pinned),
                        round_visits::second_engineer_id.eq(visit.second.map(Db)),
                        round_visits::nth.eq(visit.nth),
                    ),
                )
            })
            .collect();
        diesel::insert_into(round_visits::table)
            .values(rows)
            .execute(self.conn())?;
        Ok(())
    }

    /// The round that stands, if one was placed.
    pub fn round_now(&mut self) -> Result<Option<RoundCard>, Error> {
        let estate = self.estate();
        type Row = (
            Db<RoundId>,
            DateTime<Utc>,
            Db<AccountId>,
            NaiveDate,
            NaiveDate,
            Value,
        );
        let row: Option<Row> = rounds::table
            .filter(
                rounds::estate_id
                    .eq(Db(estate))
                    .and(rounds::superseded_at.is_null()),
            )
            .order((rounds::made_at.desc(), rounds::id.desc()))
            .select((
                rounds::id,
                rounds::made_at,
                rounds::made_by,
                rounds::from_on,
                rounds::until_on,
                rounds::report,
            ))
            .first(self.conn())
            .optional()?;
        Ok(row.map(|row| RoundCard {
            id: row.0.0,
            made_at: row.1,
            made_by: row.2.0,
            from_on: row.3,
            until_on: row.4,
            report: row.5,
        }))
    }

    /// Its visits, by day and start; those without a day last.
    pub fn round_visits(&mut self, of: RoundId) -> Result<Vec<RoundVisit>, Error> {
        let estate = self.estate();
        let rows: Vec<VisitRow> = round_visits::table
            .filter(
                round_visits::estate_id
                    .eq(Db(estate))
                    .and(round_visits::round_id.eq(Db(of))),
            )
            .order((
                round_visits::on_day.asc().nulls_last(),
                round_visits::engineer_id,
                round_visits::start_minute,
                round_visits::deadline,
                round_visits::visit_id,
                round_visits::id,
            ))
            .select((
                (
                    round_visits::visit_id,
                    round_visits::duty_id,
                    round_visits::unit_id,
                    round_visits::space_id,
                ),
                (
                    round_visits::building_id,
                    round_visits::firm_id,
                    round_visits::engineer_id,
                    round_visits::on_day,
                ),
                (
                    round_visits::start_minute,
                    round_visits::minutes,
                    round_visits::window_first,
                    round_visits::deadline,
                ),
                (
                    round_visits::unplaced_why,
                    round_visits::job_id,
                    round_visits::pinned,
                    round_visits::second_engineer_id,
                    round_visits::nth,
                ),
            ))
            .load(self.conn())?;
        Ok(rows.into_iter().map(read_visit).collect())
    }

    /// Says which job a planned attendance was turned into.
    pub fn tie_round_visit(
        &mut self,
        round: RoundId,
        visit: Uuid,
        job: JobId,
    ) -> Result<usize, Error> {
        let estate = self.estate();
        Ok(diesel::update(
            round_visits::table.filter(
                round_visits::estate_id
                    .eq(Db(estate))
                    .and(round_visits::round_id.eq(Db(round)))
                    .and(round_visits::visit_id.eq(visit)),
            ),
        )
        .set(round_visits::job_id.eq(Some(Db(job))))
        .execute(self.conn())?)
    }

    /// Moves a planned attendance; its parts follow one another from the new start.
    pub fn move_round_visit(
        &mut self,
        round: RoundId,
        parts: &[RoundVisit],
        place: NewPlace,
    ) -> Result<(), Error> {
        let estate = self.estate();
        let mut start = place.start_minute;
        for part in parts {
            diesel::update(
                round_visits::table.filter(
                    round_visits::estate_id
                        .eq(Db(estate))
                        .and(round_visits::round_id.eq(Db(round)))
                        .and(round_visits::visit_id.eq(part.visit))
                        .and(round_visits::duty_id.eq(Db(part.duty))),
                ),
            )
            .set((
                round_visits::on_day.eq(Some(place.on_day)),
                round_visits::start_minute.eq(Some(start)),
                round_visits::firm_id.eq(Some(Db(place.firm))),
                round_visits::engineer_id.eq(Some(Db(place.engineer))),
                round_visits::second_engineer_id.eq(place.second.map(Db)),
                round_visits::pinned.eq(place.pinned),
                round_visits::unplaced_why.eq(None::<String>),
            ))
            .execute(self.conn())?;
            start += part.minutes;
        }
        Ok(())
    }
}
