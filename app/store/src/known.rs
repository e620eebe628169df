//! What was known at an instant: duties with their record, stays, rules, and the head of the audit then.
use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, Utc};
use diesel::prelude::*;
use terms::trade::DutyRule;
use terms::{BuildingId, DutyId, SpaceId, UnitId, hex};
use uuid::Uuid;

use crate::duties::{Completion, CompletionRow, DutyCard, DutyRow, read_completion, read_duty};
use crate::duty_rules::{RuleRow, read_rule, rule_columns};
use crate::estate_schema::{
    audit_entries, duties, duty_completions, duty_rules, placements, spaces,
};
use crate::stays::Stay;
use crate::{Db, Error, Tx};

impl Tx<'_> {
    /// The duties of a building that held on `on`, as known at `known`, in the order they were opened.
    pub fn duties_in_force(
        &mut self,
        building: BuildingId,
        (on, known): (NaiveDate, DateTime<Utc>),
    ) -> Result<Vec<DutyCard>, Error> {
        let estate = self.estate();
        Ok(duties::table
            .filter(
                duties::estate_id
                    .eq(Db(estate))
                    .and(duties::building_id.eq(Db(building)))
                    .and(duties::made_at.le(known))
                    .and(duties::ended_on.is_null().or(duties::ended_on.gt(on))),
            )
            .order(duties::id)
            .select(crate::duties::duty_columns!())
            .load::<DutyRow>(self.conn())?
            .into_iter()
            .map(read_duty)
            .collect())
    }

    /// The rows of these duties' records as they stood at `known`, oldest first.
    pub fn completions_known(
        &mut self,
        of: &[DutyId],
        known: DateTime<Utc>,
    ) -> Result<BTreeMap<DutyId, Vec<Completion>>, Error> {
        let estate = self.estate();
        let ids: Vec<Uuid> = of.iter().map(|d| d.0).collect();
        let rows: Vec<CompletionRow> = duty_completions::table
            .filter(
                duty_completions::estate_id
                    .eq(Db(estate))
                    .and(duty_completions::duty_id.eq_any(ids))
                    .and(duty_completions::recorded_at.le(known))
                    .and(
                        duty_completions::superseded_at
                            .is_null()
                            .or(duty_completions::superseded_at.gt(known)),
                    ),
            )
            .order((
                duty_completions::happened_on,
                duty_completions::done_on.asc().nulls_first(),
                duty_completions::check_complete,
                duty_completions::id,
            ))
            .select(crate::duties::completion_columns!())
            .load(self.conn())?;
        let mut found: BTreeMap<DutyId, Vec<Completion>> = BTreeMap::new();
        for row in rows {
            let row = read_completion(row);
            found.entry(row.duty).or_default().push(row);
        }
        Ok(found)
    }

    /// The stays in the spaces of a building as known at `known`, oldest first.
    pub fn stays_known(
        &mut self,
        building: BuildingId,
        known: DateTime<Utc>,
    ) -> Result<Vec<Stay>, Error> {
        let estate = self.estate();
        type Row = (
            Db<UnitId>,
            Db<SpaceId>,
            Option<NaiveDate>,
            Option<NaiveDate>,
        );
        let rows: Vec<Row> = placements::table
            .inner_join(
                spaces::table.on(spaces::estate_id
                    .eq(placements::estate_id)
                    .and(spaces::id.eq(placements::space_id))),
            )
            .filter(
                placements::estate_id
                    .eq(Db(estate))
                    .and(spaces::building_id.eq(Db(building)))
                    .and(placements::recorded_at.le(known))
                    .and(
                        placements::superseded_at
                            .is_null()
                            .or(placements::superseded_at.gt(known)),
                    ),
            )
            .order((placements::from_on.asc().nulls_first(), placements::id))
            .select((
                placements::unit_id,
                placements::space_id,
                placements::from_on,
                placements::until_on,
            ))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|(unit, space, from_on, until_on)| Stay {
                unit: unit.0,
                space: space.0,
                from_on,
                until_on,
            })
            .collect())
    }

    /// The rules of duties as they stood at `known`, by code.
    pub fn duty_rules_known(
        &mut self,
        known: DateTime<Utc>,
    ) -> Result<BTreeMap<String, DutyRule>, Error> {
        let estate = self.estate();
        let rows: Vec<RuleRow> = duty_rules::table
            .filter(
                duty_rules::estate_id
                    .eq(Db(estate))
                    .and(duty_rules::recorded_at.le(known))
                    .and(
                        duty_rules::superseded_at
                            .is_null()
                            .or(duty_rules::superseded_at.gt(known)),
                    ),
            )
            .select(rule_columns!())
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(read_rule)
            .map(|rule| (rule.code.clone(), rule))
            .collect())
    }

    /// The head of the audit as it stood at `known`, as printed on papers; `None` before the first entry.
    pub fn chain_head_known(&mut self, known: DateTime<Utc>) -> Result<Option<String>, Error> {
        let estate = self.estate();
        let last: Option<(i64, Vec<u8>)> = audit_entries::table
            .filter(
                audit_entries::estate_id
                    .eq(Db(estate))
                    .and(audit_entries::at.le(known)),
            )
            .order(audit_entries::n.desc())
            .select((audit_entries::n, audit_entries::link))
            .first(self.conn())
            .optional()?;
        Ok(last.map(|(n, link)| format!("{n}-{}", hex(&link))))
    }
}
