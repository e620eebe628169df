//! What a preview finds: by row, column, code and value.
use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::dates::Order;
use super::fields::{Field, How, ListKind};
use super::handover::Finding;

/// Why a cell or a row cannot be taken: the import contract's list.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Code {
    /// Something that must stand there does not.
    RequiredMissing,
    /// Not a date, range, year or "unknown".
    DateUnreadable,
    /// Written like a date that no calendar has.
    DateImpossible,
    /// It has not happened yet.
    DateInFuture,
    /// Two dates of a row, or two ends of a range, the wrong way round.
    DateOrder,
    /// No such building or space.
    PlaceUnknown,
    /// A word that is on no list.
    KindUnknown,
    /// Not an amount in pounds.
    MoneyUnreadable,
    /// Less than nothing.
    MoneyNegative,
    /// Not a number, or not one such a unit can have.
    NumberUnreadable,
    /// The same row stands above.
    RowDoubled,
    /// The same serial stands above.
    SerialDoubled,
    /// More cells than headings.
    TooManyColumns,
    /// Characters that could not be decoded.
    TextUndecodable,
    /// The register says otherwise.
    ContradictsRecord,
}

impl Code {
    /// As the contract writes it.
    pub const fn code(self) -> &'static str {
        match self {
            Self::RequiredMissing => "required_missing",
            Self::DateUnreadable => "date_unreadable",
            Self::DateImpossible => "date_impossible",
            Self::DateInFuture => "date_in_future",
            Self::DateOrder => "date_order",
            Self::PlaceUnknown => "place_unknown",
            Self::KindUnknown => "kind_unknown",
            Self::MoneyUnreadable => "money_unreadable",
            Self::MoneyNegative => "money_negative",
            Self::NumberUnreadable => "number_unreadable",
            Self::RowDoubled => "row_doubled",
            Self::SerialDoubled => "serial_doubled",
            Self::TooManyColumns => "too_many_columns",
            Self::TextUndecodable => "text_undecodable",
            Self::ContradictsRecord => "contradicts_record",
        }
    }
}

/// One thing that is wrong.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Problem {
    /// The sheet of the workbook; empty for a list in text.
    #[serde(default)]
    pub sheet: String,
    /// The row, as a spreadsheet counts.
    pub row: u32,
    /// The column's heading.
    pub column: String,
    /// Why.
    pub code: Code,
    /// What stands there.
    pub value: String,
    /// What was expected, in a sentence.
    pub sentence: String,
}

/// What somebody chose to do with every row of one cause.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Remedy {
    /// The rows stay out.
    LeaveOut,
    /// The cell is taken as empty; what stood there goes into the words.
    TakeAsEmpty,
    /// The row and what the register holds beside it both happened.
    KeepBoth,
}

/// A cause with its remedy.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Settled {
    /// The code.
    pub code: Code,
    /// The column.
    pub column: String,
    /// What to do.
    pub remedy: Remedy,
}

/// How a list is to be read: which column is what, which way round its dates are, what to do with what is wrong.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct Matching {
    /// The field of each column; `None` leaves it out. Shorter than the list: the rest is left out.
    pub columns: Vec<Option<Field>>,
    /// How each column found its field.
    pub how: Vec<How>,
    /// The order of day and month, by column place.
    pub orders: BTreeMap<usize, Order>,
    /// Causes that are settled.
    pub settled: Vec<Settled>,
    /// What this source's own names mean here: by field, the word as [`meaning_key`] makes it, and our word for it.
    pub names: BTreeMap<Field, BTreeMap<String, String>>,
}

/// Under which a word of a source is kept: lower case, single spaces.
pub fn meaning_key(said: &str) -> String {
    let lower = said.to_lowercase();
    lower.split_whitespace().collect::<Vec<_>>().join(" ")
}

impl Matching {
    /// The column that holds a field.
    pub fn place(&self, field: Field) -> Option<usize> {
        self.columns.iter().position(|f| *f == Some(field))
    }

    /// What a cell of a field means: what somebody said this source means by it, else the cell itself.
    pub fn meant<'a>(&'a self, field: Field, cell: &'a str) -> &'a str {
        match self.names.get(&field) {
            Some(names) if !names.is_empty() => {
                names.get(&meaning_key(cell)).map_or(cell, String::as_str)
            }
            _ => cell,
        }
    }

