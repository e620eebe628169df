//! What a preview finds: by row, column, code and value.
use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

use super::dates::Order;
use super::fields::{Field, How, ListKind};

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
}

impl Matching {
    /// The column that holds a field.
    pub fn place(&self, field: Field) -> Option<usize> {
        self.columns.iter().position(|f| *f == Some(field))
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
}

/// Everything a preview says.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Preview {
    /// The file's name.
    pub file: String,
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
    /// What one should know.
    pub doubts: Doubts,
    /// Nothing stands in the way of bringing it in.
    pub ready: bool,
}

/// Most changes a preview lists.
pub const MOST_CHANGES: usize = 200;

/// One cause with its rows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cause {
    /// The code.
    pub code: Code,
    /// The column.
    pub column: String,
    /// How many rows.
    pub rows: u32,
    /// Its first different values.
    pub values: Vec<String>,
    /// What was expected: the sentence of the first.
    pub sentence: String,
    /// What was chosen.
    pub remedy: Option<Remedy>,
    /// Whether the cell can be taken as empty.
    pub can_be_empty: bool,
}

impl Preview {
    /// The problems by cause, the most rows first.
    pub fn causes(&self, matching: &Matching) -> Vec<Cause> {
        let mut by: BTreeMap<(Code, &str), Vec<&Problem>> = BTreeMap::new();
        for problem in &self.problems {
            by.entry((problem.code, &problem.column))
                .or_default()
                .push(problem);
        }
        let mut causes: Vec<Cause> = by
            .into_iter()
            .map(|((code, column), problems)| {
                let rows: BTreeSet<u32> = problems.iter().map(|p| p.row).collect();
                let mut values: Vec<String> = Vec::new();
                for problem in &problems {
                    if values.len() < 5
                        && !problem.value.is_empty()
                        && !values.contains(&problem.value)
                    {
                        values.push(problem.value.clone());
                    }
                }
                Cause {
                    code,
                    column: column.to_owned(),
                    rows: rows.len() as u32,
                    values,
                    sentence: problems
                        .first()
                        .map_or_else(String::new, |p| p.sentence.clone()),
                    remedy: matching.remedy(code, column),
                    can_be_empty: can_be_empty(code, self.field_of(column), self.kind),
                }
            })
            .collect();
        causes.sort_by(|a, b| {
            b.rows
                .cmp(&a.rows)
                .then(a.code.cmp(&b.code))
                .then(a.column.cmp(&b.column))
        });
        causes
    }

    fn field_of(&self, column: &str) -> Option<Field> {
        self.columns
            .iter()
            .find(|c| c.heading == column)
            .and_then(|c| c.field)
    }
}

/// Whether a cell with this problem can be taken as empty: an optional field, and a fault of the cell alone.
pub fn can_be_empty(code: Code, field: Option<Field>, kind: ListKind) -> bool {
    let of_the_cell = matches!(
        code,
        Code::DateUnreadable
            | Code::DateImpossible
            | Code::DateInFuture
            | Code::DateOrder
            | Code::KindUnknown
            | Code::MoneyUnreadable
            | Code::MoneyNegative
            | Code::NumberUnreadable
            | Code::SerialDoubled
            | Code::TextUndecodable
    );
    of_the_cell
        && field
            .is_some_and(|f| f.is_optional(kind) || (f == Field::Serial && kind == ListKind::Units))
}
