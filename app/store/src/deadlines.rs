//! The deadline each running duty stands at; for reports that count what is late.
use chrono::NaiveDate;
use diesel::prelude::*;
use terms::{BuildingId, DutyId, SpaceId, UnitId};

use crate::estate_schema::{duties, duty_completions};
use crate::{Db, Error, Tx};

/// A running duty and its deadline.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Deadline {
    /// The duty.
    pub duty: DutyId,
    /// Code of its rule.
    pub rule: String,
    /// On which unit.
    pub unit: Option<UnitId>,
    /// In which space.
    pub space: Option<SpaceId>,
    /// In which building.
    pub building: BuildingId,
    /// The day by which.
    pub deadline: NaiveDate,
}

impl Tx<'_> {
    /// The duties that run and have a deadline, the earliest first. The latest entry of a duty speaks.
    pub fn running_deadlines(&mut self) -> Result<Vec<Deadline>, Error> {
        self.deadlines_under(None)
    }

    /// Those of these rules that were to be met before `day`.
    pub fn overdue_under(
        &mut self,
        rules: &[String],
        day: NaiveDate,
    ) -> Result<Vec<Deadline>, Error> {
        if rules.is_empty() {
            return Ok(Vec::new());
        }
        let mut found = self.deadlines_under(Some(rules))?;
        found.retain(|d| d.deadline < day);
        Ok(found)
    }

    fn deadlines_under(&mut self, rules: Option<&[String]>) -> Result<Vec<Deadline>, Error> {
        let estate = self.estate();
        type Row = (
            Db<DutyId>,
            String,
            Option<Db<UnitId>>,
            Option<Db<SpaceId>>,
            Db<BuildingId>,
            Option<NaiveDate>,
        );
        let mut asked = duties::table
            .inner_join(
                duty_completions::table.on(duty_completions::estate_id
                    .eq(duties::estate_id)
                    .and(duty_completions::duty_id.eq(duties::id))),
            )
            .filter(
                duties::estate_id
                    .eq(Db(estate))
                    .and(duties::ended_on.is_null())
                    .and(duty_completions::superseded_at.is_null()),
            )
            .distinct_on(duties::id)
            .order((
                duties::id,
                duty_completions::happened_on.desc(),
                duty_completions::recorded_at.desc(),
                duty_completions::id.desc(),
            ))
            .select((
                duties::id,
                duties::rule_code,
                duties::unit_id,
                duties::space_id,
                duties::building_id,
                duty_completions::next_deadline,
            ))
            .into_boxed();
        if let Some(rules) = rules {
            asked = asked.filter(duties::rule_code.eq_any(rules));
        }
        let rows: Vec<Row> = asked.load(self.conn())?;
        let mut found: Vec<Deadline> = rows
            .into_iter()
            .filter_map(|(duty, rule, unit, space, building, deadline)| {
                Some(Deadline {
                    duty: duty.0,
                    rule,
                    unit: unit.map(|id| id.0),
                    space: space.map(|id| id.0),
                    building: building.0,
                    deadline: deadline?,
                })
            })
            .collect();
        found.sort_by_key(|d| (d.deadline, d.duty));
        Ok(found)
    }
}
