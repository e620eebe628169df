//! What is wrong, gathered by cause, and what can be done about each.
use std::collections::{BTreeMap, BTreeSet};

use super::fields::{Field, ListKind};
use super::problem::{Code, Matching, Preview, Problem, Remedy};

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
    /// Whether both the row and the register can be right.
    pub can_both_be: bool,
    /// The field, where somebody can say what its words mean.
    pub can_be_named: Option<Field>,
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
                    can_both_be: can_both_be(code, self.field_of(column)),
                    can_be_named: self.field_of(column).filter(|f| can_be_named(code, *f)),
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
    // A date of a duty that the register says otherwise: the register's stands, the list's goes into the words.
    let beside = code == Code::ContradictsRecord && field.is_some_and(Field::is_duty_date);
    (of_the_cell || beside)
        && field
            .is_some_and(|f| f.is_optional(kind) || (f == Field::Serial && kind == ListKind::Units))
}

/// Whether a row may stand although the register holds something like it: an event beside another of the same unit, failures
/// counted beside some on record.
pub fn can_both_be(code: Code, field: Option<Field>) -> bool {
    code == Code::ContradictsRecord && matches!(field, Some(Field::What | Field::Count))
}

/// Whether somebody can say what the words of a field mean here: names of places, kinds, parts and events.
pub fn can_be_named(code: Code, field: Field) -> bool {
    matches!(code, Code::PlaceUnknown | Code::KindUnknown)
        && matches!(
            field,
            Field::Building
                | Field::Space
                | Field::Kind
                | Field::What
                | Field::Part
                | Field::FunctionLost
        )
}
