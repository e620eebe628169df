//! Duty rules of an estate, each as stated from a day on; what held before stays readable.
use chrono::{DateTime, NaiveDate, Utc};
use diesel::prelude::*;
use terms::AccountId;
use terms::trade::DutyRule;
use uuid::Uuid;

use crate::estate_schema::duty_rules;
use crate::{Db, Error, Tx};

/// A duty rule as it was stated once.
#[derive(Clone, Debug, PartialEq)]
pub struct RuleVersion {
    /// The rule.
    pub rule: DutyRule,
    /// What changed and where that stands; empty for what was shipped.
    pub note: String,
    /// When it was stated.
    pub recorded_at: DateTime<Utc>,
    /// By whom.
    pub recorded_by: AccountId,
    /// Whether a later statement took its place.
    pub superseded: bool,
}

/// A rule's own columns.
pub(crate) type RuleRow = (
    (String, String, String, i32, String, String, i32),
    (String, String, String, String, NaiveDate, Option<i32>),
);

/// The columns of [`RuleRow`].
macro_rules! rule_columns {
    () => {
        (
            (
                duty_rules::rule_code,
                duty_rules::name,
                duty_rules::window_rule,
                duty_rules::months,
                duty_rules::applies_kinds,
                duty_rules::covers,
                duty_rules::minutes,
            ),
            (
                duty_rules::basis,
                duty_rules::status,
                duty_rules::evidence,
                duty_rules::country,
                duty_rules::as_at,
                duty_rules::days,
            ),
        )
    };
}
pub(crate) use rule_columns;

pub(crate) fn read_rule((a, b): RuleRow) -> DutyRule {
    DutyRule {
        code: a.0,
        name: a.1,
        window_rule: a.2,
        months: a.3,
        days: b.5,
        kinds: a.4.split_whitespace().map(str::to_owned).collect(),
        covers: a.5,
        minutes: a.6,
        basis: b.0,
        status: b.1,
        evidence: b.2,
        country: b.3,
        as_at: b.4,
    }
}

type Row = (
    RuleRow,
    (String, DateTime<Utc>, Db<AccountId>, Option<DateTime<Utc>>),
);

fn read((rule, c): Row) -> RuleVersion {
    RuleVersion {
        rule: read_rule(rule),
        note: c.0,
        recorded_at: c.1,
        recorded_by: c.2.0,
        superseded: c.3.is_some(),
    }
}

impl Tx<'_> {
    /// Writes duty rules as known now.
    pub fn add_duty_rules(&mut self, rules: &[DutyRule]) -> Result<(), Error> {
        rules
            .iter()
            .try_for_each(|rule| self.add_duty_rule(rule, ""))
    }

    /// Writes one duty rule as known now, with what changed.
    pub fn add_duty_rule(&mut self, rule: &DutyRule, note: &str) -> Result<(), Error> {
        let (estate, who, at) = (self.estate(), self.who(), self.at());
        let id: Uuid = self.fresh();
        diesel::insert_into(duty_rules::table)
            .values((
                (duty_rules::estate_id.eq(Db(estate)), duty_rules::id.eq(id)),
                (
                    duty_rules::rule_code.eq(&rule.code),
                    duty_rules::name.eq(&rule.name),
                ),
                duty_rules::window_rule.eq(&rule.window_rule),
                (
                    duty_rules::months.eq(rule.months),
                    duty_rules::days.eq(rule.days),
                ),
                duty_rules::applies_kinds.eq(rule.kinds.join(" ")),
                (
                    duty_rules::covers.eq(&rule.covers),
                    duty_rules::minutes.eq(rule.minutes),
                ),
                duty_rules::basis.eq(&rule.basis),
                (
                    duty_rules::status.eq(&rule.status),
                    duty_rules::evidence.eq(&rule.evidence),
                ),
                (
                    duty_rules::country.eq(&rule.country),
                    duty_rules::as_at.eq(rule.as_at),
                ),
                duty_rules::happened_on.eq(rule.as_at),
                (
                    duty_rules::recorded_at.eq(at),
                    duty_rules::recorded_by.eq(Db(who)),
                ),
                duty_rules::note.eq(note),
            ))
            .execute(self.conn())?;
        Ok(())
    }

    /// The rule in force gives way to one about to be written; answers how many did.
    pub fn supersede_duty_rule(&mut self, code: &str) -> Result<usize, Error> {
        let (estate, at) = (self.estate(), self.at());
        Ok(diesel::update(
            duty_rules::table.filter(
                duty_rules::estate_id
                    .eq(Db(estate))
                    .and(duty_rules::rule_code.eq(code))
                    .and(duty_rules::superseded_at.is_null()),
            ),
        )
        .set(duty_rules::superseded_at.eq(Some(at)))
        .execute(self.conn())?)
    }

    /// The duty rules in force, by code.
    pub fn duty_rules(&mut self) -> Result<Vec<DutyRule>, Error> {
        let all = self.duty_rule_versions(None)?;
        Ok(all
            .into_iter()
            .filter(|version| !version.superseded)
            .map(|version| version.rule)
            .collect())
    }

    /// Every statement of the duty rules, or of one, by code, the oldest first.
    pub fn duty_rule_versions(&mut self, code: Option<&str>) -> Result<Vec<RuleVersion>, Error> {
        let estate = self.estate();
        let mut query = duty_rules::table
            .filter(duty_rules::estate_id.eq(Db(estate)))
            .into_boxed();
        if let Some(code) = code {
            query = query.filter(duty_rules::rule_code.eq(code.to_owned()));
        }
        let rows: Vec<Row> = query
            .order((
                duty_rules::rule_code,
                duty_rules::as_at,
                duty_rules::recorded_at,
            ))
            .select((
                rule_columns!(),
                (
                    duty_rules::note,
                    duty_rules::recorded_at,
                    duty_rules::recorded_by,
                    duty_rules::superseded_at,
                ),
            ))
            .load(self.conn())?;
        Ok(rows.into_iter().map(read).collect())
    }
}
