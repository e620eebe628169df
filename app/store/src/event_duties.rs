//! What is due because something happened. What is known of it is a fact: done, or taken back, it is stated anew.
use chrono::{DateTime, NaiveDate, Utc};
use diesel::prelude::*;
use terms::{AccountId, BuildingId, EventDutyId, SpaceId};
use uuid::Uuid;

use crate::estate_schema::{event_duties, event_duty_facts};
use crate::{Db, Error, Tx};

/// One thing due because of an event.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct EventDuty {
    /// Its id.
    pub id: EventDutyId,
    /// Where.
    pub building: BuildingId,
    /// The flat or room, when it is about one.
    pub space: Option<SpaceId>,
    /// The event's code in the rule book.
    pub event: String,
    /// The day it happened.
    pub event_on: NaiveDate,
    /// The shorter period a report itself set, days.
    pub period_days: Option<i32>,
    /// Due by.
    pub due_on: NaiveDate,
    /// What has to be done.
    pub task: String,
    /// How the day came.
    pub sentence: String,
    /// What the desk wrote about the event.
    pub words: String,
    /// The day it was done.
    pub done_on: Option<NaiveDate>,
    /// What proves it.
    pub evidence: String,
    /// Why it was taken back; empty while it stands.
    pub withdrawn: String,
    /// When this was written.
    pub recorded_at: DateTime<Utc>,
    /// By whom.
    pub recorded_by: AccountId,
}

type Row = (
    (Db<EventDutyId>, Db<BuildingId>, Option<Db<SpaceId>>, String),
    (NaiveDate, Option<i32>, NaiveDate, String, String),
    (String, Option<NaiveDate>, String, String),
    (DateTime<Utc>, Db<AccountId>),
);

fn read((a, b, c, d): Row) -> EventDuty {
    EventDuty {
        id: a.0.0,
        building: a.1.0,
        space: a.2.map(|s| s.0),
        event: a.3,
        event_on: b.0,
        period_days: b.1,
        due_on: b.2,
        task: b.3,
        sentence: b.4,
        words: c.0,
        done_on: c.1,
        evidence: c.2,
        withdrawn: c.3,
        recorded_at: d.0,
        recorded_by: d.1.0,
    }
}

impl Tx<'_> {
    /// Opens it; `duty.id` and the `recorded_…` fields are made here.
    pub fn add_event_duty(&mut self, duty: &EventDuty) -> Result<EventDutyId, Error> {
        let id: EventDutyId = self.fresh();
        let row = (
            (
                event_duties::estate_id.eq(Db(self.estate())),
                event_duties::id.eq(Db(id)),
                event_duties::building_id.eq(Db(duty.building)),
            ),
            (
                event_duties::space_id.eq(duty.space.map(Db)),
                event_duties::event.eq(&duty.event),
                event_duties::made_at.eq(self.at()),
            ),
        );
        diesel::insert_into(event_duties::table)
            .values(row)
            .execute(self.conn())?;
        self.state_event_duty(id, duty)?;
        Ok(id)
    }

    /// States anew what is known of it; what was known stays readable.
    pub fn state_event_duty(&mut self, id: EventDutyId, duty: &EventDuty) -> Result<(), Error> {
        let (estate, at) = (self.estate(), self.at());
        diesel::update(
            event_duty_facts::table.filter(
                event_duty_facts::estate_id
                    .eq(Db(estate))
                    .and(event_duty_facts::event_duty_id.eq(Db(id)))
                    .and(event_duty_facts::superseded_at.is_null()),
            ),
        )
        .set(event_duty_facts::superseded_at.eq(at))
        .execute(self.conn())?;
        let fact: Uuid = self.fresh();
        let row = (
            (
                event_duty_facts::estate_id.eq(Db(estate)),
                event_duty_facts::id.eq(fact),
                event_duty_facts::event_duty_id.eq(Db(id)),
            ),
            (
                event_duty_facts::event_on.eq(duty.event_on),
                event_duty_facts::period_days.eq(duty.period_days),
                event_duty_facts::due_on.eq(duty.due_on),
            ),
            (
                event_duty_facts::task.eq(&duty.task),
                event_duty_facts::sentence.eq(&duty.sentence),
                event_duty_facts::words.eq(&duty.words),
            ),
            (
                event_duty_facts::done_on.eq(duty.done_on),
                event_duty_facts::evidence.eq(&duty.evidence),
                event_duty_facts::withdrawn.eq(&duty.withdrawn),
            ),
            (
                event_duty_facts::happened_on.eq(duty.done_on.unwrap_or(duty.event_on)),
                event_duty_facts::recorded_at.eq(at),
                event_duty_facts::recorded_by.eq(Db(self.who())),
            ),
        );
        diesel::insert_into(event_duty_facts::table)
            .values(row)
            .execute(self.conn())?;
        Ok(())
    }

    /// Everything due because of an event, as known now, soonest first; those done and taken back too.
    pub fn event_duties(&mut self) -> Result<Vec<EventDuty>, Error> {
        let estate = self.estate();
        let rows: Vec<Row> = event_duties::table
            .inner_join(
                event_duty_facts::table.on(event_duty_facts::estate_id
                    .eq(event_duties::estate_id)
                    .and(event_duty_facts::event_duty_id.eq(event_duties::id))),
            )
            .filter(
                event_duties::estate_id
                    .eq(Db(estate))
                    .and(event_duty_facts::superseded_at.is_null()),
            )
            .order((event_duty_facts::due_on, event_duties::id))
            .select((
                (
                    event_duties::id,
                    event_duties::building_id,
                    event_duties::space_id,
                    event_duties::event,
                ),
                (
                    event_duty_facts::event_on,
                    event_duty_facts::period_days,
                    event_duty_facts::due_on,
                    event_duty_facts::task,
                    event_duty_facts::sentence,
                ),
                (
                    event_duty_facts::words,
                    event_duty_facts::done_on,
                    event_duty_facts::evidence,
                    event_duty_facts::withdrawn,
                ),
                (event_duty_facts::recorded_at, event_duty_facts::recorded_by),
            ))
            .load(self.conn())?;
        Ok(rows.into_iter().map(read).collect())
    }
}
