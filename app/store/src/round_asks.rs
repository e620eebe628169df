//! What people ask of the rounds: somebody is away, nobody is to come before a day. Dated, with who and why.
use chrono::NaiveDate;
use diesel::prelude::*;
use terms::{AccountId, EngineerId, FirmId, UnitId};
use uuid::Uuid;

use crate::estate_schema::round_asks;
use crate::{Db, Error, Tx};

/// Weekdays with their minutes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AskedTimes {
    /// Whose; `None` for a unit's.
    pub firm: Option<FirmId>,
    /// Monday = 0.
    pub weekdays: Vec<u32>,
    /// From this minute of the day.
    pub from_minute: u32,
    /// Until this one.
    pub until_minute: u32,
}

/// Something asked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NewRoundAsk {
    /// "away", "`not_before`", "hours" or "access".
    pub what: &'static str,
    /// Who is away.
    pub engineer: Option<EngineerId>,
    /// The unit nobody is to come to.
    pub unit: Option<UnitId>,
    /// First day away; first day on which somebody may come.
    pub from_on: NaiveDate,
    /// Last day away.
    pub until_on: Option<NaiveDate>,
    /// When a firm works, or somebody opens.
    pub times: Option<AskedTimes>,
    /// The reason.
    pub why: String,
}

/// Something asked, as it stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RoundAsk {
    /// Its id.
    pub id: Uuid,
    /// "away", "`not_before`", "hours" or "access".
    pub what: String,
    /// Who is away.
    pub engineer: Option<EngineerId>,
    /// The unit nobody is to come to.
    pub unit: Option<UnitId>,
    /// First day away; first day on which somebody may come.
    pub from_on: NaiveDate,
    /// Last day away.
    pub until_on: Option<NaiveDate>,
    /// When a firm works, or somebody opens.
    pub times: Option<AskedTimes>,
    /// The reason.
    pub why: String,
    /// When it was said.
    pub said_on: NaiveDate,
    /// By whom.
    pub by: AccountId,
}

impl Tx<'_> {
    /// Keeps what was asked.
    pub fn ask_of_rounds(&mut self, ask: &NewRoundAsk) -> Result<Uuid, Error> {
        let id: Uuid = self.fresh();
        let times = ask.times.as_ref();
        let weekdays = times.map(|t| {
            let days: Vec<String> = t.weekdays.iter().map(u32::to_string).collect();
            days.join(" ")
        });
        let minute = |m: u32| i32::try_from(m).unwrap_or(0);
        diesel::insert_into(round_asks::table)
            .values((
                (
                    round_asks::estate_id.eq(Db(self.estate())),
                    round_asks::id.eq(id),
                    round_asks::what.eq(ask.what),
                ),
                (
                    round_asks::engineer_id.eq(ask.engineer.map(Db)),
                    round_asks::unit_id.eq(ask.unit.map(Db)),
                ),
                (
                    round_asks::from_on.eq(ask.from_on),
                    round_asks::until_on.eq(ask.until_on),
                    round_asks::why.eq(&ask.why),
                ),
                (
                    round_asks::firm_id.eq(times.and_then(|t| t.firm).map(Db)),
                    round_asks::weekdays.eq(weekdays),
                    round_asks::from_minute.eq(times.map(|t| minute(t.from_minute))),
                    round_asks::until_minute.eq(times.map(|t| minute(t.until_minute))),
                ),
                (
                    round_asks::happened_on.eq(self.today()),
                    round_asks::recorded_at.eq(self.at()),
                    round_asks::recorded_by.eq(Db(self.who())),
                ),
            ))
            .execute(self.conn())?;
        Ok(id)
    }

    /// What was asked and still stands, oldest first.
    pub fn round_asks(&mut self) -> Result<Vec<RoundAsk>, Error> {
        let estate = self.estate();
        type Row = (
            (Uuid, String, Option<Db<EngineerId>>, Option<Db<UnitId>>),
            (NaiveDate, Option<NaiveDate>, String),
            (NaiveDate, Db<AccountId>),
            (Option<Db<FirmId>>, Option<String>, Option<i32>, Option<i32>),
        );
        let rows: Vec<Row> = round_asks::table
            .filter(
                round_asks::estate_id
                    .eq(Db(estate))
                    .and(round_asks::superseded_at.is_null()),
            )
            .order((round_asks::recorded_at, round_asks::id))
            .select((
                (
                    round_asks::id,
                    round_asks::what,
                    round_asks::engineer_id,
                    round_asks::unit_id,
                ),
                (round_asks::from_on, round_asks::until_on, round_asks::why),
                (round_asks::happened_on, round_asks::recorded_by),
                (
                    round_asks::firm_id,
                    round_asks::weekdays,
                    round_asks::from_minute,
                    round_asks::until_minute,
                ),
            ))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|(a, b, c, d)| RoundAsk {
                id: a.0,
                what: a.1,
                engineer: a.2.map(|e| e.0),
                unit: a.3.map(|u| u.0),
                from_on: b.0,
                until_on: b.1,
                times: times_of(d),
                why: b.2,
                said_on: c.0,
                by: c.1.0,
            })
            .collect())
    }

    /// Takes back what was asked; how many rows that were (0 when it was taken back before).
    pub fn take_back_round_ask(&mut self, id: Uuid) -> Result<usize, Error> {
        let (estate, at) = (self.estate(), self.at());
        Ok(diesel::update(
            round_asks::table.filter(
                round_asks::estate_id
                    .eq(Db(estate))
                    .and(round_asks::id.eq(id))
                    .and(round_asks::superseded_at.is_null()),
            ),
        )
        .set(round_asks::superseded_at.eq(at))
        .execute(self.conn())?)
    }
}

fn times_of(
    (firm, weekdays, from, until): (Option<Db<FirmId>>, Option<String>, Option<i32>, Option<i32>),
) -> Option<AskedTimes> {
    Some(AskedTimes {
        firm: firm.map(|f| f.0),
        weekdays: weekdays?
            .split_whitespace()
            .filter_map(|day| day.parse().ok())
            .collect(),
        from_minute: u32::try_from(from?).ok()?,
        until_minute: u32::try_from(until?).ok()?,
    })
}
