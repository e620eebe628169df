//! What the model came to on published repair histories: figures made once by a stated command, and held to by tests that
//! make them again.
use chrono::NaiveDate;
use dependability::judgement::{Against, LEAST_FAILURES};

use crate::Error;
use crate::founding::table::{DataError, Row, rows};

const HISTORIES: &str = include_str!("../../data/HISTORIES.csv");

/// What it came to on one history.
#[derive(Clone, Debug, PartialEq)]
pub struct PublishedHistory {
    /// Its name, as its files begin.
    pub name: String,
    /// What it is of.
    pub words: String,
    /// Forecasts made.
    pub forecasts: u64,
    /// Failures said.
    pub expected: f64,
    /// Failures that happened.
    pub happened: u64,
    /// Where they fall by luck alone in 8 of 10.
    pub luck80: (u64, u64),
    /// Against the average, age alone and the starting figure alone.
    pub against: [Against; 3],
    /// Why it is not better than each plain way, where it is not.
    pub why: String,
    /// Who published it.
    pub source: String,
    /// When the figures were made.
    pub as_at: NaiveDate,
    /// What makes them again.
    pub command: String,
}

impl PublishedHistory {
    /// Too few failures for more than the sums.
    pub fn thin(&self) -> bool {
        self.happened < LEAST_FAILURES
    }

    /// It beats both plain ways, the average and age alone, by more than luck.
    pub fn won(&self) -> bool {
        !self.thin() && self.against[0].better() && self.against[1].better()
    }
}

/// All of them, in the order of the file.
///
/// # Errors
/// The row and column that cannot be read.
pub fn published() -> Result<Vec<PublishedHistory>, Error> {
    Ok(rows("HISTORIES.csv", HISTORIES, read)?)
}

fn read(row: &Row<'_>) -> Result<PublishedHistory, DataError> {
    let against = |way: &str| -> Result<Against, DataError> {
        let at = |what: &str| row.number(&format!("{way}{what}"), -1e3, 1e3);
        Ok(Against {
            mean: at("")?,
            ci95: (at("_low")?, at("_high")?),
            bootstrap95: (at("_least")?, at("_most")?),
        })
    };
    Ok(PublishedHistory {
        name: row.word("name")?,
        words: row.word("words")?,
        forecasts: row.read("forecasts")?,
        expected: row.number("expected", 0.0, 1e6)?,
        happened: row.read("happened")?,
        luck80: (row.read("luck_low")?, row.read("luck_high")?),
        against: [against("average")?, against("age")?, against("prior")?],
        why: row.text("why")?.to_owned(),
        source: row.word("source")?,
        as_at: row.day("as_at")?,
        command: row.word("command")?,
    })
}
