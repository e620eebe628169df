//! What Today reads, each list in one query.
use chrono::{DateTime, NaiveDate, Utc};
use diesel::prelude::*;
use terms::today::{OpenAdvice, OpenQuote, Place, Weighed};
use terms::{AdviceId, BuildingId, FirmId, JobId, Pence, QuoteId, SpaceId, UnitId};
use uuid::Uuid;

use crate::estate_schema::{
    advices, building_facts, decisions, fault_calls, jobs, offers, quotes, space_facts,
};
use crate::{Db, Error, Tx};

/// A quote with what only the door knows still to be filled in: the firm's name.
pub type QuoteOfFirm = (FirmId, OpenQuote);

type QuoteRow = (
    (
        Db<QuoteId>,
        Db<JobId>,
        Db<UnitId>,
        Db<FirmId>,
        Option<String>,
    ),
    (i64, NaiveDate),
    (Db<BuildingId>, String, Db<SpaceId>, String),
);

fn read_quote((a, b, c): QuoteRow, weighed: Option<Weighed>) -> QuoteOfFirm {
    let open = OpenQuote {
        quote: a.0.0,
        job: a.1.0,
        unit: a.2.0,
        kind_name: String::new(),
        place: Place {
            building: c.0.0,
            building_name: c.1,
            space: Some(c.2.0),
            space_name: c.3,
        },
        firm: String::new(),
        part_name: a.4,
        total: Pence(b.0),
        valid_until: b.1,
        authority: None,
        weighed,
    };
    (a.3.0, open)
}

