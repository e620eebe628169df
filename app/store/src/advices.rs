//! Advice as it stood when made, and what was decided upon it. Rows are added and superseded, never changed.
use chrono::{DateTime, NaiveDate, Utc};
use diesel::dsl::sql;
use diesel::prelude::*;
use diesel::sql_types::{Jsonb, Nullable};
use terms::{AccountId, AdviceId, Choice, DecisionId, ForecastId, JobId, Pence, QuoteId, UnitId};

use crate::estate_schema::{advices, decisions, fault_calls, forecasts};
use crate::register::read_code;
use crate::{Db, Error, Tx};

/// One repair-or-replace comparison.
#[derive(Clone, Debug, PartialEq)]
pub struct Advice {
    /// Its id; not used when added.
    pub id: AdviceId,
    /// The unit.
    pub unit: UnitId,
    /// The job whose quote asked the question.
    pub job: Option<JobId>,
    /// That quote.
    pub quote: Option<QuoteId>,
    /// The forecast it was reckoned from; `None`: the kind's published figures.
    pub forecast: Option<ForecastId>,
    /// When; not used when added (the transaction's instant).
    pub made_at: DateTime<Utc>,
    /// By whom; not used when added.
    pub made_by: AccountId,
    /// "repair", "replace" or "keep".
    pub course: String,
    /// The page must not sound sure.
    pub close_call: bool,
    /// k: further years to keep it, if it is repaired or kept; 0 when nothing was compared.
    pub best_keep: i32,
    /// The quote, including VAT.
    pub quote_pence: Option<Pence>,
    /// The repair limit; `None` when there was nothing to compare with.
    pub limit: Option<Pence>,
    /// quote − limit to the penny, when both stand.
    pub advantage: Option<Pence>,
    /// What went in, with sources.
    pub inputs: serde_json::Value,
    /// What came out.
    pub result: serde_json::Value,
    /// Digest of both.
    pub digest: String,
    /// A newer one stands in its place since.
    pub superseded_at: Option<DateTime<Utc>>,
}

/// What somebody decided.
#[derive(Clone, Debug, PartialEq)]
pub struct Decision {
    /// Its id; not used when added.
    pub id: DecisionId,
    /// Upon which advice.
    pub advice: AdviceId,
    /// The unit.
    pub unit: UnitId,
    /// What.
    pub choice: Choice,
    /// With what, when replaced.
    pub option: Option<String>,
    /// Why.
    pub reason: String,
    /// "page", "telephone" or "letter".
    pub how: String,
    /// Who entered it.
    pub decided_by: AccountId,
    /// Whose yes it records, when not the one who entered it.
    pub on_behalf_of: String,
    /// When; not used when added.
    pub recorded_at: DateTime<Utc>,
}

/// A forecast in force, as far as an advice needs it.
#[derive(Clone, Debug, PartialEq)]
pub struct ToldFailures {
    /// Its id.
    pub id: ForecastId,
    /// The unit.
    pub unit: UnitId,
    /// The day it was made for.
    pub made_on: NaiveDate,
    /// Expected failures over the next 12 months.
    pub expected_12m: f64,
    /// Chance of at least one, with the ends of its 80 % interval.
    pub chance_12m: (f64, f64, f64),
    /// Chance that it is written off within them, with the same; `None` where too few of its kind were to tell, and in a
    /// forecast made before that was kept.
    pub lost_12m: Option<(f64, f64, f64)>,
}

/// Which advices are asked for.
#[derive(Clone, Copy, Debug)]
pub enum WhichAdvice {
    /// One, whether or not a newer stands in its place.
    One(AdviceId),
    /// The one in force upon a job's quote.
    OfJob(JobId),
    /// Every one in force.
    InForce,
}

