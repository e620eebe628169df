//! What makers call back or ask to have put right, and what was done about each unit.
use std::collections::BTreeMap;

use chrono::NaiveDate;
use diesel::prelude::*;
use terms::{FactId, RecallId, UnitId};

use crate::estate_schema::{recall_answers, recalls};
use crate::{Db, Error, Tx};

/// A maker's notice: of which kind, and of these which.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Recall {
    /// Its id.
    pub id: RecallId,
    /// Code of the kind.
    pub kind: String,
    /// Of this family alone, by the house's own word; empty: of any.
    pub family: String,
    /// First and last serial number meant; empty: no such end.
    pub serials: (String, String),
    /// First and last day of fitting meant; `None`: no such end.
    pub fitted: (Option<NaiveDate>, Option<NaiveDate>),
    /// What the notice calls itself.
    pub title: String,
    /// What is to be done.
    pub about: String,
    /// Not to be used until it is done.
    pub do_not_use: bool,
    /// The day of the notice.
    pub on: NaiveDate,
}

/// What was said of one unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RecallAnswer {
    /// The work was done; else its maker says that it is not meant.
    pub done: bool,
    /// The day.
    pub on: NaiveDate,
}

impl Tx<'_> {
    /// Keeps a notice; its id is given here.
    pub fn add_recall(&mut self, recall: &Recall) -> Result<RecallId, Error> {
        let id: RecallId = self.fresh();
        let row = (
            (
                recalls::estate_id.eq(Db(self.estate())),
                recalls::id.eq(Db(id)),
                recalls::kind.eq(&recall.kind),
                recalls::family.eq(&recall.family),
            ),
            (
                recalls::serial_from.eq(&recall.serials.0),
                recalls::serial_until.eq(&recall.serials.1),
                recalls::fitted_from.eq(recall.fitted.0),
                recalls::fitted_until.eq(recall.fitted.1),
            ),
            (
                recalls::title.eq(&recall.title),
                recalls::about.eq(&recall.about),
                recalls::do_not_use.eq(recall.do_not_use),
                recalls::happened_on.eq(recall.on),
            ),
            (
                recalls::recorded_at.eq(self.at()),
                recalls::recorded_by.eq(Db(self.who())),
            ),
        );
        diesel::insert_into(recalls::table)
            .values(row)
            .execute(self.conn())?;
        Ok(id)
    }

    /// A notice no longer stands; it stays readable.
    pub fn end_recall(&mut self, id: RecallId) -> Result<(), Error> {
        let (estate, at) = (self.estate(), self.at());
        let ended = diesel::update(
            recalls::table.filter(
                recalls::estate_id
                    .eq(Db(estate))
                    .and(recalls::id.eq(Db(id)))
                    .and(recalls::superseded_at.is_null()),
            ),
        )
        .set(recalls::superseded_at.eq(at))
        .execute(self.conn())?;
        if ended == 0 {
            return Err(Error::NotFound("notice"));
        }
        Ok(())
    }

    /// The notices that stand, the latest first.
    pub fn recalls(&mut self) -> Result<Vec<Recall>, Error> {
        type Ends = (String, String, Option<NaiveDate>, Option<NaiveDate>);
        type Said = (String, String, bool, NaiveDate);
        let estate = self.estate();
        let rows: Vec<(Db<RecallId>, String, String, Ends, Said)> = recalls::table
            .filter(
                recalls::estate_id
                    .eq(Db(estate))
                    .and(recalls::superseded_at.is_null()),
            )
            .order((recalls::happened_on.desc(), recalls::id.desc()))
            .select((
                recalls::id,
                recalls::kind,
                recalls::family,
                (
                    recalls::serial_from,
                    recalls::serial_until,
                    recalls::fitted_from,
                    recalls::fitted_until,
                ),
                (
                    recalls::title,
                    recalls::about,
                    recalls::do_not_use,
                    recalls::happened_on,
                ),
            ))
            .load(self.conn())?;
        let read =
            |(id, kind, family, ends, said): (Db<RecallId>, String, String, Ends, Said)| Recall {
                id: id.0,
                kind,
                family,
                serials: (ends.0, ends.1),
                fitted: (ends.2, ends.3),
                title: said.0,
                about: said.1,
                do_not_use: said.2,
                on: said.3,
            };
        Ok(rows.into_iter().map(read).collect())
    }

    /// What was done about a unit upon a notice, or said of it; what stood before gives way.
    pub fn answer_recall(
        &mut self,
        (recall, unit): (RecallId, UnitId),
        answer: Option<RecallAnswer>,
    ) -> Result<(), Error> {
        let (estate, at) = (self.estate(), self.at());
        diesel::update(
            recall_answers::table.filter(
                recall_answers::estate_id
                    .eq(Db(estate))
                    .and(recall_answers::recall_id.eq(Db(recall)))
                    .and(recall_answers::unit_id.eq(Db(unit)))
                    .and(recall_answers::superseded_at.is_null()),
            ),
        )
        .set(recall_answers::superseded_at.eq(at))
        .execute(self.conn())?;
        let Some(answer) = answer else {
            return Ok(());
        };
        let id: FactId = self.fresh();
        let row = (
            (
                recall_answers::estate_id.eq(Db(estate)),
                recall_answers::id.eq(Db(id)),
                recall_answers::recall_id.eq(Db(recall)),
                recall_answers::unit_id.eq(Db(unit)),
            ),
            (
                recall_answers::how.eq(if answer.done { "done" } else { "not_meant" }),
                recall_answers::happened_on.eq(answer.on),
                recall_answers::recorded_at.eq(at),
                recall_answers::recorded_by.eq(Db(self.who())),
            ),
        );
        diesel::insert_into(recall_answers::table)
            .values(row)
            .execute(self.conn())?;
        Ok(())
    }

    /// What stands of a unit upon each notice, or of all units.
    pub fn recall_answers(
        &mut self,
        unit: Option<UnitId>,
    ) -> Result<BTreeMap<(RecallId, UnitId), RecallAnswer>, Error> {
        let estate = self.estate();
        let mut query = recall_answers::table
            .filter(
                recall_answers::estate_id
                    .eq(Db(estate))
                    .and(recall_answers::superseded_at.is_null()),
            )
            .into_boxed();
        if let Some(unit) = unit {
            query = query.filter(recall_answers::unit_id.eq(Db(unit)));
        }
        let rows: Vec<(Db<RecallId>, Db<UnitId>, String, NaiveDate)> = query
            .select((
                recall_answers::recall_id,
                recall_answers::unit_id,
                recall_answers::how,
                recall_answers::happened_on,
            ))
            .load(self.conn())?;
        let read = |(recall, unit, how, on): (Db<RecallId>, Db<UnitId>, String, NaiveDate)| {
            let done = how == "done";
            ((recall.0, unit.0), RecallAnswer { done, on })
        };
        Ok(rows.into_iter().map(read).collect())
    }
}