impl Tx<'_> {
    /// Since when residents say a function is lost, and how many firms were asked, for each of these jobs.
    pub fn told_of_jobs(
        &mut self,
        of: &[JobId],
    ) -> Result<Vec<(JobId, Option<DateTime<Utc>>, u32)>, Error> {
        let estate = self.estate();
        let ids: Vec<Uuid> = of.iter().map(|j| j.0).collect();
        let calls: Vec<(Option<Db<JobId>>, DateTime<Utc>)> = fault_calls::table
            .filter(
                fault_calls::estate_id
                    .eq(Db(estate))
                    .and(fault_calls::job_id.eq_any(&ids)),
            )
            .select((fault_calls::job_id, fault_calls::since_at))
            .load(self.conn())?;
        let asked: Vec<(Db<JobId>, i64)> = offers::table
            .filter(
                offers::estate_id
                    .eq(Db(estate))
                    .and(offers::job_id.eq_any(&ids)),
            )
            .group_by(offers::job_id)
            .select((offers::job_id, diesel::dsl::count_star()))
            .load(self.conn())?;
        Ok(of
            .iter()
            .map(|job| {
                let since = calls.iter().filter(|c| c.0 == Some(Db(*job))).map(|c| c.1);
                let asked = asked.iter().find(|a| a.0 == Db(*job)).map_or(0, |a| a.1);
                (*job, since.min(), u32::try_from(asked).unwrap_or(u32::MAX))
            })
            .collect())
    }

    /// The quotes of open jobs that nobody decided on, oldest first, each with the advice on it.
    pub fn open_quotes(&mut self) -> Result<Vec<QuoteOfFirm>, Error> {
        let mut found = Vec::new();
        for row in self.quotes_of_open_jobs()? {
            let (weighed, decided) = self.weighed(row.0.0.0)?;
            if !decided {
                found.push(read_quote(row, weighed));
            }
        }
        Ok(found)
    }

    /// The quotes that stand on jobs which neither wait for a part nor are booked: nobody acted on them yet.
    fn quotes_of_open_jobs(&mut self) -> Result<Vec<QuoteRow>, Error> {
        let estate = self.estate();
        Ok(quotes::table
            .inner_join(
                jobs::table.on(jobs::estate_id
                    .eq(quotes::estate_id)
                    .and(jobs::id.eq(quotes::job_id))),
            )
            .inner_join(
                space_facts::table.on(space_facts::estate_id
                    .eq(quotes::estate_id)
                    .and(space_facts::space_id.eq(jobs::space_id))),
            )
            .inner_join(
                building_facts::table.on(building_facts::estate_id
                    .eq(quotes::estate_id)
                    .and(building_facts::building_id.eq(jobs::building_id))),
            )
            .filter(
                quotes::estate_id
                    .eq(Db(estate))
                    .and(quotes::superseded_at.is_null())
                    .and(jobs::closed_at.is_null())
                    .and(jobs::state.ne_all(["waiting_for_part", "booked"]))
                    .and(space_facts::superseded_at.is_null())
                    .and(building_facts::superseded_at.is_null()),
            )
            .order((quotes::recorded_at, quotes::id))
            .select((
                (
                    quotes::id,
                    quotes::job_id,
                    quotes::unit_id,
                    quotes::firm_id,
                    quotes::part_code,
                ),
                (quotes::total_pence, quotes::valid_until),
                (
                    jobs::building_id,
                    building_facts::name,
                    jobs::space_id,
                    space_facts::name,
                ),
            ))
            .load(self.conn())?)
    }

    /// The present advice on a quote, and whether somebody decided upon any advice on it.
    fn weighed(&mut self, quote: QuoteId) -> Result<(Option<Weighed>, bool), Error> {
        let estate = self.estate();
        type Row = (
            Db<AdviceId>,
            Option<i64>,
            Option<i64>,
            bool,
            Option<DateTime<Utc>>,
        );
        let rows: Vec<Row> = advices::table
            .filter(
                advices::estate_id
                    .eq(Db(estate))
                    .and(advices::quote_id.eq(Some(Db(quote)))),
            )
            .order((advices::made_at.desc(), advices::id.desc()))
            .select((
                advices::id,
                advices::limit_pence,
                advices::advantage_pence,
                advices::close_call,
                advices::superseded_at,
            ))
            .load(self.conn())?;
        let ids: Vec<Uuid> = rows.iter().map(|r| r.0.0.0).collect();
        let decided: i64 = decisions::table
            .filter(
                decisions::estate_id
                    .eq(Db(estate))
                    .and(decisions::advice_id.eq_any(ids))
                    .and(decisions::superseded_at.is_null())
                    .and(decisions::choice.ne("another_quote")),
            )
            .count()
            .get_result(self.conn())?;
        let weighed = rows.into_iter().find_map(|r| {
            (r.4.is_none()).then_some(())?;
            Some(Weighed {
                advice: r.0.0,
                limit: Pence(r.1?),
                advantage: Pence(r.2?),
                close_call: r.3,
            })
        });
        Ok((weighed, decided > 0))
    }

    /// The present advices to replace without a quote that nobody decided on, oldest first; names are left empty.
    pub fn open_advices(&mut self) -> Result<Vec<OpenAdvice>, Error> {
        let estate = self.estate();
        let rows: Vec<(Db<AdviceId>, Db<UnitId>, DateTime<Utc>)> = advices::table
            .left_join(
                decisions::table.on(decisions::estate_id
                    .eq(advices::estate_id)
                    .and(decisions::advice_id.eq(advices::id))
                    .and(decisions::superseded_at.is_null())),
            )
            .filter(
                advices::estate_id
                    .eq(Db(estate))
                    .and(advices::superseded_at.is_null())
                    .and(advices::quote_id.is_null())
                    .and(advices::course.eq("replace"))
                    .and(decisions::id.nullable().is_null()),
            )
            .order((advices::made_at, advices::id))
            .select((advices::id, advices::unit_id, advices::made_at))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|(id, unit, at)| OpenAdvice {
                advice: id.0,
                unit: unit.0,
                kind_name: String::new(),
                place: Place {
                    building: BuildingId(Uuid::nil()),
                    building_name: String::new(),
                    space: None,
                    space_name: String::new(),
                },
                made_on: at.date_naive(),
            })
            .collect())
    }

    /// The present advice on each of these units, when there is one.
    pub fn advice_on(&mut self, units: &[UnitId]) -> Result<Vec<(UnitId, AdviceId)>, Error> {
        let estate = self.estate();
        let ids: Vec<Uuid> = units.iter().map(|u| u.0).collect();
        let rows: Vec<(Db<UnitId>, Db<AdviceId>)> = advices::table
            .filter(
                advices::estate_id
                    .eq(Db(estate))
                    .and(advices::unit_id.eq_any(ids))
                    .and(advices::superseded_at.is_null()),
            )
            .order(advices::made_at.desc())
            .select((advices::unit_id, advices::id))
            .load(self.conn())?;
        Ok(rows.into_iter().map(|(u, a)| (u.0, a.0)).collect())
    }
}
