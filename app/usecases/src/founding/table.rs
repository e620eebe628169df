//! A shipped CSV file read row by row; what is wrong is named by file, row and column.
use std::str::FromStr;

use chrono::NaiveDate;

use crate::Error;

/// What is wrong in a data file, and where. The heading is row 1.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{file}, row {row}, column {column}: {what}")]
pub struct DataError {
    /// The file's name.
    pub file: &'static str,
    /// Counted as a spreadsheet counts.
    pub row: usize,
    /// The column's heading.
    pub column: String,
    /// What was found.
    pub what: String,
}

impl From<DataError> for Error {
    fn from(error: DataError) -> Self {
        Self::Internal(error.to_string())
    }
}

/// One row.
pub(crate) struct Row<'a> {
    file: &'static str,
    number: usize,
    headings: &'a csv::StringRecord,
    cells: csv::StringRecord,
}

/// Reads every row of `text` with `read`.
pub(crate) fn rows<T>(
    file: &'static str,
    text: &str,
    mut read: impl FnMut(&Row<'_>) -> Result<T, DataError>,
) -> Result<Vec<T>, DataError> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let broken = |row: usize, error: &csv::Error| DataError {
        file,
        row,
        column: "all".to_owned(),
        what: error.to_string(),
    };
    let headings = reader.headers().map_err(|e| broken(1, &e))?.clone();
    reader
        .records()
        .enumerate()
        .map(|(n, cells)| {
            let number = n + 2;
            let cells = cells.map_err(|e| broken(number, &e))?;
            read(&Row {
                file,
                number,
                headings: &headings,
                cells,
            })
        })
        .collect()
}

impl Row<'_> {
    /// The cell under a heading.
    pub(crate) fn text(&self, column: &str) -> Result<&str, DataError> {
        self.headings
            .iter()
            .position(|h| h == column)
            .and_then(|place| self.cells.get(place))
            .map(str::trim)
            .ok_or_else(|| self.wrong(column, "there is no such column"))
    }

    /// The same, not empty.
    pub(crate) fn word(&self, column: &str) -> Result<String, DataError> {
        match self.text(column)? {
            "" => Err(self.wrong(column, "is empty")),
            word => Ok(word.to_owned()),
        }
    }

    /// A number, a date or a code.
    pub(crate) fn read<T: FromStr>(&self, column: &str) -> Result<T, DataError> {
        let text = self.text(column)?;
        text.parse()
            .ok()
            .ok_or_else(|| self.wrong(column, &format!("“{text}” cannot be read")))
    }

    /// A number within bounds.
    pub(crate) fn number(&self, column: &str, low: f64, high: f64) -> Result<f64, DataError> {
        let number: f64 = self.read(column)?;
        if (low..=high).contains(&number) {
            Ok(number)
        } else {
            Err(self.wrong(column, &format!("{number} is not between {low} and {high}")))
        }
    }

    /// "yes" or "no".
    pub(crate) fn yes(&self, column: &str) -> Result<bool, DataError> {
        match self.text(column)? {
            "yes" => Ok(true),
            "no" => Ok(false),
            other => Err(self.wrong(column, &format!("“{other}” is neither yes nor no"))),
        }
    }

    /// A date written 2026-11-25.
    pub(crate) fn day(&self, column: &str) -> Result<NaiveDate, DataError> {
        self.read(column)
    }

    /// Codes parted by spaces, each one of `list`.
    pub(crate) fn codes(&self, column: &str, list: &[&str]) -> Result<Vec<String>, DataError> {
        self.text(column)?
            .split_whitespace()
            .map(|code| {
                if list.contains(&code) {
                    Ok(code.to_owned())
                } else {
                    Err(self.wrong(column, &format!("“{code}” is not one of {list:?}")))
                }
            })
            .collect()
    }

    /// An error at `column` of this row.
    pub(crate) fn wrong(&self, column: &str, what: &str) -> DataError {
        DataError {
            file: self.file,
            row: self.number,
            column: column.to_owned(),
            what: what.to_owned(),
        }
    }
}
