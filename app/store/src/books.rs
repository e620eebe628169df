//! Books of forecasts: all that was said on a day, byte for byte, and what came of it. Added to, never changed.
use chrono::{DateTime, NaiveDate, Utc};
use diesel::prelude::*;
use uuid::Uuid;

use crate::estate_schema::{forecast_books, forecast_scores};
use crate::{Db, Error, Tx};

/// A book.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BookRow {
    /// Its id.
    pub id: Uuid,
    /// The day its periods begin.
    pub made_on: NaiveDate,
    /// Their last day.
    pub until_on: NaiveDate,
    /// When it was written.
    pub made_at: DateTime<Utc>,
    /// Units in it.
    pub units: i32,
    /// All it says, as text.
    pub body: String,
    /// SHA-256 of the body.
    pub digest: String,
}

/// What came of a book.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ScoreRow {
    /// The book.
    pub book: Uuid,
    /// When it was scored, from what was known then.
    pub scored_at: DateTime<Utc>,
    /// What happened line by line, as text.
    pub body: String,
    /// SHA-256 of the body.
    pub digest: String,
}

type BookColumns = (
    Uuid,
    NaiveDate,
    NaiveDate,
    DateTime<Utc>,
    i32,
    String,
    String,
);

fn read_book(row: BookColumns) -> BookRow {
    BookRow {
        id: row.0,
        made_on: row.1,
        until_on: row.2,
        made_at: row.3,
        units: row.4,
        body: row.5,
        digest: row.6,
    }
}

macro_rules! book_columns {
    () => {
        (
            forecast_books::id,
            forecast_books::made_on,
            forecast_books::until_on,
            forecast_books::made_at,
            forecast_books::units,
            forecast_books::body,
            forecast_books::digest,
        )
    };
}

impl Tx<'_> {
    /// Keeps a book of today; the first one of a day stands, and nothing is answered for the second.
    pub fn add_book(
        &mut self,
        until_on: NaiveDate,
        units: usize,
        (body, digest): (&str, &str),
    ) -> Result<Option<Uuid>, Error> {
        let id: Uuid = self.fresh();
        let values = (
            (
                forecast_books::estate_id.eq(Db(self.estate())),
                forecast_books::id.eq(id),
            ),
            (
                forecast_books::made_on.eq(self.today()),
                forecast_books::until_on.eq(until_on),
                forecast_books::made_at.eq(self.at()),
            ),
            (
                forecast_books::units.eq(i32::try_from(units).unwrap_or(i32::MAX)),
                forecast_books::body.eq(body),
                forecast_books::digest.eq(digest),
            ),
        );
        let added = diesel::insert_into(forecast_books::table)
            .values(values)
            .on_conflict_do_nothing()
            .execute(self.conn())?;
        Ok((added == 1).then_some(id))
    }

    /// The day of the last book.
    pub fn last_book_on(&mut self) -> Result<Option<NaiveDate>, Error> {
        let estate = self.estate();
        Ok(forecast_books::table
            .filter(forecast_books::estate_id.eq(Db(estate)))
            .select(diesel::dsl::max(forecast_books::made_on))
            .first(self.conn())?)
    }

    /// The day of the first book.
    pub fn first_book_on(&mut self) -> Result<Option<NaiveDate>, Error> {
        let estate = self.estate();
        Ok(forecast_books::table
            .filter(forecast_books::estate_id.eq(Db(estate)))
            .select(diesel::dsl::min(forecast_books::made_on))
            .first(self.conn())?)
    }

    /// Books whose period is over and that were not scored yet, oldest first.
    pub fn books_to_score(&mut self) -> Result<Vec<BookRow>, Error> {
        let (estate, today) = (self.estate(), self.today());
        let scored = forecast_scores::table
            .filter(forecast_scores::estate_id.eq(Db(estate)))
            .select(forecast_scores::book_id);
        let rows: Vec<BookColumns> = forecast_books::table
            .filter(
                forecast_books::estate_id
                    .eq(Db(estate))
                    .and(forecast_books::until_on.lt(today))
                    .and(forecast_books::id.ne_all(scored)),
            )
            .order(forecast_books::made_on)
            .select(book_columns!())
            .load(self.conn())?;
        Ok(rows.into_iter().map(read_book).collect())
    }

    /// Keeps what came of a book; the first answer stands.
    pub fn add_score(&mut self, book: Uuid, (body, digest): (&str, &str)) -> Result<bool, Error> {
        let values = (
            (
                forecast_scores::estate_id.eq(Db(self.estate())),
                forecast_scores::book_id.eq(book),
                forecast_scores::scored_at.eq(self.at()),
            ),
            (
                forecast_scores::body.eq(body),
                forecast_scores::digest.eq(digest),
            ),
        );
        let added = diesel::insert_into(forecast_scores::table)
            .values(values)
            .on_conflict_do_nothing()
            .execute(self.conn())?;
        Ok(added == 1)
    }

    /// The books scored so far with what came of them, the newest first.
    pub fn scored_books(&mut self, most: i64) -> Result<Vec<(BookRow, ScoreRow)>, Error> {
        let estate = self.estate();
        let rows: Vec<(BookColumns, (DateTime<Utc>, String, String))> = forecast_books::table
            .inner_join(
                forecast_scores::table.on(forecast_scores::estate_id
                    .eq(forecast_books::estate_id)
                    .and(forecast_scores::book_id.eq(forecast_books::id))),
            )
            .filter(forecast_books::estate_id.eq(Db(estate)))
            .order(forecast_books::made_on.desc())
            .limit(most)
            .select((
                book_columns!(),
                (
                    forecast_scores::scored_at,
                    forecast_scores::body,
                    forecast_scores::digest,
                ),
            ))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|(book, score)| {
                let book = read_book(book);
                let score = ScoreRow {
                    book: book.id,
                    scored_at: score.0,
                    body: score.1,
                    digest: score.2,
                };
                (book, score)
            })
            .collect())
    }
}
