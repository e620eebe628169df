//! Offers of jobs to firms.
use chrono::{DateTime, Utc};
use diesel::prelude::*;
use terms::{AccountId, FirmId, JobId};
use uuid::Uuid;

use crate::estate_schema::offers;
use crate::{Db, Error, Tx};

/// A job offered to a firm.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Offer {
    /// Its id.
    pub id: Uuid,
    /// The job.
    pub job: JobId,
    /// To whom.
    pub firm: FirmId,
    /// When.
    pub offered_at: DateTime<Utc>,
    /// By whom.
    pub offered_by: AccountId,
    /// It may be taken until then.
    pub until_at: DateTime<Utc>,
    /// The slot proposed.
    pub proposed: Option<(DateTime<Utc>, DateTime<Utc>)>,
    /// "taken", "declined", "lapsed", "withdrawn"; `None` while open.
    pub answer: Option<String>,
    /// When it was answered.
    pub answered_at: Option<DateTime<Utc>>,
    /// Why it was declined.
    pub reason: String,
    /// When the firm could come instead.
    pub counter: Option<(DateTime<Utc>, DateTime<Utc>)>,
}

impl Offer {
    /// Whether it may still be taken at `now`.
    pub fn is_open(&self, now: DateTime<Utc>) -> bool {
        self.answer.is_none() && now <= self.until_at
    }
}

/// An offer about to be made.
#[derive(Clone, Copy, Debug)]
pub struct NewOffer {
    /// The job.
    pub job: JobId,
    /// To whom.
    pub firm: FirmId,
    /// It may be taken until then.
    pub until_at: DateTime<Utc>,
    /// The slot proposed.
    pub proposed: Option<(DateTime<Utc>, DateTime<Utc>)>,
}

impl Tx<'_> {
    /// Makes an offer.
    pub fn add_offer(&mut self, new: NewOffer) -> Result<Uuid, Error> {
        let id: Uuid = self.fresh();
        let row = (
            (offers::estate_id.eq(Db(self.estate())), offers::id.eq(id)),
            (
                offers::job_id.eq(Db(new.job)),
                offers::firm_id.eq(Db(new.firm)),
            ),
            (
                offers::offered_at.eq(self.at()),
                offers::offered_by.eq(Db(self.who())),
            ),
            offers::until_at.eq(new.until_at),
            (
                offers::proposed_from.eq(new.proposed.map(|p| p.0)),
                offers::proposed_until.eq(new.proposed.map(|p| p.1)),
            ),
        );
        diesel::insert_into(offers::table)
            .values(row)
            .execute(self.conn())?;
        Ok(id)
    }

    /// Answers one offer.
    pub fn answer_offer(&mut self, id: Uuid, answer: &str, reason: &str) -> Result<(), Error> {
        let (estate, at, who) = (self.estate(), self.at(), self.who());
        diesel::update(
            offers::table.filter(
                offers::estate_id
                    .eq(Db(estate))
                    .and(offers::id.eq(id))
                    .and(offers::answer.is_null()),
            ),
        )
        .set((
            offers::answer.eq(Some(answer)),
            offers::answered_at.eq(Some(at)),
            offers::answered_by.eq(Some(Db(who))),
            offers::reason.eq(reason),
        ))
        .execute(self.conn())?;
        Ok(())
    }

    /// Keeps when the firm could come in place of what an offer said; written while the offer is open.
    pub fn counter_offer(
        &mut self,
        id: Uuid,
        (from, until): (DateTime<Utc>, DateTime<Utc>),
    ) -> Result<(), Error> {
        let estate = self.estate();
        diesel::update(
            offers::table.filter(offers::estate_id.eq(Db(estate)).and(offers::id.eq(id))),
        )
        .set((
            offers::counter_from.eq(Some(from)),
            offers::counter_until.eq(Some(until)),
        ))
        .execute(self.conn())?;
        Ok(())
    }

    /// The offers of a job, oldest first.
    pub fn offers_of(&mut self, job: JobId) -> Result<Vec<Offer>, Error> {
        self.offers_where(Some(job), None)
    }

    /// The unanswered offers to a firm, oldest first.
    pub fn offers_to(&mut self, firm: FirmId) -> Result<Vec<Offer>, Error> {
        self.offers_where(None, Some(firm))
    }

    fn offers_where(
        &mut self,
        job: Option<JobId>,
        open_to: Option<FirmId>,
    ) -> Result<Vec<Offer>, Error> {
        let estate = self.estate();
        let mut query = offers::table
            .filter(offers::estate_id.eq(Db(estate)))
            .into_boxed();
        if let Some(job) = job {
            query = query.filter(offers::job_id.eq(Db(job)));
        }
        if let Some(firm) = open_to {
            query = query.filter(offers::firm_id.eq(Db(firm)).and(offers::answer.is_null()));
        }
        type Row = (
            (Uuid, Db<JobId>, Db<FirmId>, DateTime<Utc>, Db<AccountId>),
            (DateTime<Utc>, Option<DateTime<Utc>>, Option<DateTime<Utc>>),
            (Option<String>, Option<DateTime<Utc>>, String),
            (Option<DateTime<Utc>>, Option<DateTime<Utc>>),
        );
        let rows: Vec<Row> = query
            .order((offers::offered_at, offers::id))
            .select((
                (
                    offers::id,
                    offers::job_id,
                    offers::firm_id,
                    offers::offered_at,
                    offers::offered_by,
                ),
                (
                    offers::until_at,
                    offers::proposed_from,
                    offers::proposed_until,
                ),
                (offers::answer, offers::answered_at, offers::reason),
                (offers::counter_from, offers::counter_until),
            ))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|(a, b, c, d)| Offer {
                id: a.0,
                job: a.1.0,
                firm: a.2.0,
                offered_at: a.3,
                offered_by: a.4.0,
                until_at: b.0,
                proposed: b.1.zip(b.2),
                answer: c.0,
                answered_at: c.1,
                reason: c.2,
                counter: d.0.zip(d.1),
            })
            .collect())
    }
}