impl Tx<'_> {
    /// Writes an advice; what stood open for the unit is superseded by it.
    pub fn add_advice(&mut self, advice: &Advice) -> Result<AdviceId, Error> {
        let (estate, at, who) = (self.estate(), self.at(), self.who());
        diesel::update(
            advices::table.filter(
                advices::estate_id
                    .eq(Db(estate))
                    .and(advices::unit_id.eq(Db(advice.unit)))
                    .and(advices::superseded_at.is_null()),
            ),
        )
        .set(advices::superseded_at.eq(at))
        .execute(self.conn())?;
        let id: AdviceId = self.fresh();
        let row = (
            (advices::estate_id.eq(Db(estate)), advices::id.eq(Db(id))),
            (
                advices::unit_id.eq(Db(advice.unit)),
                advices::job_id.eq(advice.job.map(Db)),
                advices::quote_id.eq(advice.quote.map(Db)),
                advices::forecast_id.eq(advice.forecast.map(Db)),
            ),
            (advices::made_at.eq(at), advices::made_by.eq(Db(who))),
            (
                advices::course.eq(&advice.course),
                advices::close_call.eq(advice.close_call),
                advices::best_keep.eq(advice.best_keep),
            ),
            (
                advices::quote_pence.eq(advice.quote_pence.map(|p| p.0)),
                advices::limit_pence.eq(advice.limit.map(|p| p.0)),
                advices::advantage_pence.eq(advice.advantage.map(|p| p.0)),
            ),
            (
                advices::inputs.eq(&advice.inputs),
                advices::result.eq(&advice.result),
                advices::digest.eq(&advice.digest),
            ),
        );
        diesel::insert_into(advices::table)
            .values(row)
            .execute(self.conn())?;
        Ok(id)
    }

    /// One advice, its row held until the transaction ends: two who decide at once are put in order.
    pub fn hold_advice(&mut self, id: AdviceId) -> Result<Advice, Error> {
        let estate = self.estate();
        let held: Option<Db<AdviceId>> = advices::table
            .filter(
                advices::estate_id
                    .eq(Db(estate))
                    .and(advices::id.eq(Db(id))),
            )
            .select(advices::id)
            .for_update()
            .first(self.conn())
            .optional()?;
        held.ok_or(Error::NotFound("advice"))?;
        self.advice(id)
    }

    /// One advice.
    pub fn advice(&mut self, id: AdviceId) -> Result<Advice, Error> {
        self.advices(WhichAdvice::One(id))?
            .pop()
            .ok_or(Error::NotFound("advice"))
    }

    /// Advices, oldest first.
    pub fn advices(&mut self, which: WhichAdvice) -> Result<Vec<Advice>, Error> {
        let estate = self.estate();
        let mut query = advices::table
            .filter(advices::estate_id.eq(Db(estate)))
            .into_boxed();
        query = match which {
            WhichAdvice::One(id) => query.filter(advices::id.eq(Db(id))),
            WhichAdvice::OfJob(job) => query.filter(
                advices::job_id
                    .eq(Db(job))
                    .and(advices::superseded_at.is_null()),
            ),
            WhichAdvice::InForce => query.filter(advices::superseded_at.is_null()),
        };
        let rows: Vec<AdviceRow> = query
            .order((advices::made_at, advices::id))
            .select((
                (
                    advices::id,
                    advices::unit_id,
                    advices::job_id,
                    advices::quote_id,
                    advices::forecast_id,
                ),
                (
                    advices::made_at,
                    advices::made_by,
                    advices::course,
                    advices::close_call,
                    advices::best_keep,
                ),
                (
                    advices::quote_pence,
                    advices::limit_pence,
                    advices::advantage_pence,
                ),
                (
                    advices::inputs,
                    advices::result,
                    advices::digest,
                    advices::superseded_at,
                ),
            ))
            .load(self.conn())?;
        Ok(rows.into_iter().map(read_advice).collect())
    }

    /// Writes a decision of now.
    ///
    /// # Errors
    /// [`Error::Conflict`] when the advice was decided already.
    pub fn add_decision(&mut self, decision: &Decision) -> Result<DecisionId, Error> {
        let id: DecisionId = self.fresh();
        let row = (
            (
                decisions::estate_id.eq(Db(self.estate())),
                decisions::id.eq(Db(id)),
            ),
            (
                decisions::advice_id.eq(Db(decision.advice)),
                decisions::unit_id.eq(Db(decision.unit)),
            ),
            (
                decisions::choice.eq(decision.choice.code()),
                decisions::option_code.eq(&decision.option),
                decisions::reason.eq(&decision.reason),
            ),
            (
                decisions::how.eq(&decision.how),
                decisions::decided_by.eq(Db(decision.decided_by)),
                decisions::on_behalf_of.eq(&decision.on_behalf_of),
            ),
            decisions::happened_on.eq(self.today()),
            (
                decisions::recorded_at.eq(self.at()),
                decisions::recorded_by.eq(Db(self.who())),
            ),
        );
        diesel::insert_into(decisions::table)
            .values(row)
            .execute(self.conn())?;
        Ok(id)
    }

    /// The decisions upon these advices; `None` for all of the estate. Oldest first.
    pub fn decisions(&mut self, of: Option<&[AdviceId]>) -> Result<Vec<Decision>, Error> {
        let estate = self.estate();
        let mut query = decisions::table
            .filter(
                decisions::estate_id
                    .eq(Db(estate))
                    .and(decisions::superseded_at.is_null()),
            )
            .into_boxed();
        if let Some(of) = of {
            let ids: Vec<Db<AdviceId>> = of.iter().copied().map(Db).collect();
            query = query.filter(decisions::advice_id.eq_any(ids));
        }
        type Row = (
            (Db<DecisionId>, Db<AdviceId>, Db<UnitId>),
            (String, Option<String>, String, String),
            (Db<AccountId>, String, DateTime<Utc>),
        );
        let rows: Vec<Row> = query
            .order((decisions::recorded_at, decisions::id))
            .select((
                (decisions::id, decisions::advice_id, decisions::unit_id),
                (
                    decisions::choice,
                    decisions::option_code,
                    decisions::reason,
                    decisions::how,
                ),
                (
                    decisions::decided_by,
                    decisions::on_behalf_of,
                    decisions::recorded_at,
                ),
            ))
            .load(self.conn())?;
        rows.into_iter()
            .map(|(a, b, c)| {
                Ok(Decision {
                    id: a.0.0,
                    advice: a.1.0,
                    unit: a.2.0,
                    choice: read_code(&b.0)?,
                    option: b.1,
                    reason: b.2,
                    how: b.3,
                    decided_by: c.0.0,
                    on_behalf_of: c.1,
                    recorded_at: c.2,
                })
            })
            .collect()
    }

    /// What a unit was last decided to be replaced with; `None` when it was not decided to replace it.
    pub fn decided_option(&mut self, unit: UnitId) -> Result<Option<String>, Error> {
        let estate = self.estate();
        let last: Option<Option<String>> = decisions::table
            .filter(
                decisions::estate_id
                    .eq(Db(estate))
                    .and(decisions::unit_id.eq(Db(unit)))
                    .and(decisions::choice.eq(Choice::Replace.code()))
                    .and(decisions::superseded_at.is_null()),
            )
            .order((decisions::recorded_at.desc(), decisions::id.desc()))
            .select(decisions::option_code)
            .first(self.conn())
            .optional()?;
        Ok(last.flatten())
    }

    /// The forecasts in force: of one unit, or of every unit that has one.
    pub fn told_failures(&mut self, unit: Option<UnitId>) -> Result<Vec<ToldFailures>, Error> {
        let estate = self.estate();
        let mut query = forecasts::table
            .filter(
                forecasts::estate_id
                    .eq(Db(estate))
                    .and(forecasts::superseded_at.is_null()),
            )
            .into_boxed();
        if let Some(unit) = unit {
            query = query.filter(forecasts::unit_id.eq(Db(unit)));
        }
        type Row = (
            (Db<ForecastId>, Db<UnitId>, NaiveDate, f64),
            (f64, f64, f64),
            Option<serde_json::Value>,
        );
        let rows: Vec<Row> = query
            .order((forecasts::unit_id, forecasts::made_at))
            .select((
                (
                    forecasts::id,
                    forecasts::unit_id,
                    forecasts::made_on,
                    forecasts::expected_12m,
                ),
                (
                    forecasts::chance_12m,
                    forecasts::chance_12m_low,
                    forecasts::chance_12m_high,
                ),
                // The body is long, and of many units only this is asked.
                sql::<Nullable<Jsonb>>("body -> 'lost_12m'"),
            ))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|(a, chance_12m, lost)| ToldFailures {
                id: a.0.0,
                unit: a.1.0,
                made_on: a.2,
                expected_12m: a.3,
                chance_12m,
                lost_12m: lost.and_then(|lost| serde_json::from_value(lost).ok()),
            })
            .collect())
    }

    /// Leads the calls that a job answered to another job: their clocks run on there.
    pub fn move_calls(&mut self, from: JobId, to: JobId) -> Result<(), Error> {
        let estate = self.estate();
        diesel::update(
            fault_calls::table.filter(
                fault_calls::estate_id
                    .eq(Db(estate))
                    .and(fault_calls::job_id.eq(Db(from))),
            ),
        )
        .set(fault_calls::job_id.eq(Some(Db(to))))
        .execute(self.conn())?;
        Ok(())
    }
}

type AdviceRow = (
    (
        Db<AdviceId>,
        Db<UnitId>,
        Option<Db<JobId>>,
        Option<Db<QuoteId>>,
        Option<Db<ForecastId>>,
    ),
    (DateTime<Utc>, Db<AccountId>, String, bool, i32),
    (Option<i64>, Option<i64>, Option<i64>),
    (
        serde_json::Value,
        serde_json::Value,
        String,
        Option<DateTime<Utc>>,
    ),
);

fn read_advice((a, b, c, d): AdviceRow) -> Advice {
    Advice {
        id: a.0.0,
        unit: a.1.0,
        job: a.2.map(|id| id.0),
        quote: a.3.map(|id| id.0),
        forecast: a.4.map(|id| id.0),
        made_at: b.0,
        made_by: b.1.0,
        course: b.2,
        close_call: b.3,
        best_keep: b.4,
        quote_pence: c.0.map(Pence),
        limit: c.1.map(Pence),
        advantage: c.2.map(Pence),
        inputs: d.0,
        result: d.1,
        digest: d.2,
        superseded_at: d.3,
    }
}