    /// What was chosen for a cause.
    pub fn remedy(&self, code: Code, column: &str) -> Option<Remedy> {
        self.settled
            .iter()
            .find(|s| s.code == code && s.column == column)
            .map(|s| s.remedy)
    }
}

/// The dates of a column.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct DateColumn {
    /// How they are read.
    pub order: Order,
    /// Both ways give dates, and nobody said yet which is meant.
    pub asks: bool,
    /// One that can be read both ways.
    pub example: String,
    /// How many can only be read day first.
    pub day_first: u32,
    /// How many can only be read month first.
    pub month_first: u32,
}

/// A column of the list.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Column {
    /// Its heading.
    pub heading: String,
    /// What it holds.
    pub field: Option<Field>,
    /// How it found that.
    pub how: How,
    /// Its first different values.
    pub samples: Vec<String>,
    /// Its dates, where it holds dates.
    pub dates: Option<DateColumn>,
}

/// Rows counted by what becomes of them.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Counts {
    /// New to the register.
    pub new: u32,
    /// On the register, and something differs.
    pub changed: u32,
    /// On the register as they are.
    pub same: u32,
    /// Cannot be read, and nobody said yet what to do.
    pub held: u32,
    /// Left out by choice.
    pub left_out: u32,
}

impl Counts {
    /// Rows that would write something.
    pub const fn coming(&self) -> u32 {
        self.new + self.changed
    }
}

/// A cell of a row that differs from the register.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Change {
    /// The row.
    pub row: u32,
    /// The unit's number.
    pub unit: String,
    /// What differs.
    pub field: Field,
    /// What the register says.
    pub old: String,
    /// What the list says.
    pub new: String,
}

/// A row of a history beside what the register holds of the same unit at about that time.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Beside {
    /// The row.
    pub row: u32,
    /// The unit's number.
    pub unit: String,
    /// What the list says, in words.
    pub list: String,
    /// What the register says, in words.
    pub register: String,
}

/// Things one should know before bringing it in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Doubts {
    /// New units whose fitting date is unknown.
    pub fitted_unknown: u32,
    /// New units whose fitting date is a range.
    pub fitted_range: u32,
    /// Failures before the day since which their unit is watched: kept, not counted by a forecast.
    pub before_watch: u32,
    /// Cells taken as empty by choice.
    pub emptied: u32,
    /// Rows, or dates of units, from which the deadline of a duty follows.
    #[serde(default)]
    pub dated: u32,
    /// Checks and services whose day is not known: they meet no duty.
    #[serde(default)]
    pub undated: u32,
    /// Checks and services before what the register holds of their duty: they move no date.
    #[serde(default)]
    pub overtaken: u32,
    /// Failures of no known day that rows count.
    #[serde(default)]
    pub counted: u32,
    /// Units whose time of watching goes on beside times that have ended.
    #[serde(default)]
    pub goes_on: u32,
}

/// Everything a preview says.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Preview {
    /// The file's name.
    pub file: String,
    /// The sheet of the workbook; empty for a list in text.
    #[serde(default)]
    pub sheet: String,
    /// Which kind of list.
    pub kind: ListKind,
    /// Rows under the headings.
    pub rows: u32,
    /// The row the headings stand in.
    pub heading_row: u32,
    /// The character between cells.
    pub delimiter: char,
    /// Its columns, left to right.
    pub columns: Vec<Column>,
    /// Fields no column holds that the list cannot do without.
    pub missing: Vec<Field>,
    /// Rows by what becomes of them.
    pub counts: Counts,
    /// What is wrong, by row, then column.
    pub problems: Vec<Problem>,
    /// What differs from the register, at most [`MOST_CHANGES`].
    pub changes: Vec<Change>,
    /// Rows that may be what the register holds already, side by side with it; at most [`MOST_CHANGES`].
    #[serde(default)]
    pub beside: Vec<Beside>,
    /// What the sheets of a handover say against each other.
    #[serde(default)]
    pub findings: Vec<Finding>,
    /// What one should know.
    pub doubts: Doubts,
    /// Nothing stands in the way of bringing it in.
    pub ready: bool,
}

/// Most changes a preview lists.
pub const MOST_CHANGES: usize = 200;
