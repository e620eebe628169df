//! What was observed at a visit and what the rules said of it.
use chrono::NaiveDate;
use diesel::prelude::*;
use terms::{JobId, Level, UnitId, VisitId};
use uuid::Uuid;

use crate::estate_schema::{duty_completions, failure_facts, findings, observations};
use crate::register::read_code;
use crate::{Db, Error, Tx};

/// Whose observation or finding it is.
#[derive(Clone, Copy, Debug)]
pub struct Seen {
    /// The unit.
    pub unit: UnitId,
    /// The job.
    pub job: JobId,
    /// The visit.
    pub visit: VisitId,
    /// The day.
    pub on: NaiveDate,
}

/// What a rule said of a visit's readings.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FindingRow {
    /// How sure that something must be done.
    pub level: Level,
    /// The rule's code.
    pub code: String,
    /// The reading it stands beside.
    pub reading: String,
    /// One sentence.
    pub words: String,
    /// The digest of the rule book.
    pub rule_book: String,
    /// The day.
    pub on: NaiveDate,
}

impl Tx<'_> {
    /// Records that a thing was looked for, and whether it was there.
    pub fn add_observation(&mut self, about: Seen, code: &str, seen: bool) -> Result<(), Error> {
        let id: Uuid = self.fresh();
        let row = (
            (
                observations::estate_id.eq(Db(self.estate())),
                observations::id.eq(id),
            ),
            (
                observations::unit_id.eq(Db(about.unit)),
                observations::job_id.eq(Db(about.job)),
                observations::visit_id.eq(Some(Db(about.visit))),
            ),
            (observations::code.eq(code), observations::seen.eq(seen)),
            (
                observations::happened_on.eq(about.on),
                observations::recorded_at.eq(self.at()),
                observations::recorded_by.eq(Db(self.who())),
            ),
        );
        diesel::insert_into(observations::table)
            .values(row)
            .execute(self.conn())?;
        Ok(())
    }

    /// Keeps a finding.
    pub fn add_finding(&mut self, about: Seen, finding: &FindingRow) -> Result<(), Error> {
        let id: Uuid = self.fresh();
        let row = (
            (
                findings::estate_id.eq(Db(self.estate())),
                findings::id.eq(id),
            ),
            (
                findings::unit_id.eq(Db(about.unit)),
                findings::job_id.eq(Db(about.job)),
                findings::visit_id.eq(Some(Db(about.visit))),
            ),
            (
                findings::level.eq(finding.level.code()),
                findings::code.eq(&finding.code),
                findings::reading.eq(&finding.reading),
            ),
            (
                findings::words.eq(&finding.words),
                findings::rule_book.eq(&finding.rule_book),
            ),
            (
                findings::happened_on.eq(about.on),
                findings::recorded_at.eq(self.at()),
                findings::recorded_by.eq(Db(self.who())),
            ),
        );
        diesel::insert_into(findings::table)
            .values(row)
            .execute(self.conn())?;
        Ok(())
    }

    /// The findings of a unit, newest first.
    pub fn findings_of(&mut self, unit: UnitId) -> Result<Vec<(JobId, FindingRow)>, Error> {
        let estate = self.estate();
        type Row = (Db<JobId>, String, String, String, String, String, NaiveDate);
        let rows: Vec<Row> = findings::table
            .filter(
                findings::estate_id
                    .eq(Db(estate))
                    .and(findings::unit_id.eq(Db(unit)))
                    .and(findings::superseded_at.is_null()),
            )
            .order((findings::happened_on.desc(), findings::id.desc()))
            .select((
                findings::job_id,
                findings::level,
                findings::code,
                findings::reading,
                findings::words,
                findings::rule_book,
                findings::happened_on,
            ))
            .load(self.conn())?;
        rows.into_iter()
            .map(|(job, level, code, reading, words, rule_book, on)| {
                Ok((
                    job.0,
                    FindingRow {
                        level: read_code(&level)?,
                        code,
                        reading,
                        words,
                        rule_book,
                        on,
                    },
                ))
            })
            .collect()
    }

    /// States anew what is known of a failure; what was known stays readable.
    pub fn state_failure(&mut self, record: &terms::unit::FailureRecord) -> Result<(), Error> {
        let (estate, at, who) = (self.estate(), self.at(), self.who());
        diesel::update(
            failure_facts::table.filter(
                failure_facts::estate_id
                    .eq(Db(estate))
                    .and(failure_facts::failure_id.eq(Db(record.id)))
                    .and(failure_facts::superseded_at.is_null()),
            ),
        )
        .set(failure_facts::superseded_at.eq(at))
        .execute(self.conn())?;
        let fact: Uuid = self.fresh();
        let row = (
            (
                failure_facts::estate_id.eq(Db(estate)),
                failure_facts::id.eq(fact),
                failure_facts::failure_id.eq(Db(record.id)),
            ),
            (
                failure_facts::part_code.eq(&record.part),
                failure_facts::function_lost.eq(&record.function_lost),
                failure_facts::found_at_service.eq(record.found_at_service),
                failure_facts::no_fault_found.eq(record.no_fault_found),
            ),
            (
                failure_facts::cost_pence.eq(record.cost.map(|c| c.0)),
                failure_facts::job_id.eq(record.job.map(Db)),
                failure_facts::same_as.eq(&record.same_as),
                failure_facts::words.eq(&record.words),
            ),
            (
                failure_facts::happened_on.eq(record.happened_on),
                failure_facts::happened_until.eq(record.happened_until),
                failure_facts::recorded_at.eq(at),
                failure_facts::recorded_by.eq(Db(who)),
            ),
        );
        diesel::insert_into(failure_facts::table)
            .values(row)
            .execute(self.conn())?;
        Ok(())
    }

    /// Whether a duty was already done, as a whole check, in this job.
    pub fn duty_done_in(&mut self, duty: terms::DutyId, job: JobId) -> Result<bool, Error> {
        let estate = self.estate();
        let found: Option<Uuid> = duty_completions::table
            .filter(
                duty_completions::estate_id
                    .eq(Db(estate))
                    .and(duty_completions::duty_id.eq(Db(duty)))
                    .and(duty_completions::job_id.eq(Db(job)))
                    .and(duty_completions::check_complete.eq(true))
                    .and(duty_completions::superseded_at.is_null()),
            )
            .select(duty_completions::id)
            .first(self.conn())
            .optional()?;
        Ok(found.is_some())
    }
}
